//! Photographs: the line comes through the door like any other, its bytes come here.

mod picture;

pub use picture::Picture;

use super::door::may_put_right;
use super::{App, AppError, Event, Signed};
use crate::auth::actions::to_read;
use crate::pit::ids::{LineId, Subject};
use crate::pit::logbook::Kind;
use crate::pit::photos::{self, Shot};
use crate::pit::state::Pit;
use crate::store;
use chrono::{DateTime, Utc};

/// Most bytes that are taken in: what a phone's camera makes if the page's script did not shrink it.
pub const MOST_TAKEN: usize = 12 * 1024 * 1024;

/// The photograph that a line speaks of.
///
/// # Errors
/// [`AppError::Unknown`] if there is none to see.
fn one(pit: &Pit, signed: &Signed, line: LineId) -> Result<Shot, AppError> {
    let shot = photos::one(pit, line).ok_or(AppError::Unknown)?;
    may_see(pit, signed, shot.line.subject)?;
    Ok(shot)
}

/// Whether somebody may send the picture of a photograph's line.
///
/// # Errors
/// [`AppError::Unknown`] without such a line of the own team, [`AppError::Forbidden`] for somebody
/// else's.
pub fn may_send(pit: &Pit, signed: &Signed, line: LineId) -> Result<(), AppError> {
    one(pit, signed, line)?;
    let entry = pit.entry(line).ok_or(AppError::Unknown)?;
    if may_put_right(pit, signed.enterer(), &entry.first) {
        Ok(())
    } else {
        Err(AppError::forbidden(
            "The picture is sent by whoever entered the line, or by those who answer for it.",
        ))
    }
}

/// Keeps the picture of a photograph's line. The same picture again changes nothing.
///
/// # Errors
/// As [`may_send`], and [`AppError::Conflict`] if the line has another.
pub async fn keep(
    app: &App,
    event: &Event,
    signed: &Signed,
    line: LineId,
    picture: &Picture,
    now: DateTime<Utc>,
) -> Result<(), AppError> {
    may_send(&event.pit(), signed, line)?;
    let mut connection = app.pool.get().await?;
    if store::photos::keep(&mut connection, event.id(), line, picture.jpeg(), now).await? {
        return Ok(());
    }
    match store::photos::read(&mut connection, event.id(), line).await? {
        Some(known) if known == picture.jpeg() => Ok(()),
        _ => Err(AppError::conflict(
            "This line has another picture. Take a new photograph: it is a line of its own.",
        )),
    }
}

/// The picture of a photograph's line, as JPEG.
///
/// # Errors
/// [`AppError::Unknown`] if there is none to see.
pub async fn read(
    app: &App,
    event: &Event,
    signed: &Signed,
    line: LineId,
) -> Result<Vec<u8>, AppError> {
    one(&event.pit(), signed, line)?;
    let mut connection = app.pool.get().await?;
    let kept = store::photos::read(&mut connection, event.id(), line).await?;
    kept.ok_or(AppError::Unknown)
}

/// Whether somebody may see photographs of `subject`.
///
/// # Errors
/// [`AppError::Unknown`] if not: another team's are not shown either.
pub fn may_see(pit: &Pit, signed: &Signed, subject: Subject) -> Result<(), AppError> {
    if pit.knows(subject) && signed.may(to_read(Kind::Photo), pit.team_of(subject)) {
        Ok(())
    } else {
        Err(AppError::Unknown)
    }
}
