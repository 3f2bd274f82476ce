//! Names and times of a team's problem.

use super::problem::TICK_S;
use super::today::{Item, Today, Unit};
use crate::pit::ids::RobotId;
use crate::pit::logbook::register::ThreePoint;

/// The tasks of a unit that are not done.
pub(super) fn open_members<'a>(today: &'a Today, unit: &'a Unit) -> impl Iterator<Item = &'a Item> {
    unit.members
        .iter()
        .map(|&index| &today.items[index])
        .filter(|item| !item.progress.is_done())
}

/// The name of a unit in the problem: robot, first task of it that is not done, area.
pub(super) fn name(today: &Today, unit: &Unit) -> String {
    let first = open_members(today, unit)
        .next()
        .or_else(|| unit.members.first().map(|&index| &today.items[index]));
    first.map_or_else(String::new, |item| {
        unit_id(today.robot, &item.key.task, item.key.instance.as_deref())
    })
}

/// The name of a planned task in the problem.
pub(super) fn unit_id(robot: RobotId, task: &str, instance: Option<&str>) -> String {
    format!("{robot}/{}", labelled(task, instance))
}

/// A task with its area, as plans name what they leave out.
pub(super) fn labelled(task: &str, instance: Option<&str>) -> String {
    match instance {
        Some(area) => format!("{task}@{area}"),
        None => task.to_owned(),
    }
}

/// The name of somebody the hall lends.
pub(super) fn lent(n: usize) -> String {
    format!("lent-{n}")
}

pub(super) fn access(robot: RobotId) -> String {
    format!("access:{robot}")
}

/// A pool as the library names it: hands in a machine are the machine's own.
pub(super) fn pool_name(pool: &str) -> String {
    pool.split_once(':')
        .map_or(pool, |(kind, _)| kind)
        .to_owned()
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes of a day, checked to be from 0 to 1440 each"
)]
pub(super) fn ticks(minutes: f64) -> i64 {
    ((minutes * 60.0 / TICK_S as f64).ceil() as i64).max(1)
}

pub(super) fn three_points(minutes: ThreePoint) -> [f64; 3] {
    let in_ticks = |minutes: f64| minutes * 60.0 / TICK_S as f64;
    [
        in_ticks(minutes.optimistic),
        in_ticks(minutes.likely),
        in_ticks(minutes.pessimistic),
    ]
}
