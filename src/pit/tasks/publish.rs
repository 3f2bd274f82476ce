//! The plan a team is shown, and whether it is worth showing instead of the last one.

use super::left::Basis;
use super::lessons::Lessons;
use super::problem::TeamProblem;
use crate::calc::turnaround::{Answer, Budget, Chance, Draw, Odds, odds, solve};
use crate::pit::ids::{RobotId, TeamId};
use crate::pit::logbook::Body;
use crate::pit::logbook::work::{Planned, PlannedTask};
use crate::pit::packs::Packs;
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};

/// Steps the solver may take for one plan.
pub(super) const STEPS: u64 = 4_000;
/// Replays behind the odds of a published plan.
const SAMPLES: usize = 2_000;
/// A task or an end that moves by less than this is not worth a new plan. **Source** own value.
pub(super) const NOTICED: TimeDelta = TimeDelta::minutes(2);

/// The last plan published for a team.
pub fn last_plan(pit: &Pit, team: TeamId) -> Option<&Planned> {
    match &pit.plans.get(&team)?.body {
        Body::Planned(last) => Some(last),
        _ => None,
    }
}

/// What plans of a team are made from: the problem, the lessons, and the plan that is shown now.
pub(super) struct Desk {
    pub whole: TeamProblem,
    pub basis: Basis,
    pub lessons: Lessons,
    pub last: Option<Answer>,
}

impl Desk {
    /// None if there is nothing to plan.
    pub fn of(pit: &Pit, team: TeamId, now: DateTime<Utc>) -> Option<Self> {
        let lessons = Lessons::of(pit, team);
        let basis = Basis {
            minutes: lessons.minutes(),
            packs_ready: Packs::of(pit, team, now).ready(pit, now),
            ..Basis::default()
        }
        .with_queues(pit, now);
        let whole = TeamProblem::of(pit, team, &basis, now)?;
        let last = last_plan(pit, team).map(|last| whole.previous(last));
        Some(Self {
            whole,
            basis,
            lessons,
            last,
        })
    }
}

/// A team's problem with a plan for it.
pub(super) struct Solved<'a> {
    /// The problem with every call.
    pub whole: &'a TeamProblem,
    /// The problem without the calls that cannot be met.
    pub kept: TeamProblem,
    pub answer: Answer,
    pub chances: Odds,
}

/// When a robot is ready by a plan. **Units** ticks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ready {
    /// By the likely times.
    pub likely: i64,
    /// In four of five replays.
    pub p80: f64,
    /// The call, if it is still to come.
    pub deadline: Option<i64>,
    /// Ready by its call, if it has one.
    pub by_call: Option<Chance>,
}

impl<'a> Solved<'a> {
    /// Plans `whole` from `start` on, with so many steps.
    pub fn of(
        whole: &'a TeamProblem,
        start: Option<&Answer>,
        (steps, draw): (u64, &Draw),
        stop: &dyn Fn() -> bool,
    ) -> Option<Self> {
        let solved = |problem: &TeamProblem| -> Option<Answer> {
            let budget = Budget::steps(steps).stopping(stop);
            let budget = match start {
                Some(start) => budget.keeping(start),
                None => budget,
            };
            solve(&problem.problem, budget).ok()
        };
        let mut kept = whole.clone();
        let mut answer = solved(&kept)?;
        // A robot that is late in any case costs no other its call.
        while let Some(relaxed) = kept.without_missed(&answer) {
            answer = solved(&relaxed)?;
            kept = relaxed;
        }
        // Replayed against the calls as they stand, those that the plan gave up included.
        let chances = odds(&whole.problem, &answer, draw);
        Some(Self {
            whole,
            kept,
            answer,
            chances,
        })
    }

    /// When a robot is ready; none if nothing is left to do for it.
    pub fn ready(&self, robot: RobotId) -> Option<Ready> {
        let last = self.whole.last_task(robot)?;
        let end = self.answer.tasks.iter().find(|task| task.id == last)?.end;
        let chance = self.chances.tasks.iter().find(|task| task.id == last)?;
        let call = self.whole.call_of(robot);
        let missed = call.is_some_and(|call| call <= 0);
        Some(Ready {
            likely: end,
            p80: chance.end_p80,
            deadline: call.filter(|_| !missed),
            by_call: if missed {
                // A call that has passed cannot be met.
                Some(Chance::of(0, self.chances.samples))
            } else {
                chance.by_deadline
            },
        })
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
    let desk = Desk::of(pit, team, now)?;
    let draw = desk.lessons.draw(&desk.whole, SAMPLES);
    let solved = Solved::of(&desk.whole, desk.last.as_ref(), (STEPS, &draw), stop)?;
    let mut planned = solved.kept.planned(&solved.answer);
    planned.learned = desk.lessons.published();
    for chance in &solved.chances.tasks {
        if let Some(task) = desk.whole.published(&mut planned, &chance.id) {
            task.eight_in_ten = Some(desk.whole.moment(chance.end_p80));
        }
    }
    for robot in &mut planned.robots {
        if let Some(ready) = solved.ready(robot.robot) {
            robot.eight_in_ten = Some(desk.whole.moment(ready.p80));
            robot.odds = ready.by_call.map(|by| by.chance);
        }
    }
    Some(planned)
}

/// Whether two tasks of two plans are the same task.
pub(super) fn same(a: &PlannedTask, b: &PlannedTask) -> bool {
    (a.robot, &a.task, &a.instance) == (b.robot, &b.task, &b.instance)
}

/// Whether people would notice the difference between two plans of a team.
pub fn differs(last: &Planned, new: &Planned) -> bool {
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
