//! `/api/v1/events/{event}/robots/{robot}/clearance`: may this machine be armed here, now?

use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::clearance::{
    Against, Answer, Ground, GroundOf, Standing, answer, place_asked, standing,
};
use crate::pit::hazards::hazards;
use crate::pit::ids::{PersonId, RobotId};
use crate::pit::logbook::hall::ArmedAt;
use crate::pit::state::View;
use crate::pit::tasks;
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// Where it is asked for.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct AskedFor {
    /// Where the machine would be armed; where it stands or was asked for if not given.
    place: Option<ArmedAt>,
}

/// What a clearance is worth now.
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum StandingView {
    /// Nobody asked.
    NotAsked,
    /// Asked, and no marshal has answered.
    Asked,
    /// A marshal looked, and nothing speaks against it. A word, never a permit.
    Confirmed,
    /// A marshal said not yet.
    Refused,
    /// A marshal confirmed it, and a ground has changed since, or something speaks against it.
    Void,
}

/// Something that a clearance rests on.
#[derive(Debug, Serialize, ToSchema)]
pub struct GroundView {
    /// What is so.
    #[schema(example = "link out")]
    what: String,
    /// Who said so.
    by: Option<PersonId>,
    /// When.
    at: Option<DateTime<Utc>>,
}

/// May this machine be armed here, now? Advice to the marshal; the event's rules decide.
#[derive(Debug, Serialize, ToSchema)]
pub struct ClearanceView {
    /// Where.
    place: ArmedAt,
    /// What it is worth.
    standing: StandingView,
    /// Who asked, answered, or changed a ground last.
    said_by: Option<PersonId>,
    /// When.
    said_at: Option<DateTime<Utc>>,
    /// What is so.
    grounds: Vec<GroundView>,
    /// What speaks against it; empty if nothing does.
    #[schema(example = json!(["nobody said: Hatch shut, covers on"]))]
    against: Vec<String>,
    /// It is being armed, or armed.
    arming: bool,
    /// Now.
    now: DateTime<Utc>,
    /// The earliest moment at which it changes although nobody enters anything.
    changes_at: Option<DateTime<Utc>>,
}

/// Says whether a robot may be armed
#[utoipa::path(
    operation_id = "get_clearance", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
        AskedFor,
    ),
    responses((status = 200, description = "What it rests on, and what speaks against it.", body = ClearanceView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/clearance")]
pub async fn get_clearance(
    here: Here,
    path: web::Path<(String, RobotId)>,
    asked: web::Query<AskedFor>,
) -> Result<HttpResponse, Problem> {
    let robot = path.1;
    here.signed
        .sees_robot(Action::SeeSafety, &here.pit, robot)?;
    let file = here.pit.robot(robot).ok_or(AppError::Unknown)?;
    let place = asked
        .place
        .or_else(|| place_asked(&here.pit, robot))
        .unwrap_or(ArmedAt::Arena);
    let today = tasks::today(&here.pit, robot).ok_or(AppError::Unknown)?;
    let work = tasks::work(&here.pit, &today);
    let found = hazards(&here.pit, robot, &work, here.now);
    let View { value, changes_at } =
        answer(&here.pit, &today, &work, &found.value, place, here.now)
            .ok_or(AppError::Unknown)?
            .or_at(found.changes_at);
    let (worth, said_by, said_at) = worth(&standing(file.state.clearance.as_ref(), &value));
    let Answer {
        place,
        grounds,
        against,
        arming,
    } = value;
    Ok(HttpResponse::Ok().json(ClearanceView {
        place,
        standing: worth,
        said_by,
        said_at,
        grounds: grounds.iter().map(ground).collect(),
        against: against.iter().map(Against::words).collect(),
        arming,
        now: here.now,
        changes_at,
    }))
}

fn worth(standing: &Standing) -> (StandingView, Option<PersonId>, Option<DateTime<Utc>>) {
    match standing {
        Standing::NotAsked => (StandingView::NotAsked, None, None),
        Standing::Asked(said) => (StandingView::Asked, said.seen_by, Some(said.at)),
        Standing::Confirmed(said) => (StandingView::Confirmed, said.seen_by, Some(said.at)),
        Standing::Refused(said) => (StandingView::Refused, said.seen_by, Some(said.at)),
        Standing::Changed(said) => (StandingView::Void, said.seen_by, Some(said.at)),
        Standing::Against(said) => (StandingView::Void, said.seen_by, Some(said.at)),
    }
}

fn ground(ground: &Ground) -> GroundView {
    let what = match ground.what {
        GroundOf::Stands(_) => "it stands where it waits to be armed".to_owned(),
        GroundOf::Called(_) => "a bout waits for it".to_owned(),
        GroundOf::Isolated(source) => format!("{} isolated", source.as_str().replace('_', " ")),
        GroundOf::LinkInHand => "link in a known hand".to_owned(),
        GroundOf::PlanReadBack(version) => format!("link plan {version} whole and read back"),
        GroundOf::Driver => "driver named".to_owned(),
        GroundOf::DepartureChecked => "departure check whole".to_owned(),
        GroundOf::NothingHolds => "no hazard stops or holds it".to_owned(),
        GroundOf::AreaClear => "no other machine live in the area".to_owned(),
    };
    GroundView {
        what,
        by: ground.by,
        at: ground.at,
    }
}
