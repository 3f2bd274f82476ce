//! The address of the keypad for cell volts of a set.

use super::{Group, Keypad, page};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::parts::{fields::Typed, frame::Tag};
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{PackId, RobotId, SetId, Subject, TeamId};
use crate::pit::logbook::register::Set;
use crate::pit::logbook::{Body, How, Kind};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::{Value, json};

/// A set of packs.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfSet {
    set: SetId,
}

/// The robot it is for, in the address of the page.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct For {
    pub(super) robot: Option<RobotId>,
}

/// The robot a line about a thing is filed under: the one named, else the first of the team.
pub fn filed_under(
    reader: &Reader,
    team: TeamId,
    named: Option<RobotId>,
) -> Result<RobotId, AppError> {
    let mut own = reader.pit.robots_of(team).map(|(id, _)| id);
    match named {
        Some(robot) if own.any(|id| id == robot) => Ok(robot),
        Some(_) => Err(AppError::Unknown),
        None => own.next().ok_or(AppError::Unknown),
    }
}

pub(super) fn back(reader: &Reader, robot: RobotId) -> String {
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
        asides: asides(reader, &registered.body),
        marks: Vec::new(),
        advice: Vec::new(),
        did: Vec::new(),
        counted: None,
        offered: None,
        button: "Measured".to_owned(),
        caution: "A pack that is puffed, hot, dented or smells goes outside, watched. The event’s rules and the fire lead come first.",
        typed,
    })
}

/// What else may be entered of each pack of a set.
fn asides(reader: &Reader, set: &Set) -> Vec<Group> {
    let of_each = |name: &str| {
        (1..)
            .zip(set.packs.iter().filter_map(|id| reader.pit.packs.get(id)))
            .map(|(n, pack)| {
                let label = format!("Pack {}", pack.body.label);
                (format!("{name}-{n}"), label, String::new())
            })
            .collect()
    };
    vec![
        Group {
            title: "Temperature".to_owned(),
            detail: "of the warmest spot".to_owned(),
            numbers: of_each("warm"),
            unit: "°C",
        },
        Group {
            title: "Resistance of a cell".to_owned(),
            detail: "the mean, as the charger reads it".to_owned(),
            numbers: of_each("mohm"),
            unit: "mΩ",
        },
    ]
}

/// What a form says of one pack beside its cells: temperature and resistance; none if it says
/// nothing.
///
/// **Source** least resistance taken for milliohms: own value, a tenth of the best cells; less is
/// asked about, for ohms are entered by mistake.
fn beside_cells(fields: &Fields, n: usize, pack: PackId, typed: &mut Typed) -> Option<Value> {
    let mut body = json!({"pack": pack});
    let (warm, mohm) = (format!("warm-{n}"), format!("mohm-{n}"));
    if fields.filled(&warm).is_some() {
        match fields
            .decimal(&warm)
            .filter(|c| (-30.0..=120.0).contains(c))
        {
            Some(degc) => body["pack_c"] = json!(degc.round()),
            None => {
                let fault = "°C from -30 to 120, such as 34.".to_owned();
                typed.faults.insert(warm, fault);
            }
        }
    }
    if fields.filled(&mohm).is_some() {
        match fields.decimal(&mohm) {
            Some(value) if (0.2..=1000.0).contains(&value) => {
                body["cell_resistance_uohm"] = json!((1000.0 * value).round());
            }
            Some(value) if value > 0.0 && value < 0.2 => {
                let fault = format!(
                    "{value} mΩ is less than any cell has. Is it in ohms? Then enter {:.1}.",
                    1000.0 * value
                );
                typed.faults.insert(mohm, fault);
            }
            _ => {
                let fault = "mΩ from 0.2 to 1000, such as 3.4.".to_owned();
                typed.faults.insert(mohm, fault);
            }
        }
    }
    let said = body.as_object().is_some_and(|fields| fields.len() > 1);
    said.then_some(body)
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
    let packs = reader.pit.sets.get(&of.set).map(|set| &set.body.packs);
    let beside: Vec<Value> = (1..)
        .zip(packs.into_iter().flatten())
        .filter_map(|(n, pack)| beside_cells(&fields, n, *pack, &mut typed))
        .collect();
    // Only warm or only measured by a charger: the cells may be left out as a whole.
    let no_cells = view
        .groups
        .iter()
        .flat_map(|group| &group.numbers)
        .all(|(name, ..)| fields.filled(name).is_none());
    if no_cells && !beside.is_empty() {
        typed.faults.retain(|name, _| !name.starts_with("cell-"));
        millivolts.clear();
    }
    let read = (!millivolts.is_empty()).then(|| json!({"set": of.set, "cells_mv": millivolts}));
    let bodies = read.into_iter().chain(beside).collect();
    finish(
        &here,
        &reader,
        &fields,
        typed,
        (robot, Kind::Pack, bodies),
        |typed| cells(&reader, of.set, is_for.robot, typed),
    )
    .await
}

pub(super) async fn finish(
    here: &Here,
    reader: &Reader,
    fields: &Fields,
    typed: Typed,
    (robot, kind, bodies): (RobotId, Kind, Vec<Value>),
    again: impl Fn(Typed) -> Result<Keypad, AppError>,
) -> Result<HttpResponse, Problem> {
    let typed = if typed.is_sound() {
        let subject = Subject::Robot(robot);
        let lines = (0..)
            .zip(&bodies)
            .map(|(n, body)| fields.line(here, n, subject, kind, Some(How::Saw), body))
            .collect();
        let recorded = match lines {
            Ok(lines) => record(here, fields, lines).await,
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
