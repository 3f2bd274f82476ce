//! The keypads' addresses: cell volts of a set, mass of a bottle.

use super::{Group, Keypad, page};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::gas::{self, BottleNow};
use crate::pit::ids::{BottleId, RobotId, SetId, Subject, TeamId};
use crate::pit::logbook::{Body, How, Kind};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::json;

/// A set of packs.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfSet {
    set: SetId,
}

/// A bottle.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfBottle {
    bottle: BottleId,
}

/// The robot it is for, in the address of the page.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct For {
    robot: Option<RobotId>,
}

/// The robot a line about a thing is filed under: the one named, else the first of the team.
fn filed_under(reader: &Reader, team: TeamId, named: Option<RobotId>) -> Result<RobotId, AppError> {
    let mut own = reader.pit.robots_of(team).map(|(id, _)| id);
    match named {
        Some(robot) if own.any(|id| id == robot) => Ok(robot),
        Some(_) => Err(AppError::Unknown),
        None => own.next().ok_or(AppError::Unknown),
    }
}

fn back(reader: &Reader, robot: RobotId) -> String {
    if reader.signed.team.is_some() {
        reader.bench(robot)
    } else {
        reader.home()
    }
}

/// `GET /e/{event}/sets/{set}/volts`.
pub async fn volts(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfSet>,
    is_for: web::Query<For>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let view = cells(&reader, of.set, is_for.robot, Typed::default())?;
    Ok(form::page(page(&reader.frame(Place::Other), &view)))
}

fn cells(
    reader: &Reader,
    set: SetId,
    robot: Option<RobotId>,
    typed: Typed,
) -> Result<Keypad, AppError> {
    let registered = reader.pit.sets.get(&set).ok_or(AppError::Unknown)?;
    let team = registered.body.team;
    reader.signed.sees(Right::SeeStations, Some(team))?;
    let robot = filed_under(reader, team, robot)?;
    let last: Vec<i32> = reader
        .pit
        .robots_of(team)
        .flat_map(|(_, file)| file.lines.iter())
        .filter_map(|line| match &line.body {
            Body::Pack(pack) if pack.set == Some(set) => {
                pack.cells_mv.as_ref().map(|cells| (line.at, cells))
            }
            _ => None,
        })
        .max_by_key(|(at, _)| *at)
        .map(|(_, cells)| cells.iter().map(|cell| cell.get()).collect())
        .unwrap_or_default();
    let mut number = 0;
    let groups = registered
        .body
        .packs
        .iter()
        .filter_map(|id| reader.pit.packs.get(id))
        .map(|pack| Group {
            title: format!("Pack {}", pack.body.label),
            detail: format!("{} cells", pack.body.cells.get()),
            numbers: (1..=pack.body.cells.get())
                .map(|cell| {
                    number += 1;
                    let known = last
                        .get(number - 1)
                        .map_or_else(String::new, |mv| format!("{:.2}", f64::from(*mv) / 1000.0));
                    (format!("cell-{number}"), format!("Cell {cell}"), known)
                })
                .collect(),
            unit: "V",
        })
        .collect();
    Ok(Keypad {
        tag: Tag {
            name: format!("Set {}", registered.body.label),
            sub: "volts of every cell, at rest".to_owned(),
            bench: None,
            href: None,
        },
        back: back(reader, robot),
        action: format!("{}/sets/{set}/volts?robot={robot}", reader.base),
        groups,
        marks: Vec::new(),
        advice: Vec::new(),
        did: Vec::new(),
        button: "Measured".to_owned(),
        caution: "A pack that is puffed, hot, dented or smells goes outside, watched. The event’s rules and the fire lead come first.",
        typed,
    })
}

/// `POST /e/{event}/sets/{set}/volts`.
pub async fn measured(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfSet>,
    is_for: web::Query<For>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let view = cells(&reader, of.set, is_for.robot, fields.typed())?;
    let team = reader
        .pit
        .sets
        .get(&of.set)
        .map(|set| set.body.team)
        .ok_or(AppError::Unknown)?;
    let robot = filed_under(&reader, team, is_for.robot)?;
    let mut typed = fields.typed();
    let mut millivolts = Vec::new();
    for (name, _, _) in view.groups.iter().flat_map(|group| &group.numbers) {
        match fields
            .decimal(name)
            .filter(|volts| (0.0..=5.0).contains(volts))
        {
            Some(volts) => millivolts.push((volts * 1000.0).round()),
            None => {
                typed
                    .faults
                    .insert(name.clone(), "Volts from 0 to 5, such as 4.18.".to_owned());
            }
        }
    }
    let body = json!({"set": of.set, "cells_mv": millivolts});
    finish(
        &here,
        &reader,
        &fields,
        typed,
        (robot, Kind::Pack, body),
        |typed| cells(&reader, of.set, is_for.robot, typed),
    )
    .await
}

async fn finish(
    here: &Here,
    reader: &Reader,
    fields: &Fields,
    typed: Typed,
    (robot, kind, body): (RobotId, Kind, serde_json::Value),
    again: impl Fn(Typed) -> Result<Keypad, AppError>,
) -> Result<HttpResponse, Problem> {
    let typed = if typed.is_sound() {
        let recorded =
            match fields.line(here, 0, Subject::Robot(robot), kind, Some(How::Saw), &body) {
                Ok(line) => record(here, fields, vec![line]).await,
                Err(error) => Err(error),
            };
        match recorded {
            Ok(()) => return Ok(see(back(reader, robot))),
            Err(error) => refusal(fields, error)?,
        }
    } else {
        typed
    };
    Ok(refused(page(&reader.frame(Place::Other), &again(typed)?)))
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
    let today = reader.clock.now.with_timezone(&reader.clock.zone);
    let now = gas::bottle(&reader.pit, bottle, today.date_naive()).ok_or(AppError::Unknown)?;
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
        marks: marks(reader, &now),
        advice: now.limits.reasons,
        did: vec![
            Chip::new("weighed", "Weighed"),
            Chip::new("filled", "Filled"),
            Chip::new("dumped", "Emptied"),
        ],
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
    let body = json!({"bottle": of.bottle, "state": fields.filled("did").unwrap_or("weighed"), "mass_g": grams});
    finish(
        &here,
        &reader,
        &fields,
        typed,
        (robot, Kind::Bottle, body),
        again,
    )
    .await
}
