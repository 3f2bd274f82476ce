//! The addresses of gas.

use super::{bottle_page, page, view};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{BottleId, TeamId};
use actix_web::{HttpResponse, web};
use serde::Deserialize;

/// Which team, for those who see several.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Which {
    team: Option<TeamId>,
}

/// A bottle.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfBottle {
    bottle: BottleId,
}

/// `GET /e/{event}/gas`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let view = match which.team.or(here.signed.team) {
        Some(team) => {
            here.signed.sees(Right::SeeStations, Some(team))?;
            view::of_team(&reader, team).ok_or(AppError::Unknown)?
        }
        None => {
            // No team of their own: those who see every team's, or nobody's.
            here.signed.sees(Right::SeeStations, None)?;
            view::teams(&reader)
        }
    };
    Ok(form::page(page(&reader.frame(Place::Team), &view)))
}

/// `GET /e/{event}/gas/{bottle}`.
pub async fn bottle(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfBottle>,
) -> Result<HttpResponse, Problem> {
    let known = here.pit.bottles.get(&of.bottle).ok_or(AppError::Unknown)?;
    here.signed
        .sees(Right::SeeStations, Some(known.body.team))?;
    let reader = Reader::of(&here, &app).await?;
    let view = view::of_bottle(&reader, of.bottle).ok_or(AppError::Unknown)?;
    Ok(form::page(bottle_page(&reader.frame(Place::Team), &view)))
}
