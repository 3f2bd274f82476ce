//! The addresses of a bout.

use super::{BoutPage, Corner, page};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::board::routes::corner_row;
use crate::http::pages::form::{self, Fields, record, see};
use crate::http::pages::parts::{clock::span, frame::Tag};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::board::Board;
use crate::pit::ids::{BoutId, RobotId, Subject};
use crate::pit::logbook::bout::Postponing;
use crate::pit::logbook::register::Bout;
use crate::pit::logbook::{Body, Draft, Kind, Role};
use crate::pit::postponements;
use crate::pit::state::running_order::{BoutNow, Progress};
use actix_web::{HttpResponse, web};
use chrono::TimeDelta;
use serde::Deserialize;
use serde_json::json;

/// The bout an address names.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfBout {
    bout: BoutId,
}

/// `GET /e/{event}/bouts/{bout}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfBout>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::SeeBoard)?;
    let reader = Reader::of(&here, &app).await?;
    let bout = here.pit.bout(of.bout).ok_or(AppError::Unknown)?;
    let view = view(&reader, bout);
    Ok(form::page(page(&reader.frame(Place::Board), &view)))
}

fn view(reader: &Reader, bout: &BoutNow) -> BoutPage {
    let board = Board::of(&reader.pit, reader.clock.now).value;
    let clock = &reader.clock;
    let mut facts = Vec::new();
    let state = match bout.progress {
        Progress::Waiting if bout.called_at.is_some() => "called",
        Progress::Waiting => "waits",
        Progress::Started(at) => {
            facts.push(("Began", clock.hm(at)));
            "in the arena"
        }
        Progress::Ended(at) => {
            facts.push(("Over", clock.hm(at)));
            "over"
        }
    };
    let facts_of = reader.pit.facts(Subject::Bout(bout.id));
    let ending = facts_of.iter().rev().find_map(|line| match &line.body {
        Body::BoutEnded(ended) => words::ending(ended.ending),
        _ => None,
    });
    facts.extend(ending.map(|ending| ("How", ending.to_owned())));
    if let Some(winner) = bout.winner {
        facts.push(("Won by", reader.robot(winner)));
    }
    if let Some((from, at)) = bout.moved_from {
        facts.push((
            "Call was",
            format!("{}, changed {}", clock.hm(from), clock.hm(at)),
        ));
    }
    if let (Some(expected), Progress::Waiting) = (board.expected(bout.id), bout.progress) {
        let late = expected.start
            - bout.call
            - TimeDelta::minutes(i64::from(reader.pit.settings().staging_min.get()));
        let late = match late.num_minutes() {
            1.. => format!(", {} late", span(late)),
            _ => String::new(),
        };
        facts.push((
            "Likely to start",
            format!("{}{late}", clock.hm(expected.start)),
        ));
        let waits = expected.waits_for.map(|robot| reader.robot(robot));
        facts.extend(waits.map(|name| ("Waits for", name)));
        facts.push(("Arena unused before", span(expected.idle)));
    }
    if reader
        .pit
        .bouts
        .get(&bout.id)
        .is_some_and(|bout| bout.body.fixed)
    {
        facts.push(("Order", "keeps its place".to_owned()));
    }
    let organiser = reader.signed.role == Role::Organiser;
    BoutPage {
        tag: Tag {
            name: format!("Bout {}", bout.number),
            sub: state.to_owned(),
            bench: None,
            href: Some(format!("{}/board", reader.base)),
        },
        href: format!("{}/bouts/{}", reader.base, bout.id),
        call: bout.call,
        facts,
        begun: bout.progress != Progress::Waiting,
        over: matches!(bout.progress, Progress::Ended(_)),
        corners: [0, 1].map(|n| corner(reader, bout, n)).into(),
        edit: organiser.then(|| format!("{}/register/bouts/{}", reader.base, bout.id)),
    }
}

fn corner(reader: &Reader, bout: &BoutNow, n: usize) -> Corner {
    let now = bout.robots[n].and_then(|robot| RobotNow::of(reader, robot));
    let clock = &reader.clock;
    let mut facts = Vec::new();
    let mut asked = None;
    if let Some(now) = &now {
        // What is forecast is for its next bout, which this need not be.
        if let Some(ready) = now
            .ready
            .as_ref()
            .filter(|ready| ready.call.bout == bout.id)
        {
            facts.push(("Likely in the queue", clock.hm(ready.likely)));
            let slow = ready.eight_in_ten.map(|at| format!("by {}", clock.hm(at)));
            facts.extend(slow.map(|slow| ("8 in 10", slow)));
            let spare = ready.slack.num_minutes();
            facts.push(match spare {
                0.. => ("To spare", format!("{spare} min")),
                _ => ("Short of", format!("{} min", -spare)),
            });
            let answer = ready
                .answer
                .map(|(answer, at)| format!("{}, {}", words::answer(answer), clock.hm(at)));
            facts.push(("Answer", answer.unwrap_or_else(|| "none yet".to_owned())));
        }
        facts.push(("Basis", now.basis()));
        let most = reader.pit.settings().postponements.get();
        let used = postponements::used(now.file, clock.now);
        facts.push(("Postponements", format!("{used} of {most} used today")));
        if let Some((_, word)) = postponements::last(now.file, bout.id)
            && word.said == Postponing::Asked
        {
            let why = word
                .because
                .as_ref()
                .map_or_else(String::new, ToString::to_string);
            asked = Some((word.by_min.map(|by| by.get()), why));
        }
    }
    let other = bout.robots[1 - n].map(|robot| (robot.to_string(), reader.robot(robot)));
    Corner {
        row: corner_row(reader, now.as_ref(), bout, n),
        robot: bout.robots[n].map(|robot| robot.to_string()),
        facts,
        hazards: now.as_ref().map_or_else(Vec::new, |now| {
            let hazards = now.hazards.iter();
            hazards
                .map(|hazard| {
                    format!(
                        "{}: {}. {}",
                        hazard.severity().word(),
                        hazard.title,
                        hazard.finding.why
                    )
                })
                .collect()
        }),
        word: bout.robots[n]
            .map_or_else(String::new, |robot| format!("{}/word", reader.bench(robot))),
        asked,
        other,
    }
}

/// `POST /e/{event}/bouts/{bout}/postponed`: grants minutes to a robot, which moves the call of
/// the bout, or refuses where no minutes are given.
pub async fn postponed(
    here: Here,
    of: web::Path<OfBout>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let robot: RobotId = fields
        .id("robot")
        .ok_or_else(|| AppError::malformed("/robot", "For which robot?"))?;
    let bout = here.pit.bout(of.bout).ok_or(AppError::Unknown)?;
    let by: Option<i64> = fields.id("by_min");
    let said = if by.is_some() { "granted" } else { "refused" };
    let mut body = json!({"bout": of.bout, "said": said});
    if let Some(by) = by {
        body["by_min"] = json!(by);
    }
    let about = Subject::Robot(robot);
    let mut lines = vec![fields.line(&here, 0, about, Kind::Postponement, None, &body)?];
    if let (Some(by), Some(known)) = (by, here.pit.bouts.get(&of.bout)) {
        let put_off = Bout {
            call_at: bout.call + TimeDelta::minutes(by),
            moved_from: Some(bout.call),
            ..known.body.clone()
        };
        lines.push(Draft {
            id: fields.key()?.nth(1),
            at: here.now,
            seen_by: None,
            subject: Subject::Bout(of.bout),
            how: None,
            corrects: None,
            if_revision: Some(known.revision),
            body: Body::RegisterBout(put_off),
        });
    }
    record(&here, &fields, lines).await?;
    Ok(see(format!("/e/{}/bouts/{}", here.event.id(), of.bout)))
}
