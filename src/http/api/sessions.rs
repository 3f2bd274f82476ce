//! `/api/v1/sessions` and `/api/v1/session`: coming in, being somebody, going out.

use crate::app::{
    App, AppError, Signed,
    people::{self, Who},
    pins,
    sessions::Opened,
};
use crate::calc::units::Name;
use crate::http::{
    Problem, ProblemKind,
    document::Document,
    edge::Moment,
    signed::{cookie, no_cookie},
};
use crate::pit::ids::{EventId, PersonId, TeamId};
use crate::pit::logbook::Role;
use actix_web::{HttpRequest, HttpResponse, delete, get, post, put, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::net::{IpAddr, Ipv4Addr};
use utoipa::ToSchema;
use uuid::Uuid;

/// An organiser's login and password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"login": "hall", "password": "seven copper kettles"}))]
pub struct SignInForm {
    /// The login.
    #[schema(max_length = 60)]
    login: String,
    /// The password.
    #[schema(max_length = 200)]
    password: String,
}

/// A join code, to look at.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "4T7QX-9M2KD"}))]
pub struct CodeForm {
    /// The code, as typed.
    #[schema(max_length = 40)]
    code: String,
}

/// A join code, and who comes in with it.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"code": "4T7QX-9M2KD", "name": "Ana"}))]
pub struct JoinForm {
    /// The code, as typed.
    #[schema(max_length = 40)]
    code: String,
    /// Somebody the event knows.
    #[serde(default)]
    person: Option<PersonId>,
    /// A name: of somebody of the team, or of somebody new.
    #[serde(default)]
    name: Option<Name>,
    /// Their PIN, if they have one.
    #[serde(default)]
    #[schema(min_length = 4, max_length = 8, pattern = "^[0-9]{4,8}$")]
    pin: Option<String>,
}

/// Who somebody is.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "Ana"}))]
pub struct PersonForm {
    /// Somebody the event knows.
    #[serde(default)]
    person: Option<PersonId>,
    /// A name: of somebody of the team, or of somebody new.
    #[serde(default)]
    name: Option<Name>,
    /// Their PIN, if they have one.
    #[serde(default)]
    #[schema(min_length = 4, max_length = 8, pattern = "^[0-9]{4,8}$")]
    pin: Option<String>,
}

/// Who is signed in.
#[derive(Serialize, ToSchema)]
pub struct SessionView {
    /// The session.
    id: Uuid,
    /// The event; none for organisers' accounts, which work at every event.
    event: Option<EventId>,
    /// The team.
    team: Option<TeamId>,
    /// The person.
    person: Option<PersonId>,
    /// The role.
    role: Role,
    /// When it ends by itself.
    expires_at: DateTime<Utc>,
}

/// A session that just began.
#[derive(Serialize, ToSchema)]
pub struct OpenedView {
    /// Goes into the header `Authorization: Bearer …`. Browsers have it in a cookie as well.
    token: String,
    /// Whose it is.
    session: SessionView,
}

/// What a join code opens.
#[derive(Serialize, ToSchema)]
pub struct DoorView {
    /// The event.
    event: EventId,
    /// The team; none for roles of the event.
    team: Option<TeamId>,
    /// The role.
    role: Role,
    /// People of the team to choose from.
    people: Vec<NamedPerson>,
}

/// A person and their name.
#[derive(Debug, Serialize, ToSchema)]
pub struct NamedPerson {
    /// The person.
    pub person: PersonId,
    /// Their name.
    pub name: String,
}

impl From<&Signed> for SessionView {
    fn from(signed: &Signed) -> Self {
        Self {
            id: signed.session,
            event: signed.event,
            team: signed.team,
            person: signed.person,
            role: signed.role,
            expires_at: signed.expires_at,
        }
    }
}

/// Where a request came from; behind a proxy that is the proxy.
pub fn from_where(request: &HttpRequest) -> IpAddr {
    request
        .peer_addr()
        .map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |peer| peer.ip())
}

/// Whom a form names.
fn who(person: Option<PersonId>, name: Option<Name>) -> Result<Who, AppError> {
    match (person, name) {
        (Some(_), Some(_)) => Err(AppError::refused(
            "/name",
            "Either a person or a name, not both.",
        )),
        (Some(person), None) => Ok(Who::Known(person)),
        (None, Some(name)) => Ok(Who::Named(name)),
        (None, None) => Ok(Who::Nobody),
    }
}

const NO_CODE: &str = "No code like this holds. Ask for a new one.";

/// Says what was wrong with what somebody came in with.
fn instead(error: AppError, detail: &str) -> Problem {
    match error {
        AppError::Unauthenticated => Problem::new(ProblemKind::SignInNeeded, detail),
        other => other.into(),
    }
}

fn opened(request: &HttpRequest, opened: &Opened, now: DateTime<Utc>) -> HttpResponse {
    let until = opened.signed.expires_at;
    HttpResponse::Created()
        .cookie(cookie(request, opened.token.clone(), now, until))
        .json(OpenedView {
            token: opened.token.clone(),
            session: SessionView::from(&opened.signed),
        })
}

/// Signs an organiser in
#[utoipa::path(
    operation_id = "sign_in", tag = "sessions", request_body = SignInForm,
    responses((status = 201, description = "Signed in.", body = OpenedView)),
)]
#[post("/api/v1/sessions")]
pub async fn sign_in(
    app: web::Data<App>,
    request: HttpRequest,
    moment: Moment,
    Document(form): Document<SignInForm>,
) -> Result<HttpResponse, Problem> {
    let from = from_where(&request);
    let done = app
        .sessions
        .sign_in(&form.login, form.password, from, moment.now)
        .await
        .map_err(|error| instead(error, "The login or the password is wrong."))?;
    Ok(opened(&request, &done, moment.now))
}

/// Shows what a join code opens
///
/// Without using it, so that whoever joins can say who they are.
#[utoipa::path(
    operation_id = "look_at_join_code", tag = "sessions", request_body = CodeForm,
    responses((status = 200, description = "What it opens.", body = DoorView)),
)]
#[post("/api/v1/join-codes/look")]
pub async fn look_at_join_code(
    app: web::Data<App>,
    request: HttpRequest,
    moment: Moment,
    Document(form): Document<CodeForm>,
) -> Result<HttpResponse, Problem> {
    let door = people::look(&app, &form.code, from_where(&request), moment.now)
        .await
        .map_err(|error| instead(error, NO_CODE))?;
    Ok(HttpResponse::Ok().json(DoorView {
        event: door.code.event,
        team: door.code.team,
        role: door.code.role,
        people: door
            .people
            .into_iter()
            .map(|(person, name)| NamedPerson { person, name })
            .collect(),
    }))
}

/// Joins an event with a code
#[utoipa::path(
    operation_id = "join_event", tag = "sessions", request_body = JoinForm,
    responses((status = 201, description = "Joined.", body = OpenedView)),
)]
#[post("/api/v1/sessions/join")]
pub async fn join_event(
    app: web::Data<App>,
    request: HttpRequest,
    moment: Moment,
    Document(form): Document<JoinForm>,
) -> Result<HttpResponse, Problem> {
    let who = who(form.person, form.name)?;
    form.pin.as_deref().map_or(Ok(()), pins::check)?;
    let from = from_where(&request);
    let done = people::join(&app, &form.code, who, form.pin, from, moment.now)
        .await
        .map_err(|error| instead(error, NO_CODE))?;
    Ok(opened(&request, &done, moment.now))
}

/// Shows who is signed in
#[utoipa::path(
    operation_id = "get_session", tag = "sessions", security(("token" = [])),
    responses((status = 200, description = "Who.", body = SessionView)),
)]
#[get("/api/v1/session")]
pub async fn get_session(signed: Signed) -> HttpResponse {
    HttpResponse::Ok().json(SessionView::from(&signed))
}

/// Says who holds the phone from now on
///
/// The session before ends; the new one is for the same event, team and role.
#[utoipa::path(
    operation_id = "become_person", tag = "sessions", security(("token" = [])),
    request_body = PersonForm,
    responses((status = 201, description = "That person.", body = OpenedView)),
)]
#[put("/api/v1/session/person")]
pub async fn become_person(
    signed: Signed,
    app: web::Data<App>,
    request: HttpRequest,
    moment: Moment,
    Document(form): Document<PersonForm>,
) -> Result<HttpResponse, Problem> {
    let who = who(form.person, form.name)?;
    form.pin.as_deref().map_or(Ok(()), pins::check)?;
    let done = people::become_person(&app, &signed, who, form.pin, moment.now).await?;
    Ok(opened(&request, &done, moment.now))
}

/// Signs out
#[utoipa::path(
    operation_id = "sign_out", tag = "sessions", security(("token" = [])),
    responses((status = 204, description = "Signed out, in every process within a second.")),
)]
#[delete("/api/v1/session")]
pub async fn sign_out(
    signed: Signed,
    app: web::Data<App>,
    moment: Moment,
) -> Result<HttpResponse, Problem> {
    app.sessions.end(signed.session, moment.now).await?;
    Ok(HttpResponse::NoContent().cookie(no_cookie()).finish())
}
