//! What calls tasks: damage, changes, choice; and which tasks that puts on the list.

use super::hand::Hand;
use crate::pit::ids::RobotId;
use crate::pit::library::tasks::{ALWAYS, CHOICE, List, MachineTasks, Per, Phase, TaskDef};
use crate::pit::library::{self};
use crate::pit::logbook::bout::Ending;
use crate::pit::logbook::work::TaskState;
use crate::pit::logbook::{Body, Line};
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The change that calls a weapon test on arrival, where every other proof is on the list anyway.
const WEAPON_TEST_ON_ARRIVAL: &str = "asked_by_event";

/// The area and kind of damage that a link shaken out in a bout is, on every machine.
const LINK: &str = "link";
const RETENTION_GONE: &str = "retention_bad";

/// Damage found, as it counts for the list in hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The area.
    pub area: String,
    /// The kind.
    pub kind: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// The last word on a task of the list in hand.
#[derive(Debug, Clone)]
pub(super) struct Word {
    pub state: TaskState,
    pub line: Arc<Line>,
}

/// A task by id and area.
pub(super) type Name = (String, Option<String>);

/// What the facts of the list in hand call.
#[derive(Debug, Default)]
pub(super) struct Calls {
    pub found: Vec<Found>,
    /// Kinds of change tapped in by hand.
    pub changed: BTreeSet<String>,
    /// The last word on each task.
    pub words: BTreeMap<Name, Word>,
}

impl Calls {
    /// Reads the facts of the list in hand, in order of time.
    pub fn of(robot: RobotId, lines: &[Arc<Line>], hand: &Hand) -> Self {
        let mut calls = Self::default();
        for line in lines {
            let now = hand.facts_from.is_none_or(|from| line.at >= from);
            match &line.body {
                Body::Damage(damage) if now => calls.found.push(Found {
                    area: damage.area.as_str().to_owned(),
                    kind: damage.kind.as_str().to_owned(),
                    at: line.at,
                }),
                // Whoever did not win lost a link: what held it is mended before it is used again.
                Body::BoutEnded(ended)
                    if now
                        && ended.ending == Ending::LinkShakenOut
                        && ended.winner != Some(robot) =>
                {
                    calls.found.push(Found {
                        area: LINK.to_owned(),
                        kind: RETENTION_GONE.to_owned(),
                        at: line.at,
                    });
                }
                Body::Changed(changed) if now => {
                    calls.changed.insert(changed.change.as_str().to_owned());
                }
                Body::Task(task) if task.turnaround.map_or(now, |n| n == hand.turnaround) => {
                    let instance = task.instance.as_ref().map(|area| area.as_str().to_owned());
                    calls.words.insert(
                        (task.task.as_str().to_owned(), instance),
                        Word {
                            state: task.state,
                            line: line.clone(),
                        },
                    );
                }
                // A swap that names its task is work on it, called or not.
                Body::Part(part) if now => {
                    if let Some(task) = &part.task {
                        let area = part.area.as_ref().map(|area| area.as_str().to_owned());
                        calls.words.insert(
                            (task.as_str().to_owned(), area),
                            Word {
                                state: TaskState::Chosen,
                                line: line.clone(),
                            },
                        );
                    }
                }
                _ => {}
            }
        }
        calls
    }

    /// Whether somebody asked for the task although nothing calls it.
    fn chosen(&self, task: &TaskDef) -> bool {
        self.words
            .iter()
            .any(|((id, _), word)| *id == task.id && word.state != TaskState::LeftOut)
    }

    /// The word that leaves a task out. A safety task stays, whatever is said.
    pub fn left_out(&self, task: &TaskDef, instance: Option<&str>) -> Option<&Word> {
        if task.safety {
            return None;
        }
        let last = self
            .words
            .iter()
            .filter(|((id, area), _)| {
                let here = area.is_none() || area.as_deref() == instance;
                *id == task.id && (here || task.per == Per::Robot)
            })
            .map(|(_, word)| word)
            .max_by_key(|word| (word.line.at, word.line.id))?;
        (last.state == TaskState::LeftOut).then_some(last)
    }

    /// Areas in which damage calls the task, each with the latest time it was found.
    fn areas(&self, task: &TaskDef) -> BTreeMap<&str, DateTime<Utc>> {
        let mut areas = BTreeMap::new();
        for found in self
            .found
            .iter()
            .filter(|found| task.called_by(&found.kind))
        {
            let at = areas.entry(found.area.as_str()).or_insert(found.at);
            *at = (*at).max(found.at);
        }
        areas
    }

    /// The instances of a task, once it is on the list.
    pub fn instances(&self, task: &TaskDef) -> Vec<(Option<String>, Option<DateTime<Utc>>)> {
        let areas = self.areas(task);
        match task.per {
            Per::Robot => vec![(None, areas.values().max().copied())],
            Per::Area => {
                let mut instances: BTreeMap<Option<String>, Option<DateTime<Utc>>> = areas
                    .into_iter()
                    .map(|(area, at)| (Some(area.to_owned()), Some(at)))
                    .collect();
                let named = self
                    .words
                    .iter()
                    .filter(|((id, _), word)| *id == task.id && word.state != TaskState::LeftOut)
                    .map(|((_, instance), _)| instance.clone());
                for instance in named {
                    // "Done" without an area means the one area there is.
                    if instance.is_some() || instances.is_empty() {
                        instances.entry(instance).or_insert(None);
                    }
                }
                instances.into_iter().collect()
            }
        }
    }
}

/// Ids of the tasks of `list` that are called, given `without` some of them.
///
/// Tasks that are called make changes, and changes call tasks, until nothing is added.
pub(super) fn called(
    list: List,
    tasks: &[Arc<TaskDef>],
    calls: &Calls,
    without: &dyn Fn(&TaskDef) -> bool,
) -> BTreeSet<String> {
    let mut triggers: BTreeSet<String> = calls
        .found
        .iter()
        .map(|found| found.kind.clone())
        .chain(calls.changed.iter().cloned())
        .collect();
    triggers.insert(ALWAYS.to_owned());
    let chosen: BTreeSet<&str> = tasks
        .iter()
        .filter(|task| calls.chosen(task))
        .map(|task| task.id.as_str())
        .collect();
    let mut on = BTreeSet::new();
    loop {
        if list == List::Arrival && triggers.iter().any(|trigger| tries_the_weapon(trigger)) {
            triggers.insert(WEAPON_TEST_ON_ARRIVAL.to_owned());
        }
        let before = on.len();
        for task in tasks {
            let is_called = chosen.contains(task.id.as_str())
                || task
                    .called_by
                    .iter()
                    .any(|calls| calls != CHOICE && triggers.contains(calls));
            if is_called && !on.contains(&task.id) && !without(task) {
                on.insert(task.id.clone());
                triggers.extend(task.changes.iter().cloned());
            }
        }
        if on.len() == before {
            return on;
        }
    }
}

fn tries_the_weapon(change: &str) -> bool {
    library::data()
        .changes
        .kind(change)
        .is_some_and(|kind| kind.weapon_test)
}

/// The arrival list with the turnaround's repairs that damage found on arrival calls.
pub(super) fn arrival(tasks: &MachineTasks, calls: &Calls) -> Vec<Arc<TaskDef>> {
    let mut list = tasks.arrival.clone();
    let wanted: Vec<&Arc<TaskDef>> = tasks
        .turnaround
        .iter()
        .filter(|task| {
            let by_damage = calls.found.iter().any(|found| task.called_by(&found.kind));
            by_damage || (task.phase == Phase::Repair && calls.chosen(task))
        })
        .collect();
    let anchors = &tasks.arrival_repairs;
    let Some((prefix, _)) = anchors.after.split_once('-') else {
        return list;
    };
    // The same work on arrival has the same name after the prefix.
    let here = |id: &str| {
        let (_, name) = id.split_once('-')?;
        let id = format!("{prefix}-{name}");
        tasks.arrival.iter().any(|task| task.id == id).then_some(id)
    };
    for task in &wanted {
        let mut pulled = TaskDef::clone(task);
        pulled.after = task
            .after
            .iter()
            .filter_map(|after| {
                let also = wanted.iter().any(|other| other.id == *after);
                if also {
                    Some(after.clone())
                } else {
                    here(after)
                }
            })
            .collect();
        if !pulled.after.contains(&anchors.after) {
            pulled.after.push(anchors.after.clone());
        }
        list.push(Arc::new(pulled));
    }
    for task in &mut list[..tasks.arrival.len()] {
        let more: Vec<String> = wanted
            .iter()
            .filter(|repair| {
                let closes = repair.phase == anchors.phase && task.id == anchors.before;
                closes || waits_in_turnaround(tasks, task, repair, &here)
            })
            .map(|repair| repair.id.clone())
            .collect();
        if !more.is_empty() {
            Arc::make_mut(task).after.extend(more);
        }
    }
    list
}

/// Whether the turnaround's counterpart of an arrival task waits for `repair`.
fn waits_in_turnaround(
    tasks: &MachineTasks,
    arrival: &TaskDef,
    repair: &TaskDef,
    here: &impl Fn(&str) -> Option<String>,
) -> bool {
    tasks.turnaround.iter().any(|task| {
        here(&task.id).as_deref() == Some(arrival.id.as_str()) && task.after.contains(&repair.id)
    })
}
