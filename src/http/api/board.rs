//! `/api/v1/events/{event}/board`: the running order with what holds each robot up.

use super::forecast::{self, ForecastWord};
use super::robots::VerdictView;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::energy::energy;
use crate::pit::hazards::everyone_stop;
use crate::pit::ids::{BoutId, RobotId};
use crate::pit::logbook::{bout::Answer, machine::Place, register::Slot};
use crate::pit::state::running_order::{BoutNow, Progress};
use crate::pit::state::sight::earliest;
use actix_web::{HttpResponse, get};
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
    /// Chance of being there by the call, from 0 to 1, by its published plan.
    odds: Option<f64>,
    /// The first thing that holds it up, in words.
    held_up_by: Option<String>,
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
    /// The last line it knows of.
    last_seq: i64,
    /// As of then.
    now: DateTime<Utc>,
    /// When it changes by time alone.
    changes_at: Option<DateTime<Utc>>,
}

/// Shows the board
#[utoipa::path(
    operation_id = "get_board", tag = "hall", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "The running order now.", body = BoardView)),
)]
#[get("/api/v1/events/{event}/board")]
pub async fn get_board(here: Here) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeBoard)?;
    let mut changes_at = None;
    let bouts = here
        .pit
        .running_order()
        .iter()
        .map(|bout| board_bout(&here, bout, &mut changes_at))
        .collect();
    Ok(HttpResponse::Ok().json(BoardView {
        everyone_stops_since: everyone_stop(&here.pit).map(|(since, _)| since),
        bouts,
        last_seq: here.pit.last_seq,
        now: here.now,
        changes_at,
    }))
}

fn board_bout(here: &Here, bout: &BoutNow, changes_at: &mut Option<DateTime<Utc>>) -> BoardBout {
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
        corners: bout
            .slots
            .into_iter()
            .zip(bout.robots)
            .map(|(slot, robot)| corner(here, bout.id, slot, robot, changes_at))
            .collect(),
    }
}

fn corner(
    here: &Here,
    bout: BoutId,
    slot: Slot,
    robot: Option<RobotId>,
    changes_at: &mut Option<DateTime<Utc>>,
) -> CornerView {
    let mut view = CornerView {
        slot,
        robot,
        name: None,
        verdict: None,
        place: None,
        answer: None,
        forecast: None,
        likely: None,
        odds: None,
        held_up_by: None,
    };
    let Some((robot, file)) = robot.and_then(|id| Some((id, here.pit.robot(id)?))) else {
        return view;
    };
    let verdict = energy(file, here.pit.settings(), here.now);
    *changes_at = earliest(*changes_at, verdict.changes_at);
    view.name = Some(file.register.body.name.to_string());
    view.verdict = Some(verdict.value.verdict.into());
    view.place = file.state.place.as_ref().map(|sight| sight.value);
    // The forecast is for its next bout, which later ones of the same robot are not.
    if let Some(ready) = forecast::now_of(here, robot)
        && ready.value.call.bout == bout
    {
        *changes_at = earliest(*changes_at, ready.changes_at);
        view.forecast = Some(ready.value.forecast.into());
        view.likely = Some(ready.value.likely);
        view.odds = ready.value.odds;
        view.held_up_by = ready.value.held_up_by.as_ref().map(forecast::words);
        view.answer = ready.value.answer.map(|(answer, _)| answer);
    }
    view
}
