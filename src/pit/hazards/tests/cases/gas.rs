//! Cases of bottles, gas and the air.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let t = Told::flipper;
    let bottle = |value: Value| {
        let mut with = json!({"bottle": BOTTLE});
        with.as_object_mut()
            .unwrap()
            .extend(value.as_object().unwrap().clone());
        with
    };
    let at_bay = || t().did(20, "bottle", bottle(json!({"place": "gas_station"})));
    let dated = |on: Value| {
        let mut told = t();
        for line in &mut told.lines {
            if let Body::RegisterBottle(known) = &mut line.body {
                known.tested_on = serde_json::from_value(on.clone()).unwrap();
            }
        }
        told.did(20, "bottle", bottle(json!({"place": "gas_station"})))
    };
    let filled = |mass: i32| {
        t().did(
            20,
            "bottle",
            bottle(json!({"state": "filled", "mass_g": mass})),
        )
    };
    let weigh = |told: Told, who, mass: i32| {
        told.saw(
            40,
            who,
            "bottle",
            bottle(json!({"state": "weighed", "mass_g": mass})),
        )
    };
    let room = || {
        t().with_settings(json!({"gas_room_m3": 48})).did(
            20,
            "bottle",
            bottle(json!({"place": "gas_station"})),
        )
    };
    let air = |told: Told, at, value: Value| told.saw(at, CAL, "air", value).about(Subject::Event);
    vec![
        // The day is 15 January 2027; five years before it is the last good day of a test.
        dated(json!("2022-01-14")).says("H12", "a day too old", HOLD),
        dated(json!("2022-01-15")).says("H12", "its last day", None),
        dated(json!("2022-01-15")).says_at(24 * 60 * MIN, "H12", "a day later", HOLD),
        dated(Value::Null).says("H12", "no date", HOLD),
        dated(json!("2025-01-15"))
            .with_settings(json!({"gas_allowed": false}))
            .says("H12", "the event allows no gas", HOLD),
        dated(Value::Null)
            .did(30, "bottle", bottle(json!({"place": "returned"})))
            .says("H12", "handed back", None),
        t().did(
            20,
            "bottle",
            bottle(json!({"place": "bench", "looks": "hit"})),
        )
        .says("H12", "dented", HOLD),
        t().did(
            20,
            "bottle",
            bottle(json!({"place": "bench", "looks": "fine"})),
        )
        .says("H12", "sound", None),
        filled(7_001).says("H13", "over by a gram", STOP),
        filled(7_000).says("H13", "just full", None),
        weigh(filled(7_001), ANA, 6_900).says("H13", "weighed within by the same person", STOP),
        weigh(filled(7_001), BEN, 6_900).says("H13", "weighed within by another", None),
        filled(7_001).says_at(600 * MIN, "H13", "time clears nothing", STOP),
        t().did(20, "bottle", bottle(json!({"state": "filled"})))
            .says("H13", "no mass logged", HOLD),
        t().did(20, "bottle", bottle(json!({"place": "machine"})))
            .hands()
            .says("H13", "fitted, never weighed", HOLD),
        t().did(20, "bottle", bottle(json!({"place": "machine"})))
            .says("H13", "fitted, nobody exposed", None),
        at_bay().says("H14", "nobody looked", HOLD),
        t().saw(
            10,
            BEN,
            "check",
            json!({"what": "gas_path", "found": "all as before"}),
        )
        .did(20, "bottle", bottle(json!({"place": "gas_station"})))
        .says("H14", "looked at", None),
        t().saw(
            10,
            BEN,
            "proof",
            json!({"what": "inspection", "result": "pass"}),
        )
        .did(20, "bottle", bottle(json!({"place": "gas_station"})))
        .says("H14", "inspected", None),
        t().says_at(20, "H14", "nobody fills", None),
        t().saw(10, BEN, "trouble", json!({"what": "relief", "bad": true}))
            .says("H14", "missing", HOLD),
        t().saw(10, BEN, "trouble", json!({"what": "relief", "bad": true}))
            .did(20, "trouble", json!({"what": "relief", "bad": false}))
            .saw(30, CAL, "trouble", json!({"what": "relief", "bad": false}))
            .says("H14", "rated, seen by two", None),
        t().saw(
            5,
            BEN,
            "check",
            json!({"what": "gas_path", "found": "all as before"}),
        )
        .tell(
            10,
            BEN,
            How::Did,
            "damage",
            json!({"area": "ram", "kind": "relief_bad"}),
        )
        .did(20, "bottle", bottle(json!({"place": "gas_station"})))
        .says("H14", "damaged since", HOLD),
        t().saw(10, BEN, "trouble", json!({"what": "gauge", "bad": true}))
            .says("H15", "gauge dead", STOP),
        t().saw(10, BEN, "trouble", json!({"what": "dump", "bad": true}))
            .says("H15", "dump blocked", STOP),
        t().saw(10, BEN, "trouble", json!({"what": "gauge", "bad": true}))
            .did(20, "trouble", json!({"what": "gauge", "bad": false}))
            .says("H15", "works, by one", STOP),
        t().saw(10, BEN, "trouble", json!({"what": "gauge", "bad": true}))
            .did(20, "trouble", json!({"what": "gauge", "bad": false}))
            .saw(30, CAL, "trouble", json!({"what": "gauge", "bad": false}))
            .says("H15", "seen to work by another", None),
        t().says_at(20, "H15", "nobody said", None),
        room().says("H16", "a room nobody measured", WARN),
        at_bay().says("H16", "a hall", None),
        air(room(), 30, json!({"co2_ppm": 5_000})).says("H16", "measured good", None),
        air(room(), 30, json!({"co2_ppm": 5_000})).says_at(
            30 + 15 * MIN,
            "H16",
            "a quarter of an hour later",
            WARN,
        ),
        air(room(), 30, json!({"co2_ppm": 5_001})).says("H16", "too much for a day", WARN),
        air(at_bay(), 30, json!({"co2_ppm": 15_000})).says(
            "H16",
            "too much for a quarter of an hour",
            STOP,
        ),
        air(at_bay(), 30, json!({"symptoms": true})).says("H16", "somebody feels it", STOP),
        air(at_bay(), 30, json!({"symptoms": true})).says_at(
            600 * MIN,
            "H16",
            "time clears nothing",
            STOP,
        ),
        air(
            air(at_bay(), 30, json!({"symptoms": true})),
            90,
            json!({"co2_ppm": 900}),
        )
        .says("H16", "measured good after", None),
        air(room(), 30, json!({"co2_ppm": 900}))
            .did(
                40,
                "bottle",
                bottle(json!({"state": "filled", "mass_g": 5_500})),
            )
            .says("H16", "half a kilogram in a van", WARN),
    ]
}
