//! Cards to join with.

use crate::app::sessions::CodeFor;
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields};
use crate::http::pages::reader::{Place, Reader, capital};
use crate::http::pages::register::card::{JoinCard, draw_qr, join_card};
use crate::http::pages::register::entry;
use crate::http::signed::Here;
use crate::pit::ids::TeamId;
use crate::pit::logbook::Role;
use actix_web::{HttpRequest, HttpResponse, web};
use chrono::TimeDelta;

/// How long a card lets people in: the event with the days around it.
const CARD_DAYS: i64 = 4;

/// `POST /e/{event}/register/codes`: a card for a team or a role. The code is shown this once and
/// kept only as a hash, so the answer is the card itself and not the way to it.
pub async fn card(
    request: HttpRequest,
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let team: Option<TeamId> = fields.id("team");
    here.signed
        .sees(Right::MakeJoinCode, team.or(here.signed.team))?;
    let role = fields
        .get("role")
        .and_then(Role::named)
        .filter(|role| {
            here.signed.role == Role::Organiser || matches!(role, Role::Crew | Role::Lead)
        })
        .ok_or_else(|| AppError::malformed("/role", "For whom?"))?;
    let team = match role {
        Role::Crew | Role::Lead => Some(
            team.or(here.signed.team)
                .ok_or_else(|| AppError::malformed("/team", "For which team?"))?,
        ),
        _ => None,
    };
    let code = app
        .sessions
        .make_code(
            here.signed.account,
            CodeFor {
                event: here.event.id(),
                team,
                role,
                expires_at: here.now + TimeDelta::days(CARD_DAYS),
                uses: None,
            },
        )
        .await?;
    let connection = request.connection_info().clone();
    let host = format!("{}://{}", connection.scheme(), connection.host());
    let of = team
        .and_then(|team| reader.pit.teams.get(&team))
        .map_or_else(
            || capital(role.as_str()),
            |team| format!("{}, {}", team.body.name, role.as_str()),
        );
    let card = JoinCard {
        event: entry::event_name(&reader),
        of,
        qr: draw_qr(&format!("{host}/join/{code}"))
            .map_err(|error| AppError::bug(error.to_string()))?,
        code,
        url: format!("{host}/join"),
        back: format!("{}/register", reader.base),
    };
    Ok(form::page(join_card(&reader.frame(Place::Register), &card)))
}
