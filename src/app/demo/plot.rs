//! What goes out of the ordinary in the demo, so that every state can be seen at its beginning.

use super::day::{Kit, Step, Turn, Twist};
use crate::app::door::Enterer;
use crate::calc::units::{Minutes, Note};
use crate::pit::ids::{LineId, PersonId, RobotId, Subject, TeamId};
use crate::pit::logbook::bout::{Postponement, Postponing};
use crate::pit::logbook::hall::Announced;
use crate::pit::logbook::register::Slot;
use crate::pit::logbook::station::{AtStation, Station, Step as StationStep};
use crate::pit::logbook::{Author, Body, Draft, Role};
use chrono::{DateTime, TimeDelta, Utc};
use uuid::Uuid;

/// The turns of the demo around `now`, the moment at which it begins. Bouts are counted from 0.
pub fn turns(kit: &Kit, now: DateTime<Utc>) -> Vec<Turn> {
    let in_bout = |bout: usize, corner: usize| match kit
        .bouts
        .get(bout)
        .map(|(_, bout)| bout.slots[corner])
    {
        Some(Slot::Robot(robot)) => Some(robot),
        _ => None,
    };
    let silent_team = kit.teams.len() - 1;
    let silent: Vec<RobotId> = kit
        .robots
        .iter()
        .filter(|robot| robot.team == silent_team)
        .map(|robot| robot.id)
        .collect();
    let mut turns = Vec::new();
    let mut add = |minute: i64, robot: Option<RobotId>, twist: Twist| {
        turns.extend(robot.map(|robot| Turn {
            at: now + TimeDelta::minutes(minute),
            robot,
            twist,
        }));
    };
    // What a bout did is found after it: the last one of the robot before this.
    let after_last = |bout: usize, corner: usize| {
        let robot = in_bout(bout, corner)?;
        let before = kit.bouts.get(..bout)?.iter().rev();
        let last = before
            .map(|(_, bout)| bout)
            .find(|bout| bout.slots.contains(&Slot::Robot(robot)))?;
        Some((last.call_at - now).num_minutes() + 5)
    };
    // Armed without a plan that was read back; the marshal does not let it start.
    add(-55, in_bout(15, 0), Twist::UnreadPlan);
    add(8, in_bout(15, 0), Twist::PlanReadBack);
    // Heavy damage: late.
    add(
        after_last(17, 0).unwrap_or(0),
        in_bout(17, 0),
        Twist::Damage(HEAVY_DAMAGE.to_vec()),
    );
    // Some damage, and nobody looks again: unproved with hands in.
    add(
        after_last(18, 0).unwrap_or(0),
        in_bout(18, 0),
        Twist::Damage(SOME_DAMAGE.to_vec()),
    );
    add(-95, in_bout(18, 0), Twist::NobodyLooks);
    add(6, in_bout(18, 0), Twist::GoOn);
    // Some damage: tight.
    add(
        after_last(17, 1).unwrap_or(0),
        in_bout(17, 1),
        Twist::Damage(SOME_DAMAGE.to_vec()),
    );
    // The link goes in on the bench.
    add(-4, in_bout(20, 0), Twist::LinkIn);
    add(7, in_bout(20, 0), Twist::LinkOut);
    add(9, in_bout(20, 0), Twist::LinkSeenOut);
    // A team that enters nothing any more.
    for robot in silent {
        add(-36, Some(robot), Twist::Silence);
        add(10, Some(robot), Twist::GoOn);
    }
    turns
}

/// What people say shortly before the demo begins: the organiser to the crews, and a crew that asks
/// to have its bout put off.
pub fn told(kit: &Kit, now: DateTime<Utc>, mut id: impl FnMut() -> Uuid) -> Vec<Step> {
    let mut told = Vec::new();
    let mut say = |minutes: i64, who: Enterer, subject: Subject, body: Body| {
        let at = now - TimeDelta::minutes(minutes);
        let draft = Draft {
            id: LineId(id()),
            at,
            seen_by: None,
            subject,
            how: None,
            corrects: None,
            if_revision: None,
            body,
        };
        told.push(Step {
            at: now,
            who,
            drafts: vec![draft],
        });
    };
    if let Ok(text) = Note::new("Drivers meet by the stage at the next pause.") {
        let body = Announced {
            text,
            roles: vec![Role::Crew, Role::Lead],
            teams: Vec::new(),
        };
        let organiser = enterer(kit.organiser, Role::Organiser, None);
        say(4, organiser, Subject::Event, Body::Announced(body));
    }
    let asks = kit
        .bouts
        .get(17)
        .and_then(|(bout, body)| match body.slots[0] {
            Slot::Robot(robot) => Some((*bout, robot)),
            _ => None,
        });
    if let Some((bout, robot)) = asks
        && let Some(of) = kit.robots.iter().find(|of| of.id == robot)
        && let Some(team) = kit.teams.get(of.team)
        && let Some(lead) = team.people.first()
    {
        let body = Postponement {
            bout,
            said: Postponing::Asked,
            by_min: Minutes::new(10),
            because: Note::new("a controller has to be changed").ok(),
        };
        let who = enterer(*lead, Role::Lead, Some(team.id));
        say(2, who, Subject::Robot(robot), Body::Postponement(body));
    }
    for (minutes, who, robot, step) in at_the_gas_bay(kit) {
        let body = AtStation {
            station: Station::GasBay,
            step,
        };
        say(minutes, who, Subject::Robot(robot), Body::Station(body));
    }
    told
}

/// Three robots that asked for gas so many minutes ago; the first is being served.
fn at_the_gas_bay(kit: &Kit) -> Vec<(i64, Enterer, RobotId, StationStep)> {
    let busy = |robot: RobotId| {
        let bouts = kit.bouts.iter().skip(14).take(3);
        bouts
            .flat_map(|(_, bout)| bout.slots)
            .any(|slot| slot == Slot::Robot(robot))
    };
    let waiting = kit
        .robots
        .iter()
        .filter(|robot| !robot.bottles.is_empty() && !busy(robot.id));
    let mut told: Vec<_> = waiting
        .zip([9, 6, 3])
        .filter_map(|(robot, minutes)| {
            let team = kit.teams.get(robot.team)?;
            let lead = enterer(*team.people.first()?, Role::Lead, Some(team.id));
            Some((minutes, lead, robot.id, StationStep::Asked))
        })
        .collect();
    let first = told.first().map(|(_, _, robot, _)| *robot);
    if let (Some(robot), Some(official)) = (first, kit.officials.first()) {
        let official = enterer(*official, Role::Official, None);
        told.push((5, official, robot, StationStep::Serving));
    }
    told
}

fn enterer(person: PersonId, role: Role, team: Option<TeamId>) -> Enterer {
    Enterer {
        author: Author {
            person: Some(person),
            role,
        },
        team,
    }
}

const HEAVY_DAMAGE: [(&str, &str); 3] = [
    ("wheel_fl", "drive_noise"),
    ("wheel_rr", "wheel_cut"),
    ("electrics", "controller_burnt"),
];
const SOME_DAMAGE: [(&str, &str); 2] = [("wheel_fl", "wheel_cut"), ("electrics", "loom_hot")];
