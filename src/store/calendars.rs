//! Addresses of calendar feeds.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

use super::StoreError;
use super::schema::calendars;
use crate::pit::ids::EventId;

/// The address of a feed. The secret in it is not kept, only its hash.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = calendars, check_for_backend(diesel::pg::Pg))]
pub struct Calendar {
    /// The event.
    pub event_id: Uuid,
    /// Its id.
    pub id: Uuid,
    /// SHA-256 of the secret.
    pub secret_hash: Vec<u8>,
    /// The team it is about.
    pub team_id: Option<Uuid>,
    /// The robot it is about; of the whole event without a team and a robot.
    pub robot_id: Option<Uuid>,
    /// The session that made it.
    pub made_by: Uuid,
    /// When.
    pub made_at: DateTime<Utc>,
    /// When it was ended, if it was.
    pub ended_at: Option<DateTime<Utc>>,
}

/// Adds an address.
///
/// # Errors
/// [`StoreError::Refused`] by `calendars_team_fk` or `calendars_robot_fk` if it names what does not
/// exist.
pub async fn add(
    connection: &mut AsyncPgConnection,
    calendar: &Calendar,
) -> Result<(), StoreError> {
    diesel::insert_into(calendars::table)
        .values(calendar)
        .execute(connection)
        .await?;
    Ok(())
}

/// The address with a secret, unless it was ended.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn look(
    connection: &mut AsyncPgConnection,
    event: EventId,
    secret_hash: [u8; 32],
) -> Result<Option<Calendar>, StoreError> {
    Ok(calendars::table
        .filter(calendars::event_id.eq(event.0))
        .filter(calendars::secret_hash.eq(secret_hash.to_vec()))
        .filter(calendars::ended_at.is_null())
        .select(Calendar::as_select())
        .first(connection)
        .await
        .optional()?)
}

/// The addresses of an event that count, oldest first; those of one session if it is given.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn list(
    connection: &mut AsyncPgConnection,
    event: EventId,
    made_by: Option<Uuid>,
) -> Result<Vec<Calendar>, StoreError> {
    let mut query = calendars::table
        .filter(calendars::event_id.eq(event.0))
        .filter(calendars::ended_at.is_null())
        .select(Calendar::as_select())
        .order((calendars::made_at, calendars::id))
        .limit(500)
        .into_boxed();
    if let Some(session) = made_by {
        query = query.filter(calendars::made_by.eq(session));
    }
    Ok(query.load(connection).await?)
}

/// Ends an address, of one session if it is given; `false` if there is none.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn end(
    connection: &mut AsyncPgConnection,
    event: EventId,
    id: Uuid,
    made_by: Option<Uuid>,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let counts = calendars::table
        .find((event.0, id))
        .filter(calendars::ended_at.is_null());
    let ended = match made_by {
        Some(session) => {
            diesel::update(counts.filter(calendars::made_by.eq(session)))
                .set(calendars::ended_at.eq(at))
                .execute(connection)
                .await?
        }
        None => {
            diesel::update(counts)
                .set(calendars::ended_at.eq(at))
                .execute(connection)
                .await?
        }
    };
    Ok(ended == 1)
}
