//! The product's starting data: task lists, kinds of damage and change, one-tap reports.
//!
//! Minutes and values are starting values, the author's estimates, and say so; a team changes its
//! own copy with `register_library` lines and learns its own durations. Not a safety procedure: the
//! event's rules, the marshal, the machine's own link plan and local law come first.

pub mod changes;
mod check;
pub mod damage;
pub mod reports;
pub mod tasks;
mod team;
mod words;

use changes::ChangeFile;
use damage::{DamageFile, MachineDamage};
use reports::ReportFile;
use std::sync::LazyLock;
use tasks::{MachineTasks, TaskFile};

use crate::pit::logbook::register::Machine;
pub use team::{check_changes, for_team};

/// The starting data.
#[derive(Debug)]
pub struct Data {
    /// Task lists.
    pub tasks: TaskFile,
    /// Areas and kinds of damage.
    pub damage: DamageFile,
    /// Kinds of change.
    pub changes: ChangeFile,
    /// One-tap reports.
    pub reports: ReportFile,
}

static DATA: LazyLock<Result<Data, Vec<String>>> = LazyLock::new(|| {
    let data = Data {
        tasks: read("task_libraries", include_str!("data/task_libraries.json"))?,
        damage: read("damage_kinds", include_str!("data/damage_kinds.json"))?,
        changes: read("change_kinds", include_str!("data/change_kinds.json"))?,
        reports: read("one_tap_reports", include_str!("data/one_tap_reports.json"))?,
    };
    let faults = check::faults(&data);
    if faults.is_empty() {
        Ok(data)
    } else {
        Err(faults)
    }
});

fn read<T: serde::de::DeserializeOwned>(name: &str, text: &str) -> Result<T, Vec<String>> {
    serde_json::from_str(text).map_err(|fault| vec![format!("{name}: {fault}")])
}

/// Whether the starting data can be read and agrees with itself; called once at start.
///
/// # Errors
/// Everything that is wrong with it.
pub fn check() -> Result<(), Vec<String>> {
    DATA.as_ref().map(|_| ()).map_err(Clone::clone)
}

/// The starting data.
///
/// # Panics
/// If [`check`] fails, which is called at start and in a test.
pub fn data() -> &'static Data {
    match &*DATA {
        Ok(data) => data,
        Err(faults) => panic!("starting data: {}", faults.join("; ")),
    }
}

/// The product's own lists of a machine type.
///
/// # Panics
/// Like [`data`]: every type has lists, or [`check`] fails.
pub fn lists(machine: Machine) -> &'static MachineTasks {
    &data().tasks.machines[&machine]
}

/// Areas and kinds of damage of a machine type.
///
/// # Panics
/// Like [`data`]: every type has them, or [`check`] fails.
pub fn damage(machine: Machine) -> &'static MachineDamage {
    &data().damage.machines[&machine]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_starting_data_agrees_with_itself() {
        assert_eq!(check(), Ok(()));
    }
}
