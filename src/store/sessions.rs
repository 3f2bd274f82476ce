//! Sessions: a person on a phone for one event, a program, an organiser.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

use super::StoreError;
use super::listen::tell_ended;
use super::role;
use super::schema::sessions;
use crate::pit::ids::{EventId, PersonId, TeamId};
use crate::pit::logbook::Role;

/// A session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Session {
    /// Its id, which the token names.
    pub id: Uuid,
    /// The event; none for an account that is not at one.
    pub event: Option<EventId>,
    /// The person; none for an account or a program.
    pub person: Option<PersonId>,
    /// The team; none for people of the event.
    pub team: Option<TeamId>,
    /// The account, if one came in with a password.
    pub account: Option<Uuid>,
    /// What its holder is.
    pub role: Role,
    /// When it began.
    pub created_at: DateTime<Utc>,
    /// When it ends by itself.
    pub expires_at: DateTime<Utc>,
    /// When it was ended, if it was.
    pub revoked_at: Option<DateTime<Utc>>,
}

impl Session {
    /// Whether it holds at `now`.
    #[must_use]
    pub fn is_live(&self, now: DateTime<Utc>) -> bool {
        self.revoked_at.is_none() && now < self.expires_at
    }
}

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = sessions, check_for_backend(diesel::pg::Pg))]
struct SessionRow {
    id: Uuid,
    event_id: Option<Uuid>,
    person_id: Option<Uuid>,
    team_id: Option<Uuid>,
    account_id: Option<Uuid>,
    role: String,
    created_at: DateTime<Utc>,
    expires_at: DateTime<Utc>,
    revoked_at: Option<DateTime<Utc>>,
}

impl TryFrom<SessionRow> for Session {
    type Error = StoreError;

    fn try_from(row: SessionRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.id,
            event: row.event_id.map(EventId),
            person: row.person_id.map(PersonId),
            team: row.team_id.map(TeamId),
            account: row.account_id,
            role: role(&row.role)?,
            created_at: row.created_at,
            expires_at: row.expires_at,
            revoked_at: row.revoked_at,
        })
    }
}

/// Begins a session.
///
/// # Errors
/// [`StoreError::Refused`] by `sessions_person_fk`, `sessions_team_fk` or `sessions_event_fk` if it
/// names what does not exist.
pub async fn open(connection: &mut AsyncPgConnection, session: &Session) -> Result<(), StoreError> {
    diesel::insert_into(sessions::table)
        .values(SessionRow {
            id: session.id,
            event_id: session.event.map(|event| event.0),
            person_id: session.person.map(|person| person.0),
            team_id: session.team.map(|team| team.0),
            account_id: session.account,
            role: session.role.as_str().to_owned(),
            created_at: session.created_at,
            expires_at: session.expires_at,
            revoked_at: session.revoked_at,
        })
        .execute(connection)
        .await?;
    Ok(())
}

/// The session with an id, live or not.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn by_id(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<Session>, StoreError> {
    let found: Option<SessionRow> = sessions::table
        .find(id)
        .select(SessionRow::as_select())
        .first(connection)
        .await
        .optional()?;
    found.map(Session::try_from).transpose()
}

/// The people who have a live session at an event, each with their roles.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn people_at(
    connection: &mut AsyncPgConnection,
    event: EventId,
    now: DateTime<Utc>,
) -> Result<Vec<(PersonId, Role)>, StoreError> {
    let rows: Vec<(Option<Uuid>, String)> = sessions::table
        .filter(sessions::event_id.eq(event.0))
        .filter(sessions::person_id.is_not_null())
        .filter(sessions::revoked_at.is_null())
        .filter(sessions::expires_at.gt(now))
        .select((sessions::person_id, sessions::role))
        .distinct()
        .order((sessions::person_id, sessions::role))
        .load(connection)
        .await?;
    rows.into_iter()
        .filter_map(|(person, text)| Some((PersonId(person?), text)))
        .map(|(person, text)| Ok((person, role(&text)?)))
        .collect()
}

/// Ends a session and tells every process; `false` if it had ended already or never was.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn revoke(
    connection: &mut AsyncPgConnection,
    id: Uuid,
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let ended = diesel::update(
        sessions::table
            .find(id)
            .filter(sessions::revoked_at.is_null()),
    )
    .set(sessions::revoked_at.eq(at))
    .execute(connection)
    .await?;
    if ended == 1 {
        tell_ended(connection, &[id]).await;
    }
    Ok(ended == 1)
}

/// Ends every session of a person at an event, tells every process, and returns which.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn revoke_person(
    connection: &mut AsyncPgConnection,
    event: EventId,
    person: PersonId,
    at: DateTime<Utc>,
) -> Result<Vec<Uuid>, StoreError> {
    let ended: Vec<Uuid> = diesel::update(
        sessions::table
            .filter(sessions::event_id.eq(event.0))
            .filter(sessions::person_id.eq(person.0))
            .filter(sessions::revoked_at.is_null()),
    )
    .set(sessions::revoked_at.eq(at))
    .returning(sessions::id)
    .get_results(connection)
    .await?;
    tell_ended(connection, &ended).await;
    Ok(ended)
}

/// Ends every session of an account, tells every process, and returns which.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn revoke_account(
    connection: &mut AsyncPgConnection,
    account: Uuid,
    at: DateTime<Utc>,
) -> Result<Vec<Uuid>, StoreError> {
    let ended: Vec<Uuid> = diesel::update(
        sessions::table
            .filter(sessions::account_id.eq(account))
            .filter(sessions::revoked_at.is_null()),
    )
    .set(sessions::revoked_at.eq(at))
    .returning(sessions::id)
    .get_results(connection)
    .await?;
    tell_ended(connection, &ended).await;
    Ok(ended)
}

/// The sessions ended at or after `since`, for processes that remember live ones.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn revoked_since(
    connection: &mut AsyncPgConnection,
    since: DateTime<Utc>,
) -> Result<Vec<Uuid>, StoreError> {
    Ok(sessions::table
        .filter(sessions::revoked_at.ge(since))
        .select(sessions::id)
        .load(connection)
        .await?)
}
