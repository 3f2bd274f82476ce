//! The logbook's address.

use super::{Logbook, page};
use crate::app::App;
use crate::app::logbook::may_see;
use crate::http::Problem;
use crate::http::pages::bench::LogLine;
use crate::http::pages::form;
use crate::http::pages::parts::fields::Chip;
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::{RobotId, Subject};
use crate::pit::logbook::Kind;
use crate::pit::state::Entry;
use actix_web::{HttpResponse, web};
use serde::Deserialize;

/// Lines of one page.
const PAGE: usize = 60;

/// What is asked for.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct Asked {
    robot: Option<String>,
    kind: Option<String>,
    before: Option<i64>,
}

/// `GET /e/{event}/logbook`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    asked: web::Query<Asked>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    Ok(form::page(page(
        &reader.frame(Place::Logbook),
        &view(&reader, &asked),
    )))
}

fn view(reader: &Reader, asked: &Asked) -> Logbook {
    let robot: Option<RobotId> = asked.robot.as_deref().and_then(|id| id.parse().ok());
    let kind = asked.kind.as_deref().and_then(Kind::named);
    let followed = robot.map(Subject::Robot);
    let mut entries: Vec<&Entry> = reader
        .pit
        .files
        .iter()
        .filter(|(subject, _)| followed.is_none_or(|wanted| wanted == **subject))
        .flat_map(|(_, file)| file.values())
        .filter(|entry| entry.first.corrects.is_none())
        .filter(|entry| kind.is_none_or(|kind| entry.first.kind() == kind))
        .filter(|entry| asked.before.is_none_or(|before| entry.first.seq < before))
        .filter(|entry| may_see(&reader.signed, &reader.pit, &entry.first))
        .collect();
    entries.sort_by_key(|entry| std::cmp::Reverse(entry.first.seq));
    let older = entries.get(PAGE).and(entries.get(PAGE - 1)).map(|last| {
        let mut query = url::form_urlencoded::Serializer::new(String::new());
        for (name, value) in [("robot", &asked.robot), ("kind", &asked.kind)] {
            if let Some(value) = value {
                query.append_pair(name, value);
            }
        }
        query.append_pair("before", &last.first.seq.to_string());
        format!("{}/logbook?{}", reader.base, query.finish())
    });
    entries.truncate(PAGE);
    let mut day = String::new();
    let lines = entries
        .into_iter()
        .map(|entry| {
            let line = log_line(reader, entry, followed.is_some());
            let this = reader.clock.day(line.at);
            let new = (this != day).then(|| this.clone());
            day = this;
            (new, line)
        })
        .collect();
    let mut robots: Vec<Chip> = reader
        .pit
        .robots
        .iter()
        .map(|(id, file)| Chip::new(id.to_string(), file.register.body.name.to_string()))
        .collect();
    robots.sort_by(|a, b| a.label.cmp(&b.label));
    Logbook {
        of: robot.map_or_else(
            || "everything you may see".to_owned(),
            |robot| reader.robot(robot),
        ),
        robots,
        robot: asked.robot.clone().unwrap_or_default(),
        kinds: Kind::ALL
            .iter()
            .map(|kind| Chip::new(kind.name(), kind.name().replace('_', " ")))
            .collect(),
        kind: asked.kind.clone().unwrap_or_default(),
        lines,
        older,
    }
}

/// A line, with what it is about where not one robot is followed.
fn log_line(reader: &Reader, entry: &Entry, followed: bool) -> LogLine {
    let line = words::log_line(reader, entry);
    let about = match entry.first.subject {
        Subject::Robot(robot) if !followed => format!(", {}", reader.robot(robot)),
        _ => String::new(),
    };
    LogLine {
        what: format!("{}{about}", line.what),
        ..line
    }
}
