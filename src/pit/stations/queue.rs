//! The queue of a station, with the time at which each is likely to be served.

use super::pool;
use super::visit::{Service, Visit};
use crate::pit::ids::{LineId, RobotId};
use crate::pit::library;
use crate::pit::library::tasks::PoolOf;
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::station::Station;
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};

/// The last services behind an estimate. **Source** own starting value.
const RECENT: usize = 5;
/// Fewer services than this say less than the library. **Source** own starting value.
const ENOUGH: usize = 3;
/// A service that has run over is taken to be over in one more minute, as for tasks of a plan.
/// **Source** own starting value.
const OVERDUE: TimeDelta = TimeDelta::minutes(1);
/// A service longer than this is one that nobody ended. **Source** own starting value.
const LONGEST: TimeDelta = TimeDelta::minutes(90);

/// A robot in a queue.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Which.
    pub robot: RobotId,
    /// Its place, from 1; those being served stand first.
    pub place: usize,
    /// Its visit.
    pub visit: Visit,
    /// When its service is likely to begin, or began.
    pub starts: DateTime<Utc>,
    /// When its service is likely to be over.
    pub ends: DateTime<Utc>,
}

impl Entry {
    /// Whether it is being served.
    pub fn is_served(&self) -> bool {
        self.visit.serving_since.is_some()
    }
}

/// The queue of a station.
#[derive(Debug, Clone, PartialEq)]
pub struct Queue {
    /// The station.
    pub station: Station,
    /// Whoever is there or waits, in the order in which they are served.
    pub entries: Vec<Entry>,
    /// How many are served at once.
    pub at_once: usize,
    /// How many of today's services the estimate rests on; 0 where it is the library's minutes.
    pub measured: usize,
    /// When somebody who asks now is likely to be served.
    pub free_at: DateTime<Utc>,
}

impl Queue {
    /// A robot's entry.
    pub fn of(&self, robot: RobotId) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.robot == robot)
    }

    /// Whoever is being served, or is to be.
    pub fn first(&self) -> Option<&Entry> {
        self.entries.first()
    }
}

/// The queue of `station` at `now`.
///
/// **Assumptions** first come, first served, but for those whom the station said are next; a
/// service takes as long as the middle one of the last five today, or the library's likely minutes
/// where there were fewer than three. The arena gate follows the calls.
pub fn queue(pit: &Pit, station: Station, now: DateTime<Utc>) -> Queue {
    let mut waiting: Vec<(RobotId, Machine, Visit)> = Vec::new();
    let mut served: Vec<(DateTime<Utc>, LineId, Service)> = Vec::new();
    for (robot, file) in &pit.robots {
        if file.register.body.retired {
            continue;
        }
        let visits = &file.state.visits;
        if let Some(visit) = visits.at(station) {
            waiting.push((*robot, file.register.body.machine, *visit));
        }
        served.extend(
            visits
                .served(station)
                .iter()
                .map(|service| (service.until, LineId(robot.0), *service)),
        );
    }
    served.sort_by_key(|(until, robot, _)| (*until, *robot));
    let call = |robot: RobotId| match station {
        Station::ArenaGate => pit.next_bout(robot).map(|next| next.bout.call),
        _ => None,
    };
    waiting.sort_by_key(|(robot, _, visit)| {
        let served = visit.serving_since;
        let next = visit.next_since;
        (
            served.is_none(),
            served,
            next.is_none(),
            next,
            call(*robot),
            visit.asked_at,
            visit.line,
        )
    });
    let (length, measured) = usual(&served);
    let last_until = served.last().map(|(until, ..)| *until);
    let at_once = pool(station).map_or(usize::MAX, at_once);
    let mut free: Vec<DateTime<Utc>> = vec![now; at_once.min(waiting.len())];
    let mut entries: Vec<Entry> = Vec::with_capacity(waiting.len());
    let nobody_served = waiting
        .first()
        .is_some_and(|(_, _, visit)| visit.serving_since.is_none());
    for (index, (robot, machine, visit)) in waiting.into_iter().enumerate() {
        let length = length.unwrap_or_else(|| by_library(station, machine));
        // Nobody said who is served: whoever is there first is, since the one before was done.
        let presumed = (index == 0 && nobody_served && visit.here && at_once != usize::MAX)
            .then(|| last_until.map_or(visit.asked_at, |last| last.max(visit.asked_at)));
        let began = visit.serving_since.or(presumed).filter(|at| *at <= now);
        let slot = free.iter_mut().min();
        let from = slot.as_ref().map_or(now, |at| **at);
        let starts = match began {
            Some(at) => at,
            None => call(robot).map_or(from, |call| call.max(from)),
        };
        let ends = match began {
            Some(at) => (at + length).max(now + OVERDUE),
            None => starts + length,
        };
        if let Some(slot) = slot {
            *slot = (*slot).max(ends);
        }
        entries.push(Entry {
            robot,
            place: index + 1,
            visit,
            starts,
            ends,
        });
    }
    let free_at = if entries.len() < at_once {
        now
    } else {
        free.into_iter().min().unwrap_or(now)
    };
    Queue {
        station,
        entries,
        at_once,
        measured,
        free_at,
    }
}

fn at_once(pool: PoolOf) -> usize {
    library::data()
        .tasks
        .pools
        .iter()
        .find(|known| known.id == pool)
        .and_then(|known| usize::try_from(known.capacity.of(Machine::SmallMachine)).ok())
        .unwrap_or(1)
        .max(1)
}

/// The library's likely minutes of everything a machine does at a station in a turnaround.
fn by_library(station: Station, machine: Machine) -> TimeDelta {
    let minutes: f64 = library::lists(machine)
        .turnaround
        .iter()
        .filter(|task| {
            task.takes
                .iter()
                .any(|take| Some(take.pool) == pool(station))
        })
        .map(|task| task.minutes.likely)
        .sum();
    #[expect(
        clippy::cast_possible_truncation,
        reason = "minutes of a list of tasks of at most a day each"
    )]
    TimeDelta::seconds((minutes * 60.0).round() as i64)
}

/// The middle one of the last services, and how many there were; none where they are too few.
fn usual(served: &[(DateTime<Utc>, LineId, Service)]) -> (Option<TimeDelta>, usize) {
    let mut lengths: Vec<TimeDelta> = Vec::new();
    let mut before: Option<DateTime<Utc>> = None;
    for (until, _, service) in served {
        // Where nobody said when it began, it began when it asked, or when the one before was done.
        let since = service
            .since
            .unwrap_or_else(|| before.map_or(service.asked_at, |at| at.max(service.asked_at)));
        before = Some(*until);
        let length = *until - since;
        if length > TimeDelta::zero() && length <= LONGEST {
            lengths.push(length);
        }
    }
    let mut recent = lengths.split_off(lengths.len().saturating_sub(RECENT));
    recent.sort();
    if recent.len() < ENOUGH {
        (None, 0)
    } else {
        (Some(recent[recent.len() / 2]), recent.len())
    }
}
