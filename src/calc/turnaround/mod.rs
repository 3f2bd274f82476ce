//! Turnaround plans: who does what when, so that all that must be done is done by the call.
//!
//! A resource-constrained project scheduling problem with optional tasks, multi-skilled people,
//! calendars, deadlines and lags. All mandatory tasks by the call; then the greatest value of
//! optional ones; then the earliest finish. If the call cannot be met, the plan leaves out what
//! may be left out and finishes as early as possible.

mod answer;
mod bounds;
mod chain;
mod check;
mod first;
mod genetic;
mod help;
mod model;
mod neighbourhood;
mod odds;
mod problem;
mod profile;
mod replay;
mod schedule;
mod search;
mod shared;
mod staff;
mod stages;
mod turns;
mod validate;
mod work;

#[cfg(test)]
mod tests;

use std::collections::HashMap;

pub use answer::{Answer, Deciding, Placed, Verdict, WaitsFor};
pub use chain::chain_to;
pub use check::{LATEST, LONGEST, MOST_TASKS, check};
pub use help::{Ask, Change, Help, leave_out, what_would_help};
pub use odds::{Chance, Day, Draw, Odds, TaskOdds, odds};
pub use problem::{After, Hands, Person, Pool, Problem, Reduction, Task};
pub use validate::validate;
pub use work::Budget;

use super::fault::Fault;
use model::Model;
use stages::{Before, Found};

/// Plans a turnaround.
///
/// The same problem, previous plan and number of steps give the same plan, unless it is stopped.
///
/// # Errors
/// Every fault of the problem.
pub fn solve(problem: &Problem, budget: Budget<'_>) -> Result<Answer, Vec<Fault>> {
    check(problem)?;
    let model = Model::of(problem);
    let before = budget
        .previous()
        .map(|answer| read_before(problem, &model, answer));
    let found = stages::find(&model, before.as_ref(), &mut budget.start());
    Ok(publish(problem, &model, &found))
}

/// Reads an earlier plan as an order of tasks and the people who do them, as far as it still fits.
fn read_before(problem: &Problem, model: &Model, answer: &Answer) -> Before {
    let at: HashMap<&str, usize> = problem
        .tasks
        .iter()
        .enumerate()
        .map(|(i, t)| (t.id.as_str(), i))
        .collect();
    let who_at: HashMap<&str, usize> = problem
        .crew
        .iter()
        .enumerate()
        .map(|(i, p)| (p.id.as_str(), i))
        .collect();
    let mut on = model.mandatory();
    let head = model.heads(&on);
    let mut key: Vec<i64> = head.iter().map(|&h| i64::from(h)).collect();
    let mut crew = vec![Vec::new(); model.n];
    for one in &answer.tasks {
        let Some(&i) = at.get(one.id.as_str()) else {
            continue;
        };
        on[i] = true;
        key[i] = one.start.clamp(i64::MIN / 4, i64::MAX / 4);
        let people: Option<Vec<usize>> = one
            .crew
            .iter()
            .map(|who| who_at.get(who.as_str()).copied())
            .collect();
        let slots: Vec<&[usize]> = model.slots[i]
            .iter()
            .flat_map(|slot| std::iter::repeat_n(slot.able.as_slice(), slot.count))
            .collect();
        if let Some(people) = people
            && people.len() == slots.len()
            && people
                .iter()
                .zip(&slots)
                .all(|(who, able)| able.contains(who))
            && (1..people.len()).all(|k| !people[..k].contains(&people[k]))
        {
            crew[i] = people;
        }
    }
    model.close(&mut on);
    Before { on, key, crew }
}

fn publish(problem: &Problem, model: &Model, found: &Found) -> Answer {
    let plan = &found.plan;
    let mut done: Vec<usize> = (0..model.n).filter(|&i| plan.on[i]).collect();
    done.sort_by_key(|&i| (plan.start[i], i));
    let tasks = done
        .into_iter()
        .map(|i| Placed {
            id: problem.tasks[i].id.clone(),
            start: i64::from(plan.start[i]),
            end: i64::from(plan.start[i] + model.dur[i]),
            crew: plan.crew[i]
                .iter()
                .map(|&who| problem.crew[who].id.clone())
                .collect(),
        })
        .collect();
    let value = model.worth(&plan.on);
    let finish = i64::from(plan.finish);
    let finish_bound = i64::from(found.finish_bound);
    Answer {
        verdict: found.verdict,
        value,
        value_bound: found.value_bound,
        finish,
        finish_bound,
        proven: value == found.value_bound && finish == finish_bound,
        tasks,
        left_out: (0..model.n)
            .filter(|&i| !plan.on[i])
            .map(|i| problem.tasks[i].id.clone())
            .collect(),
        deciding_chain: chain::deciding_chain(problem, model, plan),
    }
}
