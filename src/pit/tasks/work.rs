//! What the work on a robot says to its hazards: hands in it, changes made, rows to come.

use super::today::{Progress, Today};
use crate::pit::departure;
use crate::pit::exposure::{HandsOn, Running, ToProve, WorkNow};
use crate::pit::ids::LineId;
use crate::pit::library::changes::{PlanAsked, Weigh};
use crate::pit::library::tasks::{BarIs, GasIs, Phase, PoolOf};
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
    let file = pit.robot(today.robot);
    let made = file.map(|file| changes_made(pit, file)).unwrap_or_default();
    let to_prove = made
        .iter()
        .filter_map(|made| {
            let kind = library::data().changes.kind(&made.kind)?;
            Some(ToProve {
                what: made.what.clone(),
                at: made.at,
                weigh: kind.weigh != Weigh::No,
                failsafe: kind.failsafe,
                inspection: kind.inspection,
            })
        })
        .collect();
    let link_plan_changes = made
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
        running: running(file, today),
        safety_open: safety_open(today),
        to_prove,
        departed: departed(today),
        link_plan_changes,
        rows_to_come,
    }
}

fn running(file: Option<&RobotFile>, today: &Today) -> Vec<Running> {
    let aided = |id: LineId| {
        file.into_iter()
            .flat_map(|file| &file.lines)
            .any(|line| line.id == id && matches!(&line.body, Body::Task(task) if task.aid))
    };
    today
        .items
        .iter()
        .filter_map(|item| match &item.progress {
            Progress::Running { since, by, line } => {
                let takes = |pool: PoolOf| item.def.takes.iter().any(|take| take.pool == pool);
                Some(Running {
                    task: item.def.name.clone(),
                    since: *since,
                    people: by.clone(),
                    hands: item.def.hands,
                    lift: takes(PoolOf::Lift) || takes(PoolOf::Trolley),
                    aid: aided(*line),
                    hot: takes(PoolOf::Press),
                })
            }
            _ => None,
        })
        .collect()
}

/// Making safe, closing up and proving: nothing of these is left for the arena queue.
fn safety_open(today: &Today) -> Vec<String> {
    today
        .open()
        .filter(|(_, item)| item.def.safety)
        .filter(|(_, item)| {
            matches!(
                item.def.phase,
                Phase::MakeSafe | Phase::Close | Phase::Prove
            )
        })
        .map(|(_, item)| item.def.name.clone())
        .collect()
}

fn departed(today: &Today) -> Option<DateTime<Utc>> {
    today.items.iter().find_map(|item| match &item.progress {
        Progress::Done { at, .. } if item.def.closes_with == departure::CLOSES => Some(*at),
        _ => None,
    })
}
