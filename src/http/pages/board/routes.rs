//! The board's addresses: the page, bouts begun and ended, calls moved, words for silent teams.

use super::{Board, BoutRow, Running, Silent, page};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record_line, see};
use crate::http::pages::parts::{robot_row::RobotRow, signs::Forecast};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::{BoutId, RobotId, Subject};
use crate::pit::logbook::Kind;
use crate::pit::logbook::register::Slot;
use crate::pit::state::running_order::{BoutNow, Progress};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Bouts that are over and still shown.
const OVER_SHOWN: usize = 1;

/// `GET /e/{event}/board`.
pub async fn show(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::SeeBoard)?;
    let reader = Reader::of(&here, &app).await?;
    Ok(form::page(page(
        &reader.frame(Place::Board),
        &view(&reader),
    )))
}

fn view(reader: &Reader) -> Board {
    let order = reader.pit.running_order();
    let robots: BTreeMap<RobotId, RobotNow<'_>> = reader
        .pit
        .robots
        .iter()
        .filter(|(_, file)| !file.register.body.retired)
        .filter_map(|(id, _)| Some((*id, RobotNow::of(reader, *id)?)))
        .collect();
    let over = order
        .iter()
        .filter(|bout| matches!(bout.progress, Progress::Ended(_)))
        .count();
    let shown: Vec<&BoutNow> = order
        .iter()
        .filter(|bout| matches!(bout.progress, Progress::Ended(_)))
        .skip(over.saturating_sub(OVER_SHOWN))
        .chain(
            order
                .iter()
                .filter(|bout| !matches!(bout.progress, Progress::Ended(_))),
        )
        .collect();
    let in_hand = in_hand(order);
    let silent: Vec<Silent> = robots
        .values()
        .filter(|now| now.forecast() == Forecast::NoWord && now.next.is_some())
        .map(|now| Silent {
            robot: now.id.to_string(),
            name: reader.robot(now.id),
            bench: now.file.register.body.bench.map(|bench| bench.get()),
            since: now.file.state.last_word,
        })
        .collect();
    let with_word = robots
        .values()
        .filter(|now| now.file.state.last_word.is_some() || now.has_answered())
        .count();
    Board {
        running: in_hand.map(|bout| Running {
            bout: bout.id.to_string(),
            number: bout.number,
            begun: matches!(bout.progress, Progress::Started(_)),
            robots: bout
                .robots
                .iter()
                .flatten()
                .map(|id| (id.to_string(), reader.robot(*id)))
                .collect(),
        }),
        behind_min: behind(reader, order),
        word_from: (with_word, robots.len()),
        bouts: shown
            .into_iter()
            .map(|bout| row(reader, &robots, bout, in_hand.map(|b| b.id)))
            .collect(),
        silent,
        hazards: robots
            .values()
            .flat_map(|now| {
                now.hazards.iter().map(|hazard| {
                    let text = format!(
                        "{}: {}. {}",
                        hazard.severity().word(),
                        reader.robot_at_bench(now.id),
                        hazard.finding.why
                    );
                    (
                        hazard.severity(),
                        text,
                        format!("{}/look", reader.bench(now.id)),
                    )
                })
            })
            .collect::<std::collections::BTreeSet<_>>()
            .into_iter()
            .rev()
            .map(|(_, text, href)| (text, Some(href)))
            .collect(),
    }
}

/// The bout in the arena, or the next one.
fn in_hand(order: &[BoutNow]) -> Option<&BoutNow> {
    order
        .iter()
        .find(|bout| matches!(bout.progress, Progress::Started(_)))
        .or_else(|| order.iter().find(|bout| bout.progress == Progress::Waiting))
}

/// How far the next call is behind the one first entered.
fn behind(reader: &Reader, order: &[BoutNow]) -> Option<i64> {
    let next = order
        .iter()
        .find(|bout| bout.progress == Progress::Waiting)?;
    let first = reader.pit.bouts.get(&next.id)?.body.call_at;
    Some((next.call - first).num_minutes())
}

fn row(
    reader: &Reader,
    robots: &BTreeMap<RobotId, RobotNow<'_>>,
    bout: &BoutNow,
    current: Option<BoutId>,
) -> BoutRow {
    let corner = |n: usize| match bout.robots[n].and_then(|id| robots.get(&id)) {
        Some(now) => now.row(reader),
        None => open_corner(reader, bout.robots[n], bout.slots[n]),
    };
    let word = |n: usize| {
        let now = bout.robots[n].and_then(|id| robots.get(&id));
        now.filter(|now| {
            now.next
                .as_ref()
                .is_some_and(|next| next.bout.id == bout.id)
        })
        .and_then(RobotNow::answer)
        .map_or_else(String::new, |answer| {
            format!("says: {}", words::answer(answer))
        })
    };
    BoutRow {
        number: bout.number,
        call: bout.call,
        state: match bout.progress {
            Progress::Started(_) => Some("in the arena"),
            Progress::Ended(_) => Some("over"),
            Progress::Waiting => bout.called_at.map(|_| "called"),
        },
        current: current == Some(bout.id),
        robots: [corner(0), corner(1)],
        words: [word(0), word(1)],
    }
}

fn open_corner(reader: &Reader, robot: Option<RobotId>, slot: Slot) -> RobotRow {
    let number = |bout: BoutId| {
        reader
            .pit
            .bouts
            .get(&bout)
            .map_or(0, |bout| bout.body.number.get())
    };
    RobotRow {
        href: None,
        name: match (robot, slot) {
            (Some(robot), _) | (None, Slot::Robot(robot)) => reader.robot(robot),
            (None, Slot::Winner(of)) => format!("winner of {}", number(of)),
            (None, Slot::Loser(of)) => format!("loser of {}", number(of)),
        },
        bench: None,
        verdict: None,
        forecast: Forecast::NoWord,
        odds_percent: None,
        eight_in_ten: None,
        hold_up: String::new(),
        basis: String::new(),
    }
}

/// The bout an address names.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfBout {
    bout: BoutId,
}

async fn about_bout(
    here: &Here,
    bout: BoutId,
    fields: &Fields,
    kind: Kind,
    body: Value,
) -> Result<HttpResponse, Problem> {
    record_line(here, fields, Subject::Bout(bout), kind, None, &body).await?;
    Ok(see(format!("/e/{}/board", here.event.id())))
}

/// `POST /e/{event}/bouts/{bout}/started`.
pub async fn started(
    here: Here,
    of: web::Path<OfBout>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    about_bout(&here, of.bout, &fields, Kind::BoutStarted, json!({})).await
}

/// `POST /e/{event}/bouts/{bout}/called`.
pub async fn called(
    here: Here,
    of: web::Path<OfBout>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    about_bout(&here, of.bout, &fields, Kind::Called, json!({})).await
}

/// `POST /e/{event}/bouts/{bout}/ended`: with the winner, if anybody won.
pub async fn ended(
    here: Here,
    of: web::Path<OfBout>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let body = match fields.filled("winner") {
        Some(winner) => json!({"winner": winner}),
        None => json!({}),
    };
    about_bout(&here, of.bout, &fields, Kind::BoutEnded, body).await
}

/// `POST /e/{event}/calls/moved`.
pub async fn moved(here: Here, fields: web::Form<Fields>) -> Result<HttpResponse, Problem> {
    let by: i32 = fields
        .id("by_min")
        .ok_or_else(|| AppError::malformed("/by_min", "By how many minutes?"))?;
    record_line(
        &here,
        &fields,
        Subject::Event,
        Kind::CallsMoved,
        None,
        &json!({"by_min": by}),
    )
    .await?;
    Ok(see(format!("/e/{}/board", here.event.id())))
}
