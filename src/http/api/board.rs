//! `/api/v1/events/{event}/board`: the running order with what holds each robot up.

mod csv;

pub use csv::*;

use super::conditional::unless_known;
use super::forecast::{self, ForecastWord};
use super::robots::VerdictView;
use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::board::{Board, Corner};
use crate::pit::hazards::everyone_stop;
use crate::pit::ids::{BoutId, RobotId};
use crate::pit::logbook::{bout::Answer, machine::Place, register::Slot};
use crate::pit::readiness::RestsOn;
use crate::pit::state::running_order::{BoutNow, Progress};
use crate::pit::state::{Pit, View};
use actix_web::{
    HttpRequest, HttpResponse, get,
    http::header::{ContentType, EntityTag},
};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// One corner of a bout.
#[derive(Debug, Serialize, ToSchema)]
pub struct CornerView {
    /// Who is to be in it, as registered.
    slot: Slot,
    /// The robot, where it is known.
    robot: Option<RobotId>,
    /// Its name.
    name: Option<String>,
    /// Its energy verdict.
    verdict: Option<VerdictView>,
    /// Where it is.
    place: Option<Place>,
    /// Its crew's answer to this call.
    answer: Option<Answer>,
    /// The forecast, of a robot whose next bout this is.
    forecast: Option<ForecastWord>,
    /// When it is likely to be in the queue.
    likely: Option<DateTime<Utc>>,
    /// When it is by eight times in ten, by its published plan.
    eight_in_ten: Option<DateTime<Utc>>,
    /// Chance of being there by the call, from 0 to 1, by its published plan.
    odds: Option<f64>,
    /// When somebody last reported; none: assumed from the library alone.
    reported_at: Option<DateTime<Utc>>,
    /// The first thing that holds it up, in words.
    held_up_by: Option<String>,
    /// Ids of the rules of its hazards, the most severe first.
    hazards: Vec<String>,
    /// What of the departure check nobody said, while it waits at the arena.
    #[schema(max_items = 50)]
    skipped: Vec<&'static str>,
    /// Postponements granted to it today.
    postponements_used: usize,
}

/// A bout on the board.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardBout {
    /// The bout.
    bout: BoutId,
    /// Its number.
    number: i32,
    /// When both are to be in the queue, moved calls counted.
    call: DateTime<Utc>,
    /// `waiting`, `started` or `ended`.
    #[schema(example = "waiting")]
    state: &'static str,
    /// When it was called.
    called_at: Option<DateTime<Utc>>,
    /// Who won.
    winner: Option<RobotId>,
    /// When it is likely to start; when it did, once under way; nothing once it is over.
    expected_start: Option<DateTime<Utc>>,
    /// When it is then over.
    expected_end: Option<DateTime<Utc>>,
    /// How long the arena stands reset and unused before it.
    idle_before_s: Option<i64>,
    /// The robot that keeps it from starting at its time.
    waits_for: Option<RobotId>,
    /// The call it had before the order changed last.
    moved_from: Option<DateTime<Utc>>,
    /// Whether it keeps its place when the order changes.
    fixed: bool,
    /// The two corners.
    corners: Vec<CornerView>,
}

/// The board.
#[derive(Debug, Serialize, ToSchema)]
pub struct BoardView {
    /// Everyone is to stop, since then.
    everyone_stops_since: Option<DateTime<Utc>>,
    /// Bouts, by call.
    bouts: Vec<BoardBout>,
    /// When the last bout before the night is likely to be over.
    day_ends: Option<DateTime<Utc>>,
    /// How long the arena stands reset and unused till then.
    idle_s: i64,
    /// The last line it knows of.
    last_seq: i64,
    /// When it was worked out. Times that run on with the clock, such as when a robot is likely to
    /// be ready and a bout to start, are as of then.
    now: DateTime<Utc>,
    /// When it changes by time alone, at most a minute later.
    changes_at: Option<DateTime<Utc>>,
}

/// Shows the board
///
/// It is worked out once for everybody who may see it and stands until a line is recorded or
/// `changes_at` comes.
#[utoipa::path(
    operation_id = "get_board", tag = "hall", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "The running order now.", body = BoardView)),
)]
#[get("/api/v1/events/{event}/board")]
pub async fn get_board(here: Here, request: HttpRequest) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeBoard)?;
    // Nothing in it depends on who asks.
    let board = here.event.board().at(&here.pit, here.now, || {
        let view = BoardView::of(&here.pit, here.now);
        Ok(View {
            value: serde_json::to_vec(&view).map_err(AppError::bug)?,
            changes_at: view.changes_at,
        })
    })?;
    let tag = EntityTag::new_strong(board.name.to_string());
    Ok(unless_known(&request, tag, |answer| {
        answer.insert_header(ContentType::json()).body(board.bytes)
    }))
}

impl BoardView {
    /// The board at `now`.
    pub fn of(pit: &Pit, now: DateTime<Utc>) -> Self {
        let View { value, changes_at } = Board::of(pit, now);
        Self {
            everyone_stops_since: everyone_stop(pit).map(|(since, _)| since),
            bouts: pit
                .running_order()
                .iter()
                .map(|bout| board_bout(&value, bout))
                .collect(),
            day_ends: value.day.ends,
            idle_s: value.day.idle.num_seconds(),
            last_seq: pit.last_seq,
            now,
            changes_at,
        }
    }
}

fn board_bout(board: &Board<'_>, bout: &BoutNow) -> BoardBout {
    let expected = board.expected(bout.id);
    BoardBout {
        bout: bout.id,
        number: bout.number,
        call: bout.call,
        state: match bout.progress {
            Progress::Waiting => "waiting",
            Progress::Started(_) => "started",
            Progress::Ended(_) => "ended",
        },
        called_at: bout.called_at,
        winner: bout.winner,
        expected_start: expected.map(|expected| expected.start),
        expected_end: expected.map(|expected| expected.end),
        idle_before_s: expected.map(|expected| expected.idle.num_seconds()),
        waits_for: expected.and_then(|expected| expected.waits_for),
        moved_from: bout.moved_from.map(|(from, _)| from),
        fixed: board
            .pit
            .bouts
            .get(&bout.id)
            .is_some_and(|known| known.body.fixed),
        corners: board
            .corners(bout)
            .into_iter()
            .map(|corner| view_of(board, corner))
            .collect(),
    }
}

fn view_of(board: &Board<'_>, corner: Corner<'_>) -> CornerView {
    let file = corner.robot.and_then(|robot| board.pit.robot(robot));
    let on_board = corner.on_board;
    let ready = corner.ready;
    CornerView {
        slot: corner.slot,
        robot: corner.robot,
        name: file.map(|file| file.register.body.name.to_string()),
        verdict: on_board.map(|robot| robot.verdict.into()),
        place: on_board.and_then(|robot| robot.place),
        answer: ready.and_then(|ready| ready.answer.map(|(answer, _)| answer)),
        forecast: ready.map(|ready| ready.forecast.into()),
        likely: ready.map(|ready| ready.likely),
        eight_in_ten: ready.and_then(|ready| ready.eight_in_ten),
        odds: ready.and_then(|ready| ready.odds),
        reported_at: ready.and_then(|ready| match ready.rests_on {
            RestsOn::Reported(at) => Some(at),
            RestsOn::Assumed => None,
        }),
        held_up_by: ready.and_then(|ready| ready.held_up_by.as_ref().map(forecast::words)),
        hazards: on_board.map_or_else(Vec::new, |robot| {
            let rules = robot.hazards.iter().map(|hazard| hazard.rule.to_owned());
            rules.collect()
        }),
        skipped: on_board.map_or_else(Vec::new, |robot| robot.skipped.clone()),
        postponements_used: on_board.map_or(0, |robot| robot.postponed),
    }
}
