//! Calendar feeds: an address with a secret of its own, made, read by programs, and ended.

use super::{App, AppError, Event, Signed};
use crate::auth::code;
use crate::pit::calendar::About;
use crate::pit::ids::{EventId, RobotId, TeamId};
use crate::pit::logbook::Role;
use crate::pit::state::Pit;
use crate::store::calendars::{self, Calendar};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// An address that counts, without its secret.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Address {
    /// Its id.
    pub id: Uuid,
    /// What it is about.
    pub about: About,
    /// When it was made.
    pub made_at: DateTime<Utc>,
}

impl From<&Calendar> for Address {
    fn from(calendar: &Calendar) -> Self {
        Self {
            id: calendar.id,
            about: about(calendar),
            made_at: calendar.made_at,
        }
    }
}

fn about(calendar: &Calendar) -> About {
    match (calendar.robot_id, calendar.team_id) {
        (Some(robot), _) => About::Robot(RobotId(robot)),
        (None, Some(team)) => About::Team(TeamId(team)),
        (None, None) => About::Event,
    }
}

/// Whose addresses somebody sees: the organiser all, others their own.
fn own(signed: &Signed) -> Option<Uuid> {
    (signed.role != Role::Organiser).then_some(signed.session)
}

/// Makes an address; its secret is told this once.
///
/// # Errors
/// [`AppError::Refused`] if it is about something unknown.
pub async fn make(
    app: &App,
    event: &Event,
    signed: &Signed,
    of: About,
    now: DateTime<Utc>,
) -> Result<(Address, String), AppError> {
    let known = known(&event.pit(), of);
    if !known {
        return Err(AppError::refused(
            "",
            "Nothing of that id is at this event.",
        ));
    }
    // Two codes are a hundred bits: nobody guesses them, however often they try.
    let secret: String = [code::make(), code::make()].concat().replace('-', "");
    let (team_id, robot_id) = match of {
        About::Event => (None, None),
        About::Team(team) => (Some(team.0), None),
        About::Robot(robot) => (None, Some(robot.0)),
    };
    let calendar = Calendar {
        event_id: event.id().0,
        id: app.ids.id(now),
        secret_hash: code::hash(&secret).to_vec(),
        team_id,
        robot_id,
        made_by: signed.session,
        made_at: now,
        ended_at: None,
    };
    let mut connection = app.pool.get().await?;
    calendars::add(&mut connection, &calendar).await?;
    Ok((Address::from(&calendar), secret))
}

fn known(pit: &Pit, about: About) -> bool {
    match about {
        About::Event => true,
        About::Team(team) => pit.teams.contains_key(&team),
        About::Robot(robot) => pit.robots.contains_key(&robot),
    }
}

/// What the address with a secret is about.
///
/// # Errors
/// [`AppError::Unknown`] if there is none, or it was ended.
pub async fn look(app: &App, event: EventId, secret: &str) -> Result<About, AppError> {
    let mut connection = app.pool.get().await?;
    let found = calendars::look(&mut connection, event, code::hash(secret)).await?;
    found.as_ref().map(about).ok_or(AppError::Unknown)
}

/// The addresses that count: all for the organiser, one's own for others.
///
/// # Errors
/// [`AppError::Unavailable`].
pub async fn list(app: &App, event: EventId, signed: &Signed) -> Result<Vec<Address>, AppError> {
    let mut connection = app.pool.get().await?;
    let found = calendars::list(&mut connection, event, own(signed)).await?;
    Ok(found.iter().map(Address::from).collect())
}

/// Ends an address.
///
/// # Errors
/// [`AppError::Unknown`] if there is none, or it is not one's own.
pub async fn end(
    app: &App,
    event: EventId,
    signed: &Signed,
    id: Uuid,
    now: DateTime<Utc>,
) -> Result<(), AppError> {
    let mut connection = app.pool.get().await?;
    if calendars::end(&mut connection, event, id, own(signed), now).await? {
        Ok(())
    } else {
        Err(AppError::Unknown)
    }
}
