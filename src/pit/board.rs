//! The board: every bout with when it is likely to start, and what holds each robot up.

use super::arena::{ArenaDay, Expected};
use super::departure;
use super::energy::{Verdict, energy};
use super::hazards::{Hazard, hazards};
use super::ids::{BoutId, RobotId};
use super::logbook::machine::Place;
use super::logbook::register::Slot;
use super::postponements;
use super::readiness::{Readiness, readiness};
use super::state::running_order::BoutNow;
use super::state::sight::earliest;
use super::state::{Pit, View};
use super::tasks;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;

/// How long a board stands at most: times of what is still to come run on with the clock. **Source**
/// own value.
const STANDS: TimeDelta = TimeDelta::minutes(1);

/// A robot as the board sees it.
#[derive(Debug, Clone)]
pub struct RobotOnBoard {
    /// Its energy verdict.
    pub verdict: Verdict,
    /// Where it is.
    pub place: Option<Place>,
    /// What is wrong with it.
    pub hazards: Vec<Hazard>,
    /// Its readiness for its next bout.
    pub ready: Option<Readiness>,
    /// What of the departure check nobody said, while it waits at the arena.
    pub skipped: Vec<&'static str>,
    /// Postponements granted to it today.
    pub postponed: usize,
}

/// A corner of a bout.
#[derive(Debug, Clone, Copy)]
pub struct Corner<'a> {
    /// Who is to be in it, as registered.
    pub slot: Slot,
    /// The robot, where it is known.
    pub robot: Option<RobotId>,
    /// That robot, if it is still at the event.
    pub on_board: Option<&'a RobotOnBoard>,
    /// Its readiness, where this is its next bout.
    pub ready: Option<&'a Readiness>,
}

/// The board of an event at a moment.
#[derive(Debug, Clone)]
pub struct Board<'a> {
    /// What is known.
    pub pit: &'a Pit,
    /// The robots.
    pub robots: BTreeMap<RobotId, RobotOnBoard>,
    /// The bouts to come.
    pub day: ArenaDay,
}

impl<'a> Board<'a> {
    /// The board at `now`.
    pub fn of(pit: &'a Pit, now: DateTime<Utc>) -> View<Self> {
        let mut changes_at = Some(now + STANDS);
        let mut robots = BTreeMap::new();
        for (id, file) in &pit.robots {
            let Some(today) = tasks::today(pit, *id).filter(|_| !file.register.body.retired) else {
                continue;
            };
            let verdict = energy(file, pit.settings(), now);
            let found = hazards(pit, *id, &tasks::work(pit, &today), now);
            let ready = readiness(pit, *id, &today, &found.value, now);
            changes_at = earliest(changes_at, verdict.changes_at);
            changes_at = earliest(changes_at, found.changes_at);
            changes_at = earliest(changes_at, ready.as_ref().and_then(|view| view.changes_at));
            robots.insert(
                *id,
                RobotOnBoard {
                    verdict: verdict.value.verdict,
                    place: file.state.place.as_ref().map(|sight| sight.value),
                    hazards: found.value,
                    ready: ready.map(|view| view.value),
                    skipped: departure::skipped(file, today.hand.facts_from),
                    postponed: postponements::used(file, now),
                },
            );
        }
        let ready: BTreeMap<RobotId, Readiness> = robots
            .iter()
            .filter_map(|(id, robot)| Some((*id, robot.ready.clone()?)))
            .collect();
        View {
            value: Self {
                pit,
                day: ArenaDay::of(pit, &ready, now),
                robots,
            },
            changes_at,
        }
    }

    /// The two corners of a bout.
    pub fn corners(&self, bout: &BoutNow) -> [Corner<'_>; 2] {
        [0, 1].map(|n| {
            let robot = bout.robots[n];
            let on_board = robot.and_then(|id| self.robots.get(&id));
            Corner {
                slot: bout.slots[n],
                robot,
                on_board,
                ready: on_board
                    .and_then(|robot| robot.ready.as_ref())
                    .filter(|ready| ready.call.bout == bout.id),
            }
        })
    }

    /// What is expected of a bout; nothing once it is over.
    pub fn expected(&self, bout: BoutId) -> Option<&Expected> {
        self.day.bout(bout)
    }
}
