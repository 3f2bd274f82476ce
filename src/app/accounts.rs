//! Accounts of organisers, made from the command line.

use super::{AppError, IdSource};
use crate::auth::password;
use crate::calc::fault::Faults;
use crate::store::{
    accounts::{self, Account},
    pool::Pool,
    sessions,
};
use chrono::{DateTime, Utc};

/// Adds an organiser.
///
/// # Errors
/// [`AppError::Refused`] for a login or password that is too short or too long,
/// [`AppError::Conflict`] if the login is taken.
pub async fn add_organiser(
    pool: &Pool,
    ids: &dyn IdSource,
    login: &str,
    password: &str,
    now: DateTime<Utc>,
) -> Result<(), AppError> {
    let mut faults = Faults::none();
    let length = login.chars().count();
    if !(1..=60).contains(&length) || login.chars().any(|c| c.is_control() || c.is_whitespace()) {
        faults.add("/login", "A login is 1 to 60 characters without blanks.");
    }
    let length = password.chars().count();
    if !(password::MIN..=password::MAX).contains(&length) {
        faults.add(
            "/password",
            format!(
                "{length} characters is not from {} to {}.",
                password::MIN,
                password::MAX
            ),
        );
    }
    faults.check().map_err(AppError::Refused)?;
    let password = password.to_owned();
    let password_hash = tokio::task::spawn_blocking(move || password::hash(&password))
        .await
        .map_err(AppError::bug)?
        .map_err(|cause| AppError::bug(cause.to_string()))?;
    let mut connection = pool.get().await?;
    accounts::add(
        &mut connection,
        Account {
            id: ids.id(now),
            login: login.to_lowercase(),
            password_hash,
            is_organiser: true,
            created_at: now,
            disabled_at: None,
        },
    )
    .await?;
    Ok(())
}

/// Closes an organiser's account and ends its sessions.
///
/// # Errors
/// [`AppError::Unknown`] if there is no such account.
pub async fn close(pool: &Pool, login: &str, now: DateTime<Utc>) -> Result<(), AppError> {
    let mut connection = pool.get().await?;
    let account = accounts::by_login(&mut connection, login)
        .await?
        .ok_or(AppError::Unknown)?;
    accounts::set_disabled(&mut connection, account.id, Some(now)).await?;
    sessions::revoke_account(&mut connection, account.id, now).await?;
    Ok(())
}
