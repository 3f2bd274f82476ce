//! Keeps the open events and who is signed in in step with what other processes record.

use std::sync::Arc;
use std::time::Duration;

use tokio::time::MissedTickBehavior;

use super::{App, AppError, Events};
use crate::store::StoreError;
use crate::store::listen::{Grown, Listener, Word};
use crate::store::logbook;

/// How often to look without being told: a lost word costs this, never a line.
const LOOK: Duration = Duration::from_secs(1);

/// Follows the logbooks of all open events, and hears which sessions ended elsewhere, until the
/// task is ended.
///
/// A word from another process wakes it; it also looks once a second, so that it needs no word.
pub async fn follow(app: Arc<App>) {
    let events = &app.events;
    let mut ticks = tokio::time::interval(LOOK);
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let mut listener: Option<Listener> = None;
    loop {
        let word = tokio::select! {
            word = next_word(&mut listener) => Some(word),
            _ = ticks.tick() => None,
        };
        let outcome = match word {
            Some(Ok(Word::Grown(grown))) => hear(events, grown).await,
            Some(Ok(Word::Ended(session))) => {
                app.sessions.forget(&[session]);
                Ok(())
            }
            Some(Err(cause)) => {
                tracing::warn!(%cause, "no longer told by other processes; looking instead");
                listener = None;
                Ok(())
            }
            None => {
                if listener.is_none() {
                    listener = Listener::start(events.pool().access()).await.ok();
                }
                look(events).await
            }
        };
        if let Err(cause) = outcome {
            tracing::warn!(%cause, "looking for other processes' lines failed");
        }
    }
}

/// The next word; never, while nobody listens.
async fn next_word(listener: &mut Option<Listener>) -> Result<Word, StoreError> {
    match listener {
        Some(listener) => listener.next().await,
        None => std::future::pending().await,
    }
}

async fn hear(events: &Events, grown: Grown) -> Result<(), AppError> {
    match events.opened(grown.event) {
        Some(event) if event.pit().last_seq < grown.last_seq => event.catch_up().await,
        _ => Ok(()),
    }
}

async fn look(events: &Events) -> Result<(), AppError> {
    let open: Vec<_> = events.all_open().iter().map(|event| event.id()).collect();
    if open.is_empty() {
        return Ok(());
    }
    let places = {
        let mut connection = events.pool().get().await?;
        logbook::last_places(&mut connection, &open).await?
    };
    for (event, last_seq) in places {
        hear(events, Grown { event, last_seq }).await?;
    }
    Ok(())
}
