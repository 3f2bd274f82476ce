//! `/api/v1/events/{event}/board`: the running order with what holds each robot up.

use super::robots::{VerdictView, work_now};
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::energy::energy;
use crate::pit::hazards::{Severity, everyone_stop, hazards};
use crate::pit::ids::{BoutId, RobotId};
use crate::pit::logbook::{Body, bout::Answer, machine::Place, register::Slot};
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
    /// When it is likely to be in the queue, by its published plan.
    likely: Option<DateTime<Utc>>,
    /// Chance of being there by the call, from 0 to 1, by its published plan.
    odds: Option<f64>,
    /// The worst that holds it up.
    held_by: Option<HeldBy>,
}

/// What holds a robot up.
#[derive(Debug, Serialize, ToSchema)]
pub struct HeldBy {
    /// The rule behind it.
    rule: &'static str,
    /// How bad it is.
    severity: Severity,
    /// What is so.
    why: String,
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
        likely: None,
        odds: None,
        held_by: None,
    };
    let Some((robot, file)) = robot.and_then(|id| Some((id, here.pit.robot(id)?))) else {
        return view;
    };
    let verdict = energy(file, here.pit.settings(), here.now);
    let found = hazards(&here.pit, robot, &work_now(here, robot), here.now);
    *changes_at = [verdict.changes_at, found.changes_at]
        .into_iter()
        .fold(*changes_at, earliest);
    view.name = Some(file.register.body.name.to_string());
    view.verdict = Some(verdict.value.verdict.into());
    view.place = file.state.place.as_ref().map(|sight| sight.value);
    view.answer = file
        .state
        .answer
        .as_ref()
        .filter(|(to, _)| to.is_none_or(|to| to == bout))
        .map(|(_, sight)| sight.value);
    view.held_by = found
        .value
        .iter()
        .find(|hazard| hazard.holds())
        .map(|hazard| HeldBy {
            rule: hazard.rule,
            severity: hazard.severity(),
            why: hazard.finding.why.clone(),
        });
    if let Some(line) = here.pit.plans.get(&file.register.body.team)
        && let Body::Planned(plan) = &line.body
        && let Some(planned) = plan.robots.iter().find(|planned| {
            planned.robot == robot && planned.call.is_some_and(|call| call.bout == bout)
        })
    {
        view.likely = Some(planned.likely);
        view.odds = planned.odds;
    }
    view
}
