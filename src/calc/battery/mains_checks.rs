//! Mains load against worked numbers.

use serde_json::{Value, json};

use super::*;

fn circuit(volts_v: f64, rating_a: f64) -> MainsLoadInput {
    serde_json::from_value(json!({
        "places": [{"name": "bay", "kind": "circuit", "volts_v": volts_v, "rating_a": rating_a}],
        "loads": [],
    }))
    .unwrap()
}

fn add(input: &mut MainsLoadInput, load: Value) {
    input.loads.push(serde_json::from_value(load).unwrap());
}

#[test]
fn limits_are_the_worked_ones() {
    // Worked case w06: US 15 A at 120 V; UK 13 A and 16 A at 230 V.
    for (volts, amps, planned_a, planned_w) in [
        (120.0, 15.0, 12.0, 1440.0),
        (230.0, 13.0, 10.4, 2392.0),
        (230.0, 16.0, 12.8, 2944.0),
    ] {
        let place = &mains_load(&circuit(volts, amps)).unwrap().places[0];
        assert!((place.planned_a - planned_a).abs() < 1e-9);
        assert!((place.planned_w - planned_w).abs() < 1e-9);
        assert_eq!((place.peak_a, place.peak_from_min), (0.0, None));
    }
}

#[test]
fn four_chargers_draw_the_worked_current() {
    // Worked case w07.
    for (corrected, amps) in [(true, 6.4612), (false, 10.2302)] {
        let mut input = circuit(230.0, 16.0);
        for index in 0..4 {
            add(
                &mut input,
                json!({
                    "name": format!("charger {index}"), "at": "bay", "output_w": 300.0,
                    "power_factor_corrected": corrected, "from_min": 0.0, "to_min": 60.0,
                }),
            );
        }
        let place = &mains_load(&input).unwrap().places[0];
        assert!((place.peak_a - amps).abs() < 1e-4);
    }
}

#[test]
fn three_hours_above_the_planned_share_are_too_many() {
    let mut input = circuit(230.0, 10.0);
    for (from, to, verdict) in [
        (0.0, 100.0, MainsVerdict::AbovePlanned),
        (100.0, 179.0, MainsVerdict::AbovePlanned),
        (179.0, 180.0, MainsVerdict::Over),
    ] {
        // 9 A of 10: above 8 A, below the breaker; one load after another on end.
        add(
            &mut input,
            json!({
                "name": "charger", "at": "bay", "output_w": 2070.0, "efficiency": 1.0,
                "power_factor": 1.0, "from_min": from, "to_min": to,
            }),
        );
        assert_eq!(mains_load(&input).unwrap().verdict, verdict);
    }
    input.loads.truncate(1);
    add(
        &mut input,
        json!({
            "name": "kettle", "at": "bay", "output_w": 2000.0, "efficiency": 1.0,
            "power_factor": 1.0, "from_min": 50.0, "to_min": 53.0,
        }),
    );
    let output = mains_load(&input).unwrap();
    assert_eq!(output.verdict, MainsVerdict::Over);
    assert_eq!(output.places[0].peak_from_min, Some(50.0));
}

#[test]
fn a_load_weighs_on_everything_that_feeds_it() {
    let mut input: MainsLoadInput = serde_json::from_value(json!({
        "places": [
            {"name": "set", "kind": "generator", "volts_v": 230.0, "rating_kva": 6.0},
            {"name": "bay", "kind": "circuit", "volts_v": 230.0, "rating_a": 16.0, "fed_by": "set"},
            {"name": "lead", "kind": "lead", "volts_v": 230.0, "rating_a": 13.0, "fed_by": "bay"},
        ],
        "loads": [],
    }))
    .unwrap();
    add(
        &mut input,
        json!({
            "name": "charger", "at": "lead", "output_w": 1020.0, "from_min": 0.0, "to_min": 9.0,
        }),
    );
    let output = mains_load(&input).unwrap();
    // 1020 / (0.85 x 0.60) = 2000 VA, a generator of 2.5 kVA.
    for place in &output.places {
        assert!((place.peak_a - 2000.0 / 230.0).abs() < 1e-9);
        assert!((place.needed_kva - 2.5).abs() < 1e-9);
    }
    assert_eq!(output.verdict, MainsVerdict::Within);
}

#[test]
fn unknown_names_circles_and_wrong_ratings_are_faults() {
    let input: MainsLoadInput = serde_json::from_value(json!({
        "places": [
            {"name": "a", "kind": "circuit", "volts_v": 230.0, "rating_a": 16.0, "fed_by": "b"},
            {"name": "b", "kind": "lead", "volts_v": 230.0, "rating_a": -1.0, "fed_by": "a"},
            {"name": "b", "kind": "generator", "volts_v": 12.0, "rating_a": 9.0, "fed_by": "c"},
        ],
        "loads": [{
            "name": "charger", "at": "d", "output_w": -5.0, "from_min": 9.0, "to_min": 8.0,
        }],
    }))
    .unwrap();
    let pointers: Vec<String> = mains_load(&input)
        .unwrap_err()
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    assert_eq!(
        pointers,
        [
            "/places/2/name",
            "/places/1/rating_a",
            "/places/2/volts_v",
            "/places/2/rating_kva",
            "/places/2/rating_a",
            "/places/2/fed_by",
            "/loads/0/at",
            "/loads/0/output_w",
            "/loads/0/to_min",
        ]
    );
    let circle: MainsLoadInput = serde_json::from_value(json!({
        "places": [
            {"name": "a", "kind": "circuit", "volts_v": 230.0, "rating_a": 16.0, "fed_by": "b"},
            {"name": "b", "kind": "lead", "volts_v": 230.0, "rating_a": 13.0, "fed_by": "a"},
        ],
        "loads": [],
    }))
    .unwrap();
    assert!(
        mains_load(&circle).unwrap_err()[0]
            .detail
            .contains("feed each other")
    );
}
