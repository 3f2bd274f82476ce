//! The plan a team is shown, and whether it is worth showing instead of the last one.

use super::left::Basis;
use super::problem::TeamProblem;
use crate::calc::turnaround::{Answer, Budget, Draw, odds, solve};
use crate::pit::ids::TeamId;
use crate::pit::logbook::Body;
use crate::pit::logbook::work::{Planned, PlannedTask};
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};

/// Steps the solver may take for one plan.
const STEPS: u64 = 4_000;
/// Replays behind the odds of a published plan.
const SAMPLES: usize = 2_000;
/// A task or an end that moves by less than this is not worth a new plan. **Source** own value.
const NOTICED: TimeDelta = TimeDelta::minutes(2);

/// The last plan published for a team.
pub fn last_plan(pit: &Pit, team: TeamId) -> Option<&Planned> {
    match &pit.plans.get(&team)?.body {
        Body::Planned(last) => Some(last),
        _ => None,
    }
}

/// A team's plan at `now`, with its odds; none if there is nothing to plan.
///
/// The same logbook and moment give the same plan unless `stop` ends the search.
pub fn plan(
    pit: &Pit,
    team: TeamId,
    now: DateTime<Utc>,
    stop: &dyn Fn() -> bool,
) -> Option<Planned> {
    let whole = TeamProblem::of(pit, team, &Basis::default(), now)?;
    let last = last_plan(pit, team).map(|last| whole.previous(last));
    let solved = |problem: &TeamProblem| -> Option<Answer> {
        let budget = Budget::steps(STEPS).stopping(stop);
        let budget = match &last {
            Some(last) => budget.keeping(last),
            None => budget,
        };
        solve(&problem.problem, budget).ok()
    };
    let mut problem = whole.clone();
    let mut answer = solved(&problem)?;
    // A robot that is late in any case costs no other its call.
    while let Some(relaxed) = problem.without_missed(&answer) {
        answer = solved(&relaxed)?;
        problem = relaxed;
    }
    let mut planned = problem.planned(&answer);
    let draw = Draw {
        samples: SAMPLES,
        ..Draw::default()
    };
    // Replayed against the calls as they stand, those that the plan gave up included.
    let chances = odds(&whole.problem, &answer, &draw);
    for robot in &mut planned.robots {
        let end = whole.last_task(robot.robot);
        let Some(end) = chances
            .tasks
            .iter()
            .find(|task| Some(task.id.as_str()) == end)
        else {
            continue;
        };
        robot.eight_in_ten = Some(whole.moment(end.end_p80));
        robot.odds = match (robot.call, end.by_deadline) {
            (Some(_), Some(by)) => Some(by.chance),
            // A call that has passed is no deadline any more, and cannot be met.
            (Some(_), None) => Some(0.0),
            (None, _) => None,
        };
    }
    Some(planned)
}

/// Whether people would notice the difference between two plans of a team.
pub fn differs(last: &Planned, new: &Planned) -> bool {
    let same = |a: &PlannedTask, b: &PlannedTask| {
        (a.robot, &a.task, &a.instance) == (b.robot, &b.task, &b.instance)
    };
    let robots = last.robots.len() != new.robots.len()
        || last.robots.iter().zip(&new.robots).any(|(a, b)| {
            (a.robot, a.turnaround, a.call, &a.left_out)
                != (b.robot, b.turnaround, b.call, &b.left_out)
                || (a.likely - b.likely).abs() >= NOTICED
        });
    robots
        || last.tasks.len() != new.tasks.len()
        || new.tasks.iter().any(|task| {
            last.tasks
                .iter()
                .find(|old| same(old, task))
                .is_none_or(|old| {
                    old.people != task.people
                        || old.decides != task.decides
                        || (old.start - task.start).abs() >= NOTICED
                })
        })
}
