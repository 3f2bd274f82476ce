//! PINs of people: set by themselves, asked of whoever speaks for them on another phone.

use super::{App, AppError, Event, door::Enterer, signed::Signed};
use crate::auth::{password, pin};
use crate::pit::ids::{EventId, PersonId};
use crate::pit::logbook::Author;
use crate::store::names;
use std::collections::BTreeSet;

/// Everybody at an event who has a PIN.
///
/// # Errors
/// [`AppError::Unavailable`].
pub async fn who_have_one(app: &App, event: EventId) -> Result<BTreeSet<PersonId>, AppError> {
    let mut connection = app.pool.get().await?;
    Ok(names::who_have_a_pin(&mut connection, event).await?)
}

/// Sets the PIN of somebody who has a name; who has one already proves it by `current`.
///
/// # Errors
/// [`AppError::Refused`] at `/pin` or `/current`, [`AppError::TooMany`], [`AppError::Unknown`].
pub async fn set(
    app: &App,
    event: EventId,
    person: PersonId,
    current: Option<String>,
    wanted: String,
) -> Result<(), AppError> {
    check(&wanted)?;
    let kept = kept(app, event, person).await?;
    if kept.is_some() && !is_right(app, person, kept, current.unwrap_or_default()).await? {
        return Err(AppError::refused(
            "/current",
            "This is not the PIN as it is now. Forgotten: your lead or the organiser takes it away.",
        ));
    }
    let hash = tokio::task::spawn_blocking(move || password::hash(&wanted))
        .await
        .map_err(AppError::bug)?
        .map_err(|cause| AppError::bug(cause.to_string()))?;
    let mut connection = app.pool.get().await?;
    if names::set_pin_hash(&mut connection, event, person, Some(&hash)).await? {
        Ok(())
    } else {
        Err(AppError::Unknown)
    }
}

/// Takes somebody's PIN away, if there is one.
///
/// # Errors
/// [`AppError::Unavailable`].
pub async fn take_away(app: &App, event: EventId, person: PersonId) -> Result<(), AppError> {
    let mut connection = app.pool.get().await?;
    names::set_pin_hash(&mut connection, event, person, None).await?;
    Ok(())
}

/// Whether what was typed can be a PIN at all, whoever it is for.
///
/// # Errors
/// [`AppError::Refused`] at `/pin`.
pub fn check(typed: &str) -> Result<(), AppError> {
    if pin::is_pin(typed) {
        return Ok(());
    }
    let detail = format!("A PIN is from {} to {} digits.", pin::MIN, pin::MAX);
    Err(AppError::refused("/pin", detail))
}

/// Lets a phone speak for somebody from now on: who has a PIN is asked for it.
///
/// # Errors
/// [`AppError::Refused`] at `/pin`, [`AppError::TooMany`].
pub async fn let_be(
    app: &App,
    event: EventId,
    person: PersonId,
    typed: Option<String>,
) -> Result<(), AppError> {
    let Some(hash) = kept(app, event, person).await? else {
        return Ok(());
    };
    let Some(typed) = typed else {
        return Err(AppError::refused("/pin", "This name asks for its PIN."));
    };
    if is_right(app, person, Some(hash), typed).await? {
        Ok(())
    } else {
        Err(wrong("/pin"))
    }
}

/// A second person on the phone of `signed`: proved by their PIN, what they hand in is entered by
/// them, with the rights of the phone. `pointer` names the PIN in what was sent.
///
/// Somebody without a PIN is refused like a wrong one, after the same work.
///
/// # Errors
/// [`AppError::Unknown`] for people of another team, [`AppError::Refused`], [`AppError::TooMany`].
pub async fn second(
    app: &App,
    event: &Event,
    signed: &Signed,
    person: PersonId,
    typed: String,
    pointer: &str,
) -> Result<Enterer, AppError> {
    // A phone that speaks for nobody lends its rights to nobody.
    if signed.person.is_none() {
        return Err(AppError::refused(
            pointer,
            "Say first who holds this phone.",
        ));
    }
    let pit = event.pit();
    pit.people
        .get(&person)
        .filter(|known| known.body.team == signed.team && !known.body.retired)
        .ok_or(AppError::Unknown)?;
    let kept = kept(app, event.id(), person).await?;
    if !is_right(app, person, kept, typed).await? {
        return Err(wrong(pointer));
    }
    Ok(Enterer {
        author: Author {
            person: Some(person),
            role: signed.role,
        },
        team: signed.team,
    })
}

fn wrong(pointer: &str) -> AppError {
    AppError::refused(pointer, "This is not the PIN of that person.")
}

async fn kept(app: &App, event: EventId, person: PersonId) -> Result<Option<String>, AppError> {
    let mut connection = app.pool.get().await?;
    Ok(names::pin_hash(&mut connection, event, person).await?)
}

async fn is_right(
    app: &App,
    person: PersonId,
    kept: Option<String>,
    typed: String,
) -> Result<bool, AppError> {
    app.sessions.count_pin(person)?;
    tokio::task::spawn_blocking(move || password::check(kept.as_deref(), &typed).right)
        .await
        .map_err(AppError::bug)
}
