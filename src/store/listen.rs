//! Hearing from other processes that a logbook has grown.

use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use futures_util::StreamExt;

use super::StoreError;
use super::pool::Access;
use crate::pit::ids::EventId;

/// The channel on which processes tell each other that an event's logbook has grown.
const CHANNEL: &str = "linkout_lines";

/// Word that an event's logbook has grown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grown {
    /// The event.
    pub event: EventId,
    /// Place of its last line, as far as the sender knew.
    pub last_seq: i64,
}

/// A connection that does nothing but listen.
pub struct Listener {
    connection: AsyncPgConnection,
}

impl Listener {
    /// Begins to listen.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`].
    pub async fn start(access: &Access) -> Result<Self, StoreError> {
        let mut connection = AsyncPgConnection::establish(&access.app_url)
            .await
            .map_err(|cause| StoreError::Unavailable(Box::new(cause)))?;
        connection
            .batch_execute(&format!(
                "SET application_name = 'linkout listener'; LISTEN {CHANNEL}"
            ))
            .await?;
        Ok(Self { connection })
    }

    /// The next word, whenever it comes. A word can be lost with a connection: look now and then.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] when the connection is gone.
    pub async fn next(&mut self) -> Result<Grown, StoreError> {
        let mut words = std::pin::pin!(self.connection.notifications_stream());
        loop {
            let word = words.next().await.ok_or_else(|| {
                StoreError::Unavailable("the listening connection ended".into())
            })??;
            // A word this program did not send is none of its business.
            if let Some(grown) = read(&word.payload) {
                return Ok(grown);
            }
        }
    }
}

/// Tells every process that an event's logbook has grown.
///
/// To be done after the commit: inside the transaction it would make all commits of the database
/// wait for each other.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn tell(connection: &mut AsyncPgConnection, grown: Grown) -> Result<(), StoreError> {
    let payload = format!("{} {}", grown.event, grown.last_seq);
    diesel::select(pg_notify(CHANNEL, payload))
        .execute(connection)
        .await?;
    Ok(())
}

fn read(payload: &str) -> Option<Grown> {
    let (event, last_seq) = payload.split_once(' ')?;
    Some(Grown {
        event: event.parse().ok()?,
        last_seq: last_seq.parse().ok()?,
    })
}

#[diesel::declare_sql_function]
extern "SQL" {
    fn pg_notify(channel: diesel::sql_types::Text, payload: diesel::sql_types::Text);
}
