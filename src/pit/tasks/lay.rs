//! From the called tasks to a list in order: instances, event settings, what hangs on what.

use super::call::{self, Calls};
use super::graph::{in_order, reduced};
use super::hand::Hand;
use super::today::{Item, LeftOut, Progress, TaskKey};
use crate::pit::library::tasks::{List, MachineTasks, Patch, PoolOf, Take, TaskDef};
use crate::pit::settings::BottleInAt;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The called tasks as items, in an order in which nothing comes before what it waits for.
pub(super) fn lay_out(
    list: &[Arc<TaskDef>],
    on: &BTreeSet<String>,
    hand: &Hand,
    calls: &Calls,
    left_out: &mut Vec<LeftOut>,
) -> Vec<Item> {
    let before = reduced(list, on);
    let mut items: Vec<Item> = Vec::new();
    for def in list.iter().filter(|def| on.contains(&def.id)) {
        for (instance, called_at) in calls.instances(def) {
            let key = TaskKey {
                turnaround: hand.turnaround,
                task: def.id.clone(),
                instance,
            };
            if let Some(word) = calls.left_out(def, key.instance.as_deref()) {
                left_out.push(LeftOut {
                    key,
                    def: def.clone(),
                    line: word.line.id,
                });
                continue;
            }
            items.push(Item {
                key,
                def: def.clone(),
                after: Vec::new(),
                progress: Progress::Open,
                called_at,
            });
        }
    }
    let mut at: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (index, item) in items.iter().enumerate() {
        at.entry(item.def.id.as_str()).or_default().push(index);
    }
    let after: Vec<Vec<usize>> = items
        .iter()
        .map(|item| {
            before[&item.key.task]
                .iter()
                .flat_map(|id| at.get(id.as_str()).into_iter().flatten().copied())
                .collect()
        })
        .collect();
    let order = in_order(&after);
    let mut place = vec![0; order.len()];
    for (new, &old) in order.iter().enumerate() {
        place[old] = new;
    }
    order
        .iter()
        .map(|&old| {
            let mut item = items[old].clone();
            item.after = after[old].iter().map(|&other| place[other]).collect();
            item.after.sort_unstable();
            item
        })
        .collect()
}

pub(super) fn wholly_left_out<'a>(
    list: &'a [Arc<TaskDef>],
    on: &'a BTreeSet<String>,
    hand: &'a Hand,
    calls: &'a Calls,
) -> impl Iterator<Item = LeftOut> + 'a {
    list.iter()
        .filter(|def| !on.contains(&def.id))
        .flat_map(move |def| {
            calls.instances(def).into_iter().filter_map(|(area, _)| {
                let word = calls.left_out(def, area.as_deref())?;
                Some(LeftOut {
                    key: TaskKey {
                        turnaround: hand.turnaround,
                        task: def.id.clone(),
                        instance: area,
                    },
                    def: def.clone(),
                    line: word.line.id,
                })
            })
        })
}

/// For each optional task: what is on the list only because of it.
pub(super) fn conditional(
    list_of: List,
    list: &[Arc<TaskDef>],
    calls: &Calls,
    gone: &dyn Fn(&TaskDef) -> bool,
    items: &[Item],
) -> BTreeMap<usize, BTreeSet<usize>> {
    let may_go = |item: &Item| {
        item.def.optional() && matches!(item.progress, Progress::Open | Progress::Waiting(_))
    };
    let optional: BTreeSet<&str> = items
        .iter()
        .filter(|item| may_go(item))
        .map(|item| item.def.id.as_str())
        .collect();
    // A task of which one area is done or begun has made its changes.
    let begun = |id: &str| items.iter().any(|item| item.def.id == id && !may_go(item));
    let droppable: BTreeSet<&str> = optional.into_iter().filter(|id| !begun(id)).collect();
    let core = call::called(list_of, list, calls, &|task| {
        gone(task) || droppable.contains(task.id.as_str())
    });
    let mut conditional = BTreeMap::new();
    for (index, item) in items.iter().enumerate().filter(|(_, item)| may_go(item)) {
        let id = item.def.id.as_str();
        if !droppable.contains(id) {
            conditional.insert(index, BTreeSet::new());
            continue;
        }
        let with = call::called(list_of, list, calls, &|task| {
            gone(task) || (task.id != id && droppable.contains(task.id.as_str()))
        });
        let more = items
            .iter()
            .enumerate()
            .filter(|(_, other)| {
                let other = other.def.id.as_str();
                other != id && with.contains(other) && !core.contains(other)
            })
            .map(|(other, _)| other)
            .collect();
        conditional.insert(index, more);
    }
    conditional
}

/// Applies the event setting of where the bottle goes in. With a leak or weapon test called the
/// bottle is fitted on the bench in any case, for the test.
pub(super) fn patch(
    list: &mut [Arc<TaskDef>],
    tasks: &MachineTasks,
    list_of: List,
    bottle_in_at: BottleInAt,
    on: &BTreeSet<String>,
) {
    let tested = list
        .iter()
        .any(|task| on.contains(&task.id) && task.closes_with == "t_leak_ok");
    if tested {
        return;
    }
    for setting in &tasks.settings {
        let Some(patches) = setting.patches.get(&list_of) else {
            continue;
        };
        let patches = match bottle_in_at {
            BottleInAt::Bench => &patches.bench,
            BottleInAt::Queue => &patches.queue,
            BottleInAt::Arena => &patches.arena,
        };
        for task in list.iter_mut() {
            if let Some(patch) = patches.get(&task.id) {
                apply(Arc::make_mut(task), patch);
            }
        }
    }
}

fn apply(task: &mut TaskDef, patch: &Patch) {
    for after in &patch.after {
        if let Some(id) = after.strip_prefix('-') {
            task.after.retain(|other| other != id);
        } else if let Some(id) = after.strip_prefix('+') {
            task.after.push(id.to_owned());
        }
    }
    task.place = patch.place.unwrap_or(task.place);
    if let Some(needs) = patch.needs {
        task.needs = task.needs.with(needs);
    }
    if let Some(amount) = patch.access {
        task.takes.retain(|take| take.pool != PoolOf::Access);
        task.takes.push(Take {
            pool: PoolOf::Access,
            amount,
        });
    }
}
