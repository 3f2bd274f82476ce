//! A bottle as it stands: where it is, what is in it, what it may hold, the shots it has.

use super::hall_degc;
use super::history::{BottlePlace, BottleStep, BottleWeighing, History};
use super::learned::{LearnedShot, learned};
use super::limits::{BottleLimits, fittings};
use super::shots::BottleShots;
use crate::calc::gas::GasFillAdvice;
use crate::pit::ids::{BottleId, RobotId, TeamId};
use crate::pit::logbook::register::{Bottle, GasSystem};
use crate::pit::state::Pit;
use chrono::{DateTime, NaiveDate, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// A bottle as far as it is known.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct BottleNow {
    /// The bottle.
    pub bottle: BottleId,
    /// The robot it is for: the one it was last reported with, else the only one of its team that
    /// runs on its gas.
    pub robot: Option<RobotId>,
    /// Where it is.
    pub place: Option<BottlePlace>,
    /// The last weighing.
    pub weighed: Option<BottleWeighing>,
    /// Gas in it, by that weighing; 0 if it was emptied since. Nothing if nobody knows.
    pub gas_g: Option<i32>,
    /// A bout began since with it in the machine: it holds at most `gas_g`.
    pub used_since: Option<DateTime<Utc>>,
    /// When its periodic test is due.
    pub test_due: Option<NaiveDate>,
    /// What it may hold.
    pub limits: BottleLimits,
    /// The shots it has. If it was used since it was weighed, it has at most the most of them.
    pub shots: Option<BottleShots>,
    /// Why its shots are not known.
    pub shots_unknown: Vec<String>,
    /// What weighing taught about its robot's gas for a shot.
    pub learned: Option<LearnedShot>,
    /// What was reported of it, oldest first.
    pub history: Vec<BottleStep>,
}

/// A bottle on a day.
pub fn bottle(pit: &Pit, id: BottleId, today: NaiveDate) -> Option<BottleNow> {
    let mut now = bottle_as_weighed(pit, id, today)?;
    let body = &pit.bottles.get(&id)?.body;
    let system = now.robot.and_then(|robot| system_of(pit, robot));
    now.learned = now
        .robot
        .zip(system)
        .and_then(|(robot, system)| learned(pit, robot, system));
    let shots = match (now.gas_g, system) {
        (None, _) => Err(vec!["Nobody weighed it since it was filled.".to_owned()]),
        (Some(_), None) => Err(vec![
            "No gas system is registered for its robot.".to_owned(),
        ]),
        (Some(gas), Some(_)) if gas <= 0 => {
            Err(vec!["It is empty, by the last report.".to_owned()])
        }
        (Some(gas), Some(system)) => {
            BottleShots::of(body, gas, system, hall_degc(pit), now.learned.as_ref())
        }
    };
    match shots {
        Ok(shots) if now.used_since.is_some() => now.shots = Some(shots.at_most()),
        Ok(shots) => now.shots = Some(shots),
        Err(why) => now.shots_unknown = why,
    }
    Some(now)
}

/// The same without its shots, which take longest to work out.
pub fn bottle_as_weighed(pit: &Pit, id: BottleId, today: NaiveDate) -> Option<BottleNow> {
    let body = &pit.bottles.get(&id)?.body;
    let history = History::of(pit, body.team, id);
    let weighed_gas = history
        .weighed
        .filter(|_| history.mass_stands)
        .map(|weighed| weighed.gross_g - body.tare_g.get() - fittings(body));
    let gas_g = if history.emptied {
        Some(0)
    } else {
        weighed_gas
    };
    Some(BottleNow {
        bottle: id,
        robot: robot_of(pit, body, &history),
        place: history.place,
        weighed: history.weighed,
        gas_g,
        used_since: history.used_since,
        test_due: body.test_due,
        limits: limits(pit, body, gas_g, today),
        shots: None,
        shots_unknown: Vec::new(),
        learned: None,
        history: history.steps,
    })
}

/// What it may hold here: nothing is filled where the event allows no gas. **Source** R4, R12.
fn limits(pit: &Pit, body: &Bottle, gas_g: Option<i32>, today: NaiveDate) -> BottleLimits {
    let mut limits = BottleLimits::of(body, gas_g, today, hall_degc(pit));
    if !pit.settings().gas_allowed {
        limits.advice = GasFillAdvice::DoNotFill;
        limits
            .reasons
            .insert(0, "This event allows no gas.".to_owned());
    }
    limits
}

/// The bottles of a team that are in use, on a day.
pub fn bottles_of(pit: &Pit, team: TeamId, today: NaiveDate) -> Vec<BottleNow> {
    pit.bottles
        .iter()
        .filter(|(_, known)| known.body.team == team && !known.body.retired)
        .filter_map(|(id, _)| bottle(pit, *id, today))
        .collect()
}

/// The bottles in use that `robot` was last reported with, or alone of its team could run on.
pub fn bottles_for(pit: &Pit, robot: RobotId, today: NaiveDate) -> Vec<BottleNow> {
    let Some(file) = pit.robot(robot) else {
        return Vec::new();
    };
    let team = file.register.body.team;
    pit.bottles
        .iter()
        .filter(|(_, known)| known.body.team == team && !known.body.retired)
        .filter(|(id, known)| {
            let history = History::of(pit, team, **id);
            robot_of(pit, &known.body, &history) == Some(robot)
        })
        .filter_map(|(id, _)| bottle(pit, *id, today))
        .collect()
}

fn system_of(pit: &Pit, robot: RobotId) -> Option<&GasSystem> {
    pit.robot(robot)?.register.body.gas_system.as_ref()
}

/// The robot a bottle is for.
fn robot_of(pit: &Pit, body: &Bottle, history: &History) -> Option<RobotId> {
    history.robot.or_else(|| {
        let mut fit = pit.robots_of(body.team).filter(|(_, file)| {
            let system = file.register.body.gas_system.as_ref();
            system.is_some_and(|system| system.gas == body.gas)
        });
        match (fit.next(), fit.next()) {
            (Some((only, _)), None) => Some(only),
            _ => None,
        }
    })
}
