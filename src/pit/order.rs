//! The order of the next bouts: what a small change of it would gain, and how a change is made.

pub mod change;
mod odds;

use super::arena::{ArenaDay, NIGHT, rest};
use super::ids::{BoutId, RobotId};
use super::logbook::bout::Answer;
use super::logbook::register::Slot;
use super::readiness::{Forecast, Readiness};
use super::state::Pit;
use super::state::running_order::{BoutNow, Progress};
use crate::calc::fault::Fault;
use crate::calc::running_order::{
    BoutInOrder, BoutSide, OrderOutcome, RobotReady, RunningOrderInput, RunningOrderOutput,
    running_order,
};
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Most bouts that change places in one proposal.
pub const MOST_BOUTS: usize = 8;
/// A gain of less than this is not worth another order. **Source** own value.
const WORTHWHILE_S: i64 = 60;
/// Chance of nobody being late at which an order is good enough. **Source** own value.
const GOOD_ENOUGH: f64 = 0.8;

/// The next bouts as the search for a better order sees them.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// The problem.
    pub input: RunningOrderInput,
    /// The bouts, in running order.
    pub bouts: Vec<BoutNow>,
    /// Robots whose hold or word does not fit into a time: they count as if it were over.
    pub uncounted: Vec<RobotId>,
    /// The moment from which times count.
    pub from: DateTime<Utc>,
    /// The last line it knows of.
    pub seq: i64,
}

/// What could be done about the order of the next bouts.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// What it was worked out from.
    pub window: Window,
    /// What was found.
    pub found: RunningOrderOutput,
}

/// A bout whose call changes with the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Move {
    /// The bout.
    pub bout: BoutId,
    /// Its call as it stands.
    pub from: DateTime<Utc>,
    /// Its call in the other order.
    pub to: DateTime<Utc>,
}

impl Window {
    /// The next bouts of the day at `now`; none with fewer than two.
    pub fn of(pit: &Pit, ready: &BTreeMap<RobotId, Readiness>, now: DateTime<Utc>) -> Option<Self> {
        let bouts = next_bouts(pit);
        if bouts.len() < 2 {
            return None;
        }
        let settings = pit.settings();
        let day = ArenaDay::of(pit, ready, now);
        let ahead_s = 60 * i64::from(settings.staging_min.get());
        let rest_s = 60 * i64::from(settings.turnaround_min.get());
        let since = |at: DateTime<Utc>| (at - now).num_seconds();
        let gap_s = 60 * i64::from(settings.arena_gap_min.get());
        let free_s = last_end(pit, &day).map_or(0, |end| (since(end) + gap_s).max(0));
        let inside: BTreeSet<BoutId> = bouts.iter().map(|bout| bout.id).collect();
        let mut robots: BTreeMap<String, Vec<i64>> = BTreeMap::new();
        let mut uncounted = Vec::new();
        let mut entered = Vec::with_capacity(bouts.len());
        for bout in &bouts {
            let sides = [0, 1].map(|n| match (bout.robots[n], bout.slots[n]) {
                (Some(robot), _) | (None, Slot::Robot(robot)) => {
                    let rested = out_of_last(pit, &day, robot)
                        .map(|end| since(end + rest(pit, Some(robot), end, now)));
                    if let Some(ready) = ready.get(&robot) {
                        if does_not_fit(ready) && !uncounted.contains(&robot) {
                            uncounted.push(robot);
                        }
                        robots.entry(robot.to_string()).or_insert_with(|| {
                            odds::ready_s(robot, ready, now)
                                .into_iter()
                                .map(|s| (s + ahead_s).max(rested.unwrap_or(0)))
                                .collect()
                        });
                    }
                    BoutSide::Robot(robot.to_string())
                }
                (None, Slot::Winner(feeder)) if inside.contains(&feeder) => {
                    BoutSide::WinnerOf(feeder.to_string())
                }
                (None, Slot::Loser(feeder)) if inside.contains(&feeder) => {
                    BoutSide::LoserOf(feeder.to_string())
                }
                (None, Slot::Winner(feeder) | Slot::Loser(feeder)) => match day.bout(feeder) {
                    // Whoever comes out of the bout in the arena.
                    Some(expected) => {
                        let name = format!("{n} of {} from {feeder}", bout.id);
                        robots.insert(name.clone(), vec![since(expected.end) + rest_s]);
                        BoutSide::Robot(name)
                    }
                    None => BoutSide::Open,
                },
            });
            entered.push(BoutInOrder {
                name: bout.id.to_string(),
                sides,
                run_s: 60 * i64::from(settings.bout_min.get()).max(1),
                published_start_s: since(bout.call) + ahead_s,
                fixed: pit.bouts.get(&bout.id).is_some_and(|bout| bout.body.fixed),
            });
        }
        let input = RunningOrderInput {
            arena_free_s: free_s,
            gap_s,
            rest_s,
            robots: robots
                .into_iter()
                .map(|(name, ready_s)| RobotReady { name, ready_s })
                .collect(),
            published_order: entered.iter().map(|bout| bout.name.clone()).collect(),
            bouts: entered,
            tried_order: None,
            allowed_late_s: 60 * i64::from(settings.late_allowed_min.get()),
            worthwhile_s: WORTHWHILE_S,
            wanted_on_time_probability: GOOD_ENOUGH,
            places_keep_starts: true,
        };
        Some(Self {
            input,
            bouts,
            uncounted,
            from: now,
            seq: pit.last_seq,
        })
    }

    /// Looks through every order.
    ///
    /// # Errors
    /// What the search does not take, such as a bout before the one that decides who is in it.
    pub fn look(self) -> Result<Outlook, Vec<Fault>> {
        let found = running_order(&self.input)?;
        Ok(Outlook {
            window: self,
            found,
        })
    }
}

impl Outlook {
    /// Whether its bouts still wait, in the order and with the calls it was worked out for.
    pub fn still_fits(&self, pit: &Pit) -> bool {
        let calls = |bouts: &[BoutNow]| -> Vec<(BoutId, DateTime<Utc>)> {
            bouts.iter().map(|bout| (bout.id, bout.call)).collect()
        };
        calls(&self.window.bouts) == calls(&next_bouts(pit))
    }

    /// The order that is proposed, if one is.
    pub fn proposed(&self) -> Option<&OrderOutcome> {
        self.found.better.get(self.found.proposal.place?)
    }

    /// The bouts in an order that was found.
    pub fn order(&self, outcome: &OrderOutcome) -> Vec<BoutId> {
        let named = outcome.bouts.iter().map(|bout| bout.name.parse());
        named.filter_map(Result::ok).collect()
    }

    /// The calls that change with an order that was found, in its order.
    pub fn moves(&self, outcome: &OrderOutcome) -> Vec<Move> {
        let order = self.order(outcome);
        let bouts = &self.window.bouts;
        let known = |id: &BoutId| bouts.iter().find(|bout| bout.id == *id);
        let places = order.iter().zip(bouts.iter().map(|bout| bout.call));
        places
            .filter_map(|(id, to)| {
                let from = known(id)?.call;
                (from != to).then_some(Move {
                    bout: *id,
                    from,
                    to,
                })
            })
            .collect()
    }
}

/// The next bouts that may change places: up to the most, and none from behind a night.
fn next_bouts(pit: &Pit) -> Vec<BoutNow> {
    let mut bouts: Vec<BoutNow> = Vec::new();
    let waiting = pit.running_order().iter();
    for bout in waiting.filter(|bout| bout.progress == Progress::Waiting) {
        let night = bouts
            .last()
            .is_some_and(|last| bout.call - last.call >= NIGHT);
        if night || bouts.len() == MOST_BOUTS {
            break;
        }
        bouts.push(bout.clone());
    }
    bouts
}

/// When the last bout that has begun is over.
fn last_end(pit: &Pit, day: &ArenaDay) -> Option<DateTime<Utc>> {
    let begun = pit.running_order().iter();
    begun
        .filter_map(|bout| match bout.progress {
            Progress::Ended(at) => Some(at),
            Progress::Started(_) => day.bout(bout.id).map(|expected| expected.end),
            Progress::Waiting => None,
        })
        .max()
}

/// When a robot comes, or came, out of its last bout that has begun.
fn out_of_last(pit: &Pit, day: &ArenaDay, robot: RobotId) -> Option<DateTime<Utc>> {
    let fought = pit.running_order().iter();
    fought
        .filter(|bout| bout.robots.contains(&Some(robot)))
        .filter_map(|bout| match bout.progress {
            Progress::Ended(at) => Some(at),
            Progress::Started(_) => day.bout(bout.id).map(|expected| expected.end),
            Progress::Waiting => None,
        })
        .max()
}

fn does_not_fit(ready: &Readiness) -> bool {
    ready.forecast == Forecast::OnHold || matches!(ready.answer, Some((Answer::Not, _)))
}

#[cfg(test)]
mod tests;
