//! Use cases: load, decide, append, announce. Nothing here knows HTTP, and no SQL is written here.

pub mod accounts;
pub mod advice;
pub mod calendars;
pub mod clock;
pub mod demo;
pub mod door;
pub mod error;
pub mod event;
pub mod events;
pub mod id_source;
pub mod kept;
pub mod logbook;
pub mod order;
pub mod people;
pub mod photos;
pub mod pins;
pub mod planner;
pub mod receive;
mod refusals;
pub mod sessions;
pub mod signed;
pub mod spares;
pub mod stale;
pub mod tail;
mod writer;

pub use clock::Clock;
pub use error::AppError;
pub use event::Event;
pub use events::Events;
pub use id_source::IdSource;
pub use refusals::KEPT;
pub use sessions::Sessions;
pub use signed::Signed;

pub use crate::store::logbook::{Entry, Recorded, Report};

use crate::auth::Tokens;
use crate::store::pool::Pool;
use std::sync::Arc;

/// Everything the use cases stand on.
pub struct App {
    /// The connections to the database.
    pub pool: Pool,
    /// The events that are open.
    pub events: Arc<Events>,
    /// Who is signed in.
    pub sessions: Sessions,
    /// The clock.
    pub clock: Arc<dyn Clock>,
    /// Where ids come from.
    pub ids: Arc<dyn IdSource>,
    /// What could be done about the order of the next bouts.
    pub orders: order::Orders,
}

impl App {
    /// An app over a migrated database.
    pub fn new(pool: Pool, tokens: Tokens, clock: Arc<dyn Clock>, ids: Arc<dyn IdSource>) -> Self {
        Self {
            events: Arc::new(Events::new(pool.clone())),
            sessions: Sessions::new(pool.clone(), ids.clone(), tokens),
            pool,
            clock,
            ids,
            orders: order::Orders::default(),
        }
    }

    /// Whether lines can be recorded at this moment.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn answers(&self) -> Result<(), AppError> {
        self.events.all().await.map(|_| ())
    }
}
