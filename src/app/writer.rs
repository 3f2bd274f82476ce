//! The one task that writes to an event's logbook.
//!
//! It takes every report that waits at that moment and records them in one transaction; then it
//! folds, publishes, answers, and has the other processes told. Whoever brought a report may be gone by
//! then: that changes nothing.

use std::sync::{Arc, Weak};

use tokio::sync::{mpsc, oneshot, watch};

use super::AppError;
use super::event::Event;
use crate::pit::ids::EventId;
use crate::pit::logbook::Line;
use crate::store::StoreError;
use crate::store::listen::{self, Grown};
use crate::store::logbook::{self, NotRecorded, Outcome, Recorded, Report};
use crate::store::pool::Pool;

/// How many reports are recorded in one transaction at most.
const BATCH: usize = 512;

/// A report on its way to the writer, and where its sender waits for the answer.
pub(super) struct Letter {
    pub report: Report,
    pub answer: oneshot::Sender<Result<Vec<Recorded>, AppError>>,
}

/// Writes until nobody can send any more.
pub(super) async fn write(event: Weak<Event>, mut inbox: mpsc::Receiver<Letter>) {
    let mut letters = Vec::new();
    let told = watch::Sender::new(0);
    if let Some(event) = event.upgrade() {
        tokio::spawn(tell(event.pool().clone(), event.id(), told.subscribe()));
    }
    while inbox.recv_many(&mut letters, BATCH).await > 0 {
        let Some(event) = event.upgrade() else {
            return;
        };
        let (reports, answers): (Vec<Report>, Vec<_>) = letters
            .drain(..)
            .map(|letter| (letter.report, letter.answer))
            .unzip();
        let outcomes = record_all(&event, &reports).await;
        announce(&event, &reports, &outcomes, &told).await;
        for (answer, outcome) in answers.into_iter().zip(outcomes) {
            // Nobody waits for the answer any more if the phone has gone out of reach.
            let _ = answer.send(outcome.map_err(AppError::from));
        }
    }
}

/// Records the batch; if it fails on somebody's line, each report is tried alone.
async fn record_all(event: &Arc<Event>, reports: &[Report]) -> Vec<Outcome> {
    match record(event, reports).await {
        Ok(outcomes) => outcomes,
        Err(cause @ StoreError::Unavailable(_)) => {
            let mut all = vec![Err(NotRecorded::Store(cause))];
            all.extend(reports.iter().skip(1).map(|_| {
                Err(NotRecorded::Store(StoreError::Unavailable(
                    "the batch it was in was not recorded".into(),
                )))
            }));
            all
        }
        Err(cause) if reports.len() == 1 => vec![Err(NotRecorded::Store(cause))],
        Err(cause) => {
            tracing::warn!(
                event.id = %event.id(),
                reports = reports.len(),
                %cause,
                "a batch was refused; trying each report alone"
            );
            let mut outcomes = Vec::with_capacity(reports.len());
            for report in reports {
                outcomes.push(match record(event, std::slice::from_ref(report)).await {
                    Ok(mut one) => one
                        .pop()
                        .unwrap_or_else(|| Err(StoreError::bug("no outcome").into())),
                    Err(cause) => Err(cause.into()),
                });
            }
            outcomes
        }
    }
}

/// One transaction; a connection that turns out to be dead is replaced once. The lines' own ids
/// make that safe even if the first attempt had been committed.
async fn record(event: &Arc<Event>, reports: &[Report]) -> Result<Vec<Outcome>, StoreError> {
    let mut connection = event.pool().get().await?;
    match logbook::append(&mut connection, event.id(), reports).await {
        Err(StoreError::Unavailable(cause)) => {
            tracing::warn!(event.id = %event.id(), %cause, "trying on another connection");
            drop(connection);
            let mut another = event.pool().get().await?;
            logbook::append(&mut another, event.id(), reports).await
        }
        done => done,
    }
}

/// Brings this process up to date and has the others told. What is recorded stays recorded: if this
/// fails, the tail makes up for it within a second.
async fn announce(
    event: &Arc<Event>,
    reports: &[Report],
    outcomes: &[Outcome],
    told: &watch::Sender<i64>,
) {
    let mut new: Vec<Line> = Vec::new();
    let mut last_seq = 0;
    for (report, outcome) in reports.iter().zip(outcomes) {
        let Ok(recorded) = outcome else { continue };
        for (entry, place) in report.iter().zip(recorded) {
            last_seq = last_seq.max(place.seq);
            if place.is_new {
                new.push(entry.line(event.id(), place.seq));
            }
        }
    }
    if last_seq == 0 {
        return;
    }
    new.sort_by_key(|line| line.seq);
    let known = if last_seq > new.last().map_or(0, |line| line.seq) {
        // A line that had been recorded before may have come from another process.
        event.catch_up().await
    } else {
        event.take(&new).await
    };
    if let Err(cause) = known {
        tracing::warn!(event.id = %event.id(), %cause, "recorded, but not folded in yet");
    }
    if !new.is_empty() {
        told.send_replace(last_seq);
    }
}

/// Tells the other processes of the last line, as often as it can but never more than once a batch.
///
/// It does so beside the writer, because nobody's answer has to wait for it.
async fn tell(pool: Pool, event: EventId, mut last: watch::Receiver<i64>) {
    while last.changed().await.is_ok() {
        let last_seq = *last.borrow_and_update();
        let told = async {
            let mut connection = pool.get().await?;
            listen::tell(&mut connection, Grown { event, last_seq }).await
        };
        if let Err(cause) = told.await {
            tracing::warn!(event.id = %event, %cause, "the other processes were not told");
        }
    }
}
