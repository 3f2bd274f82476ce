//! `/api/v1/events/{event}/robots/{robot}/advice` and `.../durations`: what would help, and what is
//! learned of how long work takes.

use crate::app::{AppError, advice};
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::ids::RobotId;
use crate::pit::library::tasks::Skill;
use crate::pit::logbook::register::ThreePoint;
use crate::pit::logbook::work::ChainLink;
use crate::pit::tasks::advice::{Gain, Measure};
use crate::pit::tasks::lessons::{Lessons, Untaught};
use crate::pit::tasks::publish::last_plan;
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// One thing that could be different.
#[derive(Debug, Serialize, ToSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum MeasureView {
    /// One more person with this skill.
    Person {
        /// The skill.
        skill: Skill,
    },
    /// One more charger channel.
    Channel,
    /// A charged and matched set borrowed.
    BorrowedSet {
        /// For which robot.
        robot: RobotId,
    },
    /// Nobody else at the gas bay.
    GasBayFree,
    /// A repair left out; never a safety task.
    Without {
        /// Of which robot.
        robot: RobotId,
        /// Its id in the library.
        task: String,
        /// The area, for repairs done per area.
        instance: Option<String>,
    },
    /// Every call later.
    LaterCall {
        /// By so many seconds.
        by_s: i64,
    },
}

impl From<&Measure> for MeasureView {
    fn from(measure: &Measure) -> Self {
        match measure {
            Measure::Person(skill) => Self::Person { skill: *skill },
            Measure::Channel => Self::Channel,
            Measure::BorrowedSet(robot) => Self::BorrowedSet { robot: *robot },
            Measure::GasBayFree => Self::GasBayFree,
            Measure::Without {
                robot,
                task,
                instance,
            } => Self::Without {
                robot: *robot,
                task: task.clone(),
                instance: instance.clone(),
            },
            Measure::LaterCall(by) => Self::LaterCall {
                by_s: by.num_seconds(),
            },
        }
    }
}

/// What a measure gains for the robot.
#[derive(Debug, Serialize, ToSchema)]
pub struct GainView {
    /// What would be different.
    measure: MeasureView,
    /// By so many seconds the robot would likely be ready earlier; negative if later.
    sooner_s: i64,
    /// By the likely times the call would be met, and is not as things are.
    meets_call: bool,
    /// Chance of being ready by the call then, from 0 to 1.
    odds: Option<f64>,
    /// How much likelier that is than now.
    more: f64,
}

impl From<&Gain> for GainView {
    fn from(gain: &Gain) -> Self {
        Self {
            measure: (&gain.measure).into(),
            sooner_s: gain.sooner.num_seconds(),
            meets_call: gain.meets_call,
            odds: gain.odds,
            more: gain.more,
        }
    }
}

/// What would help a robot, and why it is ready when it is.
#[derive(Debug, Serialize, ToSchema)]
pub struct AdviceView {
    /// What would gain something, what gains most first.
    gains: Vec<GainView>,
    /// How many changes were tried.
    tried: usize,
    /// The tasks that decide when it is ready by the published plan, from the first to the last.
    chain: Vec<ChainLink>,
    /// Optional tasks that the published plan leaves out.
    left_out: Vec<String>,
    /// The last line that was counted with.
    after_seq: i64,
    /// As of then.
    at: DateTime<Utc>,
}

/// Shows what would help a robot
///
/// Each change is planned anew and replayed with the same fortune: one more person of each skill, a
/// further charger channel, a borrowed set, the gas bay free, each repair left out, a later call.
/// What gains nothing is not listed. 404 while there is nothing to plan for the robot.
#[utoipa::path(
    operation_id = "get_advice", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "What would help now.", body = AdviceView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/advice")]
pub async fn get_advice(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    let robot = path.1;
    here.signed.sees_robot(Action::SeeTeam, &here.pit, robot)?;
    let file = here.pit.robot(robot).ok_or(AppError::Unknown)?;
    let team = file.register.body.team;
    let advice = advice::asked(&here.event, team, here.now).await;
    let advice = advice.ok_or(AppError::Unknown)?;
    let gains = advice.robots.get(&robot).ok_or(AppError::Unknown)?;
    let planned = last_plan(&here.pit, team)
        .and_then(|plan| plan.robots.iter().find(|planned| planned.robot == robot));
    Ok(HttpResponse::Ok().json(AdviceView {
        gains: gains.iter().map(GainView::from).collect(),
        tried: advice.tried,
        chain: planned.map_or_else(Vec::new, |planned| planned.chain.clone()),
        left_out: planned.map_or_else(Vec::new, |planned| planned.left_out.clone()),
        after_seq: advice.after_seq,
        at: advice.at,
    }))
}

/// What is known of how long a task takes.
#[derive(Debug, Serialize, ToSchema)]
pub struct DurationView {
    /// Its id in the library.
    task: String,
    /// What it is called.
    name: String,
    /// The library's minutes.
    library: ThreePoint,
    /// The minutes plans count with, once something is learned: 2 %, 50 % and 98 % points.
    learned: Option<ThreePoint>,
    /// Not longer than this in eight cases of ten, once something is learned.
    eight_in_ten_min: Option<f64>,
    /// From how many times it is learned.
    used: u32,
    /// Times that teach nothing: nobody said when it began.
    not_timed: u32,
    /// Times that teach nothing: entered from memory, or after something else was begun.
    ticked_late: u32,
    /// Times that teach nothing: closed together with other tasks.
    closed_together: u32,
    /// Times that teach nothing: far from anything the task can take.
    implausible: u32,
}

/// What is learned from a team's work on one machine type.
#[derive(Debug, Serialize, ToSchema)]
pub struct DurationsView {
    /// Tasks that were ended at least once, by id.
    tasks: Vec<DurationView>,
    /// Turnarounds from which it is learned how much whole turnarounds differ.
    turnarounds: usize,
    /// Spread of the logarithm of the factor by which a whole turnaround is longer or shorter.
    day_spread: f64,
}

/// Lists what is learned of how long a robot's tasks take
///
/// Per team, machine type and task; robots of one type learn together.
#[utoipa::path(
    operation_id = "list_durations", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "What is learned.", body = DurationsView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/durations")]
pub async fn list_durations(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    let robot = path.1;
    here.signed.sees_robot(Action::SeeTeam, &here.pit, robot)?;
    let register = &here
        .pit
        .robot(robot)
        .ok_or(AppError::Unknown)?
        .register
        .body;
    let lessons = Lessons::of(&here.pit, register.team);
    Ok(HttpResponse::Ok().json(DurationsView {
        turnarounds: lessons.lists,
        day_spread: lessons.day_spread,
        tasks: lessons
            .tasks
            .iter()
            .filter(|((machine, _), _)| *machine == register.machine)
            .map(|((_, task), lesson)| {
                let unused = |why: Untaught| lesson.unused.get(&why).copied().unwrap_or(0);
                DurationView {
                    task: task.clone(),
                    name: lesson.name.clone(),
                    library: lesson.library,
                    learned: lesson.minutes(),
                    eight_in_ten_min: lesson.quantile(0.8),
                    used: lesson.used,
                    not_timed: unused(Untaught::NotTimed),
                    ticked_late: unused(Untaught::TickedLate),
                    closed_together: unused(Untaught::ClosedTogether),
                    implausible: unused(Untaught::Implausible),
                }
            })
            .collect(),
    }))
}
