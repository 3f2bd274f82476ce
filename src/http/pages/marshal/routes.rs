//! The marshal's addresses: the round, and everyone stop.

use super::{Danger, Marshal, Standing, Stop, Waiting, page};
use crate::app::App;
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::bench;
use crate::http::pages::clearance;
use crate::http::pages::form::{self, Fields, record_line, see};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::hazards::{self, Severity};
use crate::pit::ids::Subject;
use crate::pit::logbook::Kind;
use actix_web::{HttpResponse, web};
use chrono::TimeDelta;
use serde_json::json;

/// `GET /e/{event}/marshal`.
pub async fn show(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::SeeSafety)?;
    let reader = Reader::of(&here, &app).await?;
    Ok(form::page(page(
        &reader.frame(Place::Round),
        &view(&reader),
    )))
}

fn view(reader: &Reader) -> Marshal {
    let mut robots: Vec<RobotNow<'_>> = reader
        .pit
        .robots
        .iter()
        .filter(|(_, file)| !file.register.body.retired)
        .filter_map(|(id, _)| RobotNow::of(reader, *id))
        .collect();
    robots.sort_by_key(|now| {
        (
            now.file.register.body.bench.map(|bench| bench.get()),
            now.id,
        )
    });
    let stops = robots
        .iter()
        .flat_map(|now| &now.hazards)
        .filter(|hazard| hazard.severity() == Severity::StopNow)
        .count();
    Marshal {
        sub: format!("{} robots, {stops} stop now", robots.len()),
        arming: waiting(reader, &robots),
        round: robots.iter().map(|now| stop(reader, now)).collect(),
        hazards: robots
            .iter()
            .flat_map(|now| standing(reader, now))
            .collect(),
        stopped: hazards::everyone_stop(&reader.pit)
            .map(|(at, words)| (at, words.unwrap_or_else(|| "one of us".to_owned()))),
        danger: robots
            .iter()
            .filter_map(|now| danger(reader, now))
            .collect(),
    }
}

/// Robots for which arming is the question, by the bout that waits for them.
fn waiting(reader: &Reader, robots: &[RobotNow<'_>]) -> Vec<Waiting> {
    let mut found: Vec<(_, Waiting)> = robots
        .iter()
        .filter_map(|now| {
            let clearance = clearance::view::here(reader, now)?;
            let bout = now.next.as_ref().map(|next| next.bout.number);
            let place = now.file.state.place.as_ref();
            let place = place.map_or("place unknown", |at| words::place(at.value));
            let waits = Waiting {
                name: reader.robot(now.id),
                bench: now.file.register.body.bench.map(|bench| bench.get()),
                place: match bout {
                    Some(bout) => format!("{place}, bout {bout}"),
                    None => place.to_owned(),
                },
                clearance,
            };
            Some(((bout.unwrap_or(i32::MAX), now.id), waits))
        })
        .collect();
    found.sort_by_key(|(order, _)| *order);
    found.into_iter().map(|(_, waits)| waits).collect()
}

fn stop(reader: &Reader, now: &RobotNow<'_>) -> Stop {
    let state = &now.file.state;
    let mut verdict = now.verdict(reader, None);
    verdict.sign = now.sign();
    let allowed = state
        .allowed_here
        .as_ref()
        .filter(|_| state.allowed_at(reader.clock.now))
        .map(|allowed| allowed.at + TimeDelta::minutes(i64::from(allowed.value.for_min.get())));
    Stop {
        robot: now.id.to_string(),
        name: reader.robot(now.id),
        bench: now.file.register.body.bench.map(|bench| bench.get()),
        place: state
            .place
            .as_ref()
            .map_or("place unknown", |at| words::place(at.value))
            .to_owned(),
        verdict,
        holder: state
            .holder
            .as_ref()
            .map_or_else(String::new, |holder| words::holder(reader, holder.value)),
        seen: bench::view::looked(reader, now).map(|looked| looked.fields),
        allowed_until: allowed,
    }
}

fn standing(reader: &Reader, now: &RobotNow<'_>) -> Vec<Standing> {
    now.hazards
        .iter()
        .filter(|hazard| hazard.severity() < Severity::StopNow)
        .map(|hazard| Standing {
            title: format!(
                "{}: {}, {}",
                hazard.severity().word(),
                reader.robot_at_bench(now.id),
                hazard.title
            ),
            detail: hazard.finding.why.clone(),
            href: format!("{}/hazards", reader.bench(now.id)),
        })
        .collect()
}

fn danger(reader: &Reader, now: &RobotNow<'_>) -> Option<Danger> {
    let state = &now.file.state;
    let danger = state.danger.as_ref()?;
    let coming = state
        .danger_answered
        .as_ref()
        .filter(|answer| answer.at >= danger.at);
    Some(Danger {
        robot: now.id.to_string(),
        title: format!(
            "{}: {}, from {}",
            crate::http::pages::reader::capital(words::danger(danger.value.what)),
            reader.robot_at_bench(now.id),
            reader.name(danger.seen_by)
        ),
        at: danger.at,
        coming: coming.map(|answer| reader.name(answer.seen_by)),
    })
}

/// `POST /e/{event}/stop`: everyone stop, or go on.
pub async fn everyone(
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let stop = fields.get("stop") != Some("false");
    record_line(
        &here,
        &fields,
        Subject::Event,
        Kind::EveryoneStop,
        None,
        &json!({"stop": stop}),
    )
    .await?;
    Ok(see(reader.home()))
}
