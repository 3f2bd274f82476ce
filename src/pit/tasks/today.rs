//! The list of a robot as it stands.

use super::call::{self, Calls, Found};
use super::close::close;
use super::gate::another_set_ready;
use super::graph::far;
use super::hand::{Hand, in_hand};
use super::lay;
use crate::pit::ids::{LineId, PersonId, RobotId};
use crate::pit::library::tasks::{List, Phase, TaskDef};
use crate::pit::library::{self};
use crate::pit::logbook::Body;
use crate::pit::logbook::Line;
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What a task of a robot is called, the same on every phone.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TaskKey {
    /// Number of the turnaround, 0 for arrival.
    pub turnaround: u32,
    /// Id in the library.
    pub task: String,
    /// Area, for tasks done per area.
    pub instance: Option<String>,
}

/// How far a task is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Progress {
    /// These, by index, have to be done first.
    Waiting(Vec<usize>),
    /// Can be begun.
    Open,
    /// Somebody is on it.
    Running {
        /// Since when.
        since: DateTime<Utc>,
        /// Who.
        by: Vec<PersonId>,
        /// The line that says so.
        line: LineId,
    },
    /// Done.
    Done {
        /// When somebody said that it began, if they did.
        since: Option<DateTime<Utc>>,
        /// When it was done.
        at: DateTime<Utc>,
        /// By whom.
        by: Option<PersonId>,
        /// The line that says so.
        line: LineId,
    },
}

impl Progress {
    /// Whether it is done.
    pub fn is_done(&self) -> bool {
        matches!(self, Self::Done { .. })
    }
}

/// A task of the list.
#[derive(Debug, Clone)]
pub struct Item {
    /// What it is called.
    pub key: TaskKey,
    /// What the library says about it, as its team has it.
    pub def: Arc<TaskDef>,
    /// Indices of what comes first, all smaller than its own.
    pub after: Vec<usize>,
    /// How far it is.
    pub progress: Progress,
    /// When damage last called it: what was done before does not count.
    pub called_at: Option<DateTime<Utc>>,
}

impl Item {
    /// Whether it is the task called `id`, in that area if one is given.
    pub fn is(&self, id: &str, area: Option<&str>) -> bool {
        self.key.task == id && (area.is_none() || area == self.key.instance.as_deref())
    }
}

/// A task that somebody left out.
#[derive(Debug, Clone)]
pub struct LeftOut {
    /// What it is called.
    pub key: TaskKey,
    /// What the library says about it.
    pub def: Arc<TaskDef>,
    /// The line that says so.
    pub line: LineId,
}

/// Tasks that are planned as one: a block, or a task alone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit {
    /// Indices of its tasks, in order.
    pub members: Vec<usize>,
    /// Indices of the units that come first.
    pub after: Vec<usize>,
}

/// The list of a robot as it stands.
#[derive(Debug, Clone)]
pub struct Today {
    /// The robot.
    pub robot: RobotId,
    /// Which list, and since when.
    pub hand: Hand,
    /// Its tasks, in an order in which nothing comes before what it waits for.
    pub items: Vec<Item>,
    /// Optional tasks that somebody left out.
    pub left_out: Vec<LeftOut>,
    /// The task that ends the plan.
    pub ends_with: Option<usize>,
    /// The charge, and what waits for it, if no other set is ready.
    pub gate: Option<(usize, usize)>,
    /// Damage found.
    pub found: Vec<Found>,
    /// What each optional task calls that nothing else does: left out with it.
    pub conditional: BTreeMap<usize, BTreeSet<usize>>,
}

impl Today {
    /// The tasks that are not done, in order.
    pub fn open(&self) -> impl Iterator<Item = (usize, &Item)> {
        self.items
            .iter()
            .enumerate()
            .filter(|(_, item)| !item.progress.is_done())
    }

    /// Tasks that could be begun now: nothing else has to be done first, no charge in the way.
    pub fn ready(&self) -> impl Iterator<Item = (usize, &Item)> {
        self.open().filter(|(index, item)| {
            let gated = self.gate.is_some_and(|(charge, before)| {
                before == *index && !self.items[charge].progress.is_done()
            });
            matches!(item.progress, Progress::Open) && !gated
        })
    }

    /// The index of a task.
    pub fn find(&self, id: &str, area: Option<&str>) -> Option<usize> {
        self.items.iter().position(|item| item.is(id, area))
    }

    /// What still has to be done before the robot may be armed, in order; gaps of its link plan and
    /// doubts about its energy are told by their own modules.
    pub fn before_arming(&self) -> impl Iterator<Item = &Item> {
        self.open()
            .map(|(_, item)| item)
            .filter(|item| item.def.phase != Phase::Arming && !item.def.passive)
    }

    /// Whether nothing is left to do before reporting in the arena queue.
    pub fn all_done(&self) -> bool {
        self.ends_with
            .is_some_and(|end| self.items[end].progress.is_done())
    }

    /// Indices of the task that ends the plan and of everything it waits for.
    pub fn planned(&self) -> BTreeSet<usize> {
        let after: Vec<Vec<usize>> = (0..self.items.len()).map(|i| self.after(i)).collect();
        let Some(end) = self.ends_with else {
            return (0..self.items.len()).collect();
        };
        let mut planned = far(&after)[end].clone();
        planned.insert(end);
        planned
    }

    /// What comes before a task, a charge in the way included.
    pub fn after(&self, index: usize) -> Vec<usize> {
        let mut after = self.items[index].after.clone();
        if let Some((charge, before)) = self.gate
            && before == index
        {
            after.push(charge);
        }
        after
    }

    /// The tasks of `among` as they are planned: the tasks of one block are one.
    pub fn units(&self, among: &BTreeSet<usize>) -> Vec<Unit> {
        let mut unit_of: BTreeMap<usize, usize> = BTreeMap::new();
        let mut blocks: BTreeMap<&str, usize> = BTreeMap::new();
        let mut units: Vec<Unit> = Vec::new();
        for &index in among {
            let block = self.items[index].def.block.as_str();
            let unit = match blocks.get(block) {
                Some(&unit) if !block.is_empty() => unit,
                _ => {
                    units.push(Unit {
                        members: Vec::new(),
                        after: Vec::new(),
                    });
                    units.len() - 1
                }
            };
            if !block.is_empty() {
                blocks.insert(block, unit);
            }
            units[unit].members.push(index);
            unit_of.insert(index, unit);
        }
        for (number, unit) in units.iter_mut().enumerate() {
            let after: BTreeSet<usize> = unit
                .members
                .iter()
                .flat_map(|&member| self.after(member))
                .filter_map(|before| unit_of.get(&before).copied())
                .filter(|&before| before != number)
                .collect();
            unit.after = after.into_iter().collect();
        }
        units
    }
}

/// The list of `robot` as it stands; `None` for a robot nobody knows.
pub fn today(pit: &Pit, robot: RobotId) -> Option<Today> {
    let file = pit.robot(robot)?;
    let hand = in_hand(pit, robot, file);
    Some(build(pit, robot, file, hand, &file.lines))
}

/// The lists that a robot has behind it, from arrival on, and the one in hand, each as its facts
/// left it.
pub(super) fn lists(pit: &Pit, robot: RobotId, file: &RobotFile) -> Vec<Today> {
    let mut lists = Vec::new();
    let mut past = Hand {
        list: List::Arrival,
        turnaround: 0,
        began: None,
        facts_from: None,
    };
    let mut bout_began = None;
    for (place, line) in file.lines.iter().enumerate() {
        match &line.body {
            Body::BoutStarted(_) => {
                lists.push(build(pit, robot, file, past, &file.lines[..place]));
                bout_began = Some(line.at);
            }
            Body::BoutEnded(_) => {
                if bout_began.is_none() {
                    lists.push(build(pit, robot, file, past, &file.lines[..place]));
                }
                past = Hand {
                    list: List::Turnaround,
                    turnaround: past.turnaround + 1,
                    began: Some(line.at),
                    facts_from: bout_began.take().or(Some(line.at)),
                };
            }
            _ => {}
        }
    }
    lists.extend(today(pit, robot).filter(|_| bout_began.is_none()));
    lists
}

/// The list as it will be after the bout a robot is in, or is to be in, if nothing breaks.
pub fn after_next_bout(pit: &Pit, robot: RobotId) -> Option<Today> {
    let file = pit.robot(robot)?;
    let hand = Hand {
        list: List::Turnaround,
        turnaround: file.state.turnaround + 1,
        began: None,
        facts_from: None,
    };
    Some(build(pit, robot, file, hand, &[]))
}

fn build(pit: &Pit, robot: RobotId, file: &RobotFile, hand: Hand, lines: &[Arc<Line>]) -> Today {
    let register = &file.register.body;
    let changes = pit
        .libraries
        .get(&(register.team, register.machine))
        .map(|changes| &changes.body);
    let tasks = library::for_team(register.machine, changes);
    let calls = Calls::of(robot, lines, &hand);
    let mut list = match hand.list {
        List::Arrival => call::arrival(&tasks, &calls),
        list => tasks.list(list).to_vec(),
    };
    let gone = |task: &TaskDef| {
        let instances = calls.instances(task);
        !instances.is_empty()
            && instances
                .iter()
                .all(|(area, _)| calls.left_out(task, area.as_deref()).is_some())
    };
    let on = call::called(hand.list, &list, &calls, &gone);
    lay::patch(
        &mut list,
        &tasks,
        hand.list,
        pit.settings().bottle_in_at,
        &on,
    );
    let mut left_out = Vec::new();
    let mut items = lay::lay_out(&list, &on, &hand, &calls, &mut left_out);
    left_out.extend(lay::wholly_left_out(&list, &on, &hand, &calls));
    close(&mut items, lines, &hand);
    let index_of = |id: &str| items.iter().position(|item| item.key.task == id);
    let gate = tasks
        .gates
        .iter()
        .find(|gate| gate.list == hand.list)
        .filter(|_| !another_set_ready(pit, robot, file, &hand))
        .and_then(|gate| index_of(&gate.task).zip(index_of(&gate.before)))
        .filter(|&(charge, before)| {
            !items[charge].progress.is_done() && !items[before].progress.is_done()
        });
    let ends_with = tasks
        .plan_ends_with
        .get(&hand.list)
        .and_then(|id| index_of(id));
    let conditional = lay::conditional(hand.list, &list, &calls, &gone, &items);
    Today {
        robot,
        hand,
        items,
        left_out,
        ends_with,
        gate,
        found: calls.found,
        conditional,
    }
}
