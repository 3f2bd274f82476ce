//! The resistance that makes the charge model fit a pack's own charges.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::charge_curve::CellOnCharge;
use super::pack::{PackBuild, check_soc, median};
use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// Effective charge resistance over the charger's reading, where nothing was learned.
///
/// **Source** 1.1 measured on hobby-charger logs, 1.25 to 3 for the sets of PyBaMM; own choice.
pub(super) const ASSUMED_KAPPA: f64 = 1.2;

/// Lowest and highest learned resistance over the charger's reading.
const SEARCHED: (f64, f64) = (0.3, 6.0);

/// How many of the last charges count.
const REMEMBERED: usize = 3;

/// How far the temperature may have changed before a charge no longer counts, degC.
const SAME_TEMPERATURE_C: f64 = 10.0;

/// One charge of this pack, as it went.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"start_soc_fraction": 0.2, "charger_a": 5.0, "to_c10_min": 65.6}))]
pub struct LoggedCharge {
    /// State of charge at its start, 0 to 1.
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub start_soc_fraction: f64,
    /// Charger current that was set, A.
    #[schema(minimum = 0.05, maximum = 200.0)]
    pub charger_a: f64,
    /// Charger power limit, W, if it has one.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 10000.0)]
    pub charger_w: Option<f64>,
    /// Minutes until the current had fallen to a tenth of the capacity.
    #[schema(minimum = 1.0, maximum = 1440.0)]
    pub to_c10_min: f64,
    /// Pack temperature at its start, degC, if known.
    #[serde(default)]
    #[schema(minimum = -20.0, maximum = 70.0)]
    pub pack_c: Option<f64>,
}

/// A pack and its own charges.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "pack": {"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5.0},
    "cell_ir_mohm": 20.3,
    "charges": [{"start_soc_fraction": 0.2, "charger_a": 5.0, "to_c10_min": 62.552}]
}))]
pub struct ChargeResistanceInput {
    /// The pack.
    pub pack: PackBuild,
    /// Resistance of one cell as the charger reads it, mohm.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_ir_mohm: f64,
    /// Its charges, oldest first.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub charges: Vec<LoggedCharge>,
    /// Temperature at which the next charge starts, degC; charges more than 10 degC away do not
    /// count.
    #[serde(default)]
    #[schema(minimum = -20.0, maximum = 70.0)]
    pub pack_c: Option<f64>,
}

/// Where a charge resistance comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ResistanceBasis {
    /// Learned from this pack's own charges.
    Learned,
    /// The charger's reading times 1.2.
    Assumed,
}

/// What one charge taught.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargeLesson {
    /// The resistance that fits this charge, mohm; `null` if it taught nothing.
    pub resistance_mohm: Option<f64>,
    /// Why it taught nothing.
    pub reason: Option<String>,
}

/// The resistance to plan charges with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "resistance_mohm": 41.822, "basis": "learned", "kappa": 2.0602,
    "lessons": [{"resistance_mohm": 41.822, "reason": null}]
}))]
pub struct ChargeResistanceOutput {
    /// Effective resistance of one cell, mohm.
    pub resistance_mohm: f64,
    /// Where it comes from.
    pub basis: ResistanceBasis,
    /// Effective resistance over the charger's reading.
    pub kappa: f64,
    /// What each charge taught, in the order given.
    pub lessons: Vec<ChargeLesson>,
}

/// Effective charge resistance from the pack's own charges.
///
/// For each charge the resistance is sought for which the charge model takes the logged time to
/// C/10; the median of the last three counts.
///
/// **Units** mohm of one cell; minutes.
///
/// **Assumptions** charges between 0.4C and 2C, temperatures within 10 degC, start known from a
/// count of ampere-hours or a proper rest; LFP from at most 0.40.
///
/// **Source** own method, checked against PyBaMM 26.10.1.1: mean error 1.8 % to C/10.
///
/// # Errors
/// Values out of range, each named.
pub fn charge_resistance(
    input: &ChargeResistanceInput,
) -> Result<ChargeResistanceOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    input.pack.check("/pack", &mut faults);
    input
        .pack
        .check_resistance(input.cell_ir_mohm, "/cell_ir_mohm", &mut faults);
    check_charges(&input.charges, "/charges", &mut faults);
    if let Some(pack_c) = input.pack_c {
        faults.range("/pack_c", pack_c, -20.0, 70.0);
    }
    faults.check()?;
    Ok(learn(
        &input.pack,
        input.cell_ir_mohm,
        &input.charges,
        input.pack_c,
    ))
}

/// Notes what cannot be true of logged charges.
pub(super) fn check_charges(charges: &[LoggedCharge], at: &str, faults: &mut Faults) {
    names::count(faults, at, charges.len(), 0, 200, "charges");
    for (index, charge) in charges.iter().enumerate() {
        let at = format!("{at}/{index}");
        check_soc(
            charge.start_soc_fraction,
            &format!("{at}/start_soc_fraction"),
            faults,
        );
        faults.range(format!("{at}/charger_a"), charge.charger_a, 0.05, 200.0);
        if let Some(watts) = charge.charger_w {
            faults.range(format!("{at}/charger_w"), watts, 1.0, 10_000.0);
        }
        faults.range(format!("{at}/to_c10_min"), charge.to_c10_min, 1.0, 1440.0);
        if let Some(pack_c) = charge.pack_c {
            faults.range(format!("{at}/pack_c"), pack_c, -20.0, 70.0);
        }
    }
}

/// The resistance to plan with, from input that has been checked.
pub(super) fn learn(
    pack: &PackBuild,
    cell_ir_mohm: f64,
    charges: &[LoggedCharge],
    pack_c: Option<f64>,
) -> ChargeResistanceOutput {
    let lessons: Vec<ChargeLesson> = charges
        .iter()
        .map(|charge| match lesson(pack, cell_ir_mohm, charge, pack_c) {
            Ok(resistance_mohm) => ChargeLesson {
                resistance_mohm: Some(resistance_mohm),
                reason: None,
            },
            Err(reason) => ChargeLesson {
                resistance_mohm: None,
                reason: Some(reason),
            },
        })
        .collect();
    let mut learned: Vec<f64> = lessons
        .iter()
        .rev()
        .filter_map(|lesson| lesson.resistance_mohm)
        .collect();
    learned.truncate(REMEMBERED);
    let (resistance_mohm, basis) = median(&learned).map_or(
        (ASSUMED_KAPPA * cell_ir_mohm, ResistanceBasis::Assumed),
        |resistance_mohm| (resistance_mohm, ResistanceBasis::Learned),
    );
    ChargeResistanceOutput {
        resistance_mohm,
        basis,
        kappa: resistance_mohm / cell_ir_mohm,
        lessons,
    }
}

/// The resistance that fits one charge, or why there is none.
fn lesson(
    pack: &PackBuild,
    cell_ir_mohm: f64,
    charge: &LoggedCharge,
    pack_c: Option<f64>,
) -> Result<f64, String> {
    if let (Some(then), Some(now)) = (charge.pack_c, pack_c)
        && (then - now).abs() > SAME_TEMPERATURE_C
    {
        return Err(format!(
            "It started at {then} degC, more than {SAME_TEMPERATURE_C} degC from {now} degC."
        ));
    }
    let rate = charge.charger_a / pack.capacity_ah();
    if !(0.4..=2.0).contains(&rate) {
        return Err(format!(
            "At {rate:.2}C the time says little about resistance (0.4C to 2C does)."
        ));
    }
    if pack.chemistry.is_flat() && charge.start_soc_fraction > 0.40 {
        return Err("An LFP charge teaches only from 0.40 or below.".to_owned());
    }
    let wanted = charge.to_c10_min * 60.0;
    let seconds = |mohm: f64| {
        CellOnCharge::of(pack, mohm, charge.charger_a, charge.charger_w)
            .seconds_to_taper(charge.start_soc_fraction, 0.1)
    };
    only_crossing(
        SEARCHED.0 * cell_ir_mohm,
        SEARCHED.1 * cell_ir_mohm,
        |mohm| seconds(mohm) - wanted,
    )
    .ok_or_else(|| {
        format!(
            "No single resistance from {:.1} to {:.1} mohm gives {} min: is the start or the \
             capacity right?",
            SEARCHED.0 * cell_ir_mohm,
            SEARCHED.1 * cell_ir_mohm,
            charge.to_c10_min
        )
    })
}

/// Where `error` changes sign between two values, if it does so exactly once.
fn only_crossing(low: f64, high: f64, error: impl Fn(f64) -> f64) -> Option<f64> {
    const STEPS: u32 = 40;
    let ratio = high / low;
    let mark = |step: u32| low * ratio.powf(f64::from(step) / f64::from(STEPS));
    let signs: Vec<bool> = (0..=STEPS).map(|step| error(mark(step)) >= 0.0).collect();
    let mut crossings = (1..=STEPS).filter(|&step| {
        let step = step as usize;
        signs[step] != signs[step - 1]
    });
    let step = crossings.next()?;
    if crossings.next().is_some() {
        return None;
    }
    let (mut below, mut above) = (mark(step - 1), mark(step));
    let rising = error(above) >= 0.0;
    for _ in 0..50 {
        let middle = f64::midpoint(below, above);
        if (error(middle) >= 0.0) == rising {
            above = middle;
        } else {
            below = middle;
        }
    }
    Some(f64::midpoint(below, above))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::chemistry::Chemistry;
    use super::*;

    const PACK: PackBuild = PackBuild {
        chemistry: Chemistry::Lipo,
        series_cells: 6,
        parallel_cells: 1,
        cell_capacity_ah: 5.0,
    };

    fn charge(start: f64, amps: f64, mohm: f64) -> LoggedCharge {
        let seconds = CellOnCharge::of(&PACK, mohm, amps, None).seconds_to_taper(start, 0.1);
        LoggedCharge {
            start_soc_fraction: start,
            charger_a: amps,
            charger_w: None,
            to_c10_min: seconds / 60.0,
            pack_c: Some(25.0),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn a_charge_by_the_model_teaches_its_resistance(
            start in 0.05_f64..0.4, rate in 0.5_f64..2.0, mohm in 8.0_f64..60.0,
        ) {
            let input = ChargeResistanceInput {
                pack: PACK,
                cell_ir_mohm: 20.0,
                charges: vec![charge(start, rate * 5.0, mohm)],
                pack_c: None,
            };
            let output = charge_resistance(&input).unwrap();
            // A resistance that two values explain equally well is not learned at all.
            prop_assume!(output.basis == ResistanceBasis::Learned);
            prop_assert!((output.resistance_mohm - mohm).abs() < 1e-6 * mohm);
        }
    }

    #[test]
    fn the_median_of_the_last_three_counts() {
        let told: Vec<LoggedCharge> = [60.0, 30.0, 22.0, 24.0]
            .into_iter()
            .map(|mohm| charge(0.2, 5.0, mohm))
            .collect();
        let output = learn(&PACK, 20.0, &told, Some(25.0));
        assert!((output.resistance_mohm - 24.0).abs() < 1e-3);
        assert_eq!(output.basis, ResistanceBasis::Learned);
    }

    #[test]
    fn a_charge_in_the_cold_does_not_count_in_the_warm() {
        let output = learn(&PACK, 20.0, &[charge(0.2, 5.0, 30.0)], Some(8.0));
        assert_eq!(output.basis, ResistanceBasis::Assumed);
        assert!((output.resistance_mohm - 24.0).abs() < 1e-9);
        assert!(output.lessons[0].reason.as_ref().unwrap().contains("degC"));
    }

    #[test]
    fn a_slow_charge_and_an_impossible_one_teach_nothing() {
        let mut quick = charge(0.2, 5.0, 30.0);
        quick.to_c10_min = 20.0;
        let output = learn(&PACK, 20.0, &[charge(0.2, 1.0, 30.0), quick], None);
        assert!(
            output
                .lessons
                .iter()
                .all(|lesson| lesson.resistance_mohm.is_none())
        );
        assert_eq!(output.basis, ResistanceBasis::Assumed);
    }
}
