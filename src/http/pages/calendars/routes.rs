//! The addresses of calendars.

use super::{Calendars, page};
use crate::app::{App, AppError, calendars};
use crate::http::Problem;
use crate::http::api::calendar_path;
use crate::http::pages::form::{self, Fields, see};
use crate::http::pages::parts::frame::Tag;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::calendar::{About, calendar};
use crate::pit::ids::EventId;
use actix_web::{HttpRequest, HttpResponse, http::header, web};
use serde::Deserialize;
use uuid::Uuid;

/// `GET /e/{event}/calendars`.
pub async fn show(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let view = view(&here, &app, &reader, None).await?;
    Ok(form::page(page(&reader.frame(Place::Other), &view)))
}

fn name(reader: &Reader, about: About) -> String {
    match about {
        About::Event => "every bout".to_owned(),
        About::Robot(robot) => reader.robot(robot),
        About::Team(team) => reader
            .pit
            .teams
            .get(&team)
            .map_or_else(String::new, |team| team.body.name.to_string()),
    }
}

async fn view(
    here: &Here,
    app: &App,
    reader: &Reader,
    made: Option<(String, String)>,
) -> Result<Calendars, AppError> {
    let mut offers = vec![("Every bout".to_owned(), "", String::new())];
    if let Some(team) = here.signed.team {
        let whole = name(reader, About::Team(team));
        offers.push((whole, "team", team.to_string()));
        let own = reader.pit.robots_of(team);
        offers.extend(own.map(|(id, _)| (reader.robot(id), "robot", id.to_string())));
    }
    let known = calendars::list(app, here.event.id(), &here.signed).await?;
    Ok(Calendars {
        tag: Tag {
            name: "Calendars".to_owned(),
            sub: reader.event_name(),
            bench: None,
            href: Some(reader.home()),
        },
        action: format!("{}/calendars", reader.base),
        offers,
        made,
        known: known
            .iter()
            .map(|one| (one.id.to_string(), name(reader, one.about), one.made_at))
            .collect(),
    })
}

/// `POST /e/{event}/calendars`: the address is told this once, so the answer is the page with it
/// and not the way to it.
pub async fn made(
    request: HttpRequest,
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let about = match (fields.id("robot"), fields.id("team")) {
        (Some(robot), _) => About::Robot(robot),
        (None, Some(team)) => About::Team(team),
        (None, None) => About::Event,
    };
    let (_, secret) = calendars::make(&app, &here.event, &here.signed, about, here.now).await?;
    let connection = request.connection_info().clone();
    let path = calendar_path(here.event.id(), &secret);
    let url = format!("{}://{}{path}", connection.scheme(), connection.host());
    let made = Some((name(&reader, about), url));
    let view = view(&here, &app, &reader, made).await?;
    Ok(form::page(page(&reader.frame(Place::Other), &view)))
}

/// A calendar that an address names.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfCalendar {
    calendar: Uuid,
}

/// `POST /e/{event}/calendars/{calendar}/ended`.
pub async fn ended(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfCalendar>,
) -> Result<HttpResponse, Problem> {
    calendars::end(&app, here.event.id(), &here.signed, of.calendar, here.now).await?;
    Ok(see(format!("/e/{}/calendars", here.event.id())))
}

/// The address a calendar program asks at.
#[derive(Debug, Clone, Deserialize)]
pub struct OfFeed {
    event: EventId,
    secret: String,
}

/// `GET /e/{event}/calendar/{secret}`: nobody signs in here; the secret is the right to see it.
pub async fn feed(app: web::Data<App>, of: web::Path<OfFeed>) -> Result<HttpResponse, Problem> {
    let secret = of.secret.strip_suffix(".ics").unwrap_or(&of.secret);
    let about = calendars::look(&app, of.event, secret).await?;
    let event = app.events.open(of.event).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/calendar; charset=utf-8")
        .insert_header((
            header::CONTENT_DISPOSITION,
            "inline; filename=\"bouts.ics\"",
        ))
        .body(calendar(&event.pit(), about)))
}
