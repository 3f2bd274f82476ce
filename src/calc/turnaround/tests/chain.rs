//! The chain that decides the finish holds together.

use serde_json::json;

use super::pit::cases;
use crate::calc::turnaround::{Budget, Problem, WaitsFor, chain_to, solve};

#[test]
fn each_task_of_the_chain_waits_for_the_one_before_and_the_last_ends_the_plan() {
    for case in cases() {
        let answer = solve(&case.problem, Budget::steps(2_000)).expect("no fault");
        let end = |id: &str| {
            answer
                .tasks
                .iter()
                .find(|t| t.id == id)
                .expect("a task of the plan")
                .end
        };
        let chain = &answer.deciding_chain;
        assert_eq!(
            end(&chain.last().expect("a chain").task),
            answer.finish,
            "{}",
            case.id
        );
        for (at, link) in chain.iter().enumerate() {
            let before = match &link.waits_for {
                WaitsFor::Task { task }
                | WaitsFor::Person { task, .. }
                | WaitsFor::Place { task, .. } => Some(task),
                WaitsFor::Start => {
                    assert_eq!(link.start, 0, "{}: {link:?}", case.id);
                    None
                }
                WaitsFor::Release | WaitsFor::Return { .. } | WaitsFor::Reduced { .. } => None,
            };
            assert_eq!(
                before,
                at.checked_sub(1).map(|at| &chain[at].task),
                "{}: {link:?}",
                case.id
            );
            if let Some(before) = before {
                assert!(end(before) <= link.start, "{}: {link:?}", case.id);
            }
        }
    }
}

#[test]
fn the_chain_says_why() {
    let problem: Problem = serde_json::from_value(json!({
        "pools": [{"id": "bench", "capacity": 1}],
        "crew": [{"id": "ana", "skills": ["weld"], "away": [[0, 3]]}],
        "tasks": [
            {"id": "weld", "duration": 2, "crew": [{"skill": "weld", "count": 1}], "pools": {"bench": 1}},
            {"id": "paint", "duration": 4, "pools": {"bench": 1}, "after": [{"task": "weld", "lag": 2}]},
            {"id": "look", "duration": 1, "crew": [{"skill": "weld", "count": 1}], "after": [{"task": "paint"}]}
        ]
    }))
    .expect("a problem");
    let answer = solve(&problem, Budget::steps(1_000)).expect("no fault");
    let chain: Vec<(&str, i64, &WaitsFor)> = answer
        .deciding_chain
        .iter()
        .map(|d| (d.task.as_str(), d.start, &d.waits_for))
        .collect();
    let after = |task: &str| WaitsFor::Task { task: task.into() };
    assert_eq!(
        chain,
        [
            (
                "weld",
                3,
                &WaitsFor::Return {
                    person: "ana".into()
                }
            ),
            ("paint", 7, &after("weld")),
            ("look", 11, &after("paint")),
        ]
    );
}

#[test]
fn the_chain_to_the_last_task_is_the_one_that_decides_the_finish() {
    for case in cases().into_iter().take(20) {
        let answer = solve(&case.problem, Budget::steps(2_000)).expect("no fault");
        let last = answer.deciding_chain.last().expect("a chain").task.clone();
        assert_eq!(
            chain_to(&case.problem, &answer, &last),
            answer.deciding_chain,
            "{}",
            case.id
        );
        for placed in &answer.tasks {
            let chain = chain_to(&case.problem, &answer, &placed.id);
            assert_eq!(chain.last().expect("itself").task, placed.id);
            assert!(chain.iter().all(|link| link.start <= placed.start));
        }
        for left in &answer.left_out {
            assert_eq!(chain_to(&case.problem, &answer, left), []);
        }
    }
}
