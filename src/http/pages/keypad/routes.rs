//! The address of the keypad for cell volts of a set.

use super::{Group, Keypad, page};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::parts::{fields::Typed, frame::Tag};
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{RobotId, SetId, Subject, TeamId};
use crate::pit::logbook::{Body, How, Kind};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::json;

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

pub(super) async fn finish(
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
