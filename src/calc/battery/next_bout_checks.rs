//! Sets of packs before a bout.

use proptest::prelude::*;
use serde_json::json;

use super::*;

fn pair(soc: Option<f64>, cells: [f64; 4]) -> NextBoutInput {
    let pack = |name: &str| {
        json!({
            "name": name,
            "pack": {
                "chemistry": "lipo", "series_cells": 4, "parallel_cells": 1,
                "cell_capacity_ah": 5.0,
            },
            "soc_fraction": soc,
            "rest_cells_v": cells,
            "rested_min": 45.0,
            "cell_ir_mohm": 3.0,
        })
    };
    serde_json::from_value(json!({
        "strings": [[pack("A1"), pack("A2")], [pack("B1"), pack("B2")]],
        "past_bouts_ah": [1.2, 1.6],
        "peak_a": 120.0,
    }))
    .unwrap()
}

#[test]
fn a_counted_set_serves_and_strings_share_the_load() {
    let output = next_bout(&pair(Some(0.97), [4.16; 4])).unwrap();
    assert_eq!(output.verdict, ServingVerdict::Serves);
    assert!((output.planned_ah - 2.0).abs() < 1e-12);
    // Half of 2.0 Ah out of 5 Ah.
    assert!((output.packs[0].end_soc_likely_fraction - 0.77).abs() < 1e-9);
    // 0.97 falls to 0.77: the table falls from 4.1628 to 3.9688 V, less 60 A x 3 mohm.
    assert!((output.packs[0].lowest_cell_v - (3.9688 + 4.16 - 4.1628 - 0.18)).abs() < 1e-9);
}

#[test]
fn a_voltage_in_the_middle_proves_little() {
    let output = next_bout(&pair(None, [3.80; 4])).unwrap();
    // 0.52 likely leaves 0.32; 0.37 at worst leaves 0.17.
    assert_eq!(output.verdict, ServingVerdict::Unproved);
    let output = next_bout(&pair(None, [3.68; 4])).unwrap();
    assert_eq!(output.verdict, ServingVerdict::DoesNotServe);
}

#[test]
fn a_set_nobody_measured_is_unproved() {
    let mut input = pair(Some(0.97), [4.16; 4]);
    input.strings[1][1].rest_cells_v.clear();
    let output = next_bout(&input).unwrap();
    assert_eq!(output.verdict, ServingVerdict::Unproved);
    assert_eq!(output.packs[3].verdict, ServingVerdict::Unproved);
    input.strings[1][1].soc_fraction = None;
    assert_eq!(next_bout(&input).unwrap().verdict, ServingVerdict::Unproved);
}

#[test]
fn one_pack_that_differs_spoils_the_set() {
    let mut input = pair(Some(0.97), [4.16; 4]);
    input.strings[0][1].rest_cells_v = vec![4.10; 4];
    let output = next_bout(&input).unwrap();
    assert_eq!(output.verdict, ServingVerdict::DoesNotServe);
    assert!(output.reasons[0].contains("60 mV"));
    input = pair(Some(0.97), [4.16; 4]);
    input.strings[0][1].suspect = true;
    assert_eq!(
        next_bout(&input).unwrap().verdict,
        ServingVerdict::DoesNotServe
    );
}

#[test]
fn strings_of_different_length_are_a_fault() {
    let mut input = pair(Some(0.97), [4.16; 4]);
    input.strings[1].pop();
    input.peak_a = -1.0;
    input.past_bouts_ah.clear();
    let pointers: Vec<String> = next_bout(&input)
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    assert_eq!(pointers, ["/strings/1", "/past_bouts_ah", "/peak_a"]);
    input.strings.clear();
    assert_eq!(next_bout(&input).unwrap_err()[0].pointer, "/strings");
}

proptest! {
    #[test]
    fn what_is_known_less_well_never_serves_better(volts in 3.3_f64..4.2, minutes in 0.0_f64..29.0) {
        let rested = pair(None, [volts; 4]);
        let mut fresh = rested.clone();
        for pack in fresh.strings.iter_mut().flatten() {
            pack.rested_min = Some(minutes);
        }
        prop_assert!(next_bout(&fresh).unwrap().verdict >= next_bout(&rested).unwrap().verdict);
    }
}
