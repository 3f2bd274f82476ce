//! The addresses of hazards, of what is not right, of tasks begun too early, and of the rules.

use super::{found, page, rules, start, view};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::bench::routes::{Of, after, of_team, to_look_at};
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::hazards::{Rule, matrix};
use crate::pit::ids::Subject;
use crate::pit::logbook::{How, Kind};
use actix_web::{HttpResponse, web};
use serde::Deserialize;

/// `GET .../robots/{robot}/hazards`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let view = view::hazards(&reader, &now, after(&reader, of.robot), Typed::default());
    Ok(form::page(page(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}

/// `GET .../robots/{robot}/found`.
pub async fn to_find(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let view = view::found(&reader, &now, after(&reader, of.robot), Typed::default());
    Ok(form::page(found(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}

/// `POST .../robots/{robot}/found`: one tap, one line.
pub async fn note(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let tapped = fields
        .filled("found")
        .and_then(|found| view::tapped(found, fields.id("watched"), fields.id("co2_ppm")));
    let recorded = match tapped {
        Some((kind, of_event, body)) => {
            let kind = Kind::named(kind).ok_or_else(|| AppError::bug("a kind nobody knows"))?;
            let subject = if of_event {
                Subject::Event
            } else {
                Subject::Robot(of.robot)
            };
            record_line(&here, &fields, subject, kind, Some(How::Saw), &body).await
        }
        None => Err(AppError::refused("/co2_ppm", "A whole number of ppm.")),
    };
    match recorded {
        Ok(()) => Ok(see(format!("{}/found", reader.bench(of.robot)))),
        Err(error) => {
            let typed = refusal(&fields, error)?;
            let view = view::found(&reader, &now, after(&reader, of.robot), typed);
            Ok(refused(found(&reader.frame(Place::Bench(of.robot)), &view)))
        }
    }
}

/// A task in an address.
#[derive(Debug, Clone, Deserialize)]
pub struct OfTask {
    task: String,
    #[serde(default)]
    instance: Option<String>,
}

/// `GET .../robots/{robot}/start`: what a task needs that is not there.
pub async fn to_start(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    task: web::Query<OfTask>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let index = now
        .today
        .find(&task.task, task.instance.as_deref())
        .ok_or(AppError::Unknown)?;
    let view = view::start(&reader, &now, &now.today.items[index]);
    Ok(form::page(start(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}

/// `GET /e/{event}/rules`.
pub async fn all(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let pages: Vec<_> = Rule::all().map(|rule| view::rule(&reader, rule)).collect();
    Ok(form::page(rules::list(
        &reader.frame(Place::Other),
        &reader.home(),
        &pages,
    )))
}

/// A rule in an address.
#[derive(Debug, Clone, Deserialize)]
pub struct OfRule {
    rule: String,
}

/// `GET /e/{event}/rules/{rule}`.
pub async fn one(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfRule>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let frame = reader.frame(Place::Other);
    if of.rule == "matrices" {
        let name = |row: &matrix::PlaceRow| view::site(row.place);
        return Ok(form::page(rules::matrices(
            &frame,
            matrix::places(),
            matrix::works(),
            name,
        )));
    }
    let rule = Rule::named(&of.rule).ok_or(AppError::Unknown)?;
    Ok(form::page(rules::one(&frame, &view::rule(&reader, rule))))
}
