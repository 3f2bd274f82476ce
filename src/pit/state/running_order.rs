//! Bouts as they stand: who is in them, when their call is, which one is a robot's next.

use super::Pit;
use crate::pit::arena::NIGHT;
use crate::pit::ids::{BoutId, RobotId, Subject};
use crate::pit::logbook::register::Slot;
use crate::pit::logbook::{Body, Line};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How far a bout has got.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// Not begun.
    Waiting,
    /// Under way since then.
    Started(DateTime<Utc>),
    /// Over since then.
    Ended(DateTime<Utc>),
}

/// A bout as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct BoutNow {
    /// Which.
    pub id: BoutId,
    /// Its number.
    pub number: i32,
    /// Who is in it, where that is known.
    pub robots: [Option<RobotId>; 2],
    /// Who may be in it: every robot that can still fill a slot.
    pub slots: [Slot; 2],
    /// When both are to be in the arena queue, moved calls counted.
    pub call: DateTime<Utc>,
    /// How far it has got.
    pub progress: Progress,
    /// Who won.
    pub winner: Option<RobotId>,
    /// When it was called, if it was.
    pub called_at: Option<DateTime<Utc>>,
    /// When it began.
    pub begun_at: Option<DateTime<Utc>>,
    /// The call it had before the order changed last, and when that was.
    pub moved_from: Option<(DateTime<Utc>, DateTime<Utc>)>,
}

/// A robot's next bout.
#[derive(Debug, Clone, PartialEq)]
pub struct NextBout {
    /// The bout.
    pub bout: BoutNow,
    /// What has to happen first: nothing, if it is certain.
    pub if_first: Option<Slot>,
}

/// More rounds than this are not followed back; a running order that names itself ends there.
const MOST_ROUNDS: usize = 16;

impl Pit {
    /// Every bout that is to take place or did, by call.
    pub fn running_order(&self) -> &[BoutNow] {
        &self.order
    }

    /// A bout as it stands, unless it will not take place.
    pub fn bout(&self, id: BoutId) -> Option<&BoutNow> {
        self.order.iter().find(|bout| bout.id == id)
    }

    /// Works the running order out anew: a line about a bout or a move of calls may change it all.
    pub(super) fn work_out_order(&self) -> Vec<BoutNow> {
        let moves: Vec<Arc<Line>> = self.facts(Subject::Event);
        let mut bouts: Vec<_> = self
            .bouts
            .iter()
            .filter(|(_, bout)| !bout.body.retired)
            .filter_map(|(id, _)| self.work_out(*id, &moves))
            .collect();
        bouts.sort_by_key(|bout| (bout.call, bout.number, bout.id));
        self.report_ahead(&mut bouts);
        bouts
    }

    /// Calls whoever reports before the bout that began: the event's rule, so that a hall that runs
    /// early calls early. The first bouts of a day have nobody before them and are called by the
    /// clock, or by hand. **Source** R12: report two bouts ahead.
    fn report_ahead(&self, bouts: &mut [BoutNow]) {
        let ahead = usize::try_from(self.settings().report_ahead_bouts.get()).unwrap_or(0);
        if ahead == 0 {
            return;
        }
        for place in ahead..bouts.len() {
            let before = &bouts[place - ahead];
            let Some(begun) = before.begun_at else {
                continue;
            };
            if bouts[place].call - before.call < NIGHT {
                let called = &mut bouts[place].called_at;
                *called = Some(called.map_or(begun, |at| at.min(begun)));
            }
        }
    }

    fn work_out(&self, id: BoutId, moves: &[Arc<Line>]) -> Option<BoutNow> {
        let register = self.bouts.get(&id)?;
        let facts = self.facts(Subject::Bout(id));
        let mut bout = BoutNow {
            id,
            number: register.body.number.get(),
            robots: register
                .body
                .slots
                .map(|slot| self.filled_by(slot, MOST_ROUNDS)),
            slots: register.body.slots,
            call: register.body.call_at,
            progress: Progress::Waiting,
            winner: None,
            called_at: None,
            begun_at: None,
            moved_from: register
                .body
                .moved_from
                .map(|from| (from, register.recorded_at)),
        };
        for line in &facts {
            match &line.body {
                Body::Called(_) => bout.called_at = Some(line.at),
                Body::BoutStarted(_) => {
                    bout.begun_at.get_or_insert(line.at);
                    bout.progress = Progress::Started(line.at);
                }
                Body::BoutEnded(ended) => {
                    bout.begun_at.get_or_insert(line.at);
                    bout.progress = Progress::Ended(line.at);
                    bout.winner = ended.winner;
                }
                _ => {}
            }
        }
        bout.call = self.moved_call(&bout, register.recorded_at, moves);
        Some(bout)
    }

    /// The call of a bout with every later move of calls that reaches it.
    fn moved_call(
        &self,
        bout: &BoutNow,
        registered_at: DateTime<Utc>,
        moves: &[Arc<Line>],
    ) -> DateTime<Utc> {
        let begun = match bout.progress {
            Progress::Waiting => None,
            Progress::Started(at) | Progress::Ended(at) => Some(at),
        };
        let mut call = bout.call;
        for line in moves {
            if let Body::CallsMoved(moved) = &line.body
                && line.at >= registered_at
                && begun.is_none_or(|begun| begun > line.at)
                && moved
                    .from_bout
                    .and_then(|from| self.bouts.get(&from))
                    .is_none_or(|from| from.body.call_at <= bout.call)
            {
                call += TimeDelta::minutes(i64::from(moved.by_min));
            }
        }
        call
    }

    fn filled_by(&self, slot: Slot, rounds: usize) -> Option<RobotId> {
        let (bout, wants_winner) = match slot {
            Slot::Robot(robot) => return Some(robot),
            Slot::Winner(bout) => (bout, true),
            Slot::Loser(bout) => (bout, false),
        };
        let winner =
            self.facts(Subject::Bout(bout))
                .iter()
                .rev()
                .find_map(|line| match &line.body {
                    Body::BoutEnded(ended) => Some(ended.winner),
                    _ => None,
                })??;
        if wants_winner {
            return Some(winner);
        }
        let rounds = rounds.checked_sub(1)?;
        let slots = self.bouts.get(&bout)?.body.slots;
        slots
            .into_iter()
            .filter_map(|slot| self.filled_by(slot, rounds))
            .find(|robot| *robot != winner)
    }

    /// The next bout of a robot: the earliest it is in, or may be in when another bout is over.
    pub fn next_bout(&self, robot: RobotId) -> Option<NextBout> {
        let order = self.running_order();
        let waiting = order
            .iter()
            .filter(|bout| bout.progress == Progress::Waiting);
        for bout in waiting {
            if bout.robots.contains(&Some(robot)) {
                return Some(NextBout {
                    bout: bout.clone(),
                    if_first: None,
                });
            }
            let open = bout
                .slots
                .into_iter()
                .zip(bout.robots)
                .find(|(slot, filled)| {
                    filled.is_none()
                        && matches!(slot, Slot::Winner(b) | Slot::Loser(b)
                        if order.iter().any(|o| o.id == *b && o.robots.contains(&Some(robot))))
                });
            if let Some((slot, _)) = open {
                return Some(NextBout {
                    bout: bout.clone(),
                    if_first: Some(slot),
                });
            }
        }
        None
    }

    /// How far the running order is behind the one first printed, at a bout's place in it; negative
    /// if ahead.
    pub fn behind(&self, bout: BoutId) -> Option<TimeDelta> {
        let place = self.order.iter().position(|known| known.id == bout)?;
        let mut printed: Vec<DateTime<Utc>> = self
            .order
            .iter()
            .filter_map(|bout| self.printed.get(&bout.id).map(|(_, call)| *call))
            .collect();
        printed.sort_unstable();
        Some(self.order[place].call - *printed.get(place)?)
    }

    /// The bout a robot is in now, if it is in one.
    pub fn current_bout(&self, robot: RobotId) -> Option<&BoutNow> {
        self.robot(robot)?
            .state
            .in_bout
            .and_then(|bout| self.bout(bout))
    }

    /// Starts and ends of bouts, by the robots that were in them.
    pub(super) fn lines_of_bouts(&self) -> BTreeMap<RobotId, Vec<Arc<Line>>> {
        let mut by_robot: BTreeMap<RobotId, Vec<Arc<Line>>> = BTreeMap::new();
        for (id, bout) in &self.bouts {
            let lines = self.facts(Subject::Bout(*id));
            if lines.is_empty() {
                continue;
            }
            for robot in bout
                .body
                .slots
                .into_iter()
                .filter_map(|slot| self.filled_by(slot, MOST_ROUNDS))
            {
                by_robot
                    .entry(robot)
                    .or_default()
                    .extend(lines.iter().cloned());
            }
        }
        by_robot
    }
}
