//! Bringing a pack to storage.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::charge_curve::CellOnCharge;
use super::charge_resistance::ASSUMED_KAPPA;
use super::chemistry::Chemistry;
use super::pack::{PackBuild, check_cell, check_soc};
use crate::calc::fault::{Fault, Faults};

/// Storage band and target of 4.2 V cells.
///
/// **Units** V of one cell. **Source** hobby LiPo guidelines (commonsenserc.com), 3.80 to 3.90.
const BAND_V: (f64, f64) = (3.80, 3.90);
const TARGET_V: f64 = 3.85;

/// Storage band and target of LFP, whose voltage does not tell.
///
/// **Units** fraction of the capacity. **Source** common practice, no source.
const LFP_BAND: (f64, f64) = (0.40, 0.60);
const LFP_TARGET: f64 = 0.50;

/// A pack to be stored.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "pack": {"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5.0},
    "soc_fraction": 0.86, "discharge_a": 2.0, "charger_a": 5.0, "cell_ir_mohm": 3.0
}))]
pub struct StorageChargeInput {
    /// The pack.
    pub pack: PackBuild,
    /// State of charge now, 0 to 1.
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub soc_fraction: f64,
    /// Cell voltage to store at, V; 3.85 if left out. LFP goes to 0.50 of its charge instead.
    #[serde(default)]
    #[schema(minimum = 3.75, maximum = 3.95)]
    pub target_cell_v: Option<f64>,
    /// Discharge current of charger or load, A, if it can discharge.
    #[serde(default)]
    #[schema(minimum = 0.05, maximum = 200.0)]
    pub discharge_a: Option<f64>,
    /// Charger current, A.
    #[schema(minimum = 0.05, maximum = 200.0)]
    pub charger_a: f64,
    /// Charger power limit, W; none if left out.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 10000.0)]
    pub charger_w: Option<f64>,
    /// Resistance of one cell as the charger reads it, mohm.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_ir_mohm: f64,
}

/// What to do with the pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum StorageStep {
    /// It is in the storage band.
    Leave,
    /// Put charge in.
    Charge,
    /// Take charge out.
    Discharge,
}

/// How the pack comes to storage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"step": "discharge", "target_soc_fraction": 0.62188, "moved_ah": 1.1906, "minutes": 35.719}))]
pub struct StorageChargeOutput {
    /// What to do.
    pub step: StorageStep,
    /// State of charge to reach, 0 to 1.
    pub target_soc_fraction: f64,
    /// Charge in or out, Ah of the pack.
    pub moved_ah: f64,
    /// How long it takes, min; `null` if it must be discharged and nothing can do it.
    pub minutes: Option<f64>,
}

/// Direction, ampere-hours and minutes to storage.
///
/// **Units** V, A, Ah, min.
///
/// **Assumptions** 4.2 V cells are stored at 3.80 to 3.90 V, LFP at 0.40 to 0.60 by count;
/// discharge at a steady current.
///
/// **Source** class table; hobby LiPo guidelines; charging as `charge_time`.
///
/// # Errors
/// Values out of range; a target voltage for LFP.
///
/// ```
/// # use linkout::calc::battery::{StorageChargeInput, storage_charge};
/// let input: StorageChargeInput = serde_json::from_str(r#"{
///     "pack": {"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5},
///     "soc_fraction": 0.86, "discharge_a": 2, "charger_a": 5, "cell_ir_mohm": 3
/// }"#).unwrap();
/// assert!((storage_charge(&input).unwrap().minutes.unwrap() - 35.72).abs() < 0.01);
/// ```
pub fn storage_charge(input: &StorageChargeInput) -> Result<StorageChargeOutput, Vec<Fault>> {
    check(input)?;
    let pack = &input.pack;
    let ocv = pack.chemistry.ocv();
    let soc = input.soc_fraction;
    let (band, target) = if pack.chemistry.is_flat() {
        (LFP_BAND, LFP_TARGET)
    } else {
        let target_v = input.target_cell_v.unwrap_or(TARGET_V);
        let band_v = (BAND_V.0.min(target_v), BAND_V.1.max(target_v));
        (
            (ocv.soc_at(band_v.0), ocv.soc_at(band_v.1)),
            ocv.soc_at(target_v),
        )
    };
    let moved_ah = (target - soc).abs() * pack.capacity_ah();
    let (step, moved_ah, minutes) = if (band.0..=band.1).contains(&soc) {
        (StorageStep::Leave, 0.0, Some(0.0))
    } else if soc < target {
        let cell = CellOnCharge::of(
            pack,
            ASSUMED_KAPPA * input.cell_ir_mohm,
            input.charger_a,
            input.charger_w,
        );
        let minutes = cell.leg(soc, target).seconds / 60.0;
        (StorageStep::Charge, moved_ah, Some(minutes))
    } else {
        let minutes = input.discharge_a.map(|amps| 60.0 * moved_ah / amps);
        (StorageStep::Discharge, moved_ah, minutes)
    };
    Ok(StorageChargeOutput {
        step,
        target_soc_fraction: target,
        moved_ah,
        minutes,
    })
}

fn check(input: &StorageChargeInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    input.pack.check("/pack", &mut faults);
    check_soc(input.soc_fraction, "/soc_fraction", &mut faults);
    input
        .pack
        .check_resistance(input.cell_ir_mohm, "/cell_ir_mohm", &mut faults);
    faults.range("/charger_a", input.charger_a, 0.05, 200.0);
    if let Some(amps) = input.discharge_a {
        faults.range("/discharge_a", amps, 0.05, 200.0);
    }
    if let Some(watts) = input.charger_w {
        faults.range("/charger_w", watts, 1.0, 10_000.0);
    }
    if let Some(target_v) = input.target_cell_v {
        match input.pack.chemistry {
            Chemistry::Lfp => faults.add(
                "/target_cell_v",
                "The voltage of LFP does not tell its charge; it is stored at 0.50 by count.",
            ),
            Chemistry::Lipo | Chemistry::Nmc if target_v <= 4.4 => {
                faults.range("/target_cell_v", target_v, 3.75, 3.95);
            }
            Chemistry::Lipo | Chemistry::Nmc => {
                check_cell(
                    input.pack.chemistry,
                    target_v,
                    "/target_cell_v",
                    &mut faults,
                );
            }
        }
    }
    faults.check()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pack_at(soc: f64, chemistry: Chemistry) -> StorageChargeInput {
        StorageChargeInput {
            pack: PackBuild {
                chemistry,
                series_cells: 6,
                parallel_cells: 1,
                cell_capacity_ah: 5.0,
            },
            soc_fraction: soc,
            target_cell_v: None,
            discharge_a: Some(2.0),
            charger_a: 5.0,
            charger_w: None,
            cell_ir_mohm: 3.0,
        }
    }

    #[test]
    fn the_worked_pack_is_discharged_to_storage() {
        // Worked case w09: 0.86 at 2 A to 3.85 V.
        let output = storage_charge(&pack_at(0.86, Chemistry::Lipo)).unwrap();
        assert_eq!(output.step, StorageStep::Discharge);
        assert!((output.target_soc_fraction - 0.6219).abs() < 1e-4);
        assert!((output.minutes.unwrap() - 35.72).abs() < 0.01);
    }

    #[test]
    fn an_empty_pack_is_charged_and_a_stored_one_left() {
        let output = storage_charge(&pack_at(0.2, Chemistry::Lipo)).unwrap();
        assert_eq!(output.step, StorageStep::Charge);
        // 1C all the way: no limit but amperes so far from full.
        assert!((output.minutes.unwrap() - 60.0 * (0.621875 - 0.2)).abs() < 1e-6);
        let output = storage_charge(&pack_at(0.6, Chemistry::Lipo)).unwrap();
        assert_eq!((output.step, output.moved_ah), (StorageStep::Leave, 0.0));
    }

    #[test]
    fn a_full_pack_that_nothing_discharges_has_no_time() {
        let mut input = pack_at(1.0, Chemistry::Lfp);
        input.discharge_a = None;
        let output = storage_charge(&input).unwrap();
        assert_eq!(
            (output.step, output.minutes),
            (StorageStep::Discharge, None)
        );
        input.target_cell_v = Some(3.3);
        assert_eq!(
            storage_charge(&input).unwrap_err()[0].pointer,
            "/target_cell_v"
        );
    }
}
