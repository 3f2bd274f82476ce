//! A team's own copy of a library: the product's lists with the team's changes.

use super::tasks::{List, MachineTasks, Skill, TaskDef};
use super::{lists, tasks::CHOICE};
use crate::calc::fault::{Fault, Faults};
use crate::calc::strict::escape;
use crate::pit::logbook::register::{Library, Machine, TaskChange, ThreePoint};
use std::sync::Arc;

/// The lists of `machine` as a team that said `changes` has them.
///
/// What cannot be applied is passed over: a safety task stays whatever is said, and changes are
/// checked by [`check_changes`] when they come in.
pub fn for_team(machine: Machine, changes: Option<&Library>) -> MachineTasks {
    let mut tasks = lists(machine).clone();
    let Some(changes) = changes.filter(|library| library.machine == machine) else {
        return tasks;
    };
    for list in List::ALL {
        for task in tasks.list_mut(list) {
            if let Some(change) = changes.changes.get(&task.id) {
                *task = Arc::new(changed(task, change));
            }
        }
    }
    tasks
}

fn changed(task: &TaskDef, change: &TaskChange) -> TaskDef {
    let mut task = task.clone();
    if let Some(minutes) = change.minutes.filter(|minutes| rising(*minutes)) {
        task.minutes = minutes;
    }
    if let Some(name) = &change.name {
        task.name = name.as_str().to_owned();
    }
    if let Some(skills) = &change.skills {
        task.skills = skills
            .iter()
            .filter_map(|skill| Skill::named(skill.as_str()))
            .collect();
    }
    if !task.safety {
        if let Some(value) = change
            .value
            .and_then(|value| u32::try_from(value.get()).ok())
        {
            task.value = value.clamp(1, 20);
        }
        if change.never {
            // Nothing calls it any more; somebody can still choose it.
            task.called_by = vec![CHOICE.to_owned()];
        }
    }
    task
}

fn rising(minutes: ThreePoint) -> bool {
    minutes.optimistic > 0.0
        && minutes.optimistic <= minutes.likely
        && minutes.likely <= minutes.pessimistic
        && minutes.pessimistic <= 1_440.0
}

/// What is wrong with a team's changes, with pointers below the body of the line.
///
/// # Errors
/// Every fault at once.
pub fn check_changes(library: &Library) -> Result<(), Vec<Fault>> {
    let tasks = lists(library.machine);
    let mut faults = Faults::none();
    for (id, change) in &library.changes {
        let at = format!("/changes/{}", escape(id));
        let Some(task) = tasks.task(id) else {
            faults.add(at, unknown(tasks, id));
            continue;
        };
        if change.never && task.safety {
            faults.add(
                format!("{at}/never"),
                format!("'{}' is a safety task and is never left out.", task.name),
            );
        }
        if let Some(value) = change.value {
            if task.safety {
                faults.add(
                    format!("{at}/value"),
                    format!("'{}' is a safety task, so it has no value.", task.name),
                );
            } else {
                faults.range(format!("{at}/value"), f64::from(value.get()), 1.0, 20.0);
            }
        }
        if change.minutes.is_some_and(|minutes| !rising(minutes)) {
            faults.add(
                format!("{at}/minutes"),
                "Minutes rise from optimistic over likely to pessimistic, above 0 and up to 1440.",
            );
        }
        for (n, skill) in change.skills.iter().flatten().enumerate() {
            if Skill::named(skill.as_str()).is_none() {
                faults.add(
                    format!("{at}/skills/{n}"),
                    format!(
                        "'{skill}' is not one of mechanic, electrics, pneumatics, fabricator, driver."
                    ),
                );
            }
        }
    }
    faults.check()
}

fn unknown(tasks: &MachineTasks, id: &str) -> String {
    let id: String = id.chars().take(60).collect();
    let nearest = List::ALL
        .into_iter()
        .flat_map(|list| tasks.list(list))
        .map(|task| task.id.as_str())
        .max_by(|a, b| strsim::jaro_winkler(a, &id).total_cmp(&strsim::jaro_winkler(b, &id)))
        .unwrap_or_default();
    format!("There is no task '{id}'; the nearest is '{nearest}'.")
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn library(changes: serde_json::Value) -> Library {
        serde_json::from_value(json!({"machine": "flipper_heavyweight", "changes": changes}))
            .unwrap()
    }

    #[test]
    fn a_team_changes_minutes_names_values_and_skills() {
        let changes = library(json!({
            "fl-wheel": {"minutes": {"optimistic": 4, "likely": 6, "pessimistic": 9},
                         "value": 19, "name": "Swap a wheel", "skills": ["driver"]},
            "fl-scoop": {"never": true}
        }));
        assert_eq!(check_changes(&changes), Ok(()));
        let tasks = for_team(Machine::FlipperHeavyweight, Some(&changes));
        let wheel = tasks.task("fl-wheel").unwrap();
        assert_eq!(wheel.name, "Swap a wheel");
        assert_eq!((wheel.value, wheel.minutes.likely), (19, 6.0));
        assert_eq!(wheel.skills, [Skill::Driver]);
        assert!(!tasks.task("fl-scoop").unwrap().called_by("scoop_bad"));
        let own = for_team(Machine::FlipperHeavyweight, None);
        assert!(own.task("fl-scoop").unwrap().called_by("scoop_bad"));
    }

    #[test]
    fn a_safety_task_is_never_left_out_whatever_a_team_says() {
        let changes = library(json!({"fl-weigh": {"never": true, "value": 3}}));
        let faults = check_changes(&changes).unwrap_err();
        let pointers: Vec<&str> = faults.iter().map(|f| f.pointer.as_str()).collect();
        assert_eq!(
            pointers,
            ["/changes/fl-weigh/never", "/changes/fl-weigh/value"]
        );
        let tasks = for_team(Machine::FlipperHeavyweight, Some(&changes));
        let weigh = tasks.task("fl-weigh").unwrap();
        assert!(weigh.safety && weigh.value == 0 && weigh.called_by("structure"));
    }

    #[test]
    fn bad_changes_are_all_named() {
        let faults = check_changes(&library(json!({
            "fl-wheal": {},
            "fl-wheel": {"skills": ["juggler"], "value": 21,
                         "minutes": {"optimistic": 9, "likely": 6, "pessimistic": 9}}
        })))
        .unwrap_err();
        assert_eq!(faults.len(), 4, "{faults:?}");
        assert!(faults[0].detail.contains("'fl-wheel'"), "{faults:?}");
    }

    #[test]
    fn changes_of_another_machine_do_not_apply() {
        let changes = library(json!({"fl-wheel": {"name": "Other"}}));
        let tasks = for_team(Machine::SmallMachine, Some(&changes));
        assert!(tasks.task("fl-wheel").is_none());
        assert_eq!(
            tasks.task("sm-wheel").unwrap().name,
            lists(Machine::SmallMachine).task("sm-wheel").unwrap().name
        );
    }
}
