//! `/api/v1/events/{event}/teams/{team}/spares`: what there is and whether it lasts the day.

use crate::app::{AppError, spares};
use crate::auth::Action;
use crate::calc::spares::{BuyNowOutput, FailureRateOutput, SparesForecastOutput};
use crate::http::{Problem, signed::Here};
use crate::pit::ids::{PartTypeId, TeamId};
use crate::pit::logbook::stock::SpareState;
use crate::pit::stock::{BoxDay, table};
use actix_web::{HttpResponse, get, http::header, web};
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// The spares of a type.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShelfView {
    /// The part type.
    part: PartTypeId,
    /// What people call it.
    label: String,
    /// How many there are of each state.
    units: BTreeMap<&'static str, i32>,
    /// Those one can rely on.
    ready_units: i32,
    /// Open repairs that will take one.
    pending_units: u32,
    /// Used although by what was entered there was none left.
    unaccounted_units: i32,
    /// Failures here: swaps.
    failures: u32,
    /// Fitted units times bouts watched here.
    unit_bouts: f64,
    /// How often it fails, with its interval.
    rate: FailureRateOutput,
    /// Chance that the spares are enough for the rest of the day; none if it sits on no robot.
    enough_probability: Option<f64>,
}

/// A team's spares.
#[derive(Debug, Serialize, ToSchema)]
pub struct SparesView {
    /// The part types, most likely to run out first.
    parts: Vec<ShelfView>,
    /// The whole box; none if no part sits on a robot.
    forecast: Option<SparesForecastOutput>,
    /// What one more of each would add.
    one_more: Option<BuyNowOutput>,
}

async fn worked_out(here: &Here, team: TeamId) -> Result<BoxDay, AppError> {
    here.signed.sees(Action::SeeTeam, Some(team))?;
    spares::of_team(&here.pit, team, here.now).await
}

/// Forecasts a team's spares
///
/// Counts are the sum of the lines `stock` and `part`. Untested, lent and broken spares count for
/// nothing in the odds.
#[utoipa::path(
    operation_id = "get_spares", tag = "register", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("team" = uuid::Uuid, Path, description = "The team."),
    ),
    responses((status = 200, description = "The box, and whether it lasts the day.", body = SparesView)),
)]
#[get("/api/v1/events/{event}/teams/{team}/spares")]
pub async fn get_spares(
    here: Here,
    path: web::Path<(String, TeamId)>,
) -> Result<HttpResponse, Problem> {
    let day = worked_out(&here, path.1).await?;
    let parts = day
        .parts
        .iter()
        .map(|one| ShelfView {
            part: one.id,
            label: one.part.label.to_string(),
            units: SpareState::ALL
                .into_iter()
                .filter(|state| one.shelf.of(*state) != 0)
                .map(|state| (state.as_str(), one.shelf.of(state)))
                .collect(),
            ready_units: one.shelf.ready(),
            pending_units: one.pending,
            unaccounted_units: one.shelf.unaccounted,
            failures: one.shelf.failed(),
            unit_bouts: one.unit_bouts,
            rate: one.rate.clone(),
            enough_probability: day.enough(one),
        })
        .collect();
    Ok(HttpResponse::Ok().json(SparesView {
        parts,
        forecast: day.forecast,
        one_more: day.gains,
    }))
}

/// Downloads a team's spares
///
/// The part types as comma-separated values (RFC 4180), with what is ready and how long it lasts.
/// The page of the same name reads such a table back.
#[utoipa::path(
    operation_id = "get_spares_csv", tag = "register", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("team" = uuid::Uuid, Path, description = "The team."),
    ),
    responses((status = 200, description = "The box now.", body = String, content_type = "text/csv")),
)]
#[get("/api/v1/events/{event}/teams/{team}/spares.csv")]
pub async fn get_spares_csv(
    here: Here,
    path: web::Path<(String, TeamId)>,
) -> Result<HttpResponse, Problem> {
    let day = worked_out(&here, path.1).await?;
    Ok(HttpResponse::Ok()
        .content_type("text/csv; charset=utf-8; header=present")
        .insert_header((
            header::CONTENT_DISPOSITION,
            "attachment; filename=\"spares.csv\"",
        ))
        .body(table::write(&here.pit, &day)))
}
