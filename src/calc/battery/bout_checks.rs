//! Bouts and rests against the reference model.

use proptest::prelude::*;
use serde_json::{Value, json};

use super::charge_checks::class;
use super::*;

/// Reference answers of the Doyle-Fuller-Newman model, PyBaMM 26.10.1.1, with their tolerances.
const CASES: &str = include_str!("../../../tests/data/battery/cases.json");

/// Arithmetic worked by hand.
const WORKED: &str = include_str!("../../../tests/data/battery/worked.json");

fn bouts() -> Vec<Value> {
    let cases: Value = serde_json::from_str(CASES).unwrap();
    let bouts: Vec<Value> = cases["cases"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|case| case["kind"] == "bout")
        .cloned()
        .collect();
    assert_eq!(bouts.len(), 5);
    bouts
}

fn input(case: &Value, taught: bool) -> BoutUseInput {
    let mut input = json!({
        "pack": {
            "chemistry": class(&case["chemistry"]),
            "series_cells": case["series"],
            "parallel_cells": case["parallel"],
            "cell_capacity_ah": case["cell_capacity_Ah"],
        },
        "start_soc_fraction": case["start_soc"],
        "lowest_rest_cell_v": case["start_rest_cell_V"],
        "pattern": {
            "duration_s": case["duration_s"],
            "base_a": case["base_A"],
            "peak_a": case["peak_A"],
            "peak_s": case["peak_s"],
            "period_s": case["period_s"],
        },
        "cell_ir_mohm": case["cell_ir_mOhm"],
    });
    if taught {
        let prior = &case["prior_bout"];
        input["past_bout"] = json!({
            "rest_cell_v_after": prior["rest_cell_V_after"],
            "lowest_cell_v": prior["min_cell_V"],
            "peak_a": case["peak_A"],
        });
    }
    serde_json::from_value(input).unwrap()
}

#[test]
fn a_taught_pack_sags_as_the_reference_does() {
    for case in bouts() {
        let output = bout_use(&input(&case["input"], true)).unwrap();
        let wanted = |name: &str| case["reference"][name].as_f64().unwrap();
        assert!((output.used_ah - wanted("Ah_used")).abs() < 0.002);
        assert!((output.end_soc_fraction - wanted("end_soc")).abs() < 0.002);
        let error = output.lowest_cell_v - wanted("min_cell_V_under_load");
        assert!(error.abs() < 0.05, "{} {error}", case["id"]);
    }
}

#[test]
fn an_untaught_pack_is_told_a_little_worse_than_it_is() {
    for case in bouts() {
        let output = bout_use(&input(&case["input"], false)).unwrap();
        let wanted = case["reference"]["min_cell_V_under_load"].as_f64().unwrap();
        let error = output.lowest_cell_v - wanted;
        assert!((-0.25..0.05).contains(&error), "{} {error}", case["id"]);
    }
}

#[test]
fn a_rested_voltage_tells_the_charge_within_its_bounds() {
    for case in bouts() {
        let chemistry = class(&case["input"]["chemistry"]);
        let output = rest_voltage(&RestVoltageInput {
            pack: PackBuild {
                chemistry,
                series_cells: 1,
                parallel_cells: 1,
                cell_capacity_ah: 5.0,
            },
            rest_cells_v: vec![case["reference"]["rest_cell_V_10min"].as_f64().unwrap()],
            rested_min: Some(10.0),
            rest_after: Some(RestAfter::Gentle),
        })
        .unwrap();
        let wanted = case["reference"]["end_soc"].as_f64().unwrap();
        let told = output.mean_cell;
        // The reference says 0.11; c20 is 0.1165 away by straight lines through the same table.
        assert!(
            (told.likely_fraction - wanted).abs() < 0.12,
            "{}",
            case["id"]
        );
        assert!(
            (told.low_fraction..=told.high_fraction).contains(&wanted),
            "{}: {wanted} outside {told:?}",
            case["id"]
        );
    }
}

#[test]
fn the_worked_bout_ends_where_it_should() {
    let worked: Value = serde_json::from_str(WORKED).unwrap();
    let answer = worked
        .as_array()
        .unwrap()
        .iter()
        .find(|case| case["id"] == "w13")
        .map(|case| case["answer"].clone())
        .unwrap();
    let input: BoutUseInput = serde_json::from_value(json!({
        "pack": {
            "chemistry": "lipo", "series_cells": 1, "parallel_cells": 1, "cell_capacity_ah": 5.0,
        },
        "start_soc_fraction": 0.95,
        "current_log": [{"at_s": 0, "pack_a": 60}, {"at_s": 90, "pack_a": 60}],
        "cell_ir_mohm": 5.0, "pack_kg": 0.12, "pack_c": 30.0,
    }))
    .unwrap();
    let output = bout_use(&input).unwrap();
    assert!((output.used_ah - 1.5).abs() < 1e-12);
    assert!((output.end_soc_fraction - answer["end_soc"].as_f64().unwrap()).abs() < 1e-9);
    assert!((output.lowest_cell_v - answer["min_cell_V"].as_f64().unwrap()).abs() < 1e-3);
    // 60^2 A^2 x 5 mohm x 90 s = 1620 J into 120 J/K.
    assert!((output.warming_c.unwrap() - 13.5).abs() < 1e-9);
    assert!((output.end_c.unwrap() - 43.5).abs() < 1e-9);
    assert_eq!(output.verdict, ServingVerdict::Serves);
}

#[test]
fn a_tired_pack_does_not_serve_and_says_why() {
    let mut tired = input(&bouts()[0]["input"], true);
    tired.start_soc_fraction = 0.3;
    tired.peak_a = Some(90.0);
    tired.pack_kg = Some(0.05);
    tired.pack_c = Some(40.0);
    let output = bout_use(&tired).unwrap();
    assert_eq!(output.verdict, ServingVerdict::DoesNotServe);
    assert_eq!(output.reasons.len(), 3, "{:?}", output.reasons);
}

#[test]
fn a_load_told_twice_or_not_at_all_is_a_fault() {
    let mut twice = input(&bouts()[0]["input"], true);
    twice.past_bouts_ah = vec![1.0, -2.0];
    let pointers: Vec<String> = bout_use(&twice)
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    assert_eq!(pointers, ["", "/past_bouts_ah/1", "/peak_a"]);
    let mut none = input(&bouts()[0]["input"], true);
    none.pattern = None;
    assert_eq!(bout_use(&none).unwrap_err()[0].pointer, "");
}

proptest! {
    #[test]
    fn a_harder_bout_never_leaves_more(
        case in 0_usize..5, start in 0.3_f64..1.0, harder in 1.0_f64..2.0, lower in 0.0_f64..1.0,
    ) {
        let mut first = input(&bouts()[case]["input"], true);
        first.start_soc_fraction = start;
        first.lowest_rest_cell_v = None;
        let mut hard = first.clone();
        let pattern = hard.pattern.as_mut().unwrap();
        pattern.base_a *= harder;
        pattern.peak_a *= harder;
        let mut low = first.clone();
        low.start_soc_fraction = start * lower;
        let output = bout_use(&first).unwrap();
        for worse in [bout_use(&hard).unwrap(), bout_use(&low).unwrap()] {
            prop_assert!(worse.lowest_cell_v <= output.lowest_cell_v + 1e-12);
            prop_assert!(worse.end_soc_fraction <= output.end_soc_fraction + 1e-12);
            prop_assert!(worse.verdict >= output.verdict);
        }
    }
}
