//! State of charge from rest voltage, as an interval.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::chemistry::Chemistry;
use super::pack::{PackBuild, highest, lowest, mean};
use crate::calc::fault::{Fault, Faults};

/// What a pack did before it rested.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RestAfter {
    /// A current of at most 1C.
    Gentle,
    /// A bout.
    Bout,
}

impl RestAfter {
    /// Minutes after which the voltage may be trusted.
    ///
    /// **Source** own policy; one minute costs 4 to 19 points for the LCO set of PyBaMM.
    fn rest_needed_min(self) -> f64 {
        match self {
            Self::Gentle => 10.0,
            Self::Bout => 30.0,
        }
    }
}

/// Cell voltages of a pack at rest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "pack": {"chemistry": "lipo", "series_cells": 4, "parallel_cells": 1, "cell_capacity_ah": 5.0},
    "rest_cells_v": [3.87, 3.87, 3.86, 3.87], "rested_min": 35.0, "rest_after": "bout"
}))]
pub struct RestVoltageInput {
    /// The pack.
    pub pack: PackBuild,
    /// Voltage of every cell of the series, V.
    #[schema(max_items = 24)]
    pub rest_cells_v: Vec<f64>,
    /// Minutes at rest; unknown if left out.
    #[serde(default)]
    #[schema(minimum = 0.0)]
    pub rested_min: Option<f64>,
    /// What came before the rest; a bout if left out.
    #[serde(default)]
    pub rest_after: Option<RestAfter>,
}

/// A state of charge known within bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SocInterval {
    /// Least it may be, 0 to 1.
    pub low_fraction: f64,
    /// Best single value, 0 to 1.
    pub likely_fraction: f64,
    /// Most it may be, 0 to 1.
    pub high_fraction: f64,
}

/// What the voltages say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "lowest_cell": {"low_fraction": 0.5575, "likely_fraction": 0.6375, "high_fraction": 0.7175},
    "mean_cell": {"low_fraction": 0.56922, "likely_fraction": 0.64922, "high_fraction": 0.72922},
    "highest_cell": {"low_fraction": 0.57244, "likely_fraction": 0.65244, "high_fraction": 0.73244},
    "spread_mv": 10.0, "rested": true, "telling": true, "notes": []
}))]
pub struct RestVoltageOutput {
    /// The cell that decides whether the pack serves a bout.
    pub lowest_cell: SocInterval,
    /// The cell that decides how long a charge takes.
    pub mean_cell: SocInterval,
    /// The cell that reaches the hold voltage first.
    pub highest_cell: SocInterval,
    /// Highest less lowest cell, mV.
    pub spread_mv: f64,
    /// Whether the rest was long enough.
    pub rested: bool,
    /// Whether voltage says anything at this level: not on the flat of LFP.
    pub telling: bool,
    /// What a person should know about these numbers.
    pub notes: Vec<String>,
}

/// State of charge from the rest voltage of each cell.
///
/// **Units** V to a fraction of the capacity.
///
/// **Assumptions** the class table fits the cell within the half-widths of `half_width`; a count
/// of ampere-hours from a full charge is better and goes first where there is one.
///
/// **Source** straight-line inversion of the class tables (PyBaMM 26.10.1.1); half-widths are the
/// spread between the sets of one class.
///
/// # Errors
/// A wrong cell count, voltages no such cell shows, a negative rest.
///
/// ```
/// # use linkout::calc::battery::{RestVoltageInput, rest_voltage};
/// let input: RestVoltageInput = serde_json::from_str(r#"{
///     "pack": {"chemistry": "lipo", "series_cells": 1, "parallel_cells": 1, "cell_capacity_ah": 5},
///     "rest_cells_v": [3.85], "rested_min": 40
/// }"#).unwrap();
/// let soc = rest_voltage(&input).unwrap().mean_cell;
/// assert!((soc.likely_fraction - 0.6219).abs() < 1e-4);
/// ```
pub fn rest_voltage(input: &RestVoltageInput) -> Result<RestVoltageOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    input.pack.check("/pack", &mut faults);
    input
        .pack
        .check_cells(&input.rest_cells_v, "/rest_cells_v", &mut faults);
    if let Some(rested_min) = input.rested_min {
        faults.range("/rested_min", rested_min, 0.0, 1e6);
    }
    let cells = &input.rest_cells_v;
    let (Some(low_v), Some(mean_v), Some(high_v)) = (lowest(cells), mean(cells), highest(cells))
    else {
        // The wrong cell count has been noted already.
        return Err(faults.check().err().unwrap_or_default());
    };
    faults.check()?;

    let chemistry = input.pack.chemistry;
    let needed = input
        .rest_after
        .unwrap_or(RestAfter::Bout)
        .rest_needed_min();
    let rested = input.rested_min.is_some_and(|minutes| minutes >= needed);
    let telling = !cells.iter().any(|&volts| is_blind(chemistry, volts));
    let mut notes = Vec::new();
    if !rested {
        notes.push(format!(
            "Not known to have rested {needed} min: the bounds are wider by {} points.",
            (UNRESTED_EXTRA * 100.0).round()
        ));
    }
    if !telling {
        notes.push(
            "LFP between 3.20 and 3.34 V says nearly nothing about charge: count ampere-hours."
                .to_owned(),
        );
    }
    if low_v < chemistry.quarantine_below_v() {
        notes.push(format!(
            "A cell at {low_v} V is below {} V: quarantine.",
            chemistry.quarantine_below_v()
        ));
    }
    if high_v > chemistry.overcharged_v() {
        notes.push(format!(
            "A cell at {high_v} V is above {} V: overcharged, quarantine.",
            chemistry.overcharged_v()
        ));
    }
    Ok(RestVoltageOutput {
        lowest_cell: soc_interval(chemistry, low_v, rested),
        mean_cell: soc_interval(chemistry, mean_v, rested),
        highest_cell: soc_interval(chemistry, high_v, rested),
        spread_mv: 1000.0 * (high_v - low_v),
        rested,
        telling,
        notes,
    })
}

/// What is added to the half-width without a proper rest.
///
/// **Units** fraction of the capacity. **Source** the worst of one minute's rest, LCO set of
/// PyBaMM 26.10.1.1.
const UNRESTED_EXTRA: f64 = 0.19;

/// State of charge of one cell from its voltage.
pub(super) fn soc_interval(chemistry: Chemistry, volts: f64, rested: bool) -> SocInterval {
    let likely = chemistry.ocv().soc_at(volts);
    let half = half_width(chemistry, volts) + if rested { 0.0 } else { UNRESTED_EXTRA };
    SocInterval {
        low_fraction: (likely - half).max(0.0),
        likely_fraction: likely,
        high_fraction: (likely + half).min(1.0),
    }
}

/// How far the class table may be off at a voltage.
///
/// **Units** fraction of the capacity. **Source** spread of the sets of a class above 3.5 V (LFP:
/// between 3.20 and 3.35 V), up to 7.4 points between 3.85 and 4.10 V; own estimate outside.
fn half_width(chemistry: Chemistry, volts: f64) -> f64 {
    match chemistry {
        Chemistry::Lipo | Chemistry::Nmc => {
            if volts > 4.10 {
                0.02
            } else if volts > 3.85 {
                0.08
            } else {
                // Widened by degrees: a step would make a fuller cell look emptier.
                (0.10 + 0.5 * (volts - 3.40)).clamp(0.10, 0.15)
            }
        }
        Chemistry::Lfp => {
            if volts > 3.35 {
                0.05
            } else if volts >= 3.20 {
                0.25
            } else if volts >= 3.15 {
                0.15
            } else {
                0.08
            }
        }
    }
}

/// Whether a voltage lies where the class says nearly nothing.
pub(super) fn is_blind(chemistry: Chemistry, volts: f64) -> bool {
    chemistry.is_flat() && (3.20..=3.34).contains(&volts)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn pack_of(chemistry: Chemistry, cells: Vec<f64>, rested_min: Option<f64>) -> RestVoltageInput {
        RestVoltageInput {
            pack: PackBuild {
                chemistry,
                series_cells: cells.len() as u32,
                parallel_cells: 1,
                cell_capacity_ah: 5.0,
            },
            rest_cells_v: cells,
            rested_min,
            rest_after: None,
        }
    }

    proptest! {
        #[test]
        fn a_higher_cell_never_promises_less(low in 2_600_u32..4_200, more in 0_u32..400, nmc: bool) {
            let chemistry = if nmc { Chemistry::Nmc } else { Chemistry::Lipo };
            let least = |mv: u32| soc_interval(chemistry, f64::from(mv) / 1000.0, true).low_fraction;
            prop_assert!(least(low + more) >= least(low) - 1e-12);
        }
    }

    #[test]
    fn storage_voltages_give_the_worked_charge() {
        // Worked case w09.
        for (volts, soc) in [(3.80, 0.5184), (3.85, 0.6219)] {
            let told = soc_interval(Chemistry::Lipo, volts, true);
            assert!((told.likely_fraction - soc).abs() < 1e-4);
        }
    }

    #[test]
    fn a_pack_that_has_not_rested_is_known_less_well() {
        let cells = vec![3.9, 3.92];
        let fresh = rest_voltage(&pack_of(Chemistry::Lipo, cells.clone(), Some(1.0))).unwrap();
        let rested = rest_voltage(&pack_of(Chemistry::Lipo, cells.clone(), Some(30.0))).unwrap();
        let unknown = rest_voltage(&pack_of(Chemistry::Lipo, cells, None)).unwrap();
        assert!(!fresh.rested && rested.rested && !unknown.rested);
        assert!(fresh.lowest_cell.low_fraction < rested.lowest_cell.low_fraction);
        assert_eq!(fresh.lowest_cell, unknown.lowest_cell);
        assert!((rested.spread_mv - 20.0).abs() < 1e-9);
    }

    #[test]
    fn the_flat_of_lfp_tells_nothing() {
        let output = rest_voltage(&pack_of(Chemistry::Lfp, vec![3.28, 3.30], Some(60.0))).unwrap();
        assert!(!output.telling);
        assert!(output.mean_cell.high_fraction - output.mean_cell.low_fraction >= 0.45);
    }

    #[test]
    fn every_fault_is_named_at_once() {
        let mut input = pack_of(Chemistry::Lipo, vec![3.9, 5.1], Some(-1.0));
        input.pack.series_cells = 3;
        let pointers: Vec<String> = rest_voltage(&input)
            .unwrap_err()
            .into_iter()
            .map(|fault| fault.pointer)
            .collect();
        assert_eq!(
            pointers,
            ["/rest_cells_v", "/rest_cells_v/1", "/rested_min"]
        );
        let none = pack_of(Chemistry::Lipo, Vec::new(), None);
        assert_eq!(
            rest_voltage(&none).unwrap_err()[0].pointer,
            "/pack/series_cells"
        );
    }

    proptest! {
        #[test]
        fn more_volts_never_mean_less_charge(volts in 2.0_f64..4.2, more in 0.0_f64..0.2) {
            for chemistry in [Chemistry::Lipo, Chemistry::Nmc, Chemistry::Lfp] {
                let low = soc_interval(chemistry, volts, true);
                let high = soc_interval(chemistry, volts + more, true);
                prop_assert!(high.likely_fraction >= low.likely_fraction);
                prop_assert!(low.low_fraction <= low.likely_fraction);
                prop_assert!(low.likely_fraction <= low.high_fraction);
            }
        }
    }
}
