//! Join codes: what a QR code at the bench or the desk lets its reader become.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

use super::StoreError;
use super::role;
use super::schema::join_codes;
use crate::pit::ids::{EventId, TeamId};
use crate::pit::logbook::Role;

/// A join code. The code itself is not kept, only its hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JoinCode {
    /// The event it is for.
    pub event: EventId,
    /// SHA-256 of the code.
    pub code_hash: [u8; 32],
    /// The team it lets into; none for roles of the event.
    pub team: Option<TeamId>,
    /// The role it gives.
    pub role: Role,
    /// When it ends by itself.
    pub expires_at: DateTime<Utc>,
    /// How often it may still be used; as often as wanted if not given.
    pub uses_left: Option<i32>,
    /// The account that made it.
    pub created_by: Option<Uuid>,
    /// When it was withdrawn, if it was.
    pub revoked_at: Option<DateTime<Utc>>,
}

#[derive(Queryable, Selectable, Insertable)]
#[diesel(table_name = join_codes, check_for_backend(diesel::pg::Pg))]
struct JoinCodeRow {
    event_id: Uuid,
    code_hash: Vec<u8>,
    team_id: Option<Uuid>,
    role: String,
    expires_at: DateTime<Utc>,
    uses_left: Option<i32>,
    created_by: Option<Uuid>,
    revoked_at: Option<DateTime<Utc>>,
}

impl TryFrom<JoinCodeRow> for JoinCode {
    type Error = StoreError;

    fn try_from(row: JoinCodeRow) -> Result<Self, StoreError> {
        Ok(Self {
            event: EventId(row.event_id),
            code_hash: row
                .code_hash
                .try_into()
                .map_err(|_| StoreError::bug("a join code's hash has another length"))?,
            team: row.team_id.map(TeamId),
            role: role(&row.role)?,
            expires_at: row.expires_at,
            uses_left: row.uses_left,
            created_by: row.created_by,
            revoked_at: row.revoked_at,
        })
    }
}

/// Adds a join code.
///
/// # Errors
/// [`StoreError::Refused`] by `join_codes_team_fk` or `join_codes_event_fk` if it names what does
/// not exist, by `join_codes_pkey` if the code is there already.
pub async fn add(connection: &mut AsyncPgConnection, code: &JoinCode) -> Result<(), StoreError> {
    diesel::insert_into(join_codes::table)
        .values(JoinCodeRow {
            event_id: code.event.0,
            code_hash: code.code_hash.to_vec(),
            team_id: code.team.map(|team| team.0),
            role: code.role.as_str().to_owned(),
            expires_at: code.expires_at,
            uses_left: code.uses_left,
            created_by: code.created_by,
            revoked_at: code.revoked_at,
        })
        .execute(connection)
        .await?;
    Ok(())
}

/// The code with a hash, if it can still be used at `now`; looking does not use it.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn look(
    connection: &mut AsyncPgConnection,
    code_hash: [u8; 32],
    now: DateTime<Utc>,
) -> Result<Option<JoinCode>, StoreError> {
    let found: Option<JoinCodeRow> = join_codes::table
        .filter(join_codes::code_hash.eq(code_hash.to_vec()))
        .filter(join_codes::revoked_at.is_null())
        .filter(join_codes::expires_at.gt(now))
        .filter(
            join_codes::uses_left
                .is_null()
                .or(join_codes::uses_left.gt(0)),
        )
        .select(JoinCodeRow::as_select())
        .first(connection)
        .await
        .optional()?;
    found.map(JoinCode::try_from).transpose()
}

/// Uses a code once, if it can still be used at `now`: one statement, so that two people at the
/// same moment cannot both have its last use.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn use_once(
    connection: &mut AsyncPgConnection,
    code_hash: [u8; 32],
    now: DateTime<Utc>,
) -> Result<Option<JoinCode>, StoreError> {
    // Not its first row alone, which is sent before the commit.
    let used: Vec<JoinCodeRow> = diesel::update(
        join_codes::table
            .filter(join_codes::code_hash.eq(code_hash.to_vec()))
            .filter(join_codes::revoked_at.is_null())
            .filter(join_codes::expires_at.gt(now))
            .filter(
                join_codes::uses_left
                    .is_null()
                    .or(join_codes::uses_left.gt(0)),
            ),
    )
    .set(join_codes::uses_left.eq(join_codes::uses_left - 1))
    .returning(JoinCodeRow::as_returning())
    .get_results(connection)
    .await?;
    used.into_iter().next().map(JoinCode::try_from).transpose()
}

/// Withdraws a code; `false` if it was withdrawn already or never was.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn revoke(
    connection: &mut AsyncPgConnection,
    event: EventId,
    code_hash: [u8; 32],
    at: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let withdrawn = diesel::update(
        join_codes::table
            .find((event.0, code_hash.to_vec()))
            .filter(join_codes::revoked_at.is_null()),
    )
    .set(join_codes::revoked_at.eq(at))
    .execute(connection)
    .await?;
    Ok(withdrawn == 1)
}
