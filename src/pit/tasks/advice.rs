//! What would help a team: its day again with one thing changed, planned and replayed.
//!
//! Both plans meet the same fortune, so that a gain is the change's own and not chance's.

use super::build::More;
use super::problem::{TICK_S, TeamProblem};
use super::publish::{Desk, Ready, STEPS, Solved};
use super::today::today;
use crate::calc::turnaround::leave_out;
use crate::pit::ids::{RobotId, TeamId};
use crate::pit::library::tasks::{PoolOf, Skill};
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Steps of work for each change: a plan for most, a good one for all.
const STEPS_EACH: u64 = 400;
/// Replays for each change.
const SAMPLES_EACH: usize = 1_000;
/// Repairs that are asked about, the most work first.
const MOST_REPAIRS: usize = 8;
/// A call so much later is asked about.
const LATER: TimeDelta = TimeDelta::minutes(10);
/// What is ready earlier by less than this is not worth the trouble.
const WORTH_IT: TimeDelta = TimeDelta::minutes(1);

/// One thing that could be different.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Measure {
    /// One more person with this skill.
    Person(Skill),
    /// One more charger channel.
    Channel,
    /// A charged and matched set borrowed for a robot.
    BorrowedSet(RobotId),
    /// Nobody else at the gas bay.
    GasBayFree,
    /// A repair left out.
    Without {
        /// Of which robot.
        robot: RobotId,
        /// Its id in the library.
        task: String,
        /// The area, for repairs done per area.
        instance: Option<String>,
    },
    /// Every call this much later.
    LaterCall(TimeDelta),
}

/// What a measure gains for one robot.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// What would be different.
    pub measure: Measure,
    /// By how much the robot would likely be ready earlier; negative if later.
    pub sooner: TimeDelta,
    /// By the likely times the call would be met, and is not as things are.
    pub meets_call: bool,
    /// Chance of being ready by the call then.
    pub odds: Option<f64>,
    /// How much likelier that is than now.
    pub more: f64,
}

/// What would help a team's robots.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// The last line it knows of.
    pub after_seq: i64,
    /// As of then.
    pub at: DateTime<Utc>,
    /// How many changes were tried.
    pub tried: usize,
    /// For each robot in the plan, what gains most first.
    pub robots: BTreeMap<RobotId, Vec<Gain>>,
}

/// What would help `team` at `now`; none if there is nothing to plan.
///
/// The work is bounded by the size of the team's plan; `stop` ends it with what was found so far.
/// Safety tasks are never offered for leaving out: none is optional.
pub fn advice(
    pit: &Pit,
    team: TeamId,
    now: DateTime<Utc>,
    stop: &dyn Fn() -> bool,
) -> Option<Advice> {
    let desk = Desk::of(pit, team, now)?;
    let draw = desk.lessons.draw(&desk.whole, SAMPLES_EACH);
    let solved = Solved::of(&desk.whole, desk.last.as_ref(), (STEPS, &draw), stop)?;
    let robots = desk.whole.robots.iter().map(|robot| robot.robot);
    let mut advice = Advice {
        after_seq: pit.last_seq,
        at: now,
        tried: 0,
        robots: robots.map(|robot| (robot, Vec::new())).collect(),
    };
    for (measure, changed) in changes(pit, team, now, &desk, &solved) {
        if stop() {
            break;
        }
        let draw = desk.lessons.draw(&changed, SAMPLES_EACH);
        let work = (STEPS_EACH, &draw);
        let Some(then) = Solved::of(&changed, Some(&solved.answer), work, stop) else {
            continue;
        };
        advice.tried += 1;
        for (robot, gains) in &mut advice.robots {
            if let (Some(before), Some(after)) = (solved.ready(*robot), then.ready(*robot)) {
                gains.extend(gain(&measure, before, after));
            }
        }
    }
    for gains in advice.robots.values_mut() {
        gains.sort_by(|a, b| {
            b.meets_call
                .cmp(&a.meets_call)
                .then(b.more.total_cmp(&a.more))
                .then(b.sooner.cmp(&a.sooner))
                .then(a.measure.cmp(&b.measure))
        });
    }
    Some(advice)
}

/// The gain for one robot, if it is one.
fn gain(measure: &Measure, before: Ready, after: Ready) -> Option<Gain> {
    let sooner = TimeDelta::seconds((before.likely - after.likely) * TICK_S);
    let in_time = |ready: &Ready| ready.deadline.is_none_or(|call| ready.likely <= call);
    let meets_call = after.deadline.is_some() && in_time(&after) && !in_time(&before);
    let (mut more, mut likelier) = (0.0, false);
    if let (Some(now), Some(then)) = (before.by_call, after.by_call) {
        more = then.chance - now.chance;
        // More than what chance alone could do.
        likelier = then.low > now.chance && then.chance > now.high;
    }
    (meets_call || likelier || sooner >= WORTH_IT).then(|| Gain {
        measure: measure.clone(),
        sooner,
        meets_call,
        odds: after.by_call.map(|by| by.chance),
        more,
    })
}

/// What could be different, each with the problem it leads to.
fn changes(
    pit: &Pit,
    team: TeamId,
    now: DateTime<Utc>,
    desk: &Desk,
    solved: &Solved<'_>,
) -> Vec<(Measure, TeamProblem)> {
    let mut list = Vec::new();
    let problem = &desk.whole.problem;
    let with = |more: More| TeamProblem::with(pit, team, &desk.basis, more, now);
    let asked: BTreeSet<Skill> = desk
        .whole
        .robots
        .iter()
        .filter_map(|robot| today(pit, robot.robot))
        .flat_map(|today| {
            let skills = today.open().flat_map(|(_, item)| item.def.skills.clone());
            skills.collect::<Vec<_>>()
        })
        .collect();
    for skill in asked {
        let more = More {
            hand: Some(skill),
            ..More::default()
        };
        list.extend(with(more).map(|changed| (Measure::Person(skill), changed)));
    }
    let takes = |pool: PoolOf| {
        let name = pool.as_str();
        problem
            .tasks
            .iter()
            .any(|task| task.pools.contains_key(name))
            || problem
                .pools
                .iter()
                .any(|known| known.id == name && !known.reduced.is_empty())
    };
    if takes(PoolOf::ChargerChannel) {
        let more = More {
            channel: true,
            ..More::default()
        };
        list.extend(with(more).map(|changed| (Measure::Channel, changed)));
    }
    if takes(PoolOf::GasBay) {
        let more = More {
            gas_bay_free: true,
            ..More::default()
        };
        list.extend(with(more).map(|changed| (Measure::GasBayFree, changed)));
    }
    for robot in &desk.whole.robots {
        let waits = desk.basis.packs_ready.contains_key(&robot.robot)
            || today(pit, robot.robot).is_some_and(|today| today.gate.is_some());
        if waits {
            let mut basis = desk.basis.clone();
            basis.packs_ready.insert(robot.robot, now);
            let changed = TeamProblem::of(pit, team, &basis, now);
            list.extend(changed.map(|changed| (Measure::BorrowedSet(robot.robot), changed)));
        }
    }
    list.extend(without(&desk.whole, solved));
    list.extend(
        desk.whole
            .later(LATER)
            .map(|changed| (Measure::LaterCall(LATER), changed)),
    );
    list
}

/// Each repair in the plan that may be left out.
fn without<'a>(
    whole: &'a TeamProblem,
    solved: &Solved<'_>,
) -> impl Iterator<Item = (Measure, TeamProblem)> + use<'a> {
    let mut repairs: Vec<(i64, String)> = solved
        .answer
        .tasks
        .iter()
        .filter(|placed| {
            whole
                .units
                .get(&placed.id)
                .is_some_and(|unit| unit.optional)
        })
        .map(|placed| (placed.end - placed.start, placed.id.clone()))
        .collect();
    repairs.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    repairs.truncate(MOST_REPAIRS);
    repairs.into_iter().filter_map(|(_, id)| {
        let unit = whole.units.get(&id)?;
        let mut changed = whole.clone();
        leave_out(&mut changed.problem, &id);
        let measure = Measure::Without {
            robot: unit.robot,
            task: unit.task.clone(),
            instance: unit.instance.clone(),
        };
        Some((measure, changed))
    })
}

#[cfg(test)]
mod tests;
