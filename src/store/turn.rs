//! Work that has to be done once although several processes could do it.

use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl};

use super::StoreError;
use super::pool::Access;
use crate::pit::ids::EventId;

/// One process's turn at the work of an event that is done once: publishing plans, calling others.
///
/// It lasts as long as this value, and ends with the process: it is a lock of the connection this
/// value holds.
pub struct Turn {
    connection: AsyncPgConnection,
}

impl Turn {
    /// Takes the turn, unless another process has it.
    ///
    /// # Errors
    /// [`StoreError::Unavailable`].
    pub async fn take(access: &Access, event: EventId) -> Result<Option<Self>, StoreError> {
        let mut connection = AsyncPgConnection::establish(&access.app_url)
            .await
            .map_err(|cause| StoreError::Unavailable(Box::new(cause)))?;
        let taken: bool = diesel::select(pg_try_advisory_lock(key(event)))
            .get_result(&mut connection)
            .await?;
        Ok(taken.then_some(Self { connection }))
    }

    /// Whether it is still this process's turn: a connection that broke took the turn along.
    pub async fn lasts(&mut self) -> bool {
        diesel::sql_query("SELECT 1")
            .execute(&mut self.connection)
            .await
            .is_ok()
    }
}

/// UUIDv7 ends in random bits, so these do not coincide; if they did, one event's work would wait.
fn key(event: EventId) -> i64 {
    event.0.as_u64_pair().1.cast_signed()
}

#[diesel::declare_sql_function]
extern "SQL" {
    fn pg_try_advisory_lock(key: diesel::sql_types::BigInt) -> diesel::sql_types::Bool;
}
