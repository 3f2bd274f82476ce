//! Sets of packs and the parts they feed.

use serde_json::json;

use super::*;

/// Four packs of four cells, two in series and two side by side, 3.6 V a cell: common practice.
fn four_packs() -> PackSetInput {
    let pack = |name: &str| {
        json!({
            "name": name, "cell_mohm": 3.0,
            "pack": {
                "chemistry": "lipo", "series_cells": 4, "parallel_cells": 1,
                "cell_capacity_ah": 5.0,
            },
        })
    };
    serde_json::from_value(json!({
        "strings": [[pack("A1"), pack("A2")], [pack("B1"), pack("B2")]],
        "nominal_cell_v": 3.6,
        "parts": [
            {"name": "controller", "limit_v": 50.0},
            {"name": "motor", "rated_v": 24.0},
            {"name": "valve", "rated_v": 24.0, "limit_v": 30.0},
            {"name": "receiver", "least_v": 26.0},
            {"name": "light"},
        ],
    }))
    .unwrap()
}

#[test]
fn the_worked_set_adds_up() {
    // Worked case w01.
    let output = pack_set(&four_packs()).unwrap();
    assert!((output.nominal_v - 28.8).abs() < 1e-9);
    assert!((output.capacity_ah - 10.0).abs() < 1e-9);
    assert!((output.energy_wh - 288.0).abs() < 1e-9);
    assert!((output.packs[0].pack_mohm - 12.0).abs() < 1e-9);
    assert!((output.set_mohm - 12.0).abs() < 1e-9);
    assert!((output.full_v - 33.6).abs() < 1e-9);
}

#[test]
fn each_part_is_judged_by_what_its_maker_says() {
    let verdicts: Vec<SetPartVerdict> = pack_set(&four_packs())
        .unwrap()
        .parts
        .into_iter()
        .map(|part| part.verdict)
        .collect();
    assert_eq!(
        verdicts,
        [
            SetPartVerdict::Accepted,
            SetPartVerdict::AboveRating,
            SetPartVerdict::AboveLimit,
            SetPartVerdict::StopsEarly,
            SetPartVerdict::Unproved,
        ]
    );
}

#[test]
fn packs_wired_side_by_side_by_mistake_show_at_the_plug() {
    let mut input = four_packs();
    for told in input.strings.iter_mut().flatten() {
        told.rest_cells_v = vec![4.1; 4];
    }
    input.measured_v = Some(32.7);
    assert!(pack_set(&input).unwrap().wiring.unwrap().fits);
    input.measured_v = Some(16.4);
    let wiring = pack_set(&input).unwrap().wiring.unwrap();
    assert!(!wiring.fits);
    assert!(
        wiring
            .detail
            .contains("reads like 4 cells in series instead of 8")
    );
    // Without cell voltages only the range from empty to full is known.
    let mut unread = four_packs();
    unread.measured_v = Some(16.4);
    assert!(!pack_set(&unread).unwrap().wiring.unwrap().fits);
}

#[test]
fn unlike_strings_and_chemistries_are_faults() {
    let mut input = four_packs();
    input.strings[1][0].pack.chemistry = Chemistry::Lfp;
    input.strings[1][1].pack.series_cells = 3;
    input.strings[0][0].cell_mohm = 0.003;
    let pointers: Vec<String> = pack_set(&input)
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    assert_eq!(
        pointers,
        [
            "/strings/1",
            "/strings/0/0/cell_mohm",
            "/strings/1/0/pack/chemistry"
        ]
    );
    input.strings = vec![Vec::new()];
    assert_eq!(pack_set(&input).unwrap_err()[0].pointer, "/strings/0");
}
