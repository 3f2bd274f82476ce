//! The addresses of reports: sheets, looking, damage, calls, lines put right.

use super::{answer, damage, list, look, page, put_right, view};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::bench::routes::{Of, after, of_team, to_look_at};
use crate::http::pages::form::{self, Fields, record, record_line, refusal, refused, see};
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{LineId, RobotId, Subject};
use crate::pit::logbook::{Draft, How, Kind};
use crate::pit::reports::{self, Form};
use actix_web::{HttpResponse, web};
use chrono::TimeDelta;
use serde::Deserialize;
use serde_json::json;

/// A report of a robot.
#[derive(Debug, Clone, Deserialize)]
pub struct OfReport {
    robot: RobotId,
    report: String,
}

/// `GET .../report`.
pub async fn all(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    Ok(form::page(list(
        &reader.frame(Place::Bench(of.robot)),
        &view::list(&reader, &now),
    )))
}

/// `GET .../report/{report}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfReport>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let report = view::sheet(&reader, &now, &of.report, Typed::default())?;
    Ok(form::page(page(
        &reader.frame(Place::Bench(of.robot)),
        &report,
    )))
}

/// `POST .../report/{report}`: lines of one report are taken or refused together.
pub async fn enter(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfReport>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let again = |typed: Typed| -> Result<HttpResponse, Problem> {
        let report = view::sheet(&reader, &now, &of.report, typed)?;
        Ok(refused(page(
            &reader.frame(Place::Bench(of.robot)),
            &report,
        )))
    };
    let rows = match view::marked(&fields) {
        Ok(rows) => rows,
        Err(typed) => return again(typed),
    };
    let form = Form {
        key: fields.key()?,
        robot: of.robot,
        at: fields.seen_at(here.now),
        seen_by: fields.seen_by(&here),
        rows,
        damage: Vec::new(),
    };
    let recorded = match reports::expand(&form) {
        // Only rows that are not so, and none of them says that something is live.
        Ok(drafts) if drafts.is_empty() => Ok(()),
        Ok(drafts) => record(&here, &fields, drafts).await,
        Err(faults) => Err(AppError::Refused(faults)),
    };
    match recorded {
        Ok(()) => Ok(see(reader.bench(of.robot))),
        Err(error) => again(refusal(&fields, error)?),
    }
}

/// `GET .../look`.
pub async fn look_at(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let mut view = view::look(&reader, &now, Typed::default());
    view.back = after(&reader, of.robot);
    Ok(form::page(look(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}

/// `POST .../look`: only what was tapped is said to be seen.
pub async fn looked(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let body = view::looked(&fields);
    let recorded = if body.as_object().is_some_and(serde_json::Map::is_empty) {
        Err(AppError::refused("", "Nothing is tapped."))
    } else {
        match fields.line(
            &here,
            0,
            Subject::Robot(of.robot),
            Kind::Looked,
            Some(How::Saw),
            &body,
        ) {
            Ok(line) => record(&here, &fields, vec![line]).await,
            Err(error) => Err(error),
        }
    };
    match recorded {
        Ok(()) => Ok(see(after(&reader, of.robot))),
        Err(error) => {
            let view = view::look(&reader, &now, refusal(&fields, error)?);
            Ok(refused(look(&reader.frame(Place::Bench(of.robot)), &view)))
        }
    }
}

/// The area a damage page is about.
#[derive(Debug, Clone, Deserialize)]
pub struct InArea {
    area: Option<String>,
}

/// `GET .../damage`.
pub async fn damaged(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    within: web::Query<InArea>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let view = view::damage(&reader, &now, within.area.as_deref());
    Ok(form::page(damage(
        &reader.frame(Place::Bench(of.robot)),
        &view,
    )))
}

/// `POST .../damage`: an area and a kind; then the areas again.
pub async fn damage_found(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    of_team(&reader, of.robot)?;
    let body = json!({"area": fields.get("area"), "kind": fields.get("kind")});
    record_line(
        &here,
        &fields,
        Subject::Robot(of.robot),
        Kind::Damage,
        None,
        &body,
    )
    .await?;
    Ok(see(format!("{}/damage", reader.bench(of.robot))))
}

/// `GET .../call`.
pub async fn call(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    match view::answer(&reader, &now, Typed::default()) {
        Some(view) => Ok(form::page(answer(
            &reader.frame(Place::Bench(of.robot)),
            &view,
        ))),
        None => Ok(see(reader.bench(of.robot))),
    }
}

/// `POST .../call` by the crew and `POST .../word` by an official: coming, ready, minutes, not.
pub async fn answered(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let said = fields.filled("answer").unwrap_or_default();
    let answer = match said.parse::<u16>() {
        Ok(minutes) => json!({"need": minutes}),
        Err(_) => json!(said),
    };
    let mut body = json!({"answer": answer});
    let next = here
        .pit
        .next_bout(of.robot)
        .map(|next| next.bout.id.to_string());
    if let Some(bout) = fields.filled("bout").map(str::to_owned).or(next) {
        body["bout"] = json!(bout);
    }
    record_line(
        &here,
        &fields,
        Subject::Robot(of.robot),
        Kind::Answered,
        None,
        &body,
    )
    .await?;
    Ok(see(after(&reader, of.robot)))
}

/// A line of the logbook.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfLine {
    line: LineId,
}

/// The page a line was found on: its robot's bench, or the logbook.
fn back(reader: &Reader, subject: Subject) -> String {
    match subject {
        Subject::Robot(robot) if of_team(reader, robot).is_ok() => reader.bench(robot),
        _ => format!("{}/logbook", reader.base),
    }
}

/// `GET /e/{event}/lines/{line}`.
pub async fn line(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfLine>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let entry = here.pit.entry(of.line).ok_or(AppError::Unknown)?;
    if !crate::app::logbook::may_see(&here.signed, &here.pit, &entry.first) {
        return Err(AppError::Unknown.into());
    }
    let view = view::put_right(
        &reader,
        entry,
        back(&reader, entry.first.subject),
        Typed::default(),
    );
    Ok(form::page(put_right(&reader.frame(Place::Other), &view)))
}

/// `POST /e/{event}/lines/{line}`: takes it back, or says what it was, or when.
pub async fn line_put_right(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfLine>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let entry = here.pit.entry(of.line).ok_or(AppError::Unknown)?;
    let known = &entry.first;
    let what = fields.filled("do").unwrap_or("void");
    let mut draft = if what == "void" {
        fields.line(&here, 0, known.subject, Kind::Void, None, &json!({}))?
    } else if let Some(minutes) = what
        .strip_prefix("earlier-")
        .and_then(|n| n.parse::<i64>().ok())
    {
        let line = entry.effective().unwrap_or_else(|| known.clone());
        Draft {
            id: fields.key()?.nth(0),
            at: line.at - TimeDelta::minutes(minutes.clamp(0, 1440)),
            seen_by: line.seen_by,
            subject: line.subject,
            how: line.how,
            corrects: None,
            if_revision: None,
            body: line.body.clone(),
        }
    } else {
        let body = what
            .strip_prefix("to-")
            .and_then(|state| view::other_body(known, state))
            .ok_or_else(|| AppError::malformed("/do", "It cannot be put right to that."))?;
        let mut draft = fields.line(&here, 0, known.subject, known.kind(), known.how, &body)?;
        draft.at = known.at;
        draft.seen_by = known.seen_by;
        draft
    };
    draft.corrects = Some(of.line);
    match record(&here, &fields, vec![draft]).await {
        Ok(()) => Ok(see(back(&reader, known.subject))),
        Err(error) => {
            let view = view::put_right(
                &reader,
                entry,
                back(&reader, known.subject),
                refusal(&fields, error)?,
            );
            Ok(refused(put_right(&reader.frame(Place::Other), &view)))
        }
    }
}
