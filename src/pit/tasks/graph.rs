//! The order of tasks: who waits for whom once uncalled tasks are gone.

use crate::pit::library::tasks::TaskDef;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Predecessors of each task in `on`; those of a task that is not on pass to its successors.
pub(super) fn reduced(
    tasks: &[Arc<TaskDef>],
    on: &BTreeSet<String>,
) -> BTreeMap<String, BTreeSet<String>> {
    let by_id: BTreeMap<&str, &TaskDef> = tasks.iter().map(|t| (t.id.as_str(), &**t)).collect();
    let mut known: BTreeMap<&str, BTreeSet<String>> = BTreeMap::new();
    for task in tasks {
        before(&by_id, on, &task.id, &mut known);
    }
    known
        .into_iter()
        .filter(|(id, _)| on.contains(*id))
        .map(|(id, before)| (id.to_owned(), before))
        .collect()
}

fn before<'a>(
    tasks: &BTreeMap<&'a str, &'a TaskDef>,
    on: &BTreeSet<String>,
    id: &str,
    known: &mut BTreeMap<&'a str, BTreeSet<String>>,
) -> BTreeSet<String> {
    if let Some(before) = known.get(id) {
        return before.clone();
    }
    let Some((id, task)) = tasks.get_key_value(id) else {
        return BTreeSet::new();
    };
    // Guards against a circle, which the check of the data rules out.
    known.insert(id, BTreeSet::new());
    let mut all = BTreeSet::new();
    for after in &task.after {
        if on.contains(after) {
            all.insert(after.clone());
        } else {
            all.extend(before(tasks, on, after, known));
        }
    }
    known.insert(id, all.clone());
    all
}

/// Indices in an order in which nobody comes before what it waits for; ties keep the given order.
pub(super) fn in_order(after: &[Vec<usize>]) -> Vec<usize> {
    let mut order = Vec::with_capacity(after.len());
    let mut placed = vec![false; after.len()];
    while order.len() < after.len() {
        let before = order.len();
        for (index, waits) in after.iter().enumerate() {
            if !placed[index] && waits.iter().all(|&other| placed[other]) {
                placed[index] = true;
                order.push(index);
            }
        }
        if order.len() == before {
            // A circle, which the check of the data rules out: the rest follows as given.
            order.extend((0..after.len()).filter(|&index| !placed[index]));
            break;
        }
    }
    order
}

/// Everything each index waits for, near and far. `after` has only smaller indices.
pub(super) fn far(after: &[Vec<usize>]) -> Vec<BTreeSet<usize>> {
    let mut far: Vec<BTreeSet<usize>> = Vec::with_capacity(after.len());
    for waits in after {
        let mut all: BTreeSet<usize> = waits.iter().copied().collect();
        for &other in waits {
            if let Some(more) = far.get(other) {
                all.extend(more.iter().copied());
            }
        }
        far.push(all);
    }
    far
}
