//! `/api/v1/events/{event}/robots/{robot}/forecast`: will it be ready for its next bout?

use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::hazards::hazards;
use crate::pit::ids::{BoutId, RobotId};
use crate::pit::logbook::{bout::Answer, register::Slot};
use crate::pit::readiness::{Forecast, HoldUp, Readiness, RestsOn, readiness};
use crate::pit::state::View;
use crate::pit::tasks;
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// The word of a forecast.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ForecastWord {
    /// Nothing is left to do.
    Ready,
    /// There is time.
    OnCourse,
    /// There is little time, or the odds are poor.
    Tight,
    /// The call is missed, as things go.
    Late,
    /// Something stands that no planned task clears.
    OnHold,
    /// Its team entered nothing for long.
    NoWord,
}

impl From<Forecast> for ForecastWord {
    fn from(forecast: Forecast) -> Self {
        match forecast {
            Forecast::Ready => Self::Ready,
            Forecast::OnCourse => Self::OnCourse,
            Forecast::Tight => Self::Tight,
            Forecast::Late => Self::Late,
            Forecast::OnHold => Self::OnHold,
            Forecast::NoWord => Self::NoWord,
        }
    }
}

/// A forecast.
#[derive(Debug, Serialize, ToSchema)]
pub struct ForecastView {
    /// The bout it is for.
    bout: BoutId,
    /// When to be in the arena queue.
    call: DateTime<Utc>,
    /// What has to happen before it is this robot's bout; nothing, if it is certain.
    if_first: Option<Slot>,
    /// The forecast.
    forecast: ForecastWord,
    /// When somebody last reported; none: assumed from the library alone.
    reported_at: Option<DateTime<Utc>>,
    /// When it is likely to be reported in the arena queue.
    likely: DateTime<Utc>,
    /// From then to the call; negative if late.
    slack_s: i64,
    /// When it is by eight times in ten.
    eight_in_ten: Option<DateTime<Utc>>,
    /// Chance of being ready by the call, from 0 to 1.
    odds: Option<f64>,
    /// The first thing that holds it up, in words.
    held_up_by: Option<String>,
    /// The last answer to the call.
    answer: Option<Answer>,
    /// As of then.
    now: DateTime<Utc>,
    /// When it changes by time alone.
    changes_at: Option<DateTime<Utc>>,
}

/// The readiness of a robot for its next bout, if it has one.
pub fn now_of(here: &Here, robot: RobotId) -> Option<View<Readiness>> {
    let today = tasks::today(&here.pit, robot)?;
    let work = tasks::work(&here.pit, &today);
    let found = hazards(&here.pit, robot, &work, here.now);
    let view = readiness(&here.pit, robot, &today, &found.value, here.now)?;
    Some(view.or_at(found.changes_at))
}

/// What holds a robot up, in words.
pub fn words(hold_up: &HoldUp) -> String {
    match hold_up {
        HoldUp::Hazard { rule, title } => format!("{title} ({rule})"),
        HoldUp::Task { name, .. } => name.clone(),
        HoldUp::WillNotCome => "Will not be there".to_owned(),
    }
}

/// Shows a robot's forecast
///
/// For its team, and for those who see the board. 404 without a next bout.
#[utoipa::path(
    operation_id = "get_forecast", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "The forecast now.", body = ForecastView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/forecast")]
pub async fn get_forecast(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    let robot = path.1;
    here.signed
        .sees_robot(Action::SeeTeam, &here.pit, robot)
        .or_else(|_| here.signed.sees_robot(Action::SeeBoard, &here.pit, robot))?;
    let View { value, changes_at } = now_of(&here, robot).ok_or(AppError::Unknown)?;
    Ok(HttpResponse::Ok().json(ForecastView {
        bout: value.call.bout,
        call: value.call.at,
        if_first: value.if_first,
        forecast: value.forecast.into(),
        reported_at: match value.rests_on {
            RestsOn::Reported(at) => Some(at),
            RestsOn::Assumed => None,
        },
        likely: value.likely,
        slack_s: value.slack.num_seconds(),
        eight_in_ten: value.eight_in_ten,
        odds: value.odds,
        held_up_by: value.held_up_by.as_ref().map(words),
        answer: value.answer.map(|(answer, _)| answer),
        now: here.now,
        changes_at,
    }))
}
