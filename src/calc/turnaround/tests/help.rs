//! What would help is what does help.

use serde_json::{Value, json};

use crate::calc::turnaround::{
    Ask, Budget, Change, Draw, Problem, Verdict, solve, what_would_help,
};

fn helps(
    value: Value,
    places: &[&str],
    others: &[(String, Problem)],
) -> Vec<(Change, Verdict, i64, i64)> {
    let problem: Problem = serde_json::from_value(value).expect("a problem");
    let answer = solve(&problem, Budget::steps(10_000)).expect("no fault");
    let draw = Draw {
        samples: 1_000,
        ..Draw::default()
    };
    let places: Vec<String> = places.iter().map(|p| (*p).to_string()).collect();
    let ask = Ask {
        steps: 10_000,
        draw: &draw,
        places: &places,
        others,
    };
    what_would_help(&problem, &answer, &ask, &|| false)
        .into_iter()
        .map(|h| (h.change, h.verdict, h.finish_gain, h.value_gain))
        .collect()
}

fn two_charges(call: i64) -> Value {
    json!({
        "call": call,
        "pools": [{"id": "charger", "capacity": 1}, {"id": "access:otter", "capacity": 2}],
        "crew": [{"id": "ana", "skills": ["electrics"]}],
        "tasks": [
            {"id": "charge 1", "duration": 20, "pools": {"charger": 1}},
            {"id": "charge 2", "duration": 20, "pools": {"charger": 1}},
            {"id": "fit", "duration": 4, "crew": [{"skill": "electrics", "count": 1}], "pools": {"access:otter": 2},
             "after": [{"task": "charge 1"}, {"task": "charge 2"}]}
        ]
    })
}

#[test]
fn a_second_charger_rescues_what_hangs_on_the_first() {
    let found = helps(two_charges(30), &["charger"], &[]);
    assert_eq!(
        found,
        [(
            Change::Place {
                pool: "charger".into()
            },
            Verdict::OnTime,
            20,
            0
        )]
    );
}

#[test]
fn a_later_call_helps_where_it_is_enough() {
    let found = helps(two_charges(36), &[], &[]);
    assert_eq!(
        found,
        [(Change::LaterCall { ticks: 10 }, Verdict::OnTime, 0, 0)]
    );
}

#[test]
fn another_change_is_asked_about_as_named() {
    let mut borrowed = two_charges(30);
    borrowed["tasks"].as_array_mut().expect("tasks").remove(1);
    borrowed["tasks"][1]["after"]
        .as_array_mut()
        .expect("arcs")
        .remove(1);
    let others = [(
        "a charged set borrowed".to_string(),
        serde_json::from_value(borrowed).expect("a problem"),
    )];
    let found = helps(two_charges(30), &[], &others);
    let change = Change::Other {
        name: "a charged set borrowed".into(),
    };
    assert_eq!(found, [(change, Verdict::OnTime, 20, 0)]);
}

#[test]
fn only_what_may_be_left_out_is_offered_and_takes_along_what_needs_it() {
    let found = helps(
        json!({
            "call": 40,
            "crew": [{"id": "ana", "skills": ["mechanics"]}],
            "tasks": [
                {"id": "isolate", "duration": 2, "crew": [{"skill": "mechanics", "count": 1}]},
                {"id": "gearbox", "duration": 20, "three_point": [15, 20, 60], "optional": true, "value": 9,
                 "crew": [{"skill": "mechanics", "count": 1}], "after": [{"task": "isolate"}]},
                {"id": "paint", "duration": 5, "optional": true, "value": 1, "requires": ["gearbox"],
                 "crew": [{"skill": "mechanics", "count": 1}], "after": [{"task": "gearbox"}]},
                {"id": "test", "duration": 5, "crew": [{"skill": "mechanics", "count": 1}],
                 "after": [{"task": "isolate"}, {"task": "gearbox"}, {"task": "paint"}]}
            ]
        }),
        &[],
        &[],
    );
    let without = |id: &str| {
        found
            .iter()
            .find(|f| f.0 == Change::Without { task: id.into() })
            .map(|f| (f.2, f.3))
    };
    assert_eq!(without("gearbox"), Some((25, -10)));
    assert_eq!(without("paint"), Some((5, -1)));
    assert_eq!((without("isolate"), without("test")), (None, None));
    assert!(
        found.iter().any(|f| f.0 == Change::LaterCall { ticks: 10 }),
        "the odds rise with a later call"
    );
}
