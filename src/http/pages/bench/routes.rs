//! The bench's addresses: the page, tasks, looks seen again, hazards, danger.

use super::{page, view};
use crate::app::{App, AppError, advice};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::danger::{self, Told};
use crate::http::pages::form::{self, Fields, record, record_line, see};
use crate::http::pages::hazards;
use crate::http::pages::parts::{fields::Chip, frame::Tag};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::signed::Here;
use crate::pit::ids::{RobotId, Subject};
use crate::pit::logbook::work::TaskState;
use crate::pit::logbook::{Body, Draft, How, Kind, Role};
use crate::pit::reports::{self, Form, Mark, MarkedRow};
use actix_web::{HttpResponse, web};
use chrono::TimeDelta;
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Lines that begin a task come after those that finish one.
const STARTS_FROM: u16 = 60;

/// The robot an address names.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Of {
    /// Which.
    pub robot: RobotId,
}

/// A robot whose team's things the reader may see.
///
/// # Errors
/// [`AppError::Unknown`].
pub fn of_team(reader: &Reader, robot: RobotId) -> Result<RobotNow<'_>, AppError> {
    let now = RobotNow::of(reader, robot).ok_or(AppError::Unknown)?;
    reader
        .signed
        .sees(Right::SeeTeam, Some(now.file.register.body.team))?;
    Ok(now)
}

/// A robot whose energy the reader may see.
///
/// # Errors
/// [`AppError::Unknown`].
pub fn to_look_at(reader: &Reader, robot: RobotId) -> Result<RobotNow<'_>, AppError> {
    let now = RobotNow::of(reader, robot).ok_or(AppError::Unknown)?;
    reader
        .signed
        .sees(Right::SeeSafety, Some(now.file.register.body.team))?;
    Ok(now)
}

/// `GET /e/{event}/robots/{robot}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let frame = reader.frame(Place::Bench(of.robot));
    let advice = advice::known(&here.event, now.file.register.body.team, here.now);
    let view = view::view(&reader, &now, advice.as_deref());
    Ok(form::page(page(&frame, &view)))
}

/// `POST .../tasks`: done and the next begun, left out, put on the list.
pub async fn tasks(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let task = fields
        .filled("task")
        .ok_or_else(|| AppError::malformed("/task", "Which task?"))?;
    let drafts = match fields.filled("state") {
        None | Some("done") => done(&here, &now, &fields, task)?,
        Some(state) => vec![task_line(
            &here,
            &fields,
            of.robot,
            0,
            (task, fields.filled("instance")),
            state,
        )?],
    };
    let (kept, warn) = warned(&reader, &now, &fields, drafts);
    if !kept.is_empty() {
        record(&here, &fields, kept).await?;
    }
    Ok(see(warn.unwrap_or_else(|| reader.bench(of.robot))))
}

/// How long an entry may have waited in a phone's outbox and still be warned about.
const JUST_TAPPED: TimeDelta = TimeDelta::seconds(30);

/// Takes out the line that begins a task whose states are not there, and says where that is warned
/// about. What waited in an outbox has begun already, and so has what was warned about before.
fn warned(
    reader: &Reader,
    now: &RobotNow<'_>,
    fields: &Fields,
    mut drafts: Vec<Draft>,
) -> (Vec<Draft>, Option<String>) {
    let waited = match (fields.sent_at(), drafts.first()) {
        (Some(sent), Some(draft)) => sent - draft.at > JUST_TAPPED,
        _ => false,
    };
    if waited || fields.get("anyway").is_some() {
        return (drafts, None);
    }
    let begun = |draft: &Draft| match &draft.body {
        Body::Task(begun) if begun.state == TaskState::Started => {
            let area = begun.instance.as_ref().map(|area| area.as_str());
            let item = &now.today.items[now.today.find(begun.task.as_str(), area)?];
            let lacks = !hazards::view::lacking(now, item).is_empty();
            lacks.then(|| {
                let area = area.map_or_else(String::new, |area| format!("&instance={area}"));
                format!("{}/start?task={}{area}", reader.bench(now.id), begun.task)
            })
        }
        _ => None,
    };
    let warn = drafts.iter().find_map(begun);
    if warn.is_some() {
        drafts.retain(|draft| begun(draft).is_none());
    }
    (drafts, warn)
}

fn done(
    here: &Here,
    now: &RobotNow<'_>,
    fields: &Fields,
    task: &str,
) -> Result<Vec<Draft>, AppError> {
    let instance = fields.filled("instance");
    let card = now
        .today
        .find(task, instance)
        .and_then(|index| reports::card(&here.pit, &now.today, index, here.signed.person));
    let mut drafts = match card {
        Some(card) => reports::expand(&Form {
            key: fields.key()?,
            robot: now.id,
            at: fields.seen_at(here.now),
            seen_by: fields.seen_by(here),
            rows: vec![MarkedRow {
                row: card.row.id.clone(),
                mark: Mark::So,
                filled: card
                    .filled
                    .iter()
                    .map(|(blank, value)| ((*blank).to_owned(), value.clone()))
                    .collect::<BTreeMap<_, _>>(),
            }],
            damage: Vec::new(),
        })
        .map_err(AppError::Refused)?,
        None => vec![task_line(
            here,
            fields,
            now.id,
            0,
            (task, instance),
            "done",
        )?],
    };
    if let Some(starts) = fields.filled("starts") {
        let next = (starts, fields.filled("starts_instance"));
        drafts.push(task_line(
            here,
            fields,
            now.id,
            STARTS_FROM,
            next,
            "started",
        )?);
    }
    Ok(drafts)
}

fn task_line(
    here: &Here,
    fields: &Fields,
    robot: RobotId,
    n: u16,
    (task, instance): (&str, Option<&str>),
    state: &str,
) -> Result<Draft, AppError> {
    let mut body = json!({"task": task, "state": state});
    if let Some(instance) = instance {
        body["instance"] = json!(instance);
    }
    if state == "started" {
        let with: Vec<&str> = fields.all("with").collect();
        if !with.is_empty() {
            body["with"] = json!(with);
        }
        if fields.get("aid").is_some() {
            body["aid"] = json!(true);
        }
    }
    fields.line(
        here,
        n,
        Subject::Robot(robot),
        Kind::Task,
        Some(How::Did),
        &body,
    )
}

/// `POST .../looked`: everything as before, as the form says it was.
pub async fn looked(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    to_look_at(&reader, of.robot)?;
    let body: Value = fields
        .filled("looked")
        .and_then(|text| serde_json::from_str(text).ok())
        .ok_or_else(|| AppError::malformed("/looked", "What was seen?"))?;
    record_line(
        &here,
        &fields,
        Subject::Robot(of.robot),
        Kind::Looked,
        Some(How::Saw),
        &body,
    )
    .await?;
    Ok(see(after(&reader, of.robot)))
}

/// The page somebody works from: a crew its bench, a marshal the round.
pub fn after(reader: &Reader, robot: RobotId) -> String {
    match reader.signed.role {
        Role::Crew | Role::Lead => reader.bench(robot),
        Role::Organiser => format!("{}/board", reader.base),
        _ => format!("{}/marshal", reader.base),
    }
}

/// `POST .../hazards`: I have it open, I looked and it is over.
pub async fn hazards(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let mut body = json!({"rule": fields.get("rule"), "said": fields.get("said")});
    if let Some(because) = fields.filled("because") {
        body["because"] = json!(because);
    }
    let subject = Subject::Robot(of.robot);
    match record_line(&here, &fields, subject, Kind::Hazard, None, &body).await {
        Ok(()) => Ok(see(after(&reader, of.robot))),
        Err(error) => {
            let typed = form::refusal(&fields, error)?;
            let now = to_look_at(&reader, of.robot)?;
            let back = after(&reader, of.robot);
            let view = hazards::view::hazards(&reader, &now, back, typed);
            let frame = reader.frame(Place::Bench(of.robot));
            Ok(form::refused(hazards::page(&frame, &view)))
        }
    }
}

/// `POST .../allow`: the marshal stands by while it is live.
pub async fn allow(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let place = now
        .file
        .state
        .place
        .as_ref()
        .map_or(crate::pit::logbook::machine::Place::PitBench, |at| at.value);
    let minutes: i64 = fields.id("for_min").unwrap_or(5);
    let body = json!({"place": place, "for_min": minutes});
    record_line(
        &here,
        &fields,
        Subject::Robot(of.robot),
        Kind::AllowedHere,
        None,
        &body,
    )
    .await?;
    Ok(see(after(&reader, of.robot)))
}

/// `POST .../danger`: one tap that tells the marshals; or an answer to it.
pub async fn tell(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let what = fields.filled("what").unwrap_or("help");
    record_line(
        &here,
        &fields,
        Subject::Robot(of.robot),
        Kind::Danger,
        None,
        &json!({"what": what}),
    )
    .await?;
    Ok(see(match what {
        "coming" | "over" => after(&reader, of.robot),
        _ => format!("{}/danger", reader.bench(of.robot)),
    }))
}

/// `GET .../danger`: what was told, and whether somebody answered.
pub async fn told(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = RobotNow::of(&reader, of.robot).ok_or(AppError::Unknown)?;
    let Some(danger) = &now.file.state.danger else {
        return Ok(see(after(&reader, of.robot)));
    };
    let answered = now
        .file
        .state
        .danger_answered
        .as_ref()
        .filter(|answer| answer.at >= danger.at);
    let view = Told {
        tag: Tag {
            name: now.file.register.body.name.to_string(),
            sub: "told the marshals".to_owned(),
            bench: now.file.register.body.bench.map(|bench| bench.get()),
            href: None,
        },
        back: after(&reader, of.robot),
        action: format!("{}/danger", reader.bench(of.robot)),
        about: format!(
            "{}, from {}",
            reader.robot_at_bench(of.robot),
            reader.name(danger.seen_by)
        ),
        at: danger.at,
        answer: answered.map(|answer| (reader.name(answer.seen_by), answer.at)),
        kinds: vec![
            Chip::new("fire", "Smoke or fire"),
            Chip::new("hurt", "Somebody is hurt"),
            Chip::new("live", "It is live or moves"),
            Chip::new("gas", "Gas escapes"),
            Chip::new("pack", "A pack is swollen, hot or smokes"),
        ],
    };
    Ok(form::page(danger::page(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}
