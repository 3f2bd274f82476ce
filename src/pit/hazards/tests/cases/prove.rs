//! Cases of what has to be proved again.

use super::*;

pub(super) fn cases() -> Vec<Case> {
    let mut cases = Vec::new();
    for (rule, what, result) in [
        ("H10", "failsafe", "pass"),
        ("H21", "weight", "within"),
        ("H22", "inspection", "pass"),
    ] {
        let pass =
            || Told::flipper().saw(20, BEN, "proof", json!({"what": what, "result": result}));
        cases.extend([
            Told::flipper()
                .at(30, "queue")
                .says(rule, "never proved, in the queue", HOLD),
            Told::flipper().says_at(30, rule, "never proved, on the bench", None),
            pass().at(30, "queue").says(rule, "proved", None),
            pass()
                .changed(25)
                .at(30, "queue")
                .says(rule, "changed since", HOLD),
            pass()
                .changed(25)
                .says(rule, "changed since, on the bench", None),
            pass()
                .changed(15)
                .at(30, "queue")
                .says(rule, "changed before", None),
            pass()
                .saw(25, BEN, "proof", json!({"what": what, "result": "fail"}))
                .at(30, "queue")
                .says(rule, "failed", HOLD),
        ]);
    }
    let weighed = |mass: i32| {
        Told::flipper()
            .with_robot(|robot| robot.limit_g = crate::calc::units::Mass::new(110_000))
            .saw(
                20,
                BEN,
                "proof",
                json!({"what": "weight", "result": "within", "mass_g": mass}),
            )
            .at(30, "queue")
    };
    let unasked = |setting: &str| Told::flipper().with_settings(json!({setting: false}));
    cases.extend([
        weighed(110_001).says("H21", "over by a gram", HOLD),
        weighed(110_000).says("H21", "at the limit", None),
        weighed(111_000)
            .with_robot(|robot| robot.limit_g = None)
            .says("H21", "over the limit of its class", HOLD),
        weighed(111_000)
            .with_robot(|robot| robot.limit_g = None)
            .with_settings(json!({"heavyweight_limit_g": 113_400}))
            .says("H21", "within another event's class", None),
        unasked("reweigh")
            .saw(
                20,
                BEN,
                "proof",
                json!({"what": "weight", "result": "within"}),
            )
            .changed(25)
            .at(30, "queue")
            .says("H21", "the event does not ask", None),
        unasked("reinspect")
            .saw(
                20,
                BEN,
                "proof",
                json!({"what": "inspection", "result": "pass"}),
            )
            .changed(25)
            .at(30, "queue")
            .says("H22", "the event does not ask", None),
    ]);
    cases
}
