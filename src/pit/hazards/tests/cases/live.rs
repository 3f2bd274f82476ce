//! Cases of machines that are live.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let t = Told::flipper;
    let link_in = |at| t().did(at, "link", json!({"state": "in"}));
    let off = |at| t().did(at, "weapon_bar", json!({"state": "off"}));
    vec![
        link_in(60).says("H01", "in on the bench", STOP),
        t().at(50, "test_area")
            .did(60, "link", json!({"state": "in"}))
            .says("H01", "in the test area", None),
        link_in(60)
            .did(70, "link", json!({"state": "out"}))
            .says("H01", "out, by one", STOP),
        link_in(60)
            .did(70, "link", json!({"state": "out"}))
            .saw(80, BEN, "power_light", json!({"state": "dark"}))
            .says("H01", "seen dark by another", None),
        link_in(60).says_at(600 * MIN, "H01", "time clears nothing", STOP),
        link_in(60).hands().says("H02", "in, with hands in", STOP),
        link_in(60).says("H02", "in, nobody's hands in", None),
        link_in(60)
            .hands()
            .did(70, "link", json!({"state": "out"}))
            .says("H02", "out again, by one", STOP),
        link_in(60)
            .hands()
            .did(70, "link", json!({"state": "out"}))
            .saw(
                80,
                BEN,
                "check",
                json!({"what": "zero_energy", "found": "nothing"}),
            )
            .says("H02", "zero proved by another", None),
        t().did(60, "gas", json!({"valve": "open"})).hands().says(
            "H03",
            "open, with hands in",
            STOP,
        ),
        t().did(60, "gas", json!({"valve": "open"}))
            .says("H03", "open, nobody's hands in", None),
        t().did(60, "gas", json!({"valve": "open"}))
            .hands()
            .did(
                70,
                "gas",
                json!({"valve": "shut", "system": "zero", "read": 2}),
            )
            .says("H03", "read at zero by one", STOP),
        t().did(60, "gas", json!({"valve": "open"}))
            .hands()
            .did(
                70,
                "gas",
                json!({"valve": "shut", "system": "zero", "read": 2}),
            )
            .saw(90, BEN, "gas", json!({"valve": "shut", "system": "zero"}))
            .says("H03", "read at zero by another", None),
        off(60).says("H04", "off on the bench", STOP),
        off(60)
            .did(70, "weapon_bar", json!({"state": "on"}))
            .says("H04", "on again, by one", STOP),
        off(60)
            .did(70, "weapon_bar", json!({"state": "on"}))
            .saw(80, BEN, "weapon_bar", json!({"state": "on"}))
            .says("H04", "seen on by another", None),
        t().did(60, "weapon_bar", json!({"state": "held", "second": "prop"}))
            .hands()
            .says("H04", "second restraint", None),
        // R14: a clamp is no restraint on the way; a beginner's guide has it as one.
        t().did(
            60,
            "weapon_bar",
            json!({"state": "held", "second": "clamp"}),
        )
        .hands()
        .says("H04", "clamped for work on the bench", None),
        t().did(
            60,
            "weapon_bar",
            json!({"state": "held", "second": "clamp"}),
        )
        .at(70, "queue")
        .says("H04", "only a clamp in the queue", HOLD),
        t().with_settings(json!({"clamp_as_restraint": true}))
            .did(
                60,
                "weapon_bar",
                json!({"state": "held", "second": "clamp"}),
            )
            .at(70, "queue")
            .says("H04", "the event counts a clamp", None),
        t().at(50, "arena_load")
            .did(60, "weapon_bar", json!({"state": "off"}))
            .says("H04", "while arming", None),
    ]
}
