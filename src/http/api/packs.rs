//! What is known of a team's packs and sets: where, how full, how healthy, when ready, and why.

mod view;

use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::ids::{PackId, SetId, TeamId};
use crate::pit::packs::{PackNow, Packs};
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use view::{PackView, SetView};

/// A team's packs.
#[derive(Debug, Serialize, ToSchema)]
struct TeamPacksView {
    /// Its packs in use, and those retired while on charge or suspect.
    packs: Vec<PackView>,
    /// Its sets in use.
    sets: Vec<SetView>,
    /// The last line it knows of.
    last_seq: i64,
    /// As of then.
    now: DateTime<Utc>,
}

/// Shows a team's packs and sets
///
/// Where each pack is, what it holds as an interval and what that rests on, how healthy it is and
/// why, when its charge is likely to be over; and of each set whether its packs match, whether it
/// serves the next bout, and what it gives the robot's parts. Estimates: the event's rules and the
/// fire lead come first.
#[utoipa::path(
    operation_id = "get_team_packs", tag = "teams", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("team" = uuid::Uuid, Path, description = "The team."),
    ),
    responses((status = 200, description = "Packs and sets.", body = TeamPacksView)),
)]
#[get("/api/v1/events/{event}/teams/{team}/packs")]
pub async fn get_team_packs(
    here: Here,
    path: web::Path<(String, TeamId)>,
) -> Result<HttpResponse, Problem> {
    here.signed.sees(Action::SeeStations, Some(path.1))?;
    if !here.pit.teams.contains_key(&path.1) {
        return Err(AppError::Unknown.into());
    }
    let packs = Packs::of(&here.pit, path.1, here.now);
    Ok(HttpResponse::Ok().json(TeamPacksView {
        packs: packs
            .packs
            .iter()
            .map(|(id, pack)| PackView::of(*id, pack))
            .collect(),
        sets: packs
            .sets
            .iter()
            .map(|(id, set)| SetView::of(*id, set, &packs, &here.pit))
            .collect(),
        last_seq: here.pit.last_seq,
        now: here.now,
    }))
}

/// Shows how a pack is
///
/// The same for one pack, retired or not, with the lines that say it.
#[utoipa::path(
    operation_id = "get_pack_state", tag = "packs", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("pack" = uuid::Uuid, Path, description = "The pack."),
    ),
    responses((status = 200, description = "The pack as it stands.", body = PackView)),
)]
#[get("/api/v1/events/{event}/packs/{pack}/state")]
pub async fn get_pack_state(
    here: Here,
    path: web::Path<(String, PackId)>,
) -> Result<HttpResponse, Problem> {
    let known = here.pit.packs.get(&path.1).ok_or(AppError::Unknown)?;
    here.signed
        .sees(Action::SeeStations, Some(known.body.team))?;
    let pack = PackNow::at(&here.pit, path.1, here.now).ok_or(AppError::Unknown)?;
    Ok(HttpResponse::Ok().json(PackView::of(path.1, &pack)))
}

/// Shows how a set is
///
/// The same for one set.
#[utoipa::path(
    operation_id = "get_set_state", tag = "sets", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("set" = uuid::Uuid, Path, description = "The set."),
    ),
    responses((status = 200, description = "The set as it stands.", body = SetView)),
)]
#[get("/api/v1/events/{event}/sets/{set}/state")]
pub async fn get_set_state(
    here: Here,
    path: web::Path<(String, SetId)>,
) -> Result<HttpResponse, Problem> {
    let known = here.pit.sets.get(&path.1).ok_or(AppError::Unknown)?;
    let team = known.body.team;
    here.signed.sees(Action::SeeStations, Some(team))?;
    let packs = Packs::of(&here.pit, team, here.now);
    let set = packs.sets.get(&path.1).ok_or(AppError::Unknown)?;
    Ok(HttpResponse::Ok().json(SetView::of(path.1, set, &packs, &here.pit)))
}
