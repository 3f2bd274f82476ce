//! Faulty problems: every fault is named where it stands.

use serde_json::{Value, json};

use crate::calc::turnaround::{Budget, MOST_TASKS, Problem, check, solve};

fn problem(value: Value) -> Problem {
    serde_json::from_value(value).expect("a problem in form")
}

fn pointers(value: Value) -> Vec<String> {
    let problem = problem(value);
    match check(&problem) {
        Ok(()) => Vec::new(),
        Err(faults) => {
            assert_eq!(
                solve(&problem, Budget::steps(10)).expect_err("faults"),
                faults
            );
            faults.into_iter().map(|f| f.pointer).collect()
        }
    }
}

#[test]
fn what_is_left_out_has_a_sensible_meaning() {
    let answer = solve(
        &problem(json!({"tasks": [{"id": "a", "duration": 3}]})),
        Budget::steps(10),
    )
    .expect("no fault");
    assert_eq!((answer.finish, answer.proven), (3, true));
    let nothing = solve(&problem(json!({})), Budget::steps(10)).expect("no fault");
    assert_eq!((nothing.finish, nothing.proven), (0, true));
}

#[test]
fn every_fault_is_named_at_once_with_its_place() {
    let found = pointers(json!({
        "tick_seconds": 0, "call": -1,
        "pools": [{"id": "p", "capacity": 1, "reduced": [{"start": 4, "end": 4, "by": 1}]}, {"id": "p", "capacity": -1},
                  {"id": "a/b~c", "capacity": 1}],
        "crew": [{"id": "ana", "skills": ["drive"], "away": [[5, 2]]}, {"id": "bo", "skills": ["drive", "weld"]}],
        "tasks": [
            {"id": "a", "duration": 0},
            {"id": "b", "duration": 100_001, "release": -1, "value": -1, "deadline": -3},
            {"id": "c", "duration": 5, "release": 3, "deadline": 7},
            {"id": "d", "duration": 1, "crew": [{"skill": "cook", "count": 1}, {"skill": "drive", "count": 3}, {"skill": "weld", "count": 0}]},
            {"id": "e", "duration": 1, "crew": [{"skill": "drive", "count": 2}, {"skill": "weld", "count": 1}]},
            {"id": "f", "duration": 1, "pools": {"a/b~c": 2, "q": 1}},
            {"id": "g", "duration": 1, "after": [{"task": "g"}, {"task": "zz", "lag": -1}], "requires": ["zz"]},
            {"id": "a", "duration": 1, "three_point": [3, 2, 1]},
            {"id": "", "duration": 1, "three_point": [0, 0, 0]}
        ]
    }));
    let wanted = [
        "/tasks/7/id",
        "/tasks/8/id",
        "/pools/1/id",
        "/tick_seconds",
        "/call",
        "/pools/0/reduced/0",
        "/pools/1/capacity",
        "/crew/0/away/0",
        "/tasks/0/duration",
        "/tasks/1/duration",
        "/tasks/1/release",
        "/tasks/1/value",
        "/tasks/1/deadline",
        "/tasks/2/deadline",
        "/tasks/3/crew/0/skill",
        "/tasks/3/crew/1/count",
        "/tasks/3/crew/2/count",
        "/tasks/4/crew",
        "/tasks/5/pools/a~1b~0c",
        "/tasks/5/pools/q",
        "/tasks/6/after/0/task",
        "/tasks/6/after/1/task",
        "/tasks/6/after/1/lag",
        "/tasks/6/requires/0",
        "/tasks/7/three_point",
        "/tasks/8/three_point",
    ];
    assert_eq!(found, wanted);
}

#[test]
fn a_circle_is_named_but_not_what_only_follows_it() {
    let found = pointers(json!({"tasks": [
        {"id": "start", "duration": 1},
        {"id": "a", "duration": 1, "after": [{"task": "c"}, {"task": "start"}]},
        {"id": "b", "duration": 1, "after": [{"task": "a"}]},
        {"id": "c", "duration": 1, "after": [{"task": "b"}]},
        {"id": "end", "duration": 1, "after": [{"task": "c"}]}
    ]}));
    assert_eq!(
        found,
        ["/tasks/1/after", "/tasks/2/after", "/tasks/3/after"]
    );
}

#[test]
fn too_much_is_refused_before_it_costs_anything() {
    let task = |i: usize, duration: i64| json!({"id": format!("t{i}"), "duration": duration});
    let many: Vec<Value> = (0..=MOST_TASKS).map(|i| task(i, 1)).collect();
    assert_eq!(pointers(json!({ "tasks": many })), ["/tasks"]);
    let long: Vec<Value> = (0..2_000).map(|i| task(i, 60_000)).collect();
    assert_eq!(pointers(json!({ "tasks": long })), ["/tasks"]);
}

#[test]
fn an_unknown_field_is_refused() {
    assert!(
        serde_json::from_value::<Problem>(
            json!({"tasks": [{"id": "a", "duration": 1, "durations": 2}]})
        )
        .is_err()
    );
    assert!(serde_json::from_value::<Problem>(json!({"calls": 3})).is_err());
}

#[test]
fn the_largest_problem_still_gets_a_plan() {
    let tasks: Vec<Value> = (0..MOST_TASKS)
        .map(|i| {
            let after: Vec<Value> = if i >= 100 { vec![json!({"task": format!("t{}", i - 100)})] } else { Vec::new() };
            json!({"id": format!("t{i}"), "duration": 1 + i % 7, "pools": {"bench": 1}, "after": after})
        })
        .collect();
    let problem = problem(json!({"pools": [{"id": "bench", "capacity": 9}], "tasks": tasks}));
    let answer = solve(&problem, Budget::steps(100)).expect("no fault");
    assert_eq!(answer.tasks.len(), MOST_TASKS);
    assert!(answer.finish_bound <= answer.finish);
}
