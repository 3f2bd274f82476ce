//! An event this process has open: what is known, who is told, and the way to its writer.

use std::collections::BTreeSet;
use std::sync::Arc;

use tokio::sync::{Mutex, mpsc, oneshot, watch};

use super::AppError;
use super::advice::Advices;
use super::kept::Kept;
use super::writer::{Letter, write};
use crate::live::{Change, Hub};
use crate::pit::ids::EventId;
use crate::pit::logbook::Line;
use crate::pit::state::Pit;
use crate::store::logbook::{self, Recorded, Report};
use crate::store::pool::Pool;

/// How many reports may wait for the writer before whoever brings more has to wait as well.
const WAITING: usize = 4096;

/// How many lines are read at once.
const PAGE: i64 = 2000;

/// An event this process has open.
pub struct Event {
    id: EventId,
    pool: Pool,
    pit: watch::Sender<Arc<Pit>>,
    hub: Hub,
    /// Held while lines are folded in, so that they are folded one after another.
    folding: Mutex<()>,
    letters: mpsc::Sender<Letter>,
    advices: Advices,
    board: Kept,
}

impl Event {
    /// Reads an event's logbook and starts its writer.
    pub(super) async fn open(id: EventId, pool: Pool) -> Result<Arc<Self>, AppError> {
        let (letters, inbox) = mpsc::channel(WAITING);
        let event = Arc::new(Self {
            id,
            pool,
            pit: watch::Sender::new(Arc::new(Pit::default())),
            hub: Hub::new(),
            folding: Mutex::new(()),
            letters,
            advices: Advices::default(),
            board: Kept::default(),
        });
        event.catch_up().await?;
        // The writer keeps no event alive: it ends when nobody can reach it any more.
        tokio::spawn(write(Arc::downgrade(&event), inbox));
        Ok(event)
    }

    /// The event's id.
    #[must_use]
    pub fn id(&self) -> EventId {
        self.id
    }

    /// Everything known about it at this moment.
    #[must_use]
    pub fn pit(&self) -> Arc<Pit> {
        self.pit.borrow().clone()
    }

    /// Who is told of changes.
    #[must_use]
    pub fn hub(&self) -> &Hub {
        &self.hub
    }

    /// What would help its teams, as far as it was asked.
    pub(super) fn advices(&self) -> &Advices {
        &self.advices
    }

    /// The board as it was told last.
    #[must_use]
    pub fn board(&self) -> &Kept {
        &self.board
    }

    pub(super) fn pool(&self) -> &Pool {
        &self.pool
    }

    /// Records lines, all or none, and returns their places when they are committed and known here.
    ///
    /// # Errors
    /// [`AppError`]; nothing of the report was recorded, except that after
    /// [`AppError::Unavailable`] it may have been: handing in the same lines again is safe.
    pub async fn record(&self, report: Report) -> Result<Vec<Recorded>, AppError> {
        let (answer, answered) = oneshot::channel();
        let gone = || AppError::bug("the writer of the event has ended");
        self.letters
            .send(Letter { report, answer })
            .await
            .map_err(|_| gone())?;
        answered.await.map_err(|_| gone())?
    }

    /// Folds in lines that were just recorded, and whatever other processes recorded before them.
    pub(super) async fn take(&self, lines: &[Line]) -> Result<(), AppError> {
        let turn = self.folding.lock().await;
        let known = self.pit().last_seq;
        let new: Vec<&Line> = lines.iter().filter(|line| line.seq > known).collect();
        if new.is_empty() {
            return Ok(());
        }
        if follow_on(known, new.iter().map(|line| line.seq)) {
            self.fold(&new);
            return Ok(());
        }
        drop(turn);
        self.catch_up().await
    }

    /// Reads what other processes have recorded and folds it in.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub(super) async fn catch_up(&self) -> Result<(), AppError> {
        let _turn = self.folding.lock().await;
        loop {
            let known = self.pit().last_seq;
            let mut connection = self.pool.get().await?;
            let lines = logbook::read_after(&mut connection, self.id, known, PAGE).await?;
            if lines.is_empty() {
                return Ok(());
            }
            self.fold(&lines.iter().collect::<Vec<_>>());
        }
    }

    /// Every line of its logbook, in order.
    pub(super) async fn all_lines(&self) -> Result<Vec<Line>, AppError> {
        let mut connection = self.pool.get().await?;
        let mut all = Vec::new();
        loop {
            let known = all.last().map_or(0, |line: &Line| line.seq);
            let more = logbook::read_after(&mut connection, self.id, known, PAGE).await?;
            if more.is_empty() {
                return Ok(all);
            }
            all.extend(more);
        }
    }

    /// Replaces what is known, then tells: told first, somebody would fetch what is not there yet.
    fn fold(&self, lines: &[&Line]) {
        let pit = self.pit().with_all(lines.iter().copied());
        let last_seq = pit.last_seq;
        self.pit.send_replace(Arc::new(pit));
        let subjects: BTreeSet<_> = lines.iter().map(|line| line.subject).collect();
        self.hub.publish(Change {
            last_seq,
            subjects: subjects.into_iter().collect(),
        });
    }
}

/// Whether lines at these places come right after what is known, without a gap: reports of one
/// batch that were recorded one by one may have other processes' lines between them.
fn follow_on(known: i64, places: impl Iterator<Item = i64>) -> bool {
    (known + 1..).zip(places).all(|(next, place)| next == place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_never_folded_over_a_gap() {
        for (known, places, follows) in [
            (0, vec![1], true),
            (4, vec![5, 6, 7], true),
            (4, vec![6], false),
            (4, vec![5, 7], false),
            (4, vec![5, 6, 9, 10], false),
        ] {
            assert_eq!(
                follow_on(known, places.iter().copied()),
                follows,
                "{known} {places:?}"
            );
        }
    }
}
