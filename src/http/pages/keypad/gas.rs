//! The keypads of gas: the mass of a bottle, and of a supply cylinder.

use super::routes::{For, back, filed_under, finish};
use super::{Group, Keypad, Offered, page};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::stations::gas_bay::{SHOTS, SHOTS_HINT, shots_count, supplies};
use crate::http::signed::Here;
use crate::pit::gas::{self, BottleNow};
use crate::pit::ids::{BottleId, RobotId, Subject, SupplyId};
use crate::pit::logbook::Kind;
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::json;

/// A bottle.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfBottle {
    bottle: BottleId,
}

/// A supply cylinder.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfSupply {
    supply: SupplyId,
}

/// `GET /e/{event}/bottles/{bottle}/mass`.
pub async fn mass(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfBottle>,
    is_for: web::Query<For>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let view = weighing(&reader, of.bottle, is_for.robot, Typed::default())?;
    Ok(form::page(page(&reader.frame(Place::Other), &view)))
}

fn weighing(
    reader: &Reader,
    bottle: BottleId,
    robot: Option<RobotId>,
    typed: Typed,
) -> Result<Keypad, AppError> {
    let registered = reader.pit.bottles.get(&bottle).ok_or(AppError::Unknown)?;
    let body = &registered.body;
    reader.signed.sees(Right::SeeStations, Some(body.team))?;
    let robot = filed_under(reader, body.team, robot)?;
    let now =
        gas::bottle_as_weighed(&reader.pit, bottle, reader.today()).ok_or(AppError::Unknown)?;
    Ok(Keypad {
        tag: Tag {
            name: format!("Bottle {}", body.label),
            sub: "mass on the scale".to_owned(),
            bench: None,
            href: None,
        },
        back: back(reader, robot),
        action: format!("{}/bottles/{bottle}/mass?robot={robot}", reader.base),
        groups: vec![Group {
            title: "Gross mass".to_owned(),
            detail: format!("empty {} g", body.tare_g.get()),
            numbers: vec![("mass".to_owned(), "With valve".to_owned(), String::new())],
            unit: "g",
        }],
        asides: Vec::new(),
        marks: marks(reader, &now),
        did: vec![
            Chip::new("weighed", "Weighed"),
            Chip::new("filled", "Filled"),
            Chip::new("dumped", "Emptied"),
        ],
        counted: shots_count(&now).then_some(("shots", SHOTS, SHOTS_HINT)),
        offered: Offered::of(
            "supply",
            "Filled from",
            supplies(reader, body.team, body.gas),
        ),
        advice: now.limits.reasons,
        button: "Enter it".to_owned(),
        caution: "Only within the stamped fill and test date. The event’s steward decides; this page remembers.",
        typed,
    })
}

/// Where to stop, what the scale showed last, and how that compares.
fn marks(reader: &Reader, now: &BottleNow) -> Vec<(&'static str, String)> {
    let stop = now.limits.stop_at_gross_g;
    let mut marks = vec![(
        "Stop at",
        stop.map_or_else(
            || "unknown: advice is not to fill".to_owned(),
            |gross| format!("{gross} g gross"),
        ),
    )];
    if let Some(last) = now.weighed {
        let who = reader.name(last.seen_by);
        let at = reader.clock.hm(last.at);
        marks.push(("Last", format!("{} g gross, {who}, {at}", last.gross_g)));
        marks.extend(stop.map(|stop| {
            let result = match last.gross_g - stop {
                above @ 1.. => format!("{above} g above the stop: to be let off at the bay"),
                0 => "at the stop".to_owned(),
                below => format!("{} g below the stop", -below),
            };
            ("Result", result)
        }));
    }
    marks
}

/// `POST /e/{event}/bottles/{bottle}/mass`.
pub async fn weighed(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfBottle>,
    is_for: web::Query<For>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let again = |typed| weighing(&reader, of.bottle, is_for.robot, typed);
    again(Typed::default())?;
    let team = reader
        .pit
        .bottles
        .get(&of.bottle)
        .map(|bottle| bottle.body.team)
        .ok_or(AppError::Unknown)?;
    let robot = filed_under(&reader, team, is_for.robot)?;
    let mut typed = fields.typed();
    let grams = fields.decimal("mass").map(f64::round);
    if grams.is_none() {
        typed
            .faults
            .insert("mass".to_owned(), "Grams, such as 7420.".to_owned());
    }
    let did = fields.filled("did").unwrap_or("weighed");
    let mut body = json!({"bottle": of.bottle, "state": did, "mass_g": grams});
    if let Some(shots) = fields.filled("shots") {
        match shots.parse::<u16>() {
            Ok(shots) => body["shots"] = json!(shots),
            Err(_) => {
                let fault = "A whole number, such as 9, or nothing.".to_owned();
                typed.faults.insert("shots".to_owned(), fault);
            }
        }
    }
    if let Some(supply) = fields.filled("supply").filter(|_| did == "filled") {
        body["supply"] = json!(supply);
    }
    finish(
        &here,
        &reader,
        &fields,
        typed,
        (robot, Kind::Bottle, vec![body]),
        again,
    )
    .await
}

/// `GET /e/{event}/supplies/{supply}/mass`.
pub async fn supply(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfSupply>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let view = cylinder(&reader, of.supply, Typed::default())?;
    Ok(form::page(page(&reader.frame(Place::Other), &view)))
}

fn cylinder(reader: &Reader, supply: SupplyId, typed: Typed) -> Result<Keypad, AppError> {
    let body = &reader
        .pit
        .supplies
        .get(&supply)
        .ok_or(AppError::Unknown)?
        .body;
    reader.signed.sees(Right::SeeStations, body.team)?;
    Ok(Keypad {
        tag: Tag {
            name: body.label.to_string(),
            sub: "supply cylinder on the scale".to_owned(),
            bench: None,
            href: None,
        },
        back: gas_of(reader),
        action: format!("{}/supplies/{supply}/mass", reader.base),
        groups: vec![Group {
            title: "Gross mass".to_owned(),
            detail: body.tare_g.map_or_else(
                || "empty mass not registered".to_owned(),
                |tare| format!("empty {:.1} kg", f64::from(tare.get()) / 1000.0),
            ),
            numbers: vec![("mass".to_owned(), "With valve".to_owned(), String::new())],
            unit: "kg",
        }],
        asides: Vec::new(),
        marks: Vec::new(),
        advice: Vec::new(),
        did: Vec::new(),
        counted: None,
        offered: None,
        button: "Weighed".to_owned(),
        caution: "Two lift a cylinder, its cap on; it stands chained before it is opened. What was filled from it before no longer counts.",
        typed,
    })
}

fn gas_of(reader: &Reader) -> String {
    format!("{}/gas", reader.base)
}

/// `POST /e/{event}/supplies/{supply}/mass`.
pub async fn supply_weighed(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfSupply>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    cylinder(&reader, of.supply, Typed::default())?;
    let Some(kilograms) = fields.decimal("mass") else {
        let mut typed = fields.typed();
        let fault = "Kilograms, such as 78.4.".to_owned();
        typed.faults.insert("mass".to_owned(), fault);
        let view = cylinder(&reader, of.supply, typed)?;
        return Ok(refused(page(&reader.frame(Place::Other), &view)));
    };
    let body = json!({"mass_g": (kilograms * 1000.0).round()});
    let subject = Subject::Supply(of.supply);
    match record_line(&here, &fields, subject, Kind::SupplyWeighed, None, &body).await {
        Ok(()) => Ok(see(gas_of(&reader))),
        Err(error) => {
            let view = cylinder(&reader, of.supply, refusal(&fields, error)?)?;
            Ok(refused(page(&reader.frame(Place::Other), &view)))
        }
    }
}
