//! Why a plan ends when it does: the chain of tasks that decides it.

use std::collections::HashMap;

use super::answer::{Answer, Deciding, WaitsFor};
use super::model::Model;
use super::problem::Problem;
use super::schedule::Plan;

/// The chain of tasks that decides when `last` ends, from the first to it; empty if the plan does
/// not do it. `last` need not end the whole plan: each of several robots has a chain of its own.
///
/// **Assumptions** `answer` is a plan of `problem` as [`super::solve`] gives it.
pub fn chain_to(problem: &Problem, answer: &Answer, last: &str) -> Vec<Deciding> {
    let model = Model::of(problem);
    let task_at = places(problem.tasks.iter().map(|task| task.id.as_str()));
    let who_at = places(problem.crew.iter().map(|person| person.id.as_str()));
    let mut plan = Plan {
        on: vec![false; model.n],
        start: vec![0; model.n],
        crew: vec![Vec::new(); model.n],
        finish: 0,
        overdue: 0,
    };
    for placed in &answer.tasks {
        let Some(&i) = task_at.get(placed.id.as_str()) else {
            continue;
        };
        plan.on[i] = true;
        plan.start[i] = i32::try_from(placed.start).unwrap_or(i32::MAX / 2);
        plan.crew[i] = placed
            .crew
            .iter()
            .filter_map(|who| who_at.get(who.as_str()).copied())
            .collect();
    }
    match task_at.get(last) {
        Some(&last) if plan.on[last] => back_from(problem, &model, &plan, last),
        _ => Vec::new(),
    }
}

fn places<'a>(ids: impl Iterator<Item = &'a str>) -> HashMap<&'a str, usize> {
    ids.enumerate().map(|(at, id)| (id, at)).collect()
}

/// The tasks from the first to the one that ends last, each waiting for the one before.
///
/// **Assumptions** the plan is settled: no task could start earlier with the same people and order.
pub(super) fn deciding_chain(problem: &Problem, model: &Model, plan: &Plan) -> Vec<Deciding> {
    (0..model.n)
        .find(|&i| plan.on[i] && plan.start[i] + model.dur[i] == plan.finish)
        .map_or_else(Vec::new, |last| back_from(problem, model, plan, last))
}

fn back_from(problem: &Problem, model: &Model, plan: &Plan, last: usize) -> Vec<Deciding> {
    let mut chain = Vec::new();
    let mut at = Some(last);
    while let Some(i) = at {
        let (waits_for, before) = cause(problem, model, plan, i);
        chain.push(Deciding {
            task: problem.tasks[i].id.clone(),
            start: i64::from(plan.start[i]),
            waits_for,
        });
        at = before;
    }
    chain.reverse();
    chain
}

/// What `i` waits for, and the task to go on with.
fn cause(problem: &Problem, model: &Model, plan: &Plan, i: usize) -> (WaitsFor, Option<usize>) {
    let start = plan.start[i];
    let name = |task: usize| problem.tasks[task].id.clone();
    let ends = |task: usize| plan.start[task] + model.dur[task];
    if start == 0 {
        return (WaitsFor::Start, None);
    }
    if start == model.release[i] {
        return (WaitsFor::Release, None);
    }
    for &(before, lag) in &model.preds[i] {
        if plan.on[before] && ends(before) + lag == start {
            return (WaitsFor::Task { task: name(before) }, Some(before));
        }
    }
    let just_ended = || (0..model.n).filter(|&other| plan.on[other] && ends(other) == start);
    for &who in &plan.crew[i] {
        if let Some(other) = just_ended().find(|&other| plan.crew[other].contains(&who)) {
            let waits = WaitsFor::Person {
                person: problem.crew[who].id.clone(),
                task: name(other),
            };
            return (waits, Some(other));
        }
    }
    for &(pool, _) in &model.holds[i] {
        if let Some(other) =
            just_ended().find(|&other| model.holds[other].iter().any(|h| h.0 == pool))
        {
            let waits = WaitsFor::Place {
                pool: problem.pools[pool].id.clone(),
                task: name(other),
            };
            return (waits, Some(other));
        }
    }
    for &who in &plan.crew[i] {
        if model.away[who].iter().any(|gone| gone.1 == start) {
            let person = problem.crew[who].id.clone();
            return (WaitsFor::Return { person }, None);
        }
    }
    for &(pool, _) in &model.holds[i] {
        if model.pools[pool].reduced.iter().any(|cut| cut.1 == start) {
            let pool = problem.pools[pool].id.clone();
            return (WaitsFor::Reduced { pool }, None);
        }
    }
    (WaitsFor::Start, None)
}
