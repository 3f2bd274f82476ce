//! The board's addresses: the page, bouts begun and ended, calls moved, words for silent teams.

use super::order::Choices;
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
use crate::pit::arena::ArenaDay;
use crate::pit::departure;
use crate::pit::ids::{BoutId, RobotId, Subject};
use crate::pit::logbook::Kind;
use crate::pit::logbook::register::Slot;
use crate::pit::postponements;
use crate::pit::state::running_order::{BoutNow, Progress};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Bouts that are over and still shown.
const OVER_SHOWN: usize = 1;

/// `GET /e/{event}/board`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    wanted: web::Query<Wanted>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Right::SeeBoard)?;
    let reader = Reader::of(&here, &app).await?;
    let mut view = view(&reader, &wanted);
    if here.signed.does(Right::OrderBouts).is_ok() {
        view.order = app
            .orders
            .last(here.event.id(), &here.pit)
            .map(|outlook| Choices::of(&reader, &outlook));
    }
    Ok(form::page(page(&reader.frame(Place::Board), &view)))
}

/// How the board is wanted.
#[derive(Debug, Default, Deserialize)]
pub struct Wanted {
    /// `risk`: the bouts least likely to be on time first.
    sort: Option<String>,
    /// `risk`: only bouts with a robot that is not on course; `all`: those that are over too.
    show: Option<String>,
}

/// The views there are, with their addresses.
fn views(base: &str, wanted: &Wanted) -> Vec<(&'static str, String, bool)> {
    let is = |sort: Option<&str>, show: Option<&str>| {
        wanted.sort.as_deref() == sort && wanted.show.as_deref() == show
    };
    vec![
        ("In order", format!("{base}/board"), is(None, None)),
        (
            "At risk first",
            format!("{base}/board?sort=risk"),
            is(Some("risk"), None),
        ),
        (
            "Only at risk",
            format!("{base}/board?show=risk"),
            is(None, Some("risk")),
        ),
        (
            "All bouts",
            format!("{base}/board?show=all"),
            is(None, Some("all")),
        ),
    ]
}

/// How much at risk a bout is: the worse of its two robots.
fn risk(bout: &BoutRow) -> (u8, u8) {
    let of = |robot: &RobotRow| {
        let word = match robot.forecast {
            Forecast::OnHold => 5,
            Forecast::Late => 4,
            Forecast::Tight => 3,
            Forecast::NoWord => 2,
            Forecast::OnCourse => 1,
            Forecast::Ready | Forecast::InArena => 0,
        };
        (word, 100 - robot.odds_percent.unwrap_or(100).min(100))
    };
    let open = |robot: &RobotRow| robot.verdict.is_none();
    let robots = bout.robots.iter().filter(|robot| !open(robot));
    robots.map(of).max().unwrap_or((0, 0))
}

fn view(reader: &Reader, wanted: &Wanted) -> Board {
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
        .skip(match wanted.show.as_deref() {
            Some("all") => 0,
            _ => over.saturating_sub(OVER_SHOWN),
        })
        .chain(
            order
                .iter()
                .filter(|bout| !matches!(bout.progress, Progress::Ended(_))),
        )
        .collect();
    let in_hand = in_hand(order);
    let ready = robots.iter();
    let ready = ready.filter_map(|(id, now)| Some((*id, now.ready.clone()?)));
    let day = ArenaDay::of(&reader.pit, &ready.collect(), reader.clock.now);
    let mut bouts: Vec<BoutRow> = shown
        .into_iter()
        .map(|bout| row(reader, &robots, bout, &day, in_hand.map(|b| b.id)))
        .collect();
    if wanted.show.as_deref() == Some("risk") {
        bouts.retain(|bout| risk(bout).0 >= 2);
    }
    if wanted.sort.as_deref() == Some("risk") {
        bouts.sort_by_key(|bout| std::cmp::Reverse(risk(bout)));
    }
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
        day: day.ends.map(|ends| (ends, day.idle.num_minutes())),
        order: None,
        views: views(&reader.base, wanted),
        word_from: (with_word, robots.len()),
        bouts,
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

/// How far the next call is behind the one first printed for its place.
fn behind(reader: &Reader, order: &[BoutNow]) -> Option<i64> {
    let next = order
        .iter()
        .find(|bout| bout.progress == Progress::Waiting)?;
    Some(reader.pit.behind(next.id)?.num_minutes())
}

fn row(
    reader: &Reader,
    robots: &BTreeMap<RobotId, RobotNow<'_>>,
    bout: &BoutNow,
    day: &ArenaDay,
    current: Option<BoutId>,
) -> BoutRow {
    let corner = |n: usize| {
        let now = bout.robots[n].and_then(|id| robots.get(&id));
        corner_row(reader, now, bout, n)
    };
    let word = |n: usize| {
        let now = bout.robots[n].and_then(|id| robots.get(&id));
        let Some(now) = now.filter(|now| {
            let next = now.next.as_ref();
            next.is_some_and(|next| next.bout.id == bout.id)
        }) else {
            return String::new();
        };
        let says = now.answer();
        let skipped = departure::skipped(now.file, now.today.hand.facts_from);
        let mut said: Vec<String> = says
            .map(|answer| format!("says: {}", words::answer(answer)))
            .into_iter()
            .collect();
        if !skipped.is_empty() {
            said.push(format!(
                "nobody said: {}",
                skipped.join(", ").to_lowercase()
            ));
        }
        said.join("; ")
    };
    let waits = bout.progress == Progress::Waiting;
    let expected = day.bout(bout.id).filter(|_| waits);
    BoutRow {
        href: format!("{}/bouts/{}", reader.base, bout.id),
        starts: expected.map(|expected| (expected.start, expected.idle.num_minutes())),
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

/// A robot in a corner of a bout. What is forecast is for its next bout: of later ones nothing is
/// said yet.
pub fn corner_row(
    reader: &Reader,
    now: Option<&RobotNow<'_>>,
    bout: &BoutNow,
    n: usize,
) -> RobotRow {
    let Some(now) = now else {
        return open_corner(reader, bout.robots[n], bout.slots[n]);
    };
    let mut row = now.row(reader);
    let used = postponements::used(now.file, reader.clock.now);
    if used > 0 {
        let most = reader.pit.settings().postponements.get();
        row.basis = format!("{}, postponed {used} of {most}", row.basis);
    }
    if now.hazards.len() > 1 {
        row.basis = format!("{}, {} hazards", row.basis, now.hazards.len());
    }
    let fights_first = now
        .next
        .as_ref()
        .is_some_and(|next| next.bout.id != bout.id);
    if bout.progress == Progress::Waiting && fights_first {
        row.forecast = Forecast::NoWord;
        row.odds_percent = None;
        row.eight_in_ten = None;
        row.hold_up = match &now.next {
            Some(next) => format!("fights bout {} first", next.bout.number),
            None => String::new(),
        };
        row.basis = String::new();
    }
    row
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
    let mut body = json!({});
    for name in ["winner", "ending"] {
        if let Some(value) = fields.filled(name) {
            body[name] = json!(value);
        }
    }
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
