//! The address of the charging table, and what its forms say.

use super::{page, view};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::keypad::routes::filed_under;
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{ChannelId, SetId, Subject, TeamId};
use crate::pit::logbook::{Draft, How, Kind};
use crate::pit::packs::{PackNow, Packs};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::{Value, json};

/// Which team, for those who see several.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Which {
    team: Option<TeamId>,
}

/// `GET /e/{event}/charging`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let team = which.team.or(here.signed.team);
    here.signed.sees(Right::SeeStations, team)?;
    let view = match team {
        Some(team) => view::of_team(&reader, team, Typed::default()).ok_or(AppError::Unknown)?,
        None => view::teams(&reader),
    };
    Ok(form::page(page(&reader.frame(Place::Team), &view)))
}

/// A form that cannot be taken: the field and what is wrong with it.
struct Wrong(&'static str, String);

/// `POST /e/{event}/charging`: a charge begins, is watched, read back, interrupted or over.
pub async fn said(
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let team: TeamId = fields
        .id("team")
        .or(here.signed.team)
        .ok_or_else(|| AppError::malformed("/team", "Of which team?"))?;
    here.signed.sees(Right::SeeStations, Some(team))?;
    let again = |typed| -> Result<HttpResponse, Problem> {
        let view = view::of_team(&reader, team, typed).ok_or(AppError::Unknown)?;
        Ok(refused(page(&reader.frame(Place::Team), &view)))
    };
    let packs = Packs::of(&here.pit, team, here.now);
    let told = if fields.get("said") == Some("interrupted") {
        let running = packs.sets.iter();
        Ok(running
            .filter(|(_, set)| set.charge(&packs.packs).is_some())
            .map(|(id, _)| (*id, How::Saw, json!({"set": id, "state": "interrupted"})))
            .collect())
    } else {
        one(&here, &fields, &packs).map(|one| vec![one])
    };
    let told: Vec<(SetId, How, Value)> = match told {
        Ok(told) => told,
        Err(Wrong(field, detail)) => {
            let mut typed = fields.typed();
            typed.faults.insert(field.to_owned(), detail);
            return again(typed);
        }
    };
    let drafts: Result<Vec<Draft>, AppError> = (0..)
        .zip(told)
        .map(|(n, (set, how, body))| {
            let known = packs.sets.get(&set).and_then(|set| set.robot);
            let robot = filed_under(&reader, team, known)?;
            let subject = Subject::Robot(robot);
            fields.line(&here, n, subject, Kind::Charge, Some(how), &body)
        })
        .collect();
    let recorded = match drafts {
        Ok(drafts) => record(&here, &fields, drafts).await,
        Err(error) => Err(error),
    };
    match recorded {
        Ok(()) => Ok(see(match here.signed.team {
            Some(_) => format!("{}/charging", reader.base),
            None => format!("{}/charging?team={team}", reader.base),
        })),
        Err(error) => again(refusal(&fields, error)?),
    }
}

/// What a form says of one set.
fn one(here: &Here, fields: &Fields, packs: &Packs) -> Result<(SetId, How, Value), Wrong> {
    let set: SetId = fields
        .id("set")
        .filter(|id| packs.sets.contains_key(id))
        .ok_or_else(|| Wrong("set", "Which set?".to_owned()))?;
    let me = here.signed.person;
    let (how, body) = match fields.get("said") {
        Some("watch") => (How::Saw, json!({"set": set, "watcher": me})),
        Some("read_back") => (How::Saw, read_back(here, fields, set, packs)?),
        Some("off") => (How::Did, off(fields, set)?),
        Some("on") => {
            let channels: Vec<ChannelId> = fields
                .all("channel")
                .filter_map(|id| id.parse().ok())
                .collect();
            let current: Option<i32> = fields.id("current_ma");
            let body = json!({"set": set, "state": "started", "channels": channels,
                "watcher": me, "current_ma": current});
            (How::Did, body)
        }
        _ => return Err(Wrong("", "Nothing was said.".to_owned())),
    };
    Ok((set, how, without_nulls(body)))
}

/// What is not known is left out of a line.
fn without_nulls(mut body: Value) -> Value {
    if let Some(fields) = body.as_object_mut() {
        fields.retain(|_, value| !value.is_null());
    }
    body
}

fn off(fields: &Fields, set: SetId) -> Result<Value, Wrong> {
    let counted = match fields.filled("mah") {
        None => None,
        Some(_) => {
            let mah = fields.decimal("mah").filter(|mah| *mah >= 0.0);
            let mah = mah.ok_or_else(|| Wrong("mah", "mAh, such as 3200.".to_owned()))?;
            if mah > 0.0 && mah < 50.0 {
                let detail = format!(
                    "{mah} mAh is next to nothing. Is it in Ah? Then enter {:.0}.",
                    1000.0 * mah
                );
                return Err(Wrong("mah", detail));
            }
            Some(mah.round())
        }
    };
    let full = fields.filled("full").map(|full| full == "1");
    Ok(json!({"set": set, "state": "ended", "charged_mah": counted, "full": full}))
}

/// A read-back: that it is set as it must be, or what it is set to instead.
fn read_back(here: &Here, fields: &Fields, set: SetId, packs: &Packs) -> Result<Value, Wrong> {
    let who = fields.seen_by(here);
    let first: Option<&PackNow> = packs
        .sets
        .get(&set)
        .and_then(|set| set.body.packs.iter().find_map(|id| packs.packs.get(id)));
    if fields.get("is") != Some("not_so") {
        let body = first.map(|pack| (pack.body.chemistry, pack.body.cells));
        return Ok(json!({"set": set, "read_back_by": who,
            "chemistry": body.map(|body| body.0), "cells": body.map(|body| body.1)}));
    }
    let cells = match fields.filled("cells") {
        None => None,
        Some(_) => Some(
            fields
                .id::<u8>("cells")
                .filter(|cells| (1..=24).contains(cells))
                .ok_or_else(|| Wrong("cells", "Cells in series, 1 to 24.".to_owned()))?,
        ),
    };
    let amps = match fields.filled("amps") {
        None => None,
        Some(_) => Some(
            fields
                .decimal("amps")
                .filter(|amps| (0.05..=200.0).contains(amps))
                .ok_or_else(|| Wrong("amps", "Amperes from 0.05 to 200, such as 5.".to_owned()))?,
        ),
    };
    let chemistry = fields.filled("chemistry");
    if chemistry.is_none() && cells.is_none() && amps.is_none() {
        let detail = "Say what it is set to: chemistry, cells or current.".to_owned();
        return Err(Wrong("chemistry", detail));
    }
    // It is not read back until it is right: this only says what stands on the charger.
    Ok(json!({"set": set, "chemistry": chemistry, "cells": cells,
        "current_ma": amps.map(|amps| (1000.0 * amps).round())}))
}
