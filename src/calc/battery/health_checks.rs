//! Verdicts on packs.

use proptest::prelude::*;
use serde_json::json;

use super::*;

fn pack(cells: [f64; 4]) -> PackHealthInput {
    serde_json::from_value(json!({
        "pack": {
            "chemistry": "lipo", "series_cells": 4, "parallel_cells": 1, "cell_capacity_ah": 5.0,
        },
        "rest_cells_v": cells,
    }))
    .unwrap()
}

fn verdict(input: &PackHealthInput) -> HealthVerdict {
    pack_health(input).unwrap().verdict
}

#[test]
fn each_spread_has_its_verdict() {
    for (low_v, expected) in [
        (3.990, HealthVerdict::Fit),
        (3.989, HealthVerdict::Watch),
        (3.970, HealthVerdict::Watch),
        (3.969, HealthVerdict::BalanceFirst),
        (3.950, HealthVerdict::BalanceFirst),
        (3.949, HealthVerdict::Hold),
        (2.400, HealthVerdict::Quarantine),
    ] {
        assert_eq!(verdict(&pack([4.0, 4.0, low_v, 4.0])), expected, "{low_v}");
    }
}

#[test]
fn any_sign_is_quarantine_whatever_the_numbers() {
    for sign in ["puffed", "dented", "hot", "smells", "crashed"] {
        let mut input = pack([4.0; 4]);
        input.signs = serde_json::from_value(json!({sign: true})).unwrap();
        assert_eq!(verdict(&input), HealthVerdict::Quarantine, "{sign}");
    }
}

#[test]
fn a_pack_nobody_measured_is_unproved() {
    let mut input = pack([4.0; 4]);
    input.rest_cells_v.clear();
    assert_eq!(verdict(&input), HealthVerdict::Unproved);
    let mut flat = pack([3.27, 3.27, 3.20, 3.27]);
    flat.pack.chemistry = Chemistry::Lfp;
    assert_eq!(verdict(&flat), HealthVerdict::Unproved);
    flat.rest_cells_v = vec![3.5, 3.5, 3.42, 3.5];
    assert_eq!(verdict(&flat), HealthVerdict::Hold);
}

#[test]
fn cells_that_drift_apart_at_rest_are_quarantined() {
    let mut input = pack([4.0, 4.0, 3.975, 4.0]);
    input.earlier_rest = Some(EarlierRest {
        rest_cells_v: vec![4.0; 4],
        hours_between: 1.5,
    });
    assert_eq!(verdict(&input), HealthVerdict::Quarantine);
    input.earlier_rest.as_mut().unwrap().hours_between = 0.5;
    assert_eq!(verdict(&input), HealthVerdict::Hold);
    input.earlier_rest.as_mut().unwrap().rest_cells_v = vec![4.0, 4.0, 3.976, 4.0];
    assert_eq!(verdict(&input), HealthVerdict::Watch);
}

#[test]
fn resistance_and_capacity_retire_a_pack() {
    let mut input = pack([4.0; 4]);
    input.cell_irs_mohm = vec![3.0, 3.0, 4.5, 3.0];
    assert_eq!(verdict(&input), HealthVerdict::Quarantine);
    input.cell_irs_mohm = vec![3.0, 3.0, 4.4, 3.0];
    assert_eq!(verdict(&input), HealthVerdict::Fit);
    for (grown, expected) in [
        (1.29, HealthVerdict::Fit),
        (1.31, HealthVerdict::Watch),
        (1.51, HealthVerdict::Retire),
        (2.01, HealthVerdict::Quarantine),
    ] {
        input.ir_readings = [3.0, 3.0 * grown]
            .map(|cell_mohm| IrReading {
                cell_mohm,
                cell_c: 22.0,
                soc_fraction: 0.6,
            })
            .to_vec();
        assert_eq!(verdict(&input), expected, "{grown}");
    }
    input.ir_readings.clear();
    for (held, expected) in [
        (0.86, HealthVerdict::Fit),
        (0.84, HealthVerdict::Watch),
        (0.79, HealthVerdict::Retire),
    ] {
        input.charges = vec![CapacityCharge {
            charged_ah: 5.0 * held * 0.8,
            start_soc_fraction: 0.2,
            end_soc_fraction: 1.0,
            start_sigma_fraction: 0.03,
            end_sigma_fraction: 0.01,
            ended_at_c20: true,
            start_rested: true,
        }];
        assert_eq!(verdict(&input), expected, "{held}");
    }
}

#[test]
fn cycles_count_discharges_over_the_label() {
    // Worked case w10.
    let mut input = pack([4.0; 4]);
    input.discharges_ah = vec![1.7, 2.1, 0.9];
    let output = pack_health(&input).unwrap();
    assert!((output.equivalent_full_cycles - 0.94).abs() < 1e-12);
}

#[test]
fn every_fault_of_a_health_question_is_named() {
    let mut input = pack([4.0, 4.0, 5.1, 4.0]);
    input.cell_irs_mohm = vec![0.003, 3.0];
    input.discharges_ah = vec![-1.0];
    let pointers: Vec<String> = pack_health(&input)
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    assert_eq!(
        pointers,
        [
            "/rest_cells_v/2",
            "/cell_irs_mohm",
            "/cell_irs_mohm/0",
            "/discharges_ah/0"
        ]
    );
}

proptest! {
    #[test]
    fn a_wider_spread_is_never_judged_better(low in 3.6_f64..3.99, lower in 0.0_f64..0.2) {
        let near = verdict(&pack([4.0, low, 4.0, 4.0]));
        prop_assert!(verdict(&pack([4.0, low - lower, 4.0, 4.0])) >= near);
    }
}
