//! Who asks, as every use case needs to know.

use super::{AppError, door::Enterer};
use crate::auth::{Action, Reach, may};
use crate::pit::ids::{EventId, PersonId, RobotId, TeamId};
use crate::pit::logbook::{Author, Role};
use crate::pit::state::Pit;
use crate::store::sessions::Session;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Somebody who is signed in, as their session says at this moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signed {
    /// The session.
    pub session: Uuid,
    /// The event it is for; none for an organiser's account, which works at every event.
    pub event: Option<EventId>,
    /// The person; none before one was chosen, and for accounts and programs.
    pub person: Option<PersonId>,
    /// The team; none for people of the event.
    pub team: Option<TeamId>,
    /// What they are.
    pub role: Role,
    /// The account, if they came in with a password.
    pub account: Option<Uuid>,
    /// When the session ends by itself.
    pub expires_at: DateTime<Utc>,
}

impl From<&Session> for Signed {
    fn from(session: &Session) -> Self {
        Self {
            session: session.id,
            event: session.event,
            person: session.person,
            team: session.team,
            role: session.role,
            account: session.account,
            expires_at: session.expires_at,
        }
    }
}

impl Signed {
    /// Whoever enters a line for them.
    pub fn author(&self) -> Author {
        Author {
            person: self.person,
            role: self.role,
        }
    }

    /// Whoever hands lines in for them.
    pub fn enterer(&self) -> Enterer {
        Enterer {
            author: self.author(),
            team: self.team,
        }
    }

    /// Lets them in to an event.
    ///
    /// # Errors
    /// [`AppError::Unknown`] if their session is for another one.
    pub fn at(&self, event: EventId) -> Result<(), AppError> {
        let everywhere = self.event.is_none() && self.account.is_some();
        if everywhere || self.event == Some(event) {
            Ok(())
        } else {
            Err(AppError::Unknown)
        }
    }

    /// Lets an account in that may create events and let people in to all of them.
    ///
    /// # Errors
    /// [`AppError::Forbidden`].
    pub fn organises(&self) -> Result<Uuid, AppError> {
        match (self.account, self.role) {
            (Some(account), Role::Organiser) => Ok(account),
            _ => Err(AppError::forbidden("This is for organisers' accounts.")),
        }
    }

    /// Whether they may do `action` to what belongs to `team`, or to nobody.
    pub fn may(&self, action: Action, team: Option<TeamId>) -> bool {
        match may(self.role, action) {
            Reach::Everything => true,
            Reach::OwnTeam => team.is_some() && team == self.team,
            Reach::Nothing => false,
        }
    }

    /// Lets them do `action` to what belongs to `team`; otherwise it is not there for them.
    ///
    /// # Errors
    /// [`AppError::Unknown`].
    pub fn sees(&self, action: Action, team: Option<TeamId>) -> Result<(), AppError> {
        if self.may(action, team) {
            Ok(())
        } else {
            Err(AppError::Unknown)
        }
    }

    /// Lets them do `action` to the event as a whole.
    ///
    /// # Errors
    /// [`AppError::Forbidden`], as the existence of the event's own pages is no secret.
    pub fn does(&self, action: Action) -> Result<(), AppError> {
        if may(self.role, action) == Reach::Everything {
            Ok(())
        } else {
            Err(AppError::forbidden("This is for people with another role."))
        }
    }

    /// Lets them do `action` to a robot of the event.
    ///
    /// # Errors
    /// [`AppError::Unknown`] if there is no such robot, or it is not theirs to see so much of.
    pub fn sees_robot(&self, action: Action, pit: &Pit, robot: RobotId) -> Result<(), AppError> {
        let file = pit.robot(robot).ok_or(AppError::Unknown)?;
        self.sees(action, Some(file.register.body.team))
    }
}
