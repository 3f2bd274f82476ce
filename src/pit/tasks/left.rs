//! How long tasks take, and what is left of those under way.

use super::names::open_members;
use super::today::{Progress, Today, Unit};
use crate::pit::ids::{LineId, PersonId, RobotId, TeamId};
use crate::pit::library::tasks::TaskDef;
use crate::pit::logbook::Body;
use crate::pit::logbook::register::{Machine, ThreePoint};
use crate::pit::logbook::work::LearnedMinutes;
use crate::pit::state::{Pit, RobotFile};
use crate::pit::stations::Waits;
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// What is known beside the lists when a plan is made.
#[derive(Debug, Clone, Default)]
pub struct Basis {
    /// Minutes learned from the team's own work, by machine type and id in the library; others are
    /// the library's.
    pub minutes: BTreeMap<(Machine, String), ThreePoint>,
    /// When the charging table has packs for a robot's next bout.
    pub packs_ready: BTreeMap<RobotId, DateTime<Utc>>,
    /// When the event's stations have time for each robot.
    pub waits: Waits,
}

impl Basis {
    /// Minutes of a task of a machine type.
    pub fn minutes(&self, machine: Machine, def: &TaskDef) -> ThreePoint {
        if self.minutes.is_empty() {
            return def.minutes;
        }
        let learned = self.minutes.get(&(machine, def.id.clone()));
        learned.copied().unwrap_or(def.minutes)
    }

    /// The same, with the queues at the stations as they stand at `now`.
    #[must_use]
    pub fn with_queues(self, pit: &Pit, now: DateTime<Utc>) -> Self {
        Self {
            waits: Waits::at(pit, now),
            ..self
        }
    }

    /// When a unit's turn comes at the stations it needs; none where nobody is in its way.
    pub(super) fn turn(&self, today: &Today, unit: &Unit) -> Option<DateTime<Utc>> {
        open_members(today, unit)
            .flat_map(|item| &item.def.takes)
            .filter_map(|take| self.waits.turn(today.robot, take.pool))
            .max()
    }

    /// The minutes that the last published plan of a team was made with: whoever looks at a robot
    /// counts with the same ones as its plan.
    pub fn published(pit: &Pit, team: TeamId) -> Self {
        let learned = pit.plans.get(&team).into_iter().flat_map(|line| {
            let learned: &[LearnedMinutes] = match &line.body {
                Body::Planned(plan) => &plan.learned,
                _ => &[],
            };
            learned
        });
        Self {
            minutes: learned
                .map(|one| ((one.machine, one.task.clone()), one.minutes))
                .collect(),
            ..Self::default()
        }
    }
}

/// What is left of a unit. **Units** minutes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Left {
    /// Minutes still to come.
    pub minutes: ThreePoint,
    /// Since when somebody is on it, if they are.
    pub since: Option<DateTime<Utc>>,
    /// Who.
    pub by: BTreeSet<PersonId>,
}

/// A task that has run over its longest minutes is taken to be over in one more.
/// **Source** own starting value.
const OVERDUE_MIN: f64 = 1.0;

/// What is left of `unit` at `now`. A block of which something is done is under way: there is no
/// gap in it.
pub(super) fn left(
    today: &Today,
    file: &RobotFile,
    unit: &Unit,
    basis: &Basis,
    now: DateTime<Utc>,
) -> Left {
    let mut left = Left {
        minutes: ThreePoint {
            optimistic: 0.0,
            likely: 0.0,
            pessimistic: 0.0,
        },
        since: None,
        by: BTreeSet::new(),
    };
    let mut last_done = None;
    for item in unit.members.iter().map(|&index| &today.items[index]) {
        let mut minutes = basis.minutes(file.register.body.machine, &item.def);
        match &item.progress {
            Progress::Done { at, by, .. } => {
                last_done = last_done.max(Some((*at, *by)));
                continue;
            }
            Progress::Running { since, by, line } => {
                if let Some(expected) = expected_min(file, *line) {
                    minutes = certain(expected);
                }
                minutes = after(minutes, minutes_between(*since, now));
                left.since = Some(left.since.map_or(*since, |known| known.min(*since)));
                left.by.extend(by.iter().copied());
            }
            Progress::Open | Progress::Waiting(_) => {}
        }
        left.minutes.optimistic += minutes.optimistic;
        left.minutes.likely += minutes.likely;
        left.minutes.pessimistic += minutes.pessimistic;
    }
    if let (None, Some((at, by))) = (left.since, last_done) {
        left.minutes = after(left.minutes, minutes_between(at, now));
        left.since = Some(at);
        left.by.extend(by);
    }
    left
}

fn certain(minutes: f64) -> ThreePoint {
    ThreePoint {
        optimistic: minutes,
        likely: minutes,
        pessimistic: minutes,
    }
}

/// How long the crew said that a charge takes.
fn expected_min(file: &RobotFile, line: LineId) -> Option<f64> {
    let line = file.lines.iter().find(|known| known.id == line)?;
    match &line.body {
        Body::Charge(charge) => charge.expected_min.map(|minutes| f64::from(minutes.get())),
        _ => None,
    }
}

/// What is left of `minutes` after `gone` of them.
fn after(minutes: ThreePoint, gone: f64) -> ThreePoint {
    let likely = if gone < minutes.likely {
        minutes.likely - gone
    } else {
        // Longer than usual already: half of what it can still take.
        ((minutes.pessimistic - gone) / 2.0).max(OVERDUE_MIN)
    };
    ThreePoint {
        optimistic: (minutes.optimistic - gone).clamp(0.0, likely),
        likely,
        pessimistic: (minutes.pessimistic - gone).max(likely),
    }
}

#[expect(
    clippy::cast_precision_loss,
    reason = "milliseconds of a day are exact in a double"
)]
pub(super) fn minutes_between(from: DateTime<Utc>, to: DateTime<Utc>) -> f64 {
    ((to - from).num_milliseconds() as f64 / 60_000.0).max(0.0)
}

/// The longest chain of likely minutes from `now` to the end of the plan, with nobody in anybody's
/// way: no plan is faster. Gives the minutes and the first task of that chain.
///
/// **Source** critical path (Kelley and Walker 1959).
pub fn shortest(
    today: &Today,
    file: &RobotFile,
    basis: &Basis,
    now: DateTime<Utc>,
) -> (f64, Option<usize>) {
    let units = today.units(&today.planned());
    let mut ends: Vec<(f64, Option<usize>)> = Vec::with_capacity(units.len());
    let mut order: Vec<usize> = (0..units.len()).collect();
    // The tasks of a block stand apart in the list, so units are ordered by their last task.
    order.sort_by_key(|&unit| units[unit].members.last().copied());
    ends.resize(units.len(), (0.0, None));
    for unit in order {
        let open = units[unit]
            .members
            .iter()
            .copied()
            .find(|&index| !today.items[index].progress.is_done());
        let before = units[unit]
            .after
            .iter()
            .map(|&other| ends[other])
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .unwrap_or((0.0, None));
        ends[unit] = match open {
            None => before,
            Some(first) => {
                let left = left(today, file, &units[unit], basis, now);
                let turn = basis
                    .turn(today, &units[unit])
                    .filter(|_| left.since.is_none())
                    .map_or(0.0, |at| minutes_between(now, at));
                (
                    before.0.max(turn) + left.minutes.likely,
                    before.1.or(Some(first)),
                )
            }
        };
    }
    ends.into_iter()
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or((0.0, None))
}
