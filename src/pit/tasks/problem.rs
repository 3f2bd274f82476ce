//! A team's turnaround problem: its robots' open tasks, its people, and what they share.
//!
//! Tasks under way stand where they are: what they hold is taken off the pools and their people are
//! away for what is left of them, so no plan can move them. Times are ticks of 15 s from now.

use super::build::{Build, More};
use super::left::Basis;
use super::today::{Today, today};
use crate::calc::turnaround::Problem;
use crate::pit::ids::{PersonId, RobotId, TeamId};
use crate::pit::library::tasks::List;
use crate::pit::logbook::bout::Call;
use crate::pit::logbook::register::Machine;
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Length of a tick. **Units** seconds.
pub const TICK_S: i64 = 15;

/// A unit as it stands in the problem.
#[derive(Debug, Clone)]
pub(super) struct Planning {
    pub robot: RobotId,
    pub machine: Machine,
    pub task: String,
    pub instance: Option<String>,
    /// It is one task of the library and no block of several.
    pub single: bool,
    /// May be left out and is shown as such; what hangs on it goes silently with it.
    pub optional: bool,
    pub missing: usize,
    pub running: Option<(DateTime<Utc>, Vec<PersonId>)>,
}

/// A robot in the problem.
#[derive(Debug, Clone)]
pub(super) struct Planned {
    pub robot: RobotId,
    pub turnaround: u32,
    pub call: Option<Call>,
    /// The task of the problem that ends its plan; none if it is done.
    pub last: Option<String>,
    pub done_at: Option<DateTime<Utc>>,
    pub left_out: Vec<String>,
}

/// A team's problem, and what its names stand for.
#[derive(Debug, Clone)]
pub struct TeamProblem {
    /// The problem as published.
    pub problem: Problem,
    pub(super) now: DateTime<Utc>,
    pub(super) after_seq: i64,
    pub(super) units: BTreeMap<String, Planning>,
    pub(super) robots: Vec<Planned>,
    pub(super) people: BTreeMap<String, PersonId>,
}

impl TeamProblem {
    /// The problem of `team` at `now`; none if there is nothing to plan.
    ///
    /// Robots that are in a bout are not planned, and those that only pack up wait while another of
    /// the team has a call.
    pub fn of(pit: &Pit, team: TeamId, basis: &Basis, now: DateTime<Utc>) -> Option<Self> {
        Self::with(pit, team, basis, More::default(), now)
    }

    /// The same with something more than the team has.
    pub(super) fn with(
        pit: &Pit,
        team: TeamId,
        basis: &Basis,
        more: More,
        now: DateTime<Utc>,
    ) -> Option<Self> {
        let mut lists: Vec<(Today, &RobotFile, Option<Call>)> = pit
            .robots_of(team)
            .filter(|(_, file)| file.state.in_bout.is_none())
            .filter_map(|(robot, file)| {
                let call = pit.next_bout(robot).map(|next| Call {
                    bout: next.bout.id,
                    at: next.bout.call,
                });
                Some((today(pit, robot)?, file, call))
            })
            .collect();
        if lists.iter().any(|(_, _, call)| call.is_some()) {
            lists.retain(|(today, _, _)| today.hand.list != List::EndOfDay);
        }
        let mut build = Build::new(pit, team, basis, more, now);
        for (today, file, call) in &mut lists {
            // The charging table owns the charge: the plan sees only when it has packs.
            let packs = basis
                .packs_ready
                .get(&today.robot)
                .and_then(|at| Some((today.gate.take()?.1, *at)));
            build.robot(today, file, *call, packs);
        }
        (!build.tasks.is_empty()).then(|| build.done(pit.last_seq))
    }

    /// When a robot's call is, if it has one and is planned for it. **Units** ticks from now.
    pub(super) fn call_of(&self, robot: RobotId) -> Option<i64> {
        let planned = self.robots.iter().find(|planned| planned.robot == robot)?;
        let seconds = (planned.call?.at - self.now).num_seconds();
        Some(seconds.div_euclid(TICK_S))
    }

    /// The task of the problem that ends a robot's plan: its odds are those of this task.
    pub(super) fn last_task(&self, robot: RobotId) -> Option<&str> {
        self.robots
            .iter()
            .find(|planned| planned.robot == robot)?
            .last
            .as_deref()
    }
}
