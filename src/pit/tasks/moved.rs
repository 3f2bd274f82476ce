//! What a new plan moved, and what was entered in between.

use super::publish::{NOTICED, same};
use crate::pit::ids::{PersonId, RobotId, Subject};
use crate::pit::logbook::work::{Planned, PlannedTask};
use crate::pit::logbook::{Body, Line};
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use std::sync::Arc;

/// What became of a task.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Became {
    /// It begins this much later; negative if earlier.
    Later(TimeDelta),
    /// Other people do it.
    Others {
        /// Who did before.
        from: Vec<PersonId>,
        /// Who does now.
        to: Vec<PersonId>,
    },
    /// It was not in the plan before.
    New,
}

/// A task that a new plan moved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// Its id in the library.
    pub task: String,
    /// The area, for tasks done per area.
    pub instance: Option<String>,
    /// What became of it.
    pub became: Became,
}

/// What the plan shown now moved for a robot.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// When it was published.
    pub at: DateTime<Utc>,
    /// When the robot was likely to be ready before, and is now.
    pub likely: (DateTime<Utc>, DateTime<Utc>),
    /// Tasks that moved noticeably, by their start.
    pub moves: Vec<Move>,
    /// Optional tasks that are left out now and were not before.
    pub left_out: Vec<String>,
    /// What was entered about the team in between; nothing: time alone passed.
    pub because: Vec<Arc<Line>>,
}

/// What the last published plan moved for `robot` against the one before; none if nothing that
/// people would notice, or if the one before was for another list.
///
/// At equal quality the plan before stays, so each move has a reason: something was entered, or
/// work took longer than planned.
pub fn moved(pit: &Pit, robot: RobotId) -> Option<Moved> {
    let team = pit.robot(robot)?.register.body.team;
    let (last, before) = (pit.plans.get(&team)?, pit.plans_before.get(&team)?);
    let (Body::Planned(new), Body::Planned(old)) = (&last.body, &before.body) else {
        return None;
    };
    let of = |plan: &Planned| plan.robots.iter().find(|one| one.robot == robot).cloned();
    let (now, then) = (of(new)?, of(old)?);
    if now.turnaround != then.turnaround {
        return None;
    }
    let moves: Vec<Move> = new
        .tasks
        .iter()
        // What is under way began when it began.
        .filter(|task| task.robot == robot && task.start > last.at)
        .filter_map(|task| {
            let old = old.tasks.iter().find(|old| same(old, task));
            Some(Move {
                task: task.task.clone(),
                instance: task.instance.clone(),
                became: became(old, task)?,
            })
        })
        .collect();
    let left_out: Vec<String> = now
        .left_out
        .iter()
        .filter(|id| !then.left_out.contains(id))
        .cloned()
        .collect();
    let ends = (now.likely - then.likely).abs() >= NOTICED;
    (ends || !moves.is_empty() || !left_out.is_empty()).then(|| Moved {
        at: last.at,
        likely: (then.likely, now.likely),
        moves,
        left_out,
        because: between(pit, team, old.after_seq, new.after_seq),
    })
}

fn became(old: Option<&PlannedTask>, task: &PlannedTask) -> Option<Became> {
    let Some(old) = old else {
        return Some(Became::New);
    };
    if old.people != task.people {
        return Some(Became::Others {
            from: old.people.clone(),
            to: task.people.clone(),
        });
    }
    let later = task.start - old.start;
    (later.abs() >= NOTICED).then_some(Became::Later(later))
}

/// Facts about a team's robots and things, and about the event, with their places after `from`
/// and up to `to`, in order.
fn between(pit: &Pit, team: crate::pit::ids::TeamId, from: i64, to: i64) -> Vec<Arc<Line>> {
    let mut lines: Vec<Arc<Line>> = pit
        .files
        .iter()
        .filter(|(subject, _)| **subject == Subject::Event || pit.team_of(**subject) == Some(team))
        .flat_map(|(_, file)| file.values())
        .map(|entry| entry.first.clone())
        .filter(|line| line.seq > from && line.seq <= to)
        .collect();
    lines.sort_by_key(|line| line.seq);
    lines
}

#[cfg(test)]
mod tests;
