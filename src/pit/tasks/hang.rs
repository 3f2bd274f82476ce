//! What may be left out of a plan, and what hangs on it.

use super::today::{Item, Progress, Today, Unit};
use std::collections::{BTreeMap, BTreeSet};

/// Whether a unit may be left out, and what goes with it.
#[derive(Debug, Clone, Default)]
pub(super) struct Kind {
    pub repair: bool,
    conditional: bool,
    pub value: i64,
    pub requires: BTreeSet<usize>,
}

impl Kind {
    pub fn optional(&self) -> bool {
        self.repair || self.conditional
    }
}

/// A repair that may be left out takes with it what is on the list only because of it. What hangs
/// on it is worth nothing by itself, so it is in a plan exactly if something in the plan needs it.
pub(super) fn kinds(today: &Today, units: &[Unit]) -> Vec<Kind> {
    let unit_of: BTreeMap<usize, usize> = units
        .iter()
        .enumerate()
        .flat_map(|(number, unit)| unit.members.iter().map(move |&index| (index, number)))
        .collect();
    let hang: BTreeSet<usize> = today.conditional.values().flatten().copied().collect();
    units
        .iter()
        .map(|unit| {
            let untouched = unit.members.iter().all(|&index| {
                matches!(
                    today.items[index].progress,
                    Progress::Open | Progress::Waiting(_)
                )
            });
            let only: Vec<&Item> = unit.members.iter().map(|&i| &today.items[i]).collect();
            let repair = untouched && only.iter().all(|item| item.def.optional());
            Kind {
                repair,
                conditional: !repair
                    && untouched
                    && unit.members.iter().all(|index| hang.contains(index)),
                value: only.iter().map(|item| i64::from(item.def.value)).sum(),
                requires: unit
                    .members
                    .iter()
                    .filter_map(|index| today.conditional.get(index))
                    .flatten()
                    .filter_map(|index| unit_of.get(index).copied())
                    .collect(),
            }
        })
        .collect()
}

/// Units that come before one: done ones are gone, and around one that may be left out its own
/// predecessors count as well.
pub(super) fn after(
    units: &[Unit],
    in_plan: &[bool],
    kinds: &[Kind],
    number: usize,
    running: bool,
) -> BTreeSet<usize> {
    if running {
        return BTreeSet::new();
    }
    let mut after = BTreeSet::new();
    let mut seen = BTreeSet::new();
    let mut look: Vec<usize> = units[number].after.clone();
    while let Some(other) = look.pop() {
        if !seen.insert(other) {
            continue;
        }
        if in_plan[other] {
            after.insert(other);
        }
        if in_plan[other] && kinds[other].optional() {
            look.extend(units[other].after.iter().copied());
        }
    }
    after
}
