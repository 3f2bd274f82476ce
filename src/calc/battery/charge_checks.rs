//! Charge times against the reference model, and the properties they must keep.

use proptest::prelude::*;
use serde_json::{Value, json};

use super::*;

/// Reference answers of the Doyle-Fuller-Newman model, PyBaMM 26.10.1.1, with their tolerances.
const CASES: &str = include_str!("../../../tests/data/battery/cases.json");

/// The same model on a grid of rates and starts; times in seconds.
const GRID: &str = include_str!("../../../tests/data/battery/cccv_reference.csv");

/// The class a case names.
pub(super) fn class(name: &Value) -> Chemistry {
    match name.as_str().unwrap() {
        "lipo" => Chemistry::Lipo,
        "liion_nmc" => Chemistry::Nmc,
        other => panic!("no class is called {other}"),
    }
}

fn input(case: &Value) -> ChargeTimeInput {
    serde_json::from_value(json!({
        "pack": {
            "chemistry": class(&case["chemistry"]),
            "series_cells": case["series"],
            "parallel_cells": case["parallel"],
            "cell_capacity_ah": case["cell_capacity_Ah"],
        },
        "cell_ir_mohm": case["cell_ir_mOhm"],
        "start_soc_fraction": case["start_soc"],
        "charger_a": case["charger_max_A"],
        "charger_w": case["charger_max_W"],
        "hold_cell_v": case["v_max_cell"],
    }))
    .unwrap()
}

/// `input` with the earlier charge of the case, from which the resistance is learned.
fn taught(case: &Value) -> ChargeTimeInput {
    let mut input = input(case);
    let prior = &case["prior_charge"];
    input.charges.push(LoggedCharge {
        start_soc_fraction: prior["soc0"].as_f64().unwrap(),
        charger_a: prior["c_rate"].as_f64().unwrap() * input.pack.capacity_ah(),
        charger_w: None,
        to_c10_min: prior["total_C10_min"].as_f64().unwrap(),
        pack_c: None,
    });
    input
}

fn charges() -> Vec<Value> {
    let cases: Value = serde_json::from_str(CASES).unwrap();
    let charges: Vec<Value> = cases["cases"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|case| case["kind"] == "charge")
        .cloned()
        .collect();
    assert_eq!(charges.len(), 11);
    charges
}

/// Fails unless `told` is within `relative` of the reference, or within `absolute` of it.
fn near(case: &Value, name: &str, told: f64, relative: f64, absolute: f64) {
    let wanted = case["reference"][name].as_f64().unwrap();
    let error = (told - wanted).abs();
    assert!(
        error <= relative * wanted || error <= absolute,
        "{} {name}: {told} against {wanted}",
        case["id"]
    );
}

#[test]
fn a_taught_pack_charges_as_the_reference_does() {
    for case in charges() {
        let output = charge_time(&taught(&case["input"])).unwrap();
        assert_eq!(output.resistance_basis, ResistanceBasis::Learned);
        let told = output.forecast.unwrap();
        near(&case, "t_total_C10_min", told.to_c10_min, 0.06, 0.0);
        near(
            &case,
            "t_total_C20_min",
            told.to_c20_min.unwrap(),
            0.06,
            0.0,
        );
        near(&case, "t_to_80_min", told.to_80_min.unwrap(), 0.04, 0.5);
        near(&case, "t_to_90_min", told.to_90_min.unwrap(), 0.04, 0.5);
        near(&case, "t_to_95_min", told.to_95_min.unwrap(), 0.08, 0.0);
        near(&case, "Wh_C20", told.charged_wh, 0.03, 0.0);
        near(&case, "Ah_C20", told.charged_ah, 0.01, 0.0);
        near(&case, "peak_charge_W", told.peak_w, 0.01, 0.0);
        // The reference calls 2 min a soft bound; the LiPo table begins to hold up to 2.4 min early.
        near(&case, "t_cv_onset_min", told.to_hold_min, 0.0, 2.5);
        // What is planned with must not be short of what the reference takes.
        let full = case["reference"]["t_total_C20_min"].as_f64().unwrap();
        assert!(told.full_plan_min.unwrap() >= full, "{}", case["id"]);
    }
}

#[test]
fn an_untaught_pack_stays_within_the_wider_bounds() {
    for case in charges() {
        let output = charge_time(&input(&case["input"])).unwrap();
        assert_eq!(output.resistance_basis, ResistanceBasis::Assumed);
        let told = output.forecast.unwrap();
        near(&case, "t_total_C10_min", told.to_c10_min, 0.15, 0.0);
        near(
            &case,
            "t_total_C20_min",
            told.to_c20_min.unwrap(),
            0.20,
            0.0,
        );
        near(&case, "t_to_90_min", told.to_90_min.unwrap(), 0.06, 0.7);
    }
}

/// Name of the set and its numbers: capacity, resistance, rate, start, onset, 80, 90, 95 %, C/10
/// and C/20.
fn grid() -> Vec<(&'static str, Vec<f64>)> {
    let rows: Vec<_> = GRID
        .lines()
        .skip(1)
        .map(|line| {
            let mut cells = line.split(',');
            let name = cells.next().unwrap();
            let numbers = cells.map(|cell| cell.parse().unwrap_or(f64::NAN)).collect();
            (name, numbers)
        })
        .collect();
    assert_eq!(rows.len(), 120);
    rows
}

#[test]
fn a_resistance_from_one_charge_carries_over_the_grid() {
    let class_of = |name: &str| match name {
        "Ai2020_LCO" => Some(Chemistry::Lipo),
        "Mohtat2020_NMC" | "Chen2020_NMC811" | "HP_NMC_synth" => Some(Chemistry::Nmc),
        // Diffusion rules in Ecker2015, and an LFP tail is not foretold: both are named limits.
        _ => None,
    };
    let rows = grid();
    let mut errors = Vec::new();
    for (name, numbers) in &rows {
        let Some(chemistry) = class_of(name) else {
            continue;
        };
        let (capacity, mohm, rate, start) = (numbers[1], numbers[2], numbers[3], numbers[4]);
        if rate > 2.0 {
            continue;
        }
        let lesson = rows
            .iter()
            .find(|(other, told)| other == name && told[3] == 1.0 && told[4] == 0.2)
            .map(|(_, told)| told[9] / 60.0)
            .unwrap();
        let input: ChargeTimeInput = serde_json::from_value(json!({
            "pack": {
                "chemistry": chemistry, "series_cells": 1, "parallel_cells": 1,
                "cell_capacity_ah": capacity,
            },
            "cell_ir_mohm": mohm,
            "charges": [{
                "start_soc_fraction": 0.2, "charger_a": capacity, "to_c10_min": lesson,
            }],
            "start_soc_fraction": start,
            "charger_a": rate * capacity,
        }))
        .unwrap();
        let told = charge_time(&input).unwrap().forecast.unwrap();
        errors.push(told.to_c10_min * 60.0 / numbers[9] - 1.0);
        errors.push(told.to_c20_min.unwrap() * 60.0 / numbers[10] - 1.0);
    }
    assert_eq!(errors.len(), 2 * 4 * 3 * 5);
    let mean = errors.iter().map(|error| error.abs()).sum::<f64>() / errors.len() as f64;
    let longest = errors.iter().copied().fold(0.0, f64::max);
    let shortest = errors.iter().copied().fold(0.0, f64::min);
    assert!(mean < 0.02, "mean {mean}");
    // Too long by a tenth happens only from 80 % at 2C; too short stays inside the margin of 6 %.
    assert!(longest < 0.11, "longest {longest}");
    assert!(shortest > -0.04, "shortest {shortest}");
}

fn any_charge() -> impl Strategy<Value = ChargeTimeInput> {
    (
        prop_oneof![
            Just(Chemistry::Lipo),
            Just(Chemistry::Nmc),
            Just(Chemistry::Lfp)
        ],
        1_u32..14,
        1_u32..4,
        0.5_f64..12.0,
        8.0_f64..120.0,
        0.0_f64..0.9,
        0.2_f64..2.0,
        prop::option::of(40.0_f64..500.0),
    )
        .prop_map(
            |(chemistry, series, parallel, capacity, index, start, rate, watts)| {
                let pack = PackBuild {
                    chemistry,
                    series_cells: series,
                    parallel_cells: parallel,
                    cell_capacity_ah: capacity,
                };
                ChargeTimeInput {
                    pack,
                    cell_ir_mohm: index / capacity,
                    charges: Vec::new(),
                    start_soc_fraction: Some(start),
                    rest_cells_v: Vec::new(),
                    rested_min: None,
                    charger_a: (rate * pack.capacity_ah()).clamp(0.05, 200.0),
                    charger_w: watts,
                    most_charge_rate_c: None,
                    hold_cell_v: None,
                    temperature: None,
                    top_spread_mv: None,
                    balance_a: None,
                    hold_timeout_min: None,
                }
            },
        )
}

fn ready(input: &ChargeTimeInput) -> f64 {
    let forecast = charge_time(input).unwrap().forecast.unwrap();
    forecast.ready_plan_min.unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn more_amps_or_watts_are_never_slower(input in any_charge(), more in 1.0_f64..3.0) {
        let slow = ready(&input);
        let mut stronger = input.clone();
        stronger.charger_a = (input.charger_a * more).min(200.0);
        prop_assert!(ready(&stronger) <= slow * (1.0 + 1e-9) + 1e-6);
        stronger.charger_w = input.charger_w.map(|watts| watts * more);
        prop_assert!(ready(&stronger) <= slow * (1.0 + 1e-9) + 1e-6);
    }

    #[test]
    fn a_lower_start_is_never_ready_earlier(input in any_charge(), share in 0.0_f64..1.0) {
        let mut lower = input.clone();
        lower.start_soc_fraction = input.start_soc_fraction.map(|soc| soc * share);
        prop_assert!(ready(&lower) >= ready(&input) * (1.0 - 1e-9));
    }

    #[test]
    fn a_hotter_pack_is_never_ready_sooner(
        input in any_charge(), pack_c in 15.0_f64..70.0, hotter in 0.0_f64..20.0,
    ) {
        let at = |pack_c: f64| {
            let mut input = input.clone();
            input.temperature = Some(PackTemperature {
                pack_c, ambient_c: 21.0, tau_min: None, start_at_most_c: None,
            });
            ready(&input)
        };
        prop_assert!(at(pack_c + hotter) >= at(pack_c));
    }

    #[test]
    fn a_wider_spread_is_never_ready_sooner(input in any_charge(), spread in 0.0_f64..100.0) {
        let with = |spread: f64| {
            let mut input = input.clone();
            input.top_spread_mv = Some(spread);
            input.balance_a = Some(0.3);
            ready(&input)
        };
        prop_assert!(with(spread * 2.0) >= with(spread));
        prop_assert!(with(spread) >= ready(&input));
    }
}

proptest! {
    #[test]
    fn anything_that_is_taken_has_a_finite_answer(
        input in any_charge(), index in 1.0_f64..1000.0, start in 0.0_f64..=1.0,
        amps in 0.05_f64..200.0, watts in prop::option::of(1.0_f64..10_000.0),
    ) {
        let mut input = input;
        input.cell_ir_mohm = index / input.pack.cell_capacity_ah;
        input.start_soc_fraction = Some(start);
        input.charger_a = amps;
        input.charger_w = watts;
        input.hold_timeout_min = Some(15.0);
        input.charges = vec![LoggedCharge {
            start_soc_fraction: 1.0 - start,
            charger_a: amps,
            charger_w: watts,
            to_c10_min: 55.0,
            pack_c: None,
        }];
        // A bound can only be missed by rounding.
        prop_assume!(input.cell_ir_mohm * input.pack.cell_capacity_ah >= 1.0);
        let output = charge_time(&input).unwrap();
        prop_assert!(output.resistance_mohm.is_finite() && output.resistance_mohm > 0.0);
        let told = output.forecast.unwrap();
        for minutes in [Some(told.to_hold_min), Some(told.to_c10_min), told.to_c20_min,
            told.to_80_min, told.to_90_min, told.to_95_min, told.ready_plan_min,
            told.full_plan_min, Some(told.charged_ah), Some(told.charged_wh), Some(told.peak_w)]
        {
            prop_assert!(minutes.is_none_or(|value| value.is_finite() && value >= 0.0));
        }
    }
}

#[test]
fn an_lfp_charge_from_low_down_is_planned_long_enough() {
    let mut rows = 0;
    for (name, numbers) in grid() {
        let (capacity, mohm, rate, start) = (numbers[1], numbers[2], numbers[3], numbers[4]);
        if name != "Prada2013_LFP" || start > 0.4 || rate > 2.0 {
            continue;
        }
        let input: ChargeTimeInput = serde_json::from_value(json!({
            "pack": {
                "chemistry": "lfp", "series_cells": 1, "parallel_cells": 1,
                "cell_capacity_ah": capacity,
            },
            "cell_ir_mohm": mohm,
            "start_soc_fraction": start,
            "charger_a": rate * capacity,
        }))
        .unwrap();
        let told = charge_time(&input).unwrap().forecast.unwrap();
        assert_eq!(told.to_c20_min, None);
        let wanted = numbers[9] / 60.0;
        let planned = told.ready_plan_min.unwrap();
        assert!(
            planned >= wanted,
            "{rate} {start}: {planned} against {wanted}"
        );
        rows += 1;
    }
    assert_eq!(rows, 9);
}

#[test]
fn a_pack_known_by_voltage_is_planned_from_the_low_end() {
    let mut input = taught(&charges()[6]["input"]);
    let counted = ready(&input);
    input.start_soc_fraction = None;
    input.rest_cells_v = vec![3.7622; 6];
    input.rested_min = Some(40.0);
    let output = charge_time(&input).unwrap();
    assert!(output.start_soc.low_fraction < output.start_soc.likely_fraction);
    assert!(output.forecast.unwrap().ready_plan_min.unwrap() > counted);
}

#[test]
fn a_pack_that_must_not_be_charged_has_no_forecast() {
    let mut input = taught(&charges()[6]["input"]);
    input.rest_cells_v = vec![3.7, 3.7, 2.3, 3.7, 3.7, 3.7];
    let output = charge_time(&input).unwrap();
    assert_eq!(output.advice, StartAdvice::Quarantine);
    assert_eq!(output.forecast, None);
}

#[test]
fn a_chargers_clock_ends_the_hold_phase_early() {
    let mut input = taught(&charges()[6]["input"]);
    input.hold_timeout_min = Some(15.0);
    let forecast = charge_time(&input).unwrap().forecast.unwrap();
    let timeout = forecast.timeout.unwrap();
    assert!((timeout.at_min - forecast.to_hold_min - 15.0).abs() < 1e-6);
    assert!(timeout.at_min < forecast.to_c20_min.unwrap());
    assert!(timeout.soc_fraction < 1.0);
    input.hold_timeout_min = Some(120.0);
    let forecast = charge_time(&input).unwrap().forecast.unwrap();
    assert_eq!(forecast.timeout, None);
}

#[test]
fn every_fault_of_a_charge_is_named_at_once() {
    let mut input = taught(&charges()[6]["input"]);
    input.cell_ir_mohm = 0.020;
    input.start_soc_fraction = Some(40.0);
    input.charger_a = -5.0;
    input.rest_cells_v = vec![5.1, 3.7];
    input.hold_cell_v = Some(4.35);
    let pointers: Vec<String> = charge_time(&input)
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    assert_eq!(
        pointers,
        [
            "/cell_ir_mohm",
            "/start_soc_fraction",
            "/rest_cells_v",
            "/rest_cells_v/0",
            "/charger_a",
            "/hold_cell_v",
        ]
    );
}
