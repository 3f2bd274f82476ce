//! People at an event: their names, and how somebody who joins becomes one of them.

use super::{
    App, AppError,
    event::Event,
    pins,
    receive::receive,
    sessions::{Joining, Opened},
    signed::Signed,
};
use crate::calc::units::Name;
use crate::pit::ids::{EventId, LineId, PersonId, Subject, TeamId};
use crate::pit::logbook::{Author, Body, Draft, Role, register};
use crate::store::{join_codes::JoinCode, names};
use chrono::{DateTime, Utc};
use std::{collections::BTreeMap, net::IpAddr};

/// Who somebody says they are when they join.
#[derive(Debug, Clone)]
pub enum Who {
    /// Somebody the event knows.
    Known(PersonId),
    /// This name; the person who has it in the team, or a new one.
    Named(Name),
    /// To be said later; a wall or a program says nobody at all.
    Nobody,
}

/// What a join code opens, before it is used.
#[derive(Debug, Clone)]
pub struct Door {
    /// The code.
    pub code: JoinCode,
    /// People of its team, or of the event for roles without a team, with their names.
    pub people: Vec<(PersonId, String)>,
}

/// Names of everybody at an event who has one.
///
/// # Errors
/// [`AppError::Unavailable`].
pub async fn all_names(app: &App, event: EventId) -> Result<BTreeMap<PersonId, String>, AppError> {
    let mut connection = app.pool.get().await?;
    Ok(names::of_event(&mut connection, event).await?)
}

/// Gives a person a name.
///
/// # Errors
/// [`AppError::Unknown`] if there is no such person.
pub async fn name(app: &App, event: &Event, person: PersonId, name: &Name) -> Result<(), AppError> {
    if !event.pit().people.contains_key(&person) {
        return Err(AppError::Unknown);
    }
    let mut connection = app.pool.get().await?;
    names::set(&mut connection, event.id(), person, name.as_str()).await?;
    Ok(())
}

/// Erases a person: the name and the sessions. Their lines stand, under their id.
///
/// # Errors
/// [`AppError::Unavailable`].
pub async fn erase(
    app: &App,
    event: EventId,
    person: PersonId,
    now: DateTime<Utc>,
) -> Result<(), AppError> {
    let mut connection = app.pool.get().await?;
    names::erase(&mut connection, event, person).await?;
    drop(connection);
    app.sessions.end_all_of(event, person, now).await
}

/// What a join code opens.
///
/// # Errors
/// [`AppError::Unauthenticated`] if no code like it holds, [`AppError::TooMany`].
pub async fn look(
    app: &App,
    typed: &str,
    from: IpAddr,
    now: DateTime<Utc>,
) -> Result<Door, AppError> {
    let code = app.sessions.look_at_code(typed, from, now).await?;
    let event = app.events.open(code.event).await?;
    let pit = event.pit();
    let names = all_names(app, code.event).await?;
    let people = pit
        .people
        .iter()
        .filter(|(_, person)| person.body.team == code.team && !person.body.retired)
        .filter_map(|(id, _)| names.get(id).map(|name| (*id, name.clone())))
        .collect();
    Ok(Door { code, people })
}

/// Lets somebody in with a join code, and with their PIN if they have one.
///
/// # Errors
/// As [`look`] and [`pins::let_be`]; [`AppError::Unknown`] if the person is not of the code's team.
pub async fn join(
    app: &App,
    typed: &str,
    who: Who,
    pin: Option<String>,
    from: IpAddr,
    now: DateTime<Utc>,
) -> Result<Opened, AppError> {
    let Door { code, people } = look(app, typed, from, now).await?;
    let event = app.events.open(code.event).await?;
    let person = find(app, &event, code.team, code.role, (who, pin), &people, now).await?;
    app.sessions.use_code(&code, now).await?;
    let who = Joining {
        event: code.event,
        team: code.team,
        role: code.role,
        person,
    };
    app.sessions.open_for(who, now).await
}

/// Makes a phone that joined speak for a person from now on; the session before ends. Who has a PIN
/// is asked for it.
///
/// # Errors
/// [`AppError::Unknown`] if the person is not of the team, and as [`pins::let_be`].
pub async fn become_person(
    app: &App,
    signed: &Signed,
    who: Who,
    pin: Option<String>,
    now: DateTime<Utc>,
) -> Result<Opened, AppError> {
    let event = app
        .events
        .open(signed.event.ok_or(AppError::Unknown)?)
        .await?;
    let names = all_names(app, event.id()).await?;
    let people: Vec<(PersonId, String)> = names.into_iter().collect();
    let (team, role) = (signed.team, signed.role);
    let person = find(app, &event, team, role, (who, pin), &people, now).await?;
    let who = Joining {
        event: event.id(),
        team: signed.team,
        role: signed.role,
        person,
    };
    let opened = app.sessions.open_for(who, now).await?;
    app.sessions.end(signed.session, now).await?;
    Ok(opened)
}

/// The person somebody says they are; a name that nobody of the team has makes a new one.
async fn find(
    app: &App,
    event: &Event,
    team: Option<TeamId>,
    role: Role,
    (who, pin): (Who, Option<String>),
    people: &[(PersonId, String)],
    now: DateTime<Utc>,
) -> Result<Option<PersonId>, AppError> {
    if matches!(role, Role::Wall | Role::Program) {
        return Ok(None);
    }
    let pit = event.pit();
    let is_of_team = |id: &PersonId| {
        pit.people
            .get(id)
            .is_some_and(|person| person.body.team == team && !person.body.retired)
    };
    let name = match who {
        Who::Nobody => return Ok(None),
        Who::Known(id) if is_of_team(&id) => {
            pins::let_be(app, event.id(), id, pin).await?;
            return Ok(Some(id));
        }
        Who::Known(_) => return Err(AppError::Unknown),
        Who::Named(name) => name,
    };
    let same = name.as_str().to_lowercase();
    let known = people
        .iter()
        .find(|(id, known)| known.to_lowercase() == same && is_of_team(id));
    if let Some((id, _)) = known {
        pins::let_be(app, event.id(), *id, pin).await?;
        return Ok(Some(*id));
    }
    let person = PersonId(app.ids.id(now));
    let draft = Draft {
        id: LineId(app.ids.id(now)),
        at: now,
        seen_by: None,
        subject: Subject::Person(person),
        how: None,
        corrects: None,
        if_revision: None,
        body: Body::RegisterPerson(register::Person {
            team,
            skills: Vec::new(),
            away: Vec::new(),
            retired: false,
        }),
    };
    let author = Author {
        person: Some(person),
        role,
    };
    let entry = receive(draft, None, now, author, pit.settings());
    event.record(vec![entry]).await?;
    self::name(app, event, person, &name).await?;
    Ok(Some(person))
}
