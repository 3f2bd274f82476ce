//! The arena as things stand: when each bout is likely to start, what it waits for, when the day
//! is over.

use super::ids::{BoutId, RobotId};
use super::logbook::register::Slot;
use super::logbook::station::Station;
use super::readiness::{Forecast, Readiness};
use super::state::Pit;
use super::state::running_order::{BoutNow, Progress};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;

/// The arena standing empty for longer than this is a night, not a wait. **Source** own value.
pub const NIGHT: TimeDelta = TimeDelta::hours(4);

/// When a bout is likely to take place.
#[derive(Debug, Clone, PartialEq)]
pub struct Expected {
    /// The bout.
    pub bout: BoutId,
    /// When it starts.
    pub start: DateTime<Utc>,
    /// When it is over.
    pub end: DateTime<Utc>,
    /// How long the arena stands reset and unused before it.
    pub idle: TimeDelta,
    /// The robot that keeps it from starting at its time.
    pub waits_for: Option<RobotId>,
}

/// The bouts to come.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ArenaDay {
    /// Every bout that is under way or waits, in running order.
    pub bouts: Vec<Expected>,
    /// When the last bout before the night is over.
    pub ends: Option<DateTime<Utc>>,
    /// How long the arena stands reset and unused till then.
    pub idle: TimeDelta,
}

/// How long a robot that came out of a bout at `out` is left before its next: the event's time,
/// and what it has spent at the scale since, unless that counts in it. `robot` may not be known yet.
///
/// **Source** R2: time to weigh again does not count.
pub fn rest(
    pit: &Pit,
    robot: Option<RobotId>,
    out: DateTime<Utc>,
    now: DateTime<Utc>,
) -> TimeDelta {
    let settings = pit.settings();
    let rest = TimeDelta::minutes(i64::from(settings.turnaround_min.get()));
    let file = robot.and_then(|robot| pit.robot(robot));
    let Some(file) = file.filter(|_| !settings.weighing_counts) else {
        return rest;
    };
    let visits = &file.state.visits;
    let over = visits.served(Station::Scale).iter();
    let spent = over.map(|visit| (visit.asked_at, visit.until));
    let there = visits.at(Station::Scale).map(|visit| (visit.asked_at, now));
    spent
        .chain(there)
        .filter(|(from, _)| *from >= out)
        .fold(rest, |rest, (from, until)| rest + (until - from))
}

impl ArenaDay {
    /// The bouts to come at `now`, from what is likely of every robot.
    ///
    /// **Assumptions** a bout starts when the arena is reset, its call is long enough ago, and both
    /// robots are in the queue and have rested; whoever comes out of a bout to come is ready again
    /// after the rest; nobody is waited for in a corner that is open.
    pub fn of(pit: &Pit, ready: &BTreeMap<RobotId, Readiness>, now: DateTime<Utc>) -> Self {
        let mut walk = Walk::new(pit, ready, now);
        let mut day = Self::default();
        for bout in pit.running_order() {
            let (expected, night) = match bout.progress {
                Progress::Ended(at) => {
                    walk.over(bout, at);
                    continue;
                }
                Progress::Started(at) => (walk.under_way(bout, at), false),
                Progress::Waiting => walk.waits(bout),
            };
            walk.over(bout, expected.end);
            if night && !day.bouts.is_empty() {
                walk.today = false;
            }
            if walk.today {
                day.ends = Some(expected.end);
                day.idle += expected.idle;
            }
            day.bouts.push(expected);
        }
        day
    }

    /// What is expected of a bout.
    pub fn bout(&self, id: BoutId) -> Option<&Expected> {
        self.bouts.iter().find(|expected| expected.bout == id)
    }
}

/// The arena, bout by bout.
struct Walk<'a> {
    pit: &'a Pit,
    ready: &'a BTreeMap<RobotId, Readiness>,
    now: DateTime<Utc>,
    gap: TimeDelta,
    ahead: TimeDelta,
    run: TimeDelta,
    /// When the last bout was over.
    free: Option<DateTime<Utc>>,
    /// When each robot came out of its last bout.
    out: BTreeMap<RobotId, DateTime<Utc>>,
    /// Robots that come out of a bout that waits: their readiness is for that one.
    fought: Vec<RobotId>,
    /// When each bout was over.
    ends: BTreeMap<BoutId, DateTime<Utc>>,
    today: bool,
}

impl<'a> Walk<'a> {
    fn new(pit: &'a Pit, ready: &'a BTreeMap<RobotId, Readiness>, now: DateTime<Utc>) -> Self {
        let settings = pit.settings();
        let minutes = |of: crate::calc::units::Minutes| TimeDelta::minutes(i64::from(of.get()));
        Self {
            pit,
            ready,
            now,
            gap: minutes(settings.arena_gap_min),
            ahead: minutes(settings.staging_min),
            run: minutes(settings.bout_min),
            free: None,
            out: BTreeMap::new(),
            fought: Vec::new(),
            ends: BTreeMap::new(),
            today: true,
        }
    }

    fn over(&mut self, bout: &BoutNow, at: DateTime<Utc>) {
        self.free = self.free.max(Some(at));
        self.ends.insert(bout.id, at);
        for robot in bout.robots.into_iter().flatten() {
            self.out.insert(robot, at);
            if bout.progress == Progress::Waiting {
                self.fought.push(robot);
            }
        }
    }

    fn under_way(&self, bout: &BoutNow, began: DateTime<Utc>) -> Expected {
        Expected {
            bout: bout.id,
            start: began,
            end: (began + self.run).max(self.now),
            idle: TimeDelta::zero(),
            waits_for: None,
        }
    }

    /// A bout to come, and whether a night lies before it.
    fn waits(&self, bout: &BoutNow) -> (Expected, bool) {
        let reset = self.free.map_or(self.now, |free| free + self.gap);
        let reset = reset.max(self.now);
        let mut start = reset.max(bout.call + self.ahead);
        let mut waits_for = None;
        for (slot, robot) in bout.slots.into_iter().zip(bout.robots) {
            let there = match robot {
                Some(robot) => self.there(robot),
                None => self.out_of(slot),
            };
            if let Some(there) = there
                && there > start
            {
                start = there;
                waits_for = robot;
            }
        }
        let idle = start - reset;
        let night = idle >= NIGHT;
        let expected = Expected {
            bout: bout.id,
            start,
            end: start + self.run,
            idle: if night { TimeDelta::zero() } else { idle },
            waits_for,
        };
        (expected, night)
    }

    /// When a robot can start, placing and arming counted.
    fn there(&self, robot: RobotId) -> Option<DateTime<Utc>> {
        let rested = self
            .out
            .get(&robot)
            .map(|out| *out + rest(self.pit, Some(robot), *out, self.now));
        let in_queue = self
            .ready
            .get(&robot)
            .filter(|_| !self.fought.contains(&robot))
            .map(|ready| match ready.forecast {
                Forecast::Ready => self.now + self.ahead,
                _ => ready.likely.max(self.now) + self.ahead,
            });
        rested.max(in_queue)
    }

    /// When whoever comes out of a bout can start.
    fn out_of(&self, slot: Slot) -> Option<DateTime<Utc>> {
        match slot {
            Slot::Winner(bout) | Slot::Loser(bout) => {
                let end = *self.ends.get(&bout)?;
                Some(end + rest(self.pit, None, end, self.now))
            }
            Slot::Robot(_) => None,
        }
    }
}

#[cfg(test)]
mod tests;
