//! Accounts of organisers: global, and older than any event.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

use super::StoreError;
use super::schema::accounts;

/// An account.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, Insertable)]
#[diesel(table_name = accounts, check_for_backend(diesel::pg::Pg))]
pub struct Account {
    /// Its id.
    pub id: Uuid,
    /// What its owner types to come in, in lower case.
    pub login: String,
    /// The hash of the password, in the string form of its algorithm.
    pub password_hash: String,
    /// Whether it may create events.
    pub is_organiser: bool,
    /// When it was created.
    pub created_at: DateTime<Utc>,
    /// When it was closed, if it was.
    pub disabled_at: Option<DateTime<Utc>>,
}

/// Adds an account; its login is stored in lower case.
///
/// # Errors
/// [`StoreError::Refused`] by `accounts_login_once` if the login is taken.
pub async fn add(connection: &mut AsyncPgConnection, account: Account) -> Result<(), StoreError> {
    diesel::insert_into(accounts::table)
        .values(Account {
            login: account.login.to_lowercase(),
            ..account
        })
        .execute(connection)
        .await?;
    Ok(())
}

/// The account with a login, in any case.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn by_login(
    connection: &mut AsyncPgConnection,
    login: &str,
) -> Result<Option<Account>, StoreError> {
    let found = accounts::table
        .filter(accounts::login.eq(login.to_lowercase()))
        .select(Account::as_select())
        .first(connection)
        .await;
    Ok(found.optional()?)
}

/// The account with an id.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn by_id(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<Account>, StoreError> {
    let found = accounts::table
        .find(id)
        .select(Account::as_select())
        .first(connection)
        .await;
    Ok(found.optional()?)
}

/// Replaces the hash of a password; `false` if there is no such account.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn set_password(
    connection: &mut AsyncPgConnection,
    id: Uuid,
    password_hash: &str,
) -> Result<bool, StoreError> {
    let changed = diesel::update(accounts::table.find(id))
        .set(accounts::password_hash.eq(password_hash))
        .execute(connection)
        .await?;
    Ok(changed == 1)
}

/// Closes an account, or opens it again with `None`; `false` if there is no such account.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn set_disabled(
    connection: &mut AsyncPgConnection,
    id: Uuid,
    at: Option<DateTime<Utc>>,
) -> Result<bool, StoreError> {
    let changed = diesel::update(accounts::table.find(id))
        .set(accounts::disabled_at.eq(at))
        .execute(connection)
        .await?;
    Ok(changed == 1)
}
