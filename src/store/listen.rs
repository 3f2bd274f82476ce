//! Hearing from other processes that a logbook has grown, or that a session has ended.

use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use futures_util::StreamExt;
use uuid::Uuid;

use super::StoreError;
use super::pool::Access;
use crate::pit::ids::EventId;

/// The channel on which processes tell each other that an event's logbook has grown.
const LINES: &str = "linkout_lines";
/// The channel on which they tell each other that a session has ended.
const SESSIONS: &str = "linkout_sessions";

/// Word that an event's logbook has grown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Grown {
    /// The event.
    pub event: EventId,
    /// Place of its last line, as far as the sender knew.
    pub last_seq: i64,
}

/// What another process says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Word {
    /// An event's logbook has grown.
    Grown(Grown),
    /// The session with this id has ended.
    Ended(Uuid),
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
                "SET application_name = 'linkout listener'; LISTEN {LINES}; LISTEN {SESSIONS}"
            ))
            .await?;
        Ok(Self { connection })
    }

    /// The next word, whenever it comes. A word can be lost with a connection: look now and then.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`] when the connection is gone.
    pub async fn next(&mut self) -> Result<Word, StoreError> {
        let mut words = std::pin::pin!(self.connection.notifications_stream());
        loop {
            let word = words.next().await.ok_or_else(|| {
                StoreError::Unavailable("the listening connection ended".into())
            })??;
            // A word this program did not send is none of its business.
            if let Some(word) = read(&word.channel, &word.payload) {
                return Ok(word);
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
    diesel::select(pg_notify(LINES, payload))
        .execute(connection)
        .await?;
    Ok(())
}

/// Tells every process that sessions have ended; to be done after that is committed. They have
/// ended whether the word goes out or not: those who miss it look once a second.
pub async fn tell_ended(connection: &mut AsyncPgConnection, ended: &[Uuid]) {
    for session in ended {
        let word = diesel::select(pg_notify(SESSIONS, session.to_string()));
        if let Err(cause) = word.execute(connection).await {
            tracing::warn!(%cause, "other processes were not told that a session has ended");
            return;
        }
    }
}

fn read(channel: &str, payload: &str) -> Option<Word> {
    if channel == SESSIONS {
        return payload.parse().ok().map(Word::Ended);
    }
    let (event, last_seq) = payload.split_once(' ')?;
    Some(Word::Grown(Grown {
        event: event.parse().ok()?,
        last_seq: last_seq.parse().ok()?,
    }))
}

#[diesel::declare_sql_function]
extern "SQL" {
    fn pg_notify(channel: diesel::sql_types::Text, payload: diesel::sql_types::Text);
}
