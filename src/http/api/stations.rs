//! `/api/v1/events/{event}/stations`: the queues of the event's stations.

use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::ids::{LineId, PersonId, RobotId};
use crate::pit::logbook::station::Station;
use crate::pit::logbook::work::{Outcome, ProofOf};
use crate::pit::stations::{Entry, Queue, queue};
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// A robot in the queue of a station.
#[derive(Debug, Serialize, ToSchema)]
pub struct WaitingView {
    /// Its place, from 1.
    place: usize,
    /// The robot.
    robot: RobotId,
    /// Its name.
    name: String,
    /// Number of its bench.
    bench: Option<i32>,
    /// When it asked.
    asked_at: DateTime<Utc>,
    /// It, its bottle or its packs are there.
    here: bool,
    /// When the station said that it is next.
    next_since: Option<DateTime<Utc>>,
    /// Since when it is being served.
    serving_since: Option<DateTime<Utc>>,
    /// When its service is likely to begin, or began.
    starts: DateTime<Utc>,
    /// When its service is likely to be over.
    ends: DateTime<Utc>,
}

/// The queue of a station.
#[derive(Debug, Serialize, ToSchema)]
pub struct QueueView {
    /// The station.
    station: Station,
    /// Whoever is served or waits, in order.
    waiting: Vec<WaitingView>,
    /// How many of today's services the estimates rest on; 0 where it is the library's minutes.
    measured: usize,
    /// When somebody who asks now is likely to be served.
    free_at: DateTime<Utc>,
}

/// Every station.
#[derive(Debug, Serialize, ToSchema)]
pub struct StationsView {
    /// Their queues.
    stations: Vec<QueueView>,
    /// The last line they know of.
    last_seq: i64,
    /// As of then.
    now: DateTime<Utc>,
}

/// A result of a robot.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProofView {
    /// What was proved.
    what: ProofOf,
    /// What came out.
    result: Outcome,
    /// The mass, for a weight.
    mass_g: Option<i32>,
    /// What was written with it.
    note: Option<String>,
    /// When.
    at: DateTime<Utc>,
    /// Who saw it.
    seen_by: Option<PersonId>,
    /// An official entered it, so it counts; otherwise it is what the team says.
    counts: bool,
    /// The line that says so.
    line: LineId,
}

/// The results of a robot.
#[derive(Debug, Serialize, ToSchema)]
pub struct ProofsView {
    /// The last result of each kind.
    proofs: Vec<ProofView>,
}

fn view(here: &Here, queue: &Queue) -> QueueView {
    QueueView {
        station: queue.station,
        waiting: queue
            .entries
            .iter()
            .map(|entry| waiting(here, entry))
            .collect(),
        measured: queue.measured,
        free_at: queue.free_at,
    }
}

fn waiting(here: &Here, entry: &Entry) -> WaitingView {
    let register = here.pit.robot(entry.robot).map(|file| &file.register.body);
    WaitingView {
        place: entry.place,
        robot: entry.robot,
        name: register.map_or_else(String::new, |robot| robot.name.to_string()),
        bench: register.and_then(|robot| robot.bench.map(|bench| bench.get())),
        asked_at: entry.visit.asked_at,
        here: entry.visit.here,
        next_since: entry.visit.next_since,
        serving_since: entry.visit.serving_since,
        starts: entry.starts,
        ends: entry.ends,
    }
}

/// Lists the stations with their queues
///
/// Who waits where is as open as where a robot is; what a station found is not here.
#[utoipa::path(
    operation_id = "list_stations", tag = "stations", security(("token" = [])),
    params(("event" = uuid::Uuid, Path, description = "The event.")),
    responses((status = 200, description = "The queues now.", body = StationsView)),
)]
#[get("/api/v1/events/{event}/stations")]
pub async fn list_stations(here: Here) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeTheHall)?;
    Ok(HttpResponse::Ok().json(StationsView {
        stations: Station::ALL
            .into_iter()
            .map(|station| view(&here, &queue(&here.pit, station, here.now)))
            .collect(),
        last_seq: here.pit.last_seq,
        now: here.now,
    }))
}

/// Shows the queue of a station
#[utoipa::path(
    operation_id = "get_station", tag = "stations", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("station" = Station, Path, description = "The station."),
    ),
    responses((status = 200, description = "The queue now.", body = QueueView)),
)]
#[get("/api/v1/events/{event}/stations/{station}")]
pub async fn get_station(
    here: Here,
    path: web::Path<(String, String)>,
) -> Result<HttpResponse, Problem> {
    here.signed.does(Action::SeeTheHall)?;
    let station = Station::named(&path.1).ok_or(AppError::Unknown)?;
    Ok(HttpResponse::Ok().json(view(&here, &queue(&here.pit, station, here.now))))
}

/// Lists what a robot was proved to be
///
/// An official's result counts; a team's own is told apart by `counts`.
#[utoipa::path(
    operation_id = "list_proofs", tag = "stations", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "The last result of each kind.", body = ProofsView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/proofs")]
pub async fn list_proofs(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    here.signed
        .sees_robot(Action::SeeStations, &here.pit, path.1)?;
    let file = here.pit.robot(path.1).ok_or(AppError::Unknown)?;
    let proofs = file
        .state
        .proofs
        .values()
        .map(|sight| ProofView {
            what: sight.value.what,
            result: sight.value.result,
            mass_g: sight.value.mass_g.map(|mass| mass.get()),
            note: sight.value.note.as_ref().map(ToString::to_string),
            at: sight.at,
            seen_by: sight.seen_by,
            counts: sight.entered_by.role.speaks_for_the_event(),
            line: sight.line,
        })
        .collect();
    Ok(HttpResponse::Ok().json(ProofsView { proofs }))
}
