//! The events this process has open.

use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};

use chrono::{DateTime, Utc};
use tokio::sync::Mutex;
use uuid::Uuid;

use super::AppError;
use super::event::Event;
use crate::pit::ids::EventId;
use crate::store::logbook::{self, Recorded, Report};
use crate::store::pool::Pool;
use crate::store::projection;

/// The events this process has open, each read when it is first asked for.
pub struct Events {
    pool: Pool,
    open: RwLock<HashMap<EventId, Arc<Event>>>,
    /// Held while an event is read, so that it is read once.
    opening: Mutex<()>,
}

impl Events {
    /// No event open yet.
    #[must_use]
    pub fn new(pool: Pool) -> Self {
        Self {
            pool,
            open: RwLock::default(),
            opening: Mutex::new(()),
        }
    }

    /// An event, read from the logbook if it is not open yet.
    ///
    /// # Errors
    /// [`AppError::Unknown`] if there is no such event, [`AppError::Unavailable`].
    pub async fn open(&self, id: EventId) -> Result<Arc<Event>, AppError> {
        if let Some(event) = self.opened(id) {
            return Ok(event);
        }
        let _turn = self.opening.lock().await;
        if let Some(event) = self.opened(id) {
            return Ok(event);
        }
        let places = {
            let mut connection = self.pool.get().await?;
            logbook::last_places(&mut connection, &[id]).await?
        };
        if places.is_empty() {
            return Err(AppError::Unknown);
        }
        let event = Event::open(id, self.pool.clone()).await?;
        self.open
            .write()
            .unwrap_or_else(PoisonError::into_inner)
            .insert(id, event.clone());
        Ok(event)
    }

    /// An event, if it is open.
    #[must_use]
    pub fn opened(&self, id: EventId) -> Option<Arc<Event>> {
        self.open
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .get(&id)
            .cloned()
    }

    /// Every event there is, oldest first.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn all(&self) -> Result<Vec<EventId>, AppError> {
        let mut connection = self.pool.get().await?;
        let events = logbook::events(&mut connection).await?;
        Ok(events.into_iter().map(|event| event.id).collect())
    }

    /// Builds the tables of what exists anew from the lines of every event, and says how many.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn rebuild_all(&self) -> Result<usize, AppError> {
        let events = self.all().await?;
        let mut connection = self.pool.get().await?;
        for event in &events {
            projection::rebuild(&mut connection, *event).await?;
        }
        Ok(events.len())
    }

    /// Every event that is open.
    #[must_use]
    pub fn all_open(&self) -> Vec<Arc<Event>> {
        self.open
            .read()
            .unwrap_or_else(PoisonError::into_inner)
            .values()
            .cloned()
            .collect()
    }

    /// Creates an event with its first lines, and opens it. The same again is recorded once.
    ///
    /// # Errors
    /// As [`Event::record`]; without its first lines no event is created.
    pub async fn found(
        &self,
        id: EventId,
        created_at: DateTime<Utc>,
        created_by: Option<Uuid>,
        first: Report,
    ) -> Result<Vec<Recorded>, AppError> {
        let pool = self.pool.clone();
        // A task of its own, which goes on if whoever asked goes away.
        let founding = tokio::spawn(async move {
            let mut connection = pool.get().await?;
            logbook::found(&mut connection, id, created_at, created_by, &first).await
        });
        let recorded = founding.await.map_err(AppError::bug)???;
        self.open(id).await?.catch_up().await?;
        Ok(recorded)
    }

    pub(super) fn pool(&self) -> &Pool {
        &self.pool
    }
}
