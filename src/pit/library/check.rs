//! Whether the starting data agrees with itself.

use super::Data;
use super::damage::MachineDamage;
use super::reports::Blank;
use super::tasks::{ALWAYS, CHOICE, Capacity, List, MachineTasks, Patch, PoolOf, TaskDef, Whose};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::{Body, Kind};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Everything that is wrong with the data.
pub(super) fn faults(data: &Data) -> Vec<String> {
    let mut faults = Vec::new();
    for machine in Machine::ALL {
        match (
            data.tasks.machines.get(&machine),
            data.damage.machines.get(&machine),
        ) {
            (Some(tasks), Some(damage)) => {
                of_machine(data, machine, tasks, damage, &mut faults);
            }
            _ => faults.push(format!("{}: lists or damage missing", machine.as_str())),
        }
    }
    for (pool, whose) in [
        (PoolOf::Access, Whose::Robot),
        (PoolOf::Bench, Whose::Team),
        (PoolOf::ChargerChannel, Whose::Team),
        (PoolOf::Trolley, Whose::Team),
        (PoolOf::GasBay, Whose::Event),
        (PoolOf::Scale, Whose::Event),
        (PoolOf::Inspector, Whose::Event),
        (PoolOf::TestArea, Whose::Event),
        (PoolOf::Lift, Whose::Event),
        (PoolOf::Press, Whose::Event),
    ] {
        let found = data.tasks.pools.iter().find(|p| p.id == pool);
        let of_all = |capacity: &Capacity| Machine::ALL.iter().all(|m| capacity.of(*m) > 0);
        if found.is_none_or(|p| p.per != whose || !of_all(&p.capacity)) {
            faults.push(format!("pool {} is not as expected", pool.as_str()));
        }
    }
    of_reports(data, &mut faults);
    unique_ids(data, &mut faults);
    faults
}

fn unique_ids(data: &Data, faults: &mut Vec<String>) {
    let mut seen = BTreeSet::new();
    for tasks in data.tasks.machines.values() {
        for task in List::ALL.into_iter().flat_map(|list| tasks.list(list)) {
            if !seen.insert(task.id.as_str()) {
                faults.push(format!("{}: id used twice", task.id));
            }
        }
    }
    for report in &data.reports.reports {
        if let Some(unknown) = report.closes.iter().find(|id| !seen.contains(id.as_str())) {
            faults.push(format!("report {} closes unknown {unknown}", report.id));
        }
    }
}

fn of_machine(
    data: &Data,
    machine: Machine,
    tasks: &MachineTasks,
    damage: &MachineDamage,
    faults: &mut Vec<String>,
) {
    let name = machine.as_str();
    if tasks.damage_kinds != machine {
        faults.push(format!("{name}: damage kinds of another machine"));
    }
    for area in &damage.areas {
        if let Some(unknown) = area.kinds.iter().find(|kind| damage.kind(kind).is_none()) {
            faults.push(format!("{name}: area {} has unknown {unknown}", area.id));
        }
    }
    for kind in &damage.kinds {
        if data.changes.kind(&kind.id).is_some() || [ALWAYS, CHOICE].contains(&kind.id.as_str()) {
            faults.push(format!("{name}: damage {} is also a change", kind.id));
        }
        for called in &kind.calls {
            let agrees = tasks
                .turnaround
                .iter()
                .any(|task| task.id == *called && task.called_by(&kind.id));
            if !agrees {
                faults.push(format!("{name}: {} and {called} disagree", kind.id));
            }
        }
    }
    for list in List::ALL {
        of_list(data, name, tasks, damage, list, faults);
    }
    for setting in &tasks.settings {
        for (list, patches) in &setting.patches {
            for (id, patch) in [&patches.bench, &patches.queue, &patches.arena]
                .into_iter()
                .flatten()
            {
                of_patch(tasks.list(*list), id, patch, faults);
            }
        }
    }
}

fn of_patch(list: &[Arc<TaskDef>], id: &str, patch: &Patch, faults: &mut Vec<String>) {
    let known = |id: &str| list.iter().any(|task| task.id == id);
    let signed = |after: &String| {
        after
            .strip_prefix('+')
            .or_else(|| after.strip_prefix('-'))
            .is_some_and(known)
    };
    if !known(id) || !patch.after.iter().all(signed) {
        faults.push(format!("{id}: setting patches something unknown"));
    }
}

fn of_list(
    data: &Data,
    name: &str,
    tasks: &MachineTasks,
    damage: &MachineDamage,
    list: List,
    faults: &mut Vec<String>,
) {
    let all = tasks.list(list);
    let ids: BTreeMap<&str, &TaskDef> = all.iter().map(|t| (t.id.as_str(), &**t)).collect();
    for task in all {
        of_task(data, damage, &ids, task, faults);
    }
    if cyclic(all) {
        faults.push(format!("{name} {list:?}: tasks wait for each other"));
    }
    if !tasks.starts_with.get(&list).is_some_and(|s| s.complete()) {
        faults.push(format!("{name} {list:?}: start not described"));
    }
    match tasks.plan_ends_with.get(&list) {
        Some(end) if ids.contains_key(end.as_str()) => {}
        _ => faults.push(format!("{name} {list:?}: plan ends with nothing known")),
    }
    for gate in tasks.gates.iter().filter(|gate| gate.list == list) {
        if !ids.contains_key(gate.task.as_str()) || !ids.contains_key(gate.before.as_str()) {
            faults.push(format!("{name} {list:?}: gate of something unknown"));
        }
    }
    if list == List::Arrival {
        let repairs = &tasks.arrival_repairs;
        if !ids.contains_key(repairs.after.as_str()) || !ids.contains_key(repairs.before.as_str()) {
            faults.push(format!("{name}: arrival repairs beside something unknown"));
        }
    }
}

fn of_task(
    data: &Data,
    damage: &MachineDamage,
    ids: &BTreeMap<&str, &TaskDef>,
    task: &TaskDef,
    faults: &mut Vec<String>,
) {
    let mut wrong = |what: String| faults.push(format!("{}: {what}", task.id));
    if let Some(after) = task.after.iter().find(|a| !ids.contains_key(a.as_str())) {
        wrong(format!("after unknown {after}"));
    }
    let known = |calls: &&String| {
        [ALWAYS, CHOICE].contains(&calls.as_str())
            || damage.kind(calls).is_some()
            || data.changes.kind(calls).is_some()
    };
    if task.called_by.is_empty() || !task.called_by.iter().all(|calls| known(&calls)) {
        wrong("called by something unknown, or by nothing".to_owned());
    }
    if let Some(change) = task.changes.iter().find(|c| data.changes.kind(c).is_none()) {
        wrong(format!("makes unknown change {change}"));
    }
    if data.reports.row(&task.closes_with).is_none() {
        wrong(format!("closes with unknown row {}", task.closes_with));
    }
    if let Some(skill) = task.skills.iter().find(|s| !data.tasks.skills.contains(s)) {
        wrong(format!("asks for unknown skill {}", skill.as_str()));
    }
    if let Some(duty) = task.duties.iter().find(|d| !data.tasks.duties.contains(d)) {
        wrong(format!("asks for unknown duty {duty:?}"));
    }
    if let Some(take) = task
        .takes
        .iter()
        .find(|take| !data.tasks.pools.iter().any(|pool| pool.id == take.pool))
    {
        wrong(format!("takes of unknown pool {}", take.pool.as_str()));
    }
    let minutes = task.minutes;
    let rising = minutes.optimistic > 0.0
        && minutes.optimistic <= minutes.likely
        && minutes.likely <= minutes.pessimistic
        && minutes.pessimistic <= 1_440.0;
    if !rising {
        wrong("minutes do not rise".to_owned());
    }
    if task.passive != (task.hands == 0) {
        wrong("passive and hands disagree".to_owned());
    }
    if !task.safety && !(1..=20).contains(&task.value) && !task.called_by(CHOICE) {
        wrong("optional without a value".to_owned());
    }
    if task.safety && task.value != 0 {
        wrong("a safety task has no value to weigh".to_owned());
    }
    if !task.needs.complete() {
        wrong("needs are not described".to_owned());
    }
}

/// Whether some tasks of `list` wait for each other.
fn cyclic(list: &[Arc<TaskDef>]) -> bool {
    let mut left: Vec<&TaskDef> = list.iter().map(|task| &**task).collect();
    while !left.is_empty() {
        let waiting: BTreeSet<&str> = left.iter().map(|task| task.id.as_str()).collect();
        let before = left.len();
        left.retain(|task| task.after.iter().any(|a| waiting.contains(a.as_str())));
        if left.len() == before {
            return true;
        }
    }
    false
}

fn of_reports(data: &Data, faults: &mut Vec<String>) {
    let file = &data.reports;
    for report in &file.reports {
        if let Some(unknown) = report.carries.iter().find(|id| file.report(id).is_none()) {
            faults.push(format!("report {} carries unknown {unknown}", report.id));
        }
        for row in &report.rows {
            if file.row(&row.id) != Some(row) {
                faults.push(format!("row {} differs between reports", row.id));
            }
            if !file.line_kinds.contains_key(row.kind.name()) {
                faults.push(format!("row {}: kind not described", row.id));
            }
            let sample = row.body.filled(|blank| sample(row.kind, blank));
            if let Err(wrong) = Body::read(row.kind, &sample, "") {
                faults.push(format!("row {}: {wrong:?}", row.id));
            }
        }
    }
}

/// Something that fits into a blank, to try whether the line can be read.
fn sample(kind: Kind, blank: Blank) -> Option<Value> {
    const ID: &str = "00000000-0000-7000-8000-000000000001";
    Some(match blank {
        Blank::Me if matches!(kind, Kind::Link | Kind::Count) => json!({"person": ID}),
        Blank::Standing => json!({"person": ID}),
        Blank::Me
        | Blank::Driver
        | Blank::Fitted
        | Blank::Next
        | Blank::CameOut
        | Blank::OnCharge
        | Blank::Suspect
        | Blank::AtTheBay
        | Blank::Spare
        | Blank::Second => json!(ID),
        Blank::Channels | Blank::Readers => json!([ID]),
        Blank::Reading | Blank::Current | Blank::Turnaround => json!(1),
        Blank::Changes => json!(["radio"]),
        Blank::Old => json!("scrap"),
        Blank::DamageFound
        | Blank::AsBefore
        | Blank::SecondRestraint
        | Blank::Part
        | Blank::Area
        | Blank::Id => json!("text"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::library::{ChangeFile, DamageFile, ReportFile, TaskFile};

    fn broken(change: impl Fn(&mut Value)) -> Vec<String> {
        let mut tasks: Value =
            serde_json::from_str(include_str!("data/task_libraries.json")).unwrap();
        change(&mut tasks);
        let data = Data {
            tasks: serde_json::from_value::<TaskFile>(tasks).unwrap(),
            damage: serde_json::from_str::<DamageFile>(include_str!("data/damage_kinds.json"))
                .unwrap(),
            changes: serde_json::from_str::<ChangeFile>(include_str!("data/change_kinds.json"))
                .unwrap(),
            reports: serde_json::from_str::<ReportFile>(include_str!("data/one_tap_reports.json"))
                .unwrap(),
        };
        faults(&data)
    }

    #[test]
    fn data_that_disagrees_with_itself_is_found_out() {
        assert_eq!(broken(|_| {}), Vec::<String>::new());
        let task = "/machines/small_machine/turnaround/3";
        for (field, value, said) in [
            ("after", json!(["sm-nothing"]), "after unknown"),
            ("called_by", json!(["rain"]), "called by something unknown"),
            ("changes", json!(["rain"]), "unknown change"),
            ("closes_with", json!("rain"), "unknown row"),
            ("value", json!(3), "no value to weigh"),
            ("id", json!("sm-hold"), "used twice"),
            (
                "minutes",
                json!({"optimistic": 3, "likely": 2, "pessimistic": 4}),
                "do not rise",
            ),
        ] {
            let found = broken(|tasks| tasks.pointer_mut(task).unwrap()[field] = value.clone());
            assert!(
                found.iter().any(|fault| fault.contains(said)),
                "{said}: {found:?}"
            );
        }
    }

    #[test]
    fn tasks_that_wait_for_each_other_are_found_out() {
        let found = broken(|tasks| {
            tasks["machines"]["small_machine"]["turnaround"][0]["after"] = json!(["sm-queue"]);
        });
        assert!(
            found
                .iter()
                .any(|fault| fault.contains("wait for each other"))
        );
    }

    #[test]
    fn unknown_fields_and_words_are_refused() {
        let text = include_str!("data/change_kinds.json");
        assert!(
            serde_json::from_str::<ChangeFile>(&text.replace("\"weigh\"", "\"wiegh\"")).is_err()
        );
        assert!(serde_json::from_str::<ChangeFile>(&text.replace("always", "often")).is_err());
    }
}
