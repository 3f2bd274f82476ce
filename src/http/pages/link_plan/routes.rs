//! The addresses of a link plan.

use super::card::card;
use super::edit::{edit, read};
use super::{page, view};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::bench::routes::{Of, to_look_at};
use crate::http::pages::form::{self, Fields, record, record_line, refusal, refused, see};
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::register::card::draw_qr;
use crate::http::signed::Here;
use crate::pit::ids::{RobotId, Subject};
use crate::pit::logbook::link_plan::LinkPlan;
use crate::pit::logbook::{Body, Draft, How, Kind};
use actix_web::{HttpRequest, HttpResponse, web};
use serde_json::{Value, json};

/// `GET .../plan`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    Ok(form::page(page(
        &reader.frame(Place::Bench(of.robot)),
        &view::view(&reader, &now, Typed::default()),
    )))
}

/// `GET .../plan/card`.
pub async fn printed(
    here: Here,
    app: web::Data<App>,
    request: HttpRequest,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let connection = request.connection_info().clone();
    let plan = format!(
        "{}://{}{}/plan",
        connection.scheme(),
        connection.host(),
        reader.bench(of.robot)
    );
    let qr = draw_qr(&plan).map_err(|error| AppError::bug(error.to_string()))?;
    Ok(form::page(card(
        &reader.frame(Place::Bench(of.robot)),
        &view::view(&reader, &now, Typed::default()),
        &qr,
    )))
}

/// `GET .../plan/edit`.
pub async fn to_edit(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    Ok(form::page(edit(
        &reader.frame(Place::Bench(of.robot)),
        &view::edit(&reader, &now, None),
    )))
}

/// `POST .../plan/edit`: a new version.
pub async fn save(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let recorded = match read(&fields) {
        Ok(plan) => {
            let draft = Draft {
                id: fields.key()?.nth(0),
                at: fields.seen_at(here.now),
                seen_by: here.signed.person,
                subject: Subject::Robot(of.robot),
                how: Some(How::Did),
                corrects: None,
                if_revision: None,
                body: Body::LinkPlan(LinkPlan::Saved(Box::new(plan))),
            };
            match record(&here, &fields, vec![draft]).await {
                Ok(()) => None,
                Err(error) => Some(refusal(&fields, error)?),
            }
        }
        Err(typed) => Some(typed),
    };
    match recorded {
        None => Ok(see(format!("{}/plan", reader.bench(of.robot)))),
        Some(typed) => Ok(refused(edit(
            &reader.frame(Place::Bench(of.robot)),
            &view::edit(&reader, &now, Some(typed)),
        ))),
    }
}

/// `POST .../plan/read-back`: the person of this phone said the same order, or another one with
/// their PIN.
pub async fn read_back(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let who = fields
        .seen_by(&here)
        .ok_or_else(|| AppError::refused("/who", "Say who read it back."));
    let version: u32 = fields.id("version").unwrap_or_default();
    let said = who.map(|who| json!({"read_back": {"version": version, "read_by": [who]}}));
    say(&here, &app, of.robot, &fields, said).await
}

/// `POST .../plan/confirm`: looked, it still holds.
pub async fn confirm(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let version: u32 = fields.id("version").unwrap_or_default();
    let said = Ok(json!({"confirmed": {"version": version}}));
    say(&here, &app, of.robot, &fields, said).await
}

/// Records what is said of the plan, or shows the page again with what is wrong.
async fn say(
    here: &Here,
    app: &App,
    robot: RobotId,
    fields: &Fields,
    body: Result<Value, AppError>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(here, app).await?;
    let recorded = match body {
        Ok(body) => {
            let (about, kind) = (Subject::Robot(robot), Kind::LinkPlan);
            record_line(here, fields, about, kind, Some(How::Did), &body).await
        }
        Err(error) => Err(error),
    };
    match recorded {
        Ok(()) => Ok(see(format!("{}/plan", reader.bench(robot)))),
        Err(error) => {
            let typed = refusal(fields, error)?;
            let now = to_look_at(&reader, robot)?;
            Ok(refused(page(
                &reader.frame(Place::Bench(robot)),
                &view::view(&reader, &now, typed),
            )))
        }
    }
}

/// `POST .../plan/timed`: somebody reached the link in so many seconds.
pub async fn timed(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let seconds: Option<i64> = fields.id("seconds");
    let said = Ok(json!({"timed": {"reach": fields.get("reach"), "seconds": seconds}}));
    say(&here, &app, of.robot, &fields, said).await
}
