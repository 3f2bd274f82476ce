//! The stations' addresses: the list, a station, its steps and its results.

use super::{overview, page, results, view};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, record_line, refusal, refused, see};
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{RobotId, Subject};
use crate::pit::logbook::station::Station;
use crate::pit::logbook::{How, Kind};
use actix_web::{HttpResponse, web};
use serde_json::json;

/// `GET /e/{event}/stations`.
pub async fn all(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::SeeTheHall)?;
    let reader = Reader::of(&here, &app).await?;
    Ok(form::page(overview(
        &reader.frame(Place::Stations),
        &view::overview(&reader),
    )))
}

fn named(path: &(String, String)) -> Result<Station, AppError> {
    Station::named(&path.1).ok_or(AppError::Unknown)
}

/// `GET /e/{event}/stations/{station}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::SeeTheHall)?;
    let reader = Reader::of(&here, &app).await?;
    let station = view::station(&reader, named(&path)?, Typed::default());
    Ok(form::page(page(&reader.frame(Place::Stations), &station)))
}

/// `POST .../steps`: asks, next, being served, served, left.
pub async fn stepped(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, String)>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let station = named(&path)?;
    let robot: RobotId = fields
        .id("robot")
        .ok_or_else(|| AppError::malformed("/robot", "Which robot?"))?;
    record_line(
        &here,
        &fields,
        Subject::Robot(robot),
        Kind::Station,
        None,
        &json!({"station": station.as_str(), "step": fields.get("step")}),
    )
    .await?;
    let back = match fields.get("back") {
        Some("bench") => reader.bench(robot),
        _ => view::address(&reader, station),
    };
    Ok(see(back))
}

/// `POST .../air`: what the monitor at the gas bay shows.
pub async fn air(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, String)>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let station = named(&path)?;
    if station != Station::GasBay {
        return Err(AppError::Unknown.into());
    }
    let recorded = match fields.decimal("co2_ppm") {
        None => Err(AppError::refused(
            "/co2_ppm",
            "A number of ppm, such as 700.",
        )),
        Some(ppm) => {
            let body = json!({"co2_ppm": ppm.round()});
            record_line(
                &here,
                &fields,
                Subject::Event,
                Kind::Air,
                Some(How::Saw),
                &body,
            )
            .await
        }
    };
    match recorded {
        Ok(()) => Ok(see(view::address(&reader, station))),
        Err(error) => {
            let view = view::station(&reader, station, refusal(&fields, error)?);
            Ok(refused(page(&reader.frame(Place::Stations), &view)))
        }
    }
}

/// `POST .../results`: the result of whoever is in hand.
pub async fn resulted(
    here: Here,
    app: web::Data<App>,
    path: web::Path<(String, String)>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let station = named(&path)?;
    if !view::serves(&reader) {
        return Err(AppError::forbidden("Results are entered by the station.").into());
    }
    let robot: RobotId = fields
        .id("robot")
        .ok_or_else(|| AppError::malformed("/robot", "Which robot?"))?;
    let again = |typed: Typed| {
        let station = view::station(&reader, station, typed);
        refused(page(&reader.frame(Place::Stations), &station))
    };
    let said = match results::said(&here, station, robot, &fields) {
        Ok(said) => said,
        Err(wrong) => {
            let mut typed = fields.typed();
            typed
                .faults
                .insert(wrong.field.to_owned(), wrong.detail.to_owned());
            return Ok(again(typed));
        }
    };
    let recorded = match results::lines(&here, robot, &fields, said) {
        Ok(lines) => record(&here, &fields, lines).await,
        Err(error) => Err(error),
    };
    match recorded {
        Ok(()) => Ok(see(view::address(&reader, station))),
        Err(error) => Ok(again(refusal(&fields, error)?)),
    }
}
