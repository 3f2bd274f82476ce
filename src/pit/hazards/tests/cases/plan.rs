//! Cases of the link plan.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let saved = |seconds: Value| {
        let mut plan = json!({"saved": {"place": "rear", "retention": "strap", "links": 2, "holder": BEN,
            "inserter": BEN, "remover": CAL, "verifier": ANA, "arming": ["a"], "making_safe": ["b"]}});
        if !seconds.is_null() {
            plan["saved"]["reach_upright_s"] = seconds;
        }
        Told::flipper().did(10, "link_plan", plan)
    };
    vec![
        Told::flipper()
            .called()
            .says_at(20, "H06", "called without a plan", HOLD),
        Told::flipper().says_at(20, "H06", "not called", None),
        saved(json!(11))
            .called()
            .says("H06", "written, not read back", HOLD),
        saved(json!(11))
            .called()
            .tell(
                20,
                BEN,
                How::Did,
                "link_plan",
                json!({"read_back": {"version": 1, "read_by": [BEN]}}),
            )
            .tell(
                30,
                CAL,
                How::Did,
                "link_plan",
                json!({"read_back": {"version": 1, "read_by": [CAL]}}),
            )
            .says("H06", "read back", None),
        saved(Value::Null)
            .called()
            .says("H07", "not measured", WARN),
        saved(json!(46)).called().says("H07", "too slow", WARN),
        saved(json!(45)).called().says("H07", "just in time", None),
        saved(json!(46)).says("H07", "not called", None),
        saved(json!(46))
            .with_settings(json!({"reach_is_condition": true}))
            .called()
            .says("H07", "a condition", HOLD),
        saved(json!(46))
            .with_settings(json!({"reach_limit_s": 60}))
            .called()
            .says("H07", "another limit", None),
    ]
}
