//! What is known of a team's gas: bottles with the shots they have, supplies with fills left.

use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::gas::{self, BottleNow, SupplyNow};
use crate::pit::ids::{BottleId, TeamId};
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// A team's gas.
#[derive(Debug, Serialize, ToSchema)]
struct TeamGasView {
    /// Its bottles that are in use.
    bottles: Vec<BottleNow>,
    /// The supply cylinders it may fill from.
    supplies: Vec<SupplyNow>,
    /// The last line it knows of.
    last_seq: i64,
    /// As of then.
    now: DateTime<Utc>,
}

/// Shows a team's gas
///
/// What each bottle holds by its last weighing and may hold by its stamps, the shots it has as a
/// range, its pressure now, after the coming bout and when it warms; the fillings that supplies still
/// have. Advice: the event's rules, the gas bay's steward and licensed people come first.
#[utoipa::path(
    operation_id = "get_team_gas", tag = "teams", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("team" = uuid::Uuid, Path, description = "The team."),
    ),
    responses((status = 200, description = "Bottles and supplies.", body = TeamGasView)),
)]
#[get("/api/v1/events/{event}/teams/{team}/gas")]
pub async fn get_team_gas(
    here: Here,
    path: web::Path<(String, TeamId)>,
) -> Result<HttpResponse, Problem> {
    here.signed.sees(Action::SeeStations, Some(path.1))?;
    if !here.pit.teams.contains_key(&path.1) {
        return Err(AppError::Unknown.into());
    }
    let today = here.today();
    Ok(HttpResponse::Ok().json(TeamGasView {
        bottles: gas::bottles_of(&here.pit, path.1, today),
        supplies: gas::supplies_for(&here.pit, path.1, today),
        last_seq: here.pit.last_seq,
        now: here.now,
    }))
}

/// Shows what is in a bottle
///
/// The same for one bottle, with everything that was reported of it.
#[utoipa::path(
    operation_id = "get_bottle_gas", tag = "bottles", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("bottle" = uuid::Uuid, Path, description = "The bottle."),
    ),
    responses((status = 200, description = "The bottle as it stands.", body = BottleNow)),
)]
#[get("/api/v1/events/{event}/bottles/{bottle}/gas")]
pub async fn get_bottle_gas(
    here: Here,
    path: web::Path<(String, BottleId)>,
) -> Result<HttpResponse, Problem> {
    let known = here.pit.bottles.get(&path.1).ok_or(AppError::Unknown)?;
    here.signed
        .sees(Action::SeeStations, Some(known.body.team))?;
    let bottle = gas::bottle(&here.pit, path.1, here.today()).ok_or(AppError::Unknown)?;
    Ok(HttpResponse::Ok().json(bottle))
}
