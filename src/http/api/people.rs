//! Names of people, the codes that let them in, and sending them out.

use super::page::{Cursor, PageQuery};
use super::sessions::NamedPerson;
use crate::app::{App, AppError, people, pins, sessions::CodeFor};
use crate::auth::Action;
use crate::calc::units::Name;
use crate::http::{Problem, document::Document, signed::Here};
use crate::pit::ids::{PersonId, Subject, TeamId};
use crate::pit::logbook::Role;
use actix_web::{HttpResponse, delete, get, post, put, web};
use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A page of names.
#[derive(Debug, Serialize, ToSchema)]
pub struct NamePage {
    /// People who have a name that is yours to see, by id.
    items: Vec<NamedPerson>,
    /// Goes on from here; none at the end.
    next_cursor: Option<String>,
}

/// A name.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "Ana"}))]
pub struct NameForm {
    /// The name.
    name: Name,
}

/// A person's own PIN.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"pin": "4711"}))]
pub struct PinForm {
    /// The PIN.
    #[schema(min_length = 4, max_length = 8, pattern = "^[0-9]{4,8}$")]
    pin: String,
    /// The PIN as it is now, if there is one.
    #[serde(default)]
    #[schema(min_length = 4, max_length = 8)]
    current: Option<String>,
}

/// What a new join code is for.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"role": "crew", "team": "0197a3c2-0000-7000-8000-000000000001", "hours": 48}))]
pub struct JoinCodeForm {
    /// The role it gives.
    role: Role,
    /// The team; needed for crew and lead, refused for roles of the event.
    #[serde(default)]
    team: Option<TeamId>,
    /// How long it holds.
    #[serde(default = "two_days")]
    #[schema(minimum = 1, maximum = 336)]
    hours: u16,
    /// How often it may be used; as often as wanted if not given.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 10_000)]
    uses: Option<u16>,
}

fn two_days() -> u16 {
    48
}

/// A new join code.
#[derive(Debug, Serialize, ToSchema)]
pub struct JoinCodeView {
    /// The code. It is shown once and kept only as a hash.
    #[schema(example = "4T7QX-9M2KD")]
    code: String,
    /// Where a phone goes to join: what a QR code holds after the address of the service.
    #[schema(example = "/join/4T7QX-9M2KD")]
    address: String,
    /// When it ends by itself.
    expires_at: DateTime<Utc>,
}

/// A join code to withdraw.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "4T7QX-9M2KD"}))]
pub struct WithdrawForm {
    /// The code.
    #[schema(max_length = 40)]
    code: String,
}

/// Lists people's names
#[utoipa::path(
    operation_id = "list_names", tag = "people", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event."), PageQuery),
    responses((status = 200, description = "A page, by person.", body = NamePage)),
)]
#[get("/api/v1/events/{event}/names")]
pub async fn list_names(
    here: Here,
    app: web::Data<App>,
    page: web::Query<PageQuery>,
) -> Result<HttpResponse, Problem> {
    let after: Option<PersonId> = page.after()?;
    let limit = page.limit()?;
    let names = people::all_names(&app, here.event.id()).await?;
    let mut items: Vec<NamedPerson> = names
        .into_iter()
        .filter(|(person, _)| {
            let team = here.pit.team_of(Subject::Person(*person));
            after.is_none_or(|after| *person > after) && here.signed.may(Action::SeeNames, team)
        })
        .take(limit + 1)
        .map(|(person, name)| NamedPerson { person, name })
        .collect();
    let more = items.len() > limit;
    items.truncate(limit);
    let last = items.last().filter(|_| more);
    let next_cursor = last.map(|last| Cursor::of(&last.person));
    Ok(HttpResponse::Ok().json(NamePage { items, next_cursor }))
}

/// Names a person
#[utoipa::path(
    operation_id = "put_person_name", tag = "people", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("person" = uuid::Uuid, Path, description = "The person."),
    ),
    request_body = NameForm,
    responses((status = 204, description = "Named.")),
)]
#[put("/api/v1/events/{event}/people/{person}/name")]
pub async fn put_person_name(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, PersonId)>,
    Document(form): Document<NameForm>,
) -> Result<HttpResponse, Problem> {
    let person = path.1;
    may_do(&here, Action::NamePeople, person)?;
    people::name(&app, &here.event, person, &form.name).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Erases a person
///
/// The name goes and every session ends. The person's lines stand, under their id.
#[utoipa::path(
    operation_id = "erase_person", tag = "people", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("person" = uuid::Uuid, Path, description = "The person."),
    ),
    responses((status = 204, description = "Erased.")),
)]
#[delete("/api/v1/events/{event}/people/{person}/name")]
pub async fn erase_person(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, PersonId)>,
) -> Result<HttpResponse, Problem> {
    may_do(&here, Action::NamePeople, path.1)?;
    people::erase(&app, here.event.id(), path.1, here.now).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Sets one's own PIN
///
/// By it one enters lines under one's own name on somebody else's phone. From then on another phone
/// that speaks for this name asks for it.
#[utoipa::path(
    operation_id = "put_person_pin", tag = "people", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("person" = uuid::Uuid, Path, description = "The person."),
    ),
    request_body = PinForm,
    responses((status = 204, description = "Set.")),
)]
#[put("/api/v1/events/{event}/people/{person}/pin")]
pub async fn put_person_pin(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, PersonId)>,
    Document(form): Document<PinForm>,
) -> Result<HttpResponse, Problem> {
    let person = path.1;
    if here.signed.person != Some(person) {
        is_there(&here, person)?;
        return Err(AppError::forbidden("A PIN is set by the person whose it is.").into());
    }
    pins::set(&app, here.event.id(), person, form.current, form.pin).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Takes a person's PIN away
///
/// When it was forgotten, by the team's lead or the organiser.
#[utoipa::path(
    operation_id = "delete_person_pin", tag = "people", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("person" = uuid::Uuid, Path, description = "The person."),
    ),
    responses((status = 204, description = "There is none any more.")),
)]
#[delete("/api/v1/events/{event}/people/{person}/pin")]
pub async fn delete_person_pin(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, PersonId)>,
) -> Result<HttpResponse, Problem> {
    may_do(&here, Action::NamePeople, path.1)?;
    pins::take_away(&app, here.event.id(), path.1).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Ends a person's sessions
#[utoipa::path(
    operation_id = "end_sessions", tag = "people", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("person" = uuid::Uuid, Path, description = "The person."),
    ),
    responses((status = 204, description = "Ended, in every process within a second.")),
)]
#[delete("/api/v1/events/{event}/people/{person}/sessions")]
pub async fn end_sessions(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, PersonId)>,
) -> Result<HttpResponse, Problem> {
    may_do(&here, Action::EndSessions, path.1)?;
    app.sessions
        .end_all_of(here.event.id(), path.1, here.now)
        .await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Makes a join code
///
/// A lead lets people into their own team; the organiser lets anybody in.
#[utoipa::path(
    operation_id = "make_join_code", tag = "people", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    request_body = JoinCodeForm,
    responses((status = 201, description = "Made.", body = JoinCodeView)),
)]
#[post("/api/v1/events/{event}/join-codes")]
pub async fn make_join_code(
    here: Here,
    app: web::Data<App>,
    Document(form): Document<JoinCodeForm>,
) -> Result<HttpResponse, Problem> {
    let of_a_team = matches!(form.role, Role::Crew | Role::Lead);
    match form.team {
        Some(team) if !here.pit.teams.contains_key(&team) => {
            return Err(AppError::refused("/team", "There is no team with this id here.").into());
        }
        None if of_a_team => {
            return Err(AppError::refused("/team", "Crew and lead belong to a team.").into());
        }
        Some(_) if !of_a_team && form.role != Role::Program => {
            return Err(AppError::refused("/team", "This role belongs to no team.").into());
        }
        _ => {}
    }
    if !(1..=336).contains(&form.hours) {
        let detail = format!("{} h is not from 1 to 336 h.", form.hours);
        return Err(AppError::refused("/hours", detail).into());
    }
    if form.uses.is_some_and(|uses| !(1..=10_000).contains(&uses)) {
        return Err(AppError::refused("/uses", "It is not from 1 to 10000.").into());
    }
    // Without a team only those who let anybody in are left.
    if !here.signed.may(Action::MakeJoinCode, form.team) {
        return Err(AppError::forbidden("This is for the team's lead or the organiser.").into());
    }
    let expires_at = here.now + TimeDelta::hours(i64::from(form.hours));
    let what = CodeFor {
        event: here.event.id(),
        team: form.team,
        role: form.role,
        expires_at,
        uses: form.uses.map(i32::from),
    };
    let code = app.sessions.make_code(here.signed.account, what).await?;
    Ok(HttpResponse::Created().json(JoinCodeView {
        address: format!("/join/{code}"),
        code,
        expires_at,
    }))
}

/// Withdraws a join code
///
/// Whoever knows it, and may make one like it for everybody, takes it back.
#[utoipa::path(
    operation_id = "withdraw_join_code", tag = "people", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    request_body = WithdrawForm,
    responses((status = 204, description = "Withdrawn.")),
)]
#[post("/api/v1/events/{event}/join-codes/withdraw")]
pub async fn withdraw_join_code(
    here: Here,
    app: web::Data<App>,
    Document(form): Document<WithdrawForm>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::MakeJoinCode)?;
    app.sessions
        .withdraw_code(here.event.id(), &form.code, here.now)
        .await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Lets somebody do something to a person who exists: 404 for people whose names are not theirs to
/// see, 403 otherwise.
fn may_do(here: &Here, action: Action, person: PersonId) -> Result<(), AppError> {
    let team = is_there(here, person)?;
    if here.signed.may(action, team) {
        Ok(())
    } else {
        Err(AppError::forbidden(
            "This is for the team's lead or the organiser.",
        ))
    }
}

/// The team of a person whose name is theirs to see.
fn is_there(here: &Here, person: PersonId) -> Result<Option<TeamId>, AppError> {
    let subject = Subject::Person(person);
    let team = here.pit.team_of(subject);
    if here.pit.knows(subject) && here.signed.may(Action::SeeNames, team) {
        Ok(team)
    } else {
        Err(AppError::Unknown)
    }
}
