//! `/api/v1/events`: events themselves.

use super::page::{Cursor, PageQuery};
use super::register::{answer_of, based_on, tag, without_line_pointer};
use crate::app::{App, AppError, Signed, door, receive::receive};
use crate::http::{Problem, document::Document, edge::Moment, signed::Here};
use crate::pit::ids::{EventId, LineId, Subject};
use crate::pit::logbook::{Body, Draft, register};
use crate::pit::state::{Pit, Registered};
use actix_web::{HttpRequest, HttpResponse, get, http::header, post, put, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// An event as it is published.
#[derive(Debug, Serialize, ToSchema)]
pub struct EventView {
    /// The event.
    id: EventId,
    /// Place of its last register line: its ETag.
    revision: i64,
    /// When that line was recorded.
    recorded_at: DateTime<Utc>,
    /// What it is.
    body: register::Event,
}

/// A page of events.
#[derive(Debug, Serialize, ToSchema)]
pub struct EventPage {
    /// Events, by id.
    items: Vec<EventView>,
    /// Goes on from here; none at the end.
    next_cursor: Option<String>,
}

fn view(id: EventId, event: &Registered<register::Event>) -> EventView {
    EventView {
        id,
        revision: event.revision,
        recorded_at: event.recorded_at,
        body: event.body.clone(),
    }
}

fn registers(app: &App, body: register::Event, now: DateTime<Utc>, revision: Option<i64>) -> Draft {
    Draft {
        id: LineId(app.ids.id(now)),
        at: now,
        seen_by: None,
        subject: Subject::Event,
        how: None,
        corrects: None,
        if_revision: revision,
        body: Body::RegisterEvent(body),
    }
}

/// Lists events
///
/// All of them for an organiser's account, and their own for everybody else.
#[utoipa::path(
    operation_id = "list_events", tag = "events", security(("token" = [])), params(PageQuery),
    responses((status = 200, description = "A page, by id.", body = EventPage)),
)]
#[get("/api/v1/events")]
pub async fn list_events(
    signed: Signed,
    app: web::Data<App>,
    page: web::Query<PageQuery>,
) -> Result<HttpResponse, Problem> {
    let after: Option<EventId> = page.after()?;
    let limit = page.limit()?;
    let mut ids = match signed.event {
        Some(event) => vec![event],
        None => app.events.all().await?,
    };
    ids.sort_unstable();
    ids.retain(|id| after.is_none_or(|after| *id > after));
    let more = ids.len() > limit;
    ids.truncate(limit);
    let mut items = Vec::with_capacity(ids.len());
    for id in &ids {
        let pit = app.events.open(*id).await?.pit();
        items.extend(pit.event.as_ref().map(|event| view(*id, event)));
    }
    let next_cursor = ids.last().filter(|_| more).map(Cursor::of);
    Ok(HttpResponse::Ok().json(EventPage { items, next_cursor }))
}

/// Creates an event
#[utoipa::path(
    operation_id = "create_event", tag = "events", security(("token" = [])),
    request_body(content = register::Event, example = json!({
        "name": "Autumn Meet", "hall": "Corn Exchange", "time_zone": "Europe/London",
        "first_day": "2027-01-15", "last_day": "2027-01-16",
        "emergency": ["First aid: by the arena gate"]
    })),
    responses((status = 201, description = "Created; its address is in the header Location.", body = EventView)),
)]
#[post("/api/v1/events")]
pub async fn create_event(
    signed: Signed,
    app: web::Data<App>,
    moment: Moment,
    Document(body): Document<register::Event>,
) -> Result<HttpResponse, Problem> {
    let account = signed.organises()?;
    let now = moment.now;
    let draft = registers(&app, body, now, None);
    let nothing = Pit::default();
    door::admit(&nothing, signed.enterer(), std::slice::from_ref(&draft), "")
        .map_err(without_line_pointer)?;
    let first = receive(draft, None, now, signed.author(), nothing.settings());
    let id = EventId(app.ids.id(now));
    app.events
        .found(id, now, Some(account), vec![first])
        .await
        .map_err(without_line_pointer)?;
    let pit = app.events.open(id).await?.pit();
    let event = registered(&pit)?;
    Ok(HttpResponse::Created()
        .insert_header((header::LOCATION, format!("/api/v1/events/{id}")))
        .insert_header(header::ETag(tag(event.revision)))
        .json(view(id, event)))
}

/// Shows an event
///
/// The ETag is its revision.
#[utoipa::path(
    operation_id = "get_event", tag = "events", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "As it is registered.", body = EventView)),
)]
#[get("/api/v1/events/{event}")]
pub async fn get_event(here: Here, request: HttpRequest) -> Result<HttpResponse, Problem> {
    let event = registered(&here.pit)?;
    let view = view(here.event.id(), event);
    Ok(answer_of(&request, event.revision, &view))
}

/// Changes an event
///
/// Writes a register line with the whole of it, settings included.
#[utoipa::path(
    operation_id = "put_event", tag = "events", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("If-Match" = Option<String>, Header, description = "The revision the change is based on.", example = "\"1\""),
    ),
    request_body(content = register::Event, example = json!({
        "name": "Autumn Meet", "time_zone": "Europe/London",
        "first_day": "2027-01-15", "last_day": "2027-01-17", "settings": {"reach_limit_s": 60}
    })),
    responses((status = 200, description = "Changed.", body = EventView)),
)]
#[put("/api/v1/events/{event}")]
pub async fn put_event(
    here: Here,
    app: web::Data<App>,
    request: HttpRequest,
    Document(body): Document<register::Event>,
) -> Result<HttpResponse, Problem> {
    let current = here.pit.event.as_ref().map(|event| event.revision);
    let revision = based_on(&request, current)?;
    let draft = registers(&app, body, here.now, revision);
    let who = here.signed.enterer();
    door::hand_in(&here.event, who, vec![draft], None, here.now, "")
        .await
        .map_err(without_line_pointer)?;
    let pit = here.event.pit();
    let event = registered(&pit)?;
    Ok(HttpResponse::Ok()
        .insert_header(header::ETag(tag(event.revision)))
        .json(view(here.event.id(), event)))
}

fn registered(pit: &Pit) -> Result<&Registered<register::Event>, AppError> {
    pit.event.as_ref().ok_or(AppError::Unknown)
}
