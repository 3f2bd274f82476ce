//! `/api/v1/events/{event}/calendars`: addresses for programs that show calendars.

use crate::app::{App, calendars};
use crate::auth::Action;
use crate::http::{Problem, document::Document, signed::Here};
use crate::pit::calendar::About;
use crate::pit::ids::{RobotId, TeamId};
use actix_web::{HttpResponse, delete, get, post, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What a calendar is to be about: a robot, a team, or the whole event.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"robot": "0197a3c2-0000-7000-8000-000000000005"}))]
pub struct CalendarForm {
    /// A team.
    #[serde(default)]
    team: Option<TeamId>,
    /// A robot; counts before a team.
    #[serde(default)]
    robot: Option<RobotId>,
}

/// An address of a calendar.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalendarView {
    /// Its id.
    id: Uuid,
    /// The team it is about.
    team: Option<TeamId>,
    /// The robot it is about; of the whole event without a team and a robot.
    robot: Option<RobotId>,
    /// When it was made.
    made_at: DateTime<Utc>,
}

impl From<calendars::Address> for CalendarView {
    fn from(address: calendars::Address) -> Self {
        let (team, robot) = match address.about {
            About::Event => (None, None),
            About::Team(team) => (Some(team), None),
            About::Robot(robot) => (None, Some(robot)),
        };
        Self {
            id: address.id,
            team,
            robot,
            made_at: address.made_at,
        }
    }
}

/// An address that was just made.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalendarMade {
    /// The calendar.
    calendar: CalendarView,
    /// The path of its address. It carries a secret and is told this once.
    path: String,
}

/// The addresses that count.
#[derive(Debug, Serialize, ToSchema)]
pub struct CalendarList {
    /// Oldest first: all for the organiser, one's own for others.
    items: Vec<CalendarView>,
}

/// The path of an address.
pub fn path(event: crate::pit::ids::EventId, secret: &str) -> String {
    format!("/e/{event}/calendar/{secret}.ics")
}

/// Makes the address of a calendar
///
/// Calendar programs carry no cookie, so the address carries a secret. It shows what the hall's
/// wall shows, and can be ended.
#[utoipa::path(
    operation_id = "make_calendar", tag = "hall", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    request_body = CalendarForm,
    responses((status = 201, description = "Made.", body = CalendarMade)),
)]
#[post("/api/v1/events/{event}/calendars")]
pub async fn make_calendar(
    here: Here,
    app: web::Data<App>,
    Document(form): Document<CalendarForm>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeTheHall)?;
    let about = match (form.robot, form.team) {
        (Some(robot), _) => About::Robot(robot),
        (None, Some(team)) => About::Team(team),
        (None, None) => About::Event,
    };
    let (address, secret) =
        calendars::make(&app, &here.event, &here.signed, about, here.now).await?;
    Ok(HttpResponse::Created().json(CalendarMade {
        calendar: address.into(),
        path: path(here.event.id(), &secret),
    }))
}

/// Lists addresses of calendars
#[utoipa::path(
    operation_id = "list_calendars", tag = "hall", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "Those that count.", body = CalendarList)),
)]
#[get("/api/v1/events/{event}/calendars")]
pub async fn list_calendars(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeTheHall)?;
    let items = calendars::list(&app, here.event.id(), &here.signed).await?;
    let items = items.into_iter().map(CalendarView::from).collect();
    Ok(HttpResponse::Ok().json(CalendarList { items }))
}

/// Ends the address of a calendar
#[utoipa::path(
    operation_id = "end_calendar", tag = "hall", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("calendar" = uuid::Uuid, Path, description = "The calendar."),
    ),
    responses((status = 204, description = "Whoever asks there finds nothing any more.")),
)]
#[delete("/api/v1/events/{event}/calendars/{calendar}")]
pub async fn end_calendar(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, Uuid)>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeTheHall)?;
    calendars::end(&app, here.event.id(), &here.signed, path.1, here.now).await?;
    Ok(HttpResponse::NoContent().finish())
}
