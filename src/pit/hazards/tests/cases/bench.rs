//! Cases of work on the bench.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let t = Told::flipper;
    let unstood = || {
        let mut told = t();
        told.lines
            .retain(|line| !matches!(line.body, Body::Stand(_)));
        told
    };
    let sprung = || t().with_robot(|robot| robot.stores_energy = true);
    let loaded = || {
        t().saw(
            20,
            BEN,
            "stored",
            json!({"what": "rotor", "state": "loaded"}),
        )
    };
    let out = |told: Told| {
        told.did(30, "pack", json!({"set": SET, "place": "bench"}))
            .did(31, "bottle", json!({"bottle": BOTTLE, "place": "bench"}))
    };
    vec![
        t().did(20, "stand", json!({"clear": false}))
            .says("H23", "on the ground", WARN),
        t().did(20, "stand", json!({"clear": false}))
            .did(30, "link", json!({"state": "in"}))
            .says("H23", "on the ground, link in", HOLD),
        t().did(20, "stand", json!({"clear": true}))
            .says("H23", "clear", None),
        t().did(20, "stand", json!({"clear": false}))
            .at(30, "queue")
            .says("H23", "on its trolley", None),
        unstood().says_at(20, "H23", "nobody said, nobody exposed", None),
        unstood()
            .hands()
            .says_at(20, "H23", "nobody said, hands in", WARN),
        t().running(lift(&[ANA, BEN, CAL], false))
            .says_at(20, "H24", "three of four", WARN),
        t().running(lift(&[ANA, BEN, CAL, PersonId(Uuid::from_u128(14))], false))
            .says_at(20, "H24", "four of four", None),
        t().running(lift(&[ANA], true))
            .says_at(20, "H24", "a lift table", None),
        t().running(grind()).says_at(20, "H24", "no lift", None),
        loaded().says("H25", "turning on the bench", STOP),
        t().at(10, "arena_recovery")
            .saw(
                20,
                BEN,
                "stored",
                json!({"what": "rotor", "state": "loaded"}),
            )
            .says("H25", "turning in the arena, nobody inside", None),
        t().at(10, "arena_recovery")
            .saw(15, BEN, "inside", json!({"people": 1}))
            .saw(
                20,
                BEN,
                "stored",
                json!({"what": "rotor", "state": "loaded"}),
            )
            .says("H25", "turning, somebody inside", STOP),
        loaded()
            .did(30, "stored", json!({"what": "rotor", "state": "released"}))
            .says("H25", "still, by one", STOP),
        loaded()
            .did(30, "stored", json!({"what": "spring", "state": "released"}))
            .saw(
                40,
                CAL,
                "stored",
                json!({"what": "spring", "state": "released"}),
            )
            .says("H25", "something else released", STOP),
        loaded()
            .did(30, "stored", json!({"what": "rotor", "state": "released"}))
            .saw(
                40,
                CAL,
                "stored",
                json!({"what": "rotor", "state": "released"}),
            )
            .says("H25", "seen still by another", None),
        loaded().says_at(600 * MIN, "H25", "time clears nothing", STOP),
        sprung()
            .hands()
            .says_at(20, "H25", "a spring nobody looked at, hands in", STOP),
        sprung().says_at(20, "H25", "a spring nobody looked at", None),
        sprung()
            .saw(
                10,
                BEN,
                "stored",
                json!({"what": "spring", "state": "blocked"}),
            )
            .hands()
            .says("H25", "blocked", None),
        t().running(grind())
            .says_at(40, "H26", "nobody said that anything is out", HOLD),
        out(t())
            .running(grind())
            .says("H26", "packs and bottle out", None),
        t().running(grind())
            .did(30, "pack", json!({"set": SET, "place": "bench"}))
            .says("H26", "bottle in", HOLD),
        out(t())
            .running(lift(&[ANA], true))
            .says("H26", "no hot work", None),
        out(t())
            .did(40, "charge", json!({"set": SET, "state": "started"}))
            .running(grind())
            .says("H26", "a charge, elsewhere", None),
        out(t())
            .with_settings(json!({"hot_work_by_charging": true}))
            .did(40, "charge", json!({"set": SET, "state": "started"}))
            .running(grind())
            .says("H26", "a charge beside it", HOLD),
    ]
}
