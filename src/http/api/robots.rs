//! `/api/v1/events/{event}/robots/{robot}/…`: what follows from what is known of a robot.

use crate::app::AppError;
use crate::auth::Action;
use crate::http::{Problem, signed::Here};
use crate::pit::energy::{Energy, Verdict, energy};
use crate::pit::exposure::WorkNow;
use crate::pit::hazards::{Hazard, Severity, Word, hazards};
use crate::pit::ids::{LineId, PersonId, RobotId};
use crate::pit::link_plan::{elsewhere, gaps};
use crate::pit::logbook::{
    Body, How,
    link_plan::Plan,
    machine::Place,
    work::{PlannedRobot, PlannedTask},
};
use crate::pit::state::View;
use crate::pit::tasks;
use actix_web::{HttpResponse, get, web};
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// May somebody put their hands in?
#[derive(Debug, Clone, Copy, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum VerdictView {
    /// Every source seen isolated, by a named person, recently enough, nobody contradicting.
    MadeSafe,
    /// Unknown, too old, or two accounts disagree: treat as live.
    Unproved,
    /// In the arena during a bout, where it is meant to be live.
    LiveInArena,
    /// Some source was reported live.
    Live,
}

impl From<Verdict> for VerdictView {
    fn from(verdict: Verdict) -> Self {
        match verdict {
            Verdict::MadeSafe => Self::MadeSafe,
            Verdict::Unproved => Self::Unproved,
            Verdict::LiveInArena => Self::LiveInArena,
            Verdict::Live => Self::Live,
        }
    }
}

/// One source of energy, and who says what about it.
#[derive(Debug, Serialize, ToSchema)]
pub struct SourceView {
    /// `link`, `gas`, `weapon_bar`, `transmitter`, `second_transmitter` or `stored`.
    #[schema(example = "link")]
    source: &'static str,
    /// `isolated`, `stale`, `disputed`, `unknown` or `live`; all but the first count as live.
    #[schema(example = "isolated")]
    standing: &'static str,
    /// It is out of the machine.
    removed: bool,
    /// Done or seen.
    how: Option<How>,
    /// Who saw it.
    seen_by: Option<PersonId>,
    /// When.
    seen_at: Option<DateTime<Utc>>,
    /// The line that says so.
    line: Option<LineId>,
    /// When it goes stale, if it is good now.
    good_until: Option<DateTime<Utc>>,
}

/// The verdict on a robot's energy.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnergyView {
    /// The verdict.
    verdict: VerdictView,
    /// Where the robot is, as far as anybody said.
    place: Option<Place>,
    /// What it rests on; not for another team's robot.
    sources: Vec<SourceView>,
    /// The verdict as of then.
    now: DateTime<Utc>,
    /// When it changes by time alone: show it as unproved from then on.
    changes_at: Option<DateTime<Utc>>,
}

/// A hazard.
#[derive(Debug, Serialize, ToSchema)]
pub struct HazardView {
    /// The rule behind it, or `danger` where somebody raised the alarm.
    #[schema(example = "H02")]
    rule: &'static str,
    /// How bad it is.
    severity: Severity,
    /// What it is called.
    title: &'static str,
    /// What is so.
    why: String,
    /// What to do.
    advise: &'static str,
    /// What clears it.
    clears_when: &'static str,
    /// Since when.
    since: DateTime<Utc>,
    /// Whom it concerns first.
    people: Vec<PersonId>,
    /// Who has it open.
    seen_by: Vec<PersonId>,
    /// Who says that it is over, although it is not by the lines, or another has to look.
    cleared_by: Vec<PersonId>,
    /// It was said to be over, or accepted, before.
    reopened: bool,
    /// The lead took it on with this reason.
    accepted: Option<String>,
    /// Keeps the robot where it is, with no planned task that clears it.
    holds: bool,
}

/// Hazards of a robot, worst first.
#[derive(Debug, Serialize, ToSchema)]
pub struct HazardsView {
    /// The hazards; of another team's robot only what has to stop now.
    hazards: Vec<HazardView>,
    /// As of then.
    now: DateTime<Utc>,
    /// When they change by time alone.
    changes_at: Option<DateTime<Utc>>,
}

/// A robot's part of its team's published plan.
#[derive(Debug, Serialize, ToSchema)]
pub struct PlanView {
    /// Place of the line that published it.
    #[schema(minimum = 1)]
    seq: i64,
    /// When it was published.
    published_at: DateTime<Utc>,
    /// The robot: call, likely finish, odds.
    robot: PlannedRobot,
    /// Its tasks.
    tasks: Vec<PlannedTask>,
    /// No better plan exists for these durations.
    proven: bool,
}

/// Somebody who read a link plan back.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReadBackView {
    /// Who.
    person: PersonId,
    /// When last.
    at: DateTime<Utc>,
}

/// A link plan in force.
#[derive(Debug, Serialize, ToSchema)]
pub struct LinkPlanView {
    /// Its version; 0 while there is none.
    version: u32,
    /// The plan.
    plan: Option<Plan>,
    /// When it was saved.
    saved_at: Option<DateTime<Utc>>,
    /// Who saved it.
    saved_by: Option<PersonId>,
    /// Who read this version back.
    read_back: Vec<ReadBackView>,
    /// How many gaps stand between it and relying on it.
    gaps: usize,
    /// How many of them forbid arming.
    forbid_arming: usize,
    /// The gaps, those that forbid arming first.
    missing: Vec<GapView>,
}

/// Something that stands between a link plan and relying on it.
#[derive(Debug, Serialize, ToSchema)]
pub struct GapView {
    /// Why it is one.
    #[schema(example = "The link plan is not read back by who takes the link out")]
    why: String,
    /// Whom it concerns.
    person: Option<PersonId>,
    /// No robot is called ready to arm with it.
    forbids_arming: bool,
}

/// Shows a robot's energy verdict
///
/// Anybody may see the verdict of any robot; what it rests on is for its team and those who answer
/// for safety.
#[utoipa::path(
    operation_id = "get_energy", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "The verdict now.", body = EnergyView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/energy")]
pub async fn get_energy(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    here.signed
        .sees_robot(Action::SeeTheHall, &here.pit, path.1)?;
    let whole = here
        .signed
        .sees_robot(Action::SeeSafety, &here.pit, path.1)
        .is_ok();
    let file = here.pit.robot(path.1).ok_or(AppError::Unknown)?;
    let View { value, changes_at } = energy(file, here.pit.settings(), here.now);
    Ok(HttpResponse::Ok().json(EnergyView {
        verdict: value.verdict.into(),
        place: file.state.place.as_ref().map(|sight| sight.value),
        sources: if whole { sources(&value) } else { Vec::new() },
        now: here.now,
        changes_at,
    }))
}

fn sources(energy: &Energy) -> Vec<SourceView> {
    energy
        .sources
        .iter()
        .map(|source| SourceView {
            source: source.source.as_str(),
            standing: source.standing.as_str(),
            removed: source.removed,
            how: source.how,
            seen_by: source.seen_by,
            seen_at: source.seen_at,
            line: source.line,
            good_until: source.good_until,
        })
        .collect()
}

/// What the work on a robot says to its hazards.
fn work_now(here: &Here, robot: RobotId) -> WorkNow {
    tasks::today(&here.pit, robot)
        .map(|today| tasks::work(&here.pit, &today))
        .unwrap_or_default()
}

/// Lists a robot's hazards
#[utoipa::path(
    operation_id = "list_hazards", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "The hazards now, worst first.", body = HazardsView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/hazards")]
pub async fn list_hazards(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    let robot = path.1;
    here.signed
        .sees_robot(Action::SeeTheHall, &here.pit, robot)?;
    let all = here
        .signed
        .sees_robot(Action::SeeSafety, &here.pit, robot)
        .is_ok();
    let found = hazards(&here.pit, robot, &work_now(&here, robot), here.now);
    Ok(HttpResponse::Ok().json(HazardsView {
        hazards: found
            .value
            .iter()
            .filter(|hazard| all || hazard.severity() == Severity::StopNow)
            .map(hazard_view)
            .collect(),
        now: here.now,
        changes_at: found.changes_at,
    }))
}

fn said(words: &[Word]) -> Vec<PersonId> {
    words.iter().map(|word| word.who).collect()
}

fn hazard_view(hazard: &Hazard) -> HazardView {
    HazardView {
        rule: hazard.rule,
        severity: hazard.severity(),
        title: hazard.title,
        why: hazard.finding.why.clone(),
        advise: hazard.advise,
        clears_when: hazard.clears_when,
        since: hazard.finding.since,
        people: hazard.finding.people.clone(),
        seen_by: said(&hazard.life.seen_by),
        cleared_by: said(&hazard.life.cleared_by),
        reopened: hazard.life.reopened,
        accepted: hazard
            .life
            .accepted
            .as_ref()
            .map(|(_, because)| because.clone()),
        holds: hazard.holds(),
    }
}

/// Shows a robot's published plan
#[utoipa::path(
    operation_id = "get_plan", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "The last plan published.", body = PlanView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/plan")]
pub async fn get_plan(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    let robot = path.1;
    here.signed.sees_robot(Action::SeeTeam, &here.pit, robot)?;
    let file = here.pit.robot(robot).ok_or(AppError::Unknown)?;
    let line = here
        .pit
        .plans
        .get(&file.register.body.team)
        .ok_or(AppError::Unknown)?;
    let Body::Planned(plan) = &line.body else {
        return Err(AppError::bug("a plan is no plan").into());
    };
    let planned = plan
        .robots
        .iter()
        .find(|planned| planned.robot == robot)
        .ok_or(AppError::Unknown)?;
    Ok(HttpResponse::Ok().json(PlanView {
        seq: line.seq,
        published_at: line.recorded_at,
        robot: planned.clone(),
        tasks: plan
            .tasks
            .iter()
            .filter(|task| task.robot == robot)
            .cloned()
            .collect(),
        proven: plan.proven,
    }))
}

/// Shows a robot's link plan
#[utoipa::path(
    operation_id = "get_link_plan", tag = "robots", security(("token" = [])),
    params(
        ("event" = uuid::Uuid, Path, description = "The event."),
        ("robot" = uuid::Uuid, Path, description = "The robot."),
    ),
    responses((status = 200, description = "The plan in force and its gaps.", body = LinkPlanView)),
)]
#[get("/api/v1/events/{event}/robots/{robot}/link-plan")]
pub async fn get_link_plan(
    here: Here,
    path: web::Path<(String, RobotId)>,
) -> Result<HttpResponse, Problem> {
    let robot = path.1;
    here.signed
        .sees_robot(Action::SeeSafety, &here.pit, robot)?;
    let file = here.pit.robot(robot).ok_or(AppError::Unknown)?;
    let changes = work_now(&here, robot).link_plan_changes;
    let mut found = gaps(file, here.pit.settings(), &changes);
    found.extend(elsewhere(&here.pit, robot));
    let current = file.state.link_plans.current();
    let version = current.map_or(0, |(version, _)| version);
    Ok(HttpResponse::Ok().json(LinkPlanView {
        version,
        plan: current.map(|(_, plan)| plan.value.clone()),
        saved_at: current.map(|(_, plan)| plan.at),
        saved_by: current.and_then(|(_, plan)| plan.seen_by),
        read_back: file
            .state
            .link_plans
            .read_back
            .iter()
            .filter(|((read, _), _)| *read == version)
            .map(|((_, person), sight)| ReadBackView {
                person: *person,
                at: sight.at,
            })
            .collect(),
        gaps: found.len(),
        forbid_arming: found.iter().filter(|gap| gap.forbids_arming()).count(),
        missing: found
            .iter()
            .map(|gap| GapView {
                why: gap.why(),
                person: gap.person(),
                forbids_arming: gap.forbids_arming(),
            })
            .collect(),
    }))
}
