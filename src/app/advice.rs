//! What would help, worked out off the request's path and kept until it may have changed.
//!
//! Nobody's page waits for it: a page shows what is known and is refreshed when more is.

use super::Event;
use crate::live::Change;
use crate::pit::ids::{Subject, TeamId};
use crate::pit::state::Pit;
use crate::pit::tasks::advice::{Advice, advice};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// Time that working it out may take at most, whatever its steps are worth on this computer.
const TIME: Duration = Duration::from_secs(2);
/// It is worked out anew after this time although nobody entered anything.
const AGAIN: TimeDelta = TimeDelta::minutes(1);
/// On a day with many lines it is not worked out anew more often than this.
const REST: TimeDelta = TimeDelta::seconds(5);

/// What is known of a team.
#[derive(Debug, Default, Clone)]
struct Known {
    /// None inside: there was nothing to plan.
    advice: Option<Option<Arc<Advice>>>,
    /// The line and the moment it was worked out for.
    after_seq: i64,
    at: DateTime<Utc>,
    /// Somebody is at it.
    under_way: bool,
}

/// What would help each team of an event, as far as it was asked.
#[derive(Debug, Default)]
pub struct Advices(Mutex<BTreeMap<TeamId, Known>>);

impl Advices {
    fn open(&self) -> MutexGuard<'_, BTreeMap<TeamId, Known>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What is known of `team`, and whether it has to be worked out anew, by whoever asks.
    fn look(&self, pit: &Pit, team: TeamId, now: DateTime<Utc>) -> (Option<Arc<Advice>>, bool) {
        let mut open = self.open();
        let known = open.entry(team).or_default();
        let stale = known.advice.is_none()
            || now - known.at >= AGAIN
            || known.after_seq != pit.last_seq && now - known.at >= REST;
        let mine = stale && !known.under_way;
        known.under_way |= mine;
        (known.advice.clone().flatten(), mine)
    }

    /// Keeps what was worked out; whether it says anything else than before.
    fn keep(&self, team: TeamId, pit: &Pit, at: DateTime<Utc>, new: Option<Arc<Advice>>) -> bool {
        let mut open = self.open();
        let before = open.insert(
            team,
            Known {
                advice: Some(new.clone()),
                after_seq: pit.last_seq,
                at,
                under_way: false,
            },
        );
        let said = |advice: Option<Arc<Advice>>| advice.map(|advice| advice.robots.clone());
        said(before.and_then(|known| known.advice).flatten()) != said(new)
    }

    fn give_up(&self, team: TeamId) {
        self.open().entry(team).or_default().under_way = false;
    }
}

/// What is known to help `team`, at once; if it may have changed, it is worked out meanwhile and
/// whoever looks at the team's robots is told.
pub fn known(event: &Arc<Event>, team: TeamId, now: DateTime<Utc>) -> Option<Arc<Advice>> {
    let pit = event.pit();
    let (known, mine) = event.advices().look(&pit, team, now);
    if mine {
        let event = event.clone();
        tokio::spawn(async move {
            if let Some(new) = work_out(&event, pit, team, now).await {
                event.hub().publish(new);
            }
        });
    }
    known
}

/// Waits for what helps `team` now. For programs; pages never wait.
pub async fn asked(event: &Arc<Event>, team: TeamId, now: DateTime<Utc>) -> Option<Arc<Advice>> {
    let pit = event.pit();
    let known = event.advices().open().get(&team).cloned();
    let fresh = known.filter(|known| known.after_seq == pit.last_seq && now - known.at < AGAIN);
    if let Some(Known {
        advice: Some(advice),
        ..
    }) = fresh
    {
        return advice;
    }
    work_out(event, pit, team, now).await;
    event.advices().open().get(&team)?.advice.clone().flatten()
}

/// Works it out beside the requests; whom to tell, if it is something new.
async fn work_out(
    event: &Arc<Event>,
    pit: Arc<Pit>,
    team: TeamId,
    now: DateTime<Utc>,
) -> Option<Change> {
    let working = {
        let pit = pit.clone();
        tokio::task::spawn_blocking(move || {
            let begun = Instant::now();
            advice(&pit, team, now, &|| begun.elapsed() > TIME).map(Arc::new)
        })
    };
    match working.await {
        Ok(new) => {
            let subjects: Vec<Subject> = new
                .iter()
                .flat_map(|advice| advice.robots.keys().copied().map(Subject::Robot))
                .collect();
            event.advices().keep(team, &pit, now, new).then(|| Change {
                last_seq: pit.last_seq,
                subjects: subjects.into(),
            })
        }
        Err(cause) => {
            event.advices().give_up(team);
            tracing::error!(%cause, team.id = %team, "what would help could not be worked out");
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    const TEAM: TeamId = TeamId(Uuid::from_u128(2));

    fn at(seconds: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000 + seconds, 0).unwrap()
    }

    #[test]
    fn one_works_it_out_and_the_others_take_what_is_known() {
        let advices = Advices::default();
        let seq = |last_seq: i64| {
            let mut pit = Pit::default();
            pit.last_seq += last_seq;
            pit
        };
        let pit = seq(7);
        assert_eq!(advices.look(&pit, TEAM, at(0)), (None, true));
        assert_eq!(advices.look(&pit, TEAM, at(0)), (None, false), "under way");
        let new = Arc::new(Advice {
            after_seq: 7,
            at: at(0),
            tried: 3,
            robots: BTreeMap::new(),
        });
        assert!(advices.keep(TEAM, &pit, at(0), Some(new.clone())));
        assert_eq!(advices.look(&pit, TEAM, at(59)), (Some(new.clone()), false));
        assert_eq!(
            advices.look(&pit, TEAM, at(60)),
            (Some(new.clone()), true),
            "a minute passed"
        );
        assert!(
            !advices.keep(TEAM, &pit, at(60), Some(new.clone())),
            "nothing new"
        );
        let later = seq(8);
        assert_eq!(
            advices.look(&later, TEAM, at(62)),
            (Some(new.clone()), false)
        );
        assert_eq!(
            advices.look(&later, TEAM, at(65)),
            (Some(new), true),
            "a line came"
        );
        advices.give_up(TEAM);
        assert!(
            advices.look(&later, TEAM, at(66)).1,
            "somebody else may try"
        );
    }
}
