//! The order of the next bouts: proposals worked out beside the requests, and orders accepted.

use super::{App, AppError, Event};
use crate::live::Change;
use crate::pit::ids::{BoutId, EventId, LineId, Subject};
use crate::pit::logbook::{Body, Draft};
use crate::pit::order::change::changed;
use crate::pit::order::{Outlook, Window};
use crate::pit::readiness::of_all;
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeSet, HashMap};
use std::sync::{Arc, PoisonError, RwLock, Weak};
use std::time::Duration;
use tokio::sync::Mutex;
use tokio::sync::broadcast::error::RecvError;

/// How often to look whether something is due.
const LOOK: Duration = Duration::from_secs(2);
/// Ready times run on although nobody enters anything: looked at again after this time.
const AGAIN: TimeDelta = TimeDelta::seconds(30);

/// The last proposals of the events this process has open.
#[derive(Default)]
pub struct Orders {
    last: RwLock<HashMap<EventId, Arc<Outlook>>>,
    /// Held while one is worked out: it takes a core.
    working: Mutex<()>,
}

impl Orders {
    /// What was worked out last, if it still fits what is known.
    pub fn last(&self, event: EventId, pit: &Pit) -> Option<Arc<Outlook>> {
        let last = self.last.read().unwrap_or_else(PoisonError::into_inner);
        last.get(&event)
            .filter(|outlook| outlook.still_fits(pit))
            .cloned()
    }

    /// What could be done at `now`, worked out anew unless that was done just before; none where
    /// fewer than two bouts wait.
    ///
    /// # Errors
    /// [`AppError::Bug`].
    pub async fn now(
        &self,
        event: &Event,
        now: DateTime<Utc>,
    ) -> Result<Option<Arc<Outlook>>, AppError> {
        let _turn = self.working.lock().await;
        let pit = event.pit();
        if let Some(last) = self.last(event.id(), &pit)
            && last.window.seq == pit.last_seq
            && now - last.window.from < AGAIN
        {
            return Ok(Some(last));
        }
        let looking = tokio::task::spawn_blocking(move || {
            let ready = of_all(&pit, now).value;
            // An order that was entered wrong has nothing that could be proposed instead.
            Window::of(&pit, &ready, now).and_then(|window| window.look().ok())
        });
        let found = looking.await.map_err(AppError::bug)?.map(Arc::new);
        let mut last = self.last.write().unwrap_or_else(PoisonError::into_inner);
        match &found {
            Some(outlook) => last.insert(event.id(), outlook.clone()),
            None => last.remove(&event.id()),
        };
        Ok(found)
    }
}

/// The register lines that put the next bouts into this order, each bout with the revision it was
/// seen at. The `n`th line gets its id from `id(n)`; none if nothing changes.
///
/// # Errors
/// [`AppError::Refused`] naming everything wrong with the order; [`AppError::Stale`] if one of the
/// bouts has changed since.
pub fn lines(
    pit: &Pit,
    order: &[(BoutId, i64)],
    at: DateTime<Utc>,
    mut id: impl FnMut(u16) -> LineId,
) -> Result<Vec<Draft>, AppError> {
    let bouts: Vec<BoutId> = order.iter().map(|(bout, _)| *bout).collect();
    let after = changed(pit, &bouts).map_err(AppError::Refused)?;
    // The same order sent twice is the order already.
    if after.is_empty() {
        return Ok(Vec::new());
    }
    for (bout, based_on) in order {
        let current = pit.bouts.get(bout).map(|known| known.revision);
        if current != Some(*based_on) {
            return Err(AppError::Stale {
                current,
                changes: Vec::new(),
            });
        }
    }
    let lines = (0..).zip(after).map(|(n, (bout, body))| Draft {
        id: id(n),
        at,
        seen_by: None,
        subject: Subject::Bout(bout),
        how: None,
        corrects: None,
        if_revision: pit.bouts.get(&bout).map(|known| known.revision),
        body: Body::RegisterBout(body),
    });
    Ok(lines.collect())
}

/// Keeps the proposals of every open event up to date, until the app ends.
pub async fn watch_all(app: Arc<App>) {
    let mut watched: BTreeSet<EventId> = BTreeSet::new();
    loop {
        for event in app.events.all_open() {
            if watched.insert(event.id()) {
                tokio::spawn(watch(app.clone(), Arc::downgrade(&event)));
            }
        }
        tokio::time::sleep(LOOK).await;
    }
}

/// Keeps one event's up to date, and tells when another order is proposed.
async fn watch(app: Arc<App>, event: Weak<Event>) {
    let Some(mut changes) = event.upgrade().map(|event| event.hub().listen()) else {
        return;
    };
    let mut told: Option<Vec<BoutId>> = None;
    loop {
        let Some(open) = event.upgrade() else { return };
        match app.orders.now(&open, app.clock.now()).await {
            Ok(outlook) => {
                let proposed = outlook
                    .as_ref()
                    .and_then(|outlook| Some(outlook.order(outlook.proposed()?)));
                if proposed != told {
                    told = proposed;
                    open.hub().publish(Change {
                        last_seq: open.pit().last_seq,
                        subjects: [].into(),
                    });
                }
            }
            Err(cause) => tracing::warn!(%cause, event.id = %open.id(), "no order was looked for"),
        }
        let looked_at = app.clock.now();
        let known = open.pit().last_seq;
        drop(open);
        // Lines of one moment come together: they are waited for before the next look.
        tokio::time::sleep(LOOK).await;
        loop {
            match tokio::time::timeout(LOOK, changes.recv()).await {
                Ok(Ok(change)) if change.last_seq > known => break,
                Ok(Ok(_)) => {}
                Ok(Err(RecvError::Lagged(_))) => break,
                Ok(Err(RecvError::Closed)) => return,
                Err(_) if app.clock.now() - looked_at >= AGAIN => break,
                Err(_) => {}
            }
        }
    }
}
