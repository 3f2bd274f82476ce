//! How a pack's resistance has grown.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::cell_resistance::{ASSUMED_ACTIVATION_KJ_PER_MOL, at_25_c};
use super::pack::{PackBuild, check_soc, median};
use crate::calc::fault::Faults;

/// Resistance readings within this many degrees are compared.
///
/// **Source** own policy: the four reference sets follow temperature too differently.
const COMPARED_WITHIN_C: f64 = 5.0;

/// States of charge between which resistance is compared.
const COMPARED_SOC: (f64, f64) = (0.40, 0.80);

/// One reading of the mean resistance of a pack's cells.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct IrReading {
    /// Mean resistance of one cell, mohm.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_mohm: f64,
    /// Temperature, degC.
    #[schema(minimum = -20.0, maximum = 70.0)]
    pub cell_c: f64,
    /// State of charge, 0 to 1.
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub soc_fraction: f64,
}

/// Notes readings that no cell of this pack shows.
pub(super) fn check_readings(readings: &[IrReading], pack: &PackBuild, faults: &mut Faults) {
    for (index, reading) in readings.iter().enumerate() {
        let at = format!("/ir_readings/{index}");
        pack.check_resistance(reading.cell_mohm, &format!("{at}/cell_mohm"), faults);
        faults.range(format!("{at}/cell_c"), reading.cell_c, -20.0, 70.0);
        check_soc(reading.soc_fraction, &format!("{at}/soc_fraction"), faults);
    }
}

/// Resistance now over resistance at first: median of the last three over that of the first three.
///
/// Readings count if they are within 5 degC of the latest usable one and between 0.40 and 0.80 of
/// the charge. With fewer than six, as many at each end as do not overlap. None if fewer than two
/// count.
pub(super) fn ir_ratio(readings: &[IrReading], activation_kj_per_mol: Option<f64>) -> Option<f64> {
    let activation = activation_kj_per_mol.unwrap_or(ASSUMED_ACTIVATION_KJ_PER_MOL);
    let in_band =
        |reading: &&IrReading| (COMPARED_SOC.0..=COMPARED_SOC.1).contains(&reading.soc_fraction);
    let latest_c = readings.iter().rev().find(in_band)?.cell_c;
    let compared: Vec<f64> = readings
        .iter()
        .filter(in_band)
        .filter(|reading| (reading.cell_c - latest_c).abs() <= COMPARED_WITHIN_C)
        .map(|reading| at_25_c(reading.cell_mohm, reading.cell_c, activation))
        .collect();
    let ends = (compared.len() / 2).min(3);
    let first = median(&compared[..ends])?;
    let last = median(&compared[compared.len() - ends..])?;
    Some(last / first)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(cell_mohm: f64, cell_c: f64, soc_fraction: f64) -> IrReading {
        IrReading {
            cell_mohm,
            cell_c,
            soc_fraction,
        }
    }

    #[test]
    fn growth_is_last_three_over_first_three() {
        let told = [3.0, 2.9, 3.1, 3.3, 4.4, 4.5, 4.6].map(|mohm| reading(mohm, 25.0, 0.6));
        assert!((ir_ratio(&told, None).unwrap() - 1.5).abs() < 1e-9);
        assert!((ir_ratio(&told[2..4], None).unwrap() - 3.3 / 3.1).abs() < 1e-9);
    }

    #[test]
    fn a_cold_or_empty_pack_is_not_compared() {
        let told = [
            reading(3.0, 25.0, 0.6),
            reading(6.0, 8.0, 0.6),
            reading(6.0, 25.0, 0.1),
            reading(3.0, 24.0, 0.5),
        ];
        let ratio = ir_ratio(&told, None).unwrap();
        assert!((1.0 / 1.05..1.05).contains(&ratio), "{ratio}");
        assert_eq!(ir_ratio(&told[..2], None), None);
        assert_eq!(ir_ratio(&[], None), None);
    }
}
