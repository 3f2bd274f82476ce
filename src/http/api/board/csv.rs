//! `/api/v1/events/{event}/board.csv`: everything on the board as a table.

use super::super::forecast;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::board::{Board, Corner};
use crate::pit::csv::{self, Cell};
use crate::pit::energy::Verdict;
use crate::pit::logbook::register::Slot;
use crate::pit::readiness::RestsOn;
use crate::pit::state::Pit;
use crate::pit::state::running_order::{BoutNow, Progress};
use actix_web::{HttpResponse, get, http::header};
use chrono::{DateTime, SecondsFormat, Utc};
use serde_json::json;

const OF_BOUT: [&str; 9] = [
    "bout",
    "call",
    "moved_from",
    "state",
    "called_at",
    "winner",
    "expected_start",
    "expected_end",
    "idle_before_min",
];
const OF_ROBOT: [&str; 15] = [
    "name",
    "bench",
    "verdict",
    "place",
    "forecast",
    "reported_at",
    "likely",
    "eight_in_ten",
    "odds",
    "slack_min",
    "held_up_by",
    "hazards",
    "answer",
    "skipped",
    "postponements_used",
];

/// Downloads the board
///
/// Everything on the board as comma-separated values (RFC 4180), one row a bout, the columns of the
/// second robot after those of the first. Times are in UTC. Text that a spreadsheet would take for
/// a formula begins with an apostrophe.
#[utoipa::path(
    operation_id = "get_board_csv", tag = "hall", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "The board now.", body = String, content_type = "text/csv",
        example = json!("bout,call,moved_from,state\r\n17,2027-01-15T14:40:00Z,,waiting\r\n"))),
)]
#[get("/api/v1/events/{event}/board.csv")]
pub async fn get_board_csv(here: Here) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeBoard)?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8; header=present")
        .insert_header((
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"board.csv\"",
        ))
        .body(table(&here.pit, here.now)))
}

/// The board as a table.
fn table(pit: &Pit, now: DateTime<Utc>) -> String {
    let of_robot = |n: u8| OF_ROBOT.map(|name| format!("robot_{n}_{name}"));
    let head: Vec<String> = OF_BOUT
        .map(str::to_owned)
        .into_iter()
        .chain(of_robot(1))
        .chain(of_robot(2))
        .collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let board = Board::of(pit, now).value;
    let rows: Vec<Vec<Cell>> = pit
        .running_order()
        .iter()
        .map(|bout| row(&board, bout))
        .collect();
    csv::write(&head, &rows)
}

fn time(at: Option<DateTime<Utc>>) -> Cell {
    Cell::value(at.map(|at| at.to_rfc3339_opts(SecondsFormat::Secs, true)))
}

fn row(board: &Board<'_>, bout: &BoutNow) -> Vec<Cell> {
    let expected = board.expected(bout.id);
    let state = match bout.progress {
        Progress::Waiting => "waiting",
        Progress::Started(_) => "started",
        Progress::Ended(_) => "ended",
    };
    let winner = bout.winner.and_then(|winner| board.pit.robot(winner));
    let mut cells = vec![
        Cell::value(Some(bout.number)),
        time(Some(bout.call)),
        time(bout.moved_from.map(|(from, _)| from)),
        Cell::text(state),
        time(bout.called_at),
        winner.map_or(Cell::Empty, |file| {
            Cell::text(file.register.body.name.to_string())
        }),
        time(expected.map(|expected| expected.start)),
        time(expected.map(|expected| expected.end)),
        Cell::value(expected.map(|expected| expected.idle.num_minutes())),
    ];
    for corner in board.corners(bout) {
        cells.extend(robot(board, corner));
    }
    cells
}

fn robot(board: &Board<'_>, corner: Corner<'_>) -> [Cell; OF_ROBOT.len()] {
    let body = corner
        .robot
        .and_then(|robot| board.pit.robot(robot))
        .map(|file| &file.register.body);
    let (on_board, ready) = (corner.on_board, corner.ready);
    let word = |value: Option<serde_json::Value>| match value {
        Some(serde_json::Value::String(word)) => Cell::text(word.replace('_', " ")),
        Some(serde_json::Value::Object(need)) => {
            let words = need
                .iter()
                .map(|(name, minutes)| format!("{name} {minutes}"));
            Cell::text(words.collect::<String>())
        }
        _ => Cell::Empty,
    };
    let text = |text: Option<String>| text.map_or(Cell::Empty, Cell::text);
    [
        Cell::text(body.map_or_else(
            || open(board.pit, corner.slot),
            |body| body.name.to_string(),
        )),
        Cell::value(body.and_then(|body| body.bench).map(|bench| bench.get())),
        text(on_board.map(|robot| {
            match robot.verdict {
                Verdict::MadeSafe => "made safe",
                Verdict::Unproved => "unproved",
                Verdict::Live => "live",
                Verdict::LiveInArena => "live, in arena",
            }
            .to_owned()
        })),
        word(
            on_board
                .and_then(|robot| robot.place)
                .map(|place| json!(place)),
        ),
        text(ready.map(|ready| ready.forecast.words().to_owned())),
        time(ready.and_then(|ready| match ready.rests_on {
            RestsOn::Reported(at) => Some(at),
            RestsOn::Assumed => None,
        })),
        time(ready.map(|ready| ready.likely)),
        time(ready.and_then(|ready| ready.eight_in_ten)),
        Cell::value(ready.and_then(|ready| ready.odds)),
        Cell::value(ready.map(|ready| ready.slack.num_minutes())),
        text(ready.and_then(|ready| ready.held_up_by.as_ref().map(forecast::words))),
        text(on_board.map(|robot| {
            let titles: Vec<&str> = robot.hazards.iter().map(|hazard| hazard.title).collect();
            titles.join("; ")
        })),
        word(ready.and_then(|ready| ready.answer.map(|(answer, _)| json!(answer)))),
        text(on_board.map(|robot| robot.skipped.join("; "))),
        Cell::value(on_board.map(|robot| robot.postponed)),
    ]
}

/// Who an open corner waits for.
fn open(pit: &Pit, slot: Slot) -> String {
    let number = |bout| {
        pit.bouts
            .get(&bout)
            .map_or(0, |bout| bout.body.number.get())
    };
    match slot {
        Slot::Robot(_) => String::new(),
        Slot::Winner(of) => format!("winner of {}", number(of)),
        Slot::Loser(of) => format!("loser of {}", number(of)),
    }
}
