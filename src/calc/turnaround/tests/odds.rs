//! Odds against closed forms and exact Markov chains.

use serde_json::{Value, json};

use crate::calc::durations::Quantiles;
use crate::calc::turnaround::replay::Network;
use crate::calc::turnaround::{Answer, Budget, Chance, Day, Draw, Problem, odds, solve};

/// **Source** closed forms, exact continuous-time Markov chains, FFT convolution; case by case.
const CASES: &str = include_str!("../../../../tests/data/duration/cases.json");

pub(super) fn case(id: &str) -> Value {
    let cases: Vec<Value> = serde_json::from_str(CASES).expect("cases");
    cases.into_iter().find(|c| c["id"] == id).expect("the case")
}

pub(super) fn numbers(value: &Value) -> Vec<f64> {
    value
        .as_array()
        .expect("a list")
        .iter()
        .map(|v| v.as_f64().expect("a number"))
        .collect()
}

fn planned(value: Value) -> (Problem, Answer) {
    let problem: Problem = serde_json::from_value(value).expect("a problem");
    let answer = solve(&problem, Budget::steps(100_000)).expect("no fault");
    (problem, answer)
}

/// Five standard errors of a share: one test in a million fails by bad luck, and the seed is fixed.
pub(super) fn near(found: f64, wanted: f64, samples: usize) {
    let error = 5.0 * (wanted * (1.0 - wanted) / samples as f64).sqrt() + 1e-4;
    assert!(
        (found - wanted).abs() <= error,
        "{found} is not {wanted} within {error}"
    );
}

#[test]
fn two_crews_of_three_point_tasks_are_ready_as_often_as_convolution_says() {
    let case = case("B21");
    let mut tasks = Vec::new();
    for (crew, skill) in [("crew1", "one"), ("crew2", "two")] {
        for (at, points) in case["input"][crew]
            .as_array()
            .expect("tasks")
            .iter()
            .enumerate()
        {
            tasks.push(
                json!({"id": format!("{crew}.{at}"), "duration": points[1], "three_point": points,
                              "crew": [{"skill": skill, "count": 1}]}),
            );
        }
    }
    let deadlines = numbers(&case["input"]["deadline"]);
    for (deadline, wanted) in deadlines.iter().zip(numbers(&case["expected"]["p_ready"])) {
        let (problem, answer) = planned(json!({"call": *deadline as i64, "tasks": tasks,
            "crew": [{"id": "ana", "skills": ["one"]}, {"id": "bo", "skills": ["two"]}]}));
        let draw = Draw {
            samples: 100_000,
            ..Draw::default()
        };
        let found = odds(&problem, &answer, &draw);
        let chance = found.by_call.expect("there is a call");
        near(chance.chance, wanted, found.samples);
        assert!(chance.low < chance.chance && chance.chance < chance.high);
    }
}

/// A network of tasks with exponential times: arcs of an activity network become tasks.
fn exponential(arcs: &[(String, String)], means: &[f64]) -> (Problem, Vec<Quantiles>) {
    let tasks: Vec<Value> = arcs
        .iter()
        .enumerate()
        .map(|(i, (from, _))| {
            let after: Vec<Value> = (0..arcs.len())
                .filter(|&k| &arcs[k].1 == from)
                .map(|k| json!({"task": format!("t{k}")}))
                .collect();
            json!({"id": format!("t{i}"), "duration": 1, "after": after})
        })
        .collect();
    let problem = serde_json::from_value(json!({ "tasks": tasks })).expect("a problem");
    let times = means
        .iter()
        .map(|mean| Quantiles::of(|p| -mean * (1.0 - p).max(1e-9).ln()))
        .collect();
    (problem, times)
}

fn ready(arcs: &[(String, String)], means: &[f64], samples: usize) -> Vec<f32> {
    let (problem, times) = exponential(arcs, means);
    let answer = solve(&problem, Budget::steps(1_000)).expect("no fault");
    Network::of(&problem, &answer)
        .replay(&problem, &times, samples, 7, &vec![1.0; samples])
        .ready
}

fn share(ready: &[f32], by: f64) -> f64 {
    ready.iter().filter(|&&r| f64::from(r) <= by).count() as f64 / ready.len() as f64
}

#[test]
fn networks_of_exponential_times_meet_their_exact_chains() {
    let samples = 100_000;
    for id in ["B13", "B15"] {
        let case = case(id);
        let name = |v: &Value| v.to_string();
        let arcs: Vec<(String, String)> = case["input"]["arcs"]
            .as_array()
            .expect("arcs")
            .iter()
            .map(|a| (name(&a[0]), name(&a[1])))
            .collect();
        let ready = ready(&arcs, &vec![1.0; arcs.len()], samples);
        for (by, wanted) in numbers(&case["input"]["x"])
            .into_iter()
            .zip(numbers(&case["expected"]["cdf"]))
        {
            near(share(&ready, by), wanted, samples);
        }
        let mean = ready.iter().map(|&r| f64::from(r)).sum::<f64>() / samples as f64;
        let error =
            5.0 * (case["expected"]["var"].as_f64().expect("a variance") / samples as f64).sqrt();
        let wanted = case["expected"]["mean"].as_f64().expect("a mean");
        assert!(
            (mean - wanted).abs() < error + 0.01,
            "{mean} is not {wanted}"
        );
    }
}

#[test]
fn times_in_a_row_add_up_and_times_side_by_side_wait_for_the_longest() {
    let samples = 100_000;
    let row = case("B07");
    let arcs: Vec<(String, String)> = (0..3)
        .map(|i| (format!("n{i}"), format!("n{}", i + 1)))
        .collect();
    near(
        share(&ready(&arcs, &[10.0; 3], samples), 30.0),
        row["expected"]["p"].as_f64().expect("p"),
        samples,
    );
    for id in ["B09", "B10"] {
        let case = case(id);
        let means: Vec<f64> = numbers(&case["input"]["rates"])
            .iter()
            .map(|rate| 1.0 / rate)
            .collect();
        let arcs: Vec<(String, String)> =
            means.iter().map(|_| ("from".into(), "to".into())).collect();
        let by = case["input"]["x"].as_f64().expect("x");
        near(
            share(&ready(&arcs, &means, samples), by),
            case["expected"]["p"].as_f64().expect("p"),
            samples,
        );
    }
}

#[test]
fn the_interval_of_a_chance_is_wilsons() {
    let case = case("B20");
    let none = Chance::of(0, 10_000);
    let wanted = case["expected"]["wilson_zero_fail_n10000_upper"]
        .as_f64()
        .expect("a chance");
    assert!(
        (none.high - wanted).abs() < 1e-9 && none.low < 1e-12,
        "{none:?}"
    );
    let all = Chance::of(10_000, 10_000);
    assert!((all.low - (1.0 - wanted)).abs() < 1e-9 && (all.high - 1.0).abs() < 1e-12);
}

#[test]
fn a_certain_plan_is_certain_and_waits_for_places_people_and_absences() {
    let (problem, answer) = planned(json!({
        "call": 30,
        "pools": [{"id": "bench", "capacity": 1, "reduced": [{"start": 4, "end": 9, "by": 1}]}],
        "crew": [{"id": "ana", "skills": ["weld"], "away": [[12, 15]]}],
        "tasks": [
            {"id": "a", "duration": 4, "pools": {"bench": 1}, "release": 0, "deadline": 4},
            {"id": "b", "duration": 3, "pools": {"bench": 1}, "after": [{"task": "a"}]},
            {"id": "c", "duration": 2, "crew": [{"skill": "weld", "count": 1}], "after": [{"task": "b"}]},
            {"id": "d", "duration": 2, "crew": [{"skill": "weld", "count": 1}], "after": [{"task": "a", "lag": 1}]}
        ]
    }));
    let found = odds(
        &problem,
        &answer,
        &Draw {
            samples: 50,
            ..Draw::default()
        },
    );
    assert_eq!(found.by_call.expect("a call").chance, 1.0);
    for one in &answer.tasks {
        let task = found
            .tasks
            .iter()
            .find(|t| t.id == one.id)
            .expect("every task");
        assert_eq!(
            (task.end_p50, task.end_p80),
            (one.end as f64, one.end as f64),
            "{}",
            one.id
        );
    }
    assert_eq!(found.ready_p80, answer.finish as f64);
}

#[test]
fn a_bad_day_hits_all_tasks_at_once() {
    let tasks: Vec<Value> = (0..12)
        .map(|i| json!({"id": format!("t{i}"), "duration": 10, "three_point": [8, 10, 14], "crew": [{"skill": "any", "count": 1}]}))
        .collect();
    let (problem, answer) =
        planned(json!({"call": 140, "tasks": tasks, "crew": [{"id": "ana", "skills": ["any"]}]}));
    let day = Day {
        mean_of_log: 0.0,
        deviation_of_log: 0.15,
    };
    let calm = odds(&problem, &answer, &Draw::default());
    let rough = odds(
        &problem,
        &answer,
        &Draw {
            day,
            ..Draw::default()
        },
    );
    // Twelve times sum to 124 with deviation 4: the day's 15 % is four times as much.
    assert!(calm.by_call.expect("a call").chance > 0.999);
    let chance = rough.by_call.expect("a call").chance;
    assert!(chance > 0.7 && chance < 0.85, "{chance}");
    assert!((rough.ready_p50 - calm.ready_p50).abs() < 1.5);
}

#[test]
fn the_day_is_learned_without_what_tasks_differ_among_themselves() {
    // Both days: ratios 1.1 times e^±0.1; another pair 0.9 times the same.
    let day = |factor: f64| {
        vec![
            (10.0, 10.0 * factor * 0.1f64.exp()),
            (20.0, 20.0 * factor * (-0.1f64).exp()),
            (5.0, 5.0 * factor),
        ]
    };
    let same = Day::learned(&[day(1.1), day(1.1), day(1.1)]);
    assert!((same.mean_of_log - 1.1f64.ln()).abs() < 1e-12 && same.deviation_of_log == 0.0);
    let differ = Day::learned(&[day(1.3), day(1.0), day(0.8)]);
    let means = [1.3f64.ln(), 0.0, 0.8f64.ln()];
    let mean = means.iter().sum::<f64>() / 3.0;
    let between = means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / 2.0;
    assert!((differ.deviation_of_log - (between - 0.01 / 3.0).sqrt()).abs() < 1e-12);
    assert_eq!(Day::learned(&[]), Day::default());
}
