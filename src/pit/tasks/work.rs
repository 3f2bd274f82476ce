//! What the work on a robot says to its hazards: hands in it, changes made, rows to come.

use super::today::{Progress, Today};
use crate::pit::exposure::{HandsOn, WorkNow};
use crate::pit::library::changes::PlanAsked;
use crate::pit::library::tasks::{BarIs, GasIs};
use crate::pit::library::{self};
use crate::pit::link_plan::{Change, Demand};
use crate::pit::logbook::Body;
use crate::pit::logbook::work::TaskState;
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, Utc};

/// A change made to a machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Made {
    /// The kind of change.
    pub kind: String,
    /// What was done, in words.
    pub what: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// Every change made to a robot since it came, tapped in or made by a task that was done.
pub fn changes_made(pit: &Pit, file: &RobotFile) -> Vec<Made> {
    let register = &file.register.body;
    let changes = pit
        .libraries
        .get(&(register.team, register.machine))
        .map(|changes| &changes.body);
    let tasks = library::for_team(register.machine, changes);
    let mut made = Vec::new();
    for line in &file.lines {
        let task = match &line.body {
            Body::Changed(changed) => {
                let kind = changed.change.as_str();
                let what = match (&changed.note, library::data().changes.kind(kind)) {
                    (Some(note), _) => note.to_string(),
                    (None, Some(known)) => known.label.clone(),
                    (None, None) => kind.to_owned(),
                };
                made.push(Made {
                    kind: kind.to_owned(),
                    what,
                    at: line.at,
                });
                continue;
            }
            Body::Task(task) if task.state == TaskState::Done => Some(&task.task),
            Body::Part(part) => part.task.as_ref(),
            _ => None,
        };
        if let Some(task) = task.and_then(|id| tasks.task(id.as_str())) {
            made.extend(task.changes.iter().map(|kind| Made {
                kind: kind.clone(),
                what: task.name.clone(),
                at: line.at,
            }));
        }
    }
    made
}

/// What the work on a robot says to its hazards.
pub fn work(pit: &Pit, today: &Today) -> WorkNow {
    let hands_on = today
        .items
        .iter()
        .filter(|item| item.def.hands_on())
        .filter_map(|item| match &item.progress {
            Progress::Running { since, by, .. } => Some(HandsOn {
                task: item.def.name.clone(),
                since: *since,
                people: by.clone(),
                needs_gas_zero: item.def.needs.gas == Some(GasIs::Zero),
                needs_restraint: matches!(
                    item.def.needs.weapon_bar,
                    Some(BarIs::On | BarIs::Restrained | BarIs::Held)
                ),
            }),
            _ => None,
        })
        .collect();
    let link_plan_changes = pit
        .robot(today.robot)
        .map(|file| changes_made(pit, file))
        .unwrap_or_default()
        .into_iter()
        .filter_map(|made| {
            let asked = library::data().changes.kind(&made.kind)?.link_plan;
            let demand = match asked {
                PlanAsked::No => return None,
                PlanAsked::Confirm => Demand::Confirm,
                PlanAsked::Rewrite => Demand::Rewrite,
            };
            Some(Change {
                what: made.what,
                at: made.at,
                demand,
            })
        })
        .collect();
    let rows_to_come = today
        .open()
        .map(|(_, item)| item.def.closes_with.clone())
        .collect();
    WorkNow {
        hands_on,
        link_plan_changes,
        rows_to_come,
    }
}
