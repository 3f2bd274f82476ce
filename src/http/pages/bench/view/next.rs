//! What the person who reads should do next.

use super::named;
use crate::http::pages::parts::next::{Finish, NextTask, Starts};
use crate::http::pages::spares::part::routes::weight_after;
use crate::http::pages::{reader::Reader, robot_now::RobotNow};
use crate::pit::logbook::{Body, Kind};
use crate::pit::reports;
use crate::pit::stock;
use crate::pit::tasks::{Item, Progress};

/// The next task of the person who reads.
pub(super) fn next(reader: &Reader, now: &RobotNow<'_>) -> Option<NextTask> {
    let order = mine(reader, now);
    let index = *order.first()?;
    let item = &now.today.items[index];
    let base = reader.bench(now.id);
    let then = order.get(1).map(|&then| &now.today.items[then]);
    let own = reports::card(&reader.pit, &now.today, index, reader.signed.person);
    let by_one_tap = own
        .as_ref()
        .is_some_and(|row| matches!(row.row.kind, Kind::Part))
        || item.def.closes_with == "task_done";
    let sheet = reports::offered(&reader.pit, &now.today, reader.signed.person)
        .into_iter()
        .find(|sheet| sheet.closes.contains(&index));
    let how = match sheet {
        Some(sheet) if !by_one_tap => Finish::Sheet {
            href: format!("{base}/report/{}", sheet.report.id),
            label: sheet.report.label.clone(),
        },
        _ => Finish::Tap(format!("{base}/tasks")),
    };
    Some(NextTask {
        name: named(reader, now, item),
        task: item.key.task.clone(),
        instance: item.key.instance.clone(),
        since: match &item.progress {
            Progress::Running { since, .. } => Some(*since),
            _ => None,
        },
        minutes: Some(item.def.minutes.likely.round().max(1.0) as u32),
        needs: needs(item) + &over_weight(reader, now, item),
        then: then.map_or_else(String::new, |then| named(reader, now, then).to_lowercase()),
        // Only what can be begun at that moment is begun with it.
        starts: then
            .filter(|then| {
                then.after
                    .iter()
                    .all(|before| *before == index || now.today.items[*before].progress.is_done())
            })
            .filter(|then| !matches!(then.progress, Progress::Running { .. }))
            .map(|then| Starts {
                task: then.key.task.clone(),
                instance: then.key.instance.clone(),
            }),
        how,
    })
}

/// Tasks for the person who reads: what they are on, what the plan gives them, then what is ready.
fn mine(reader: &Reader, now: &RobotNow<'_>) -> Vec<usize> {
    let me = reader.signed.person;
    let items = &now.today.items;
    let mut order: Vec<usize> = Vec::new();
    let running_by = |item: &Item| match &item.progress {
        Progress::Running { by, .. } => Some(by.clone()),
        _ => None,
    };
    order.extend(
        now.today
            .open()
            .filter(|(_, item)| {
                running_by(item).is_some_and(|by| me.is_some_and(|me| by.contains(&me)))
            })
            .map(|(index, _)| index),
    );
    let planned = planned_for(reader, now);
    for (index, people) in &planned {
        let is_mine = me.is_some_and(|me| people.contains(&me));
        let open = matches!(
            items[*index].progress,
            Progress::Open | Progress::Waiting(_)
        );
        if is_mine && open && !order.contains(index) {
            order.push(*index);
        }
    }
    // Whether the link plan still holds is said last: a change after that would ask for it again.
    let mut ready: Vec<(usize, &Item)> = now.today.ready().collect();
    ready.sort_by_key(|(index, item)| (item.def.closes_with == "plan_holds", *index));
    for (index, item) in ready {
        let others = planned
            .iter()
            .any(|(i, people)| *i == index && !people.is_empty());
        if !others && item.def.hands > 0 && !order.contains(&index) {
            order.push(index);
        }
    }
    order
}

/// The plan's tasks of this robot, by start: index and people.
fn planned_for(
    reader: &Reader,
    now: &RobotNow<'_>,
) -> Vec<(usize, Vec<crate::pit::ids::PersonId>)> {
    let Some(Body::Planned(plan)) = reader
        .pit
        .plans
        .get(&now.file.register.body.team)
        .map(|line| &line.body)
    else {
        return Vec::new();
    };
    plan.tasks
        .iter()
        .filter(|task| task.robot == now.id)
        .flat_map(|task| {
            let first = now.today.find(&task.task, task.instance.as_deref());
            let block = first.map_or("", |index| now.today.items[index].def.block.as_str());
            let members: Vec<usize> = if block.is_empty() {
                first.into_iter().collect()
            } else {
                (0..now.today.items.len())
                    .filter(|i| now.today.items[*i].def.block == block)
                    .collect()
            };
            members
                .into_iter()
                .map(|index| (index, task.people.clone()))
                .collect::<Vec<_>>()
        })
        .collect()
}

/// A swap that may put the robot over its limit says so before it is done. **Source** H21.
fn over_weight(reader: &Reader, now: &RobotNow<'_>, item: &Item) -> String {
    let spare = (item.def.closes_with == "part_swapped")
        .then(|| stock::types_for(&reader.pit, now.id, &item.key.task))
        .and_then(|types| types.first().copied());
    let over = spare.and_then(|spare| {
        let swap = stock::swap(&reader.pit, now.id, spare)?;
        let label = &reader.pit.part_types.get(&spare)?.body.label;
        swap.may_be_over()
            .then(|| format!("{label}: {}", weight_after(swap)))
    });
    over.map_or_else(String::new, |words| format!(". {words}"))
}

fn needs(item: &Item) -> String {
    use crate::pit::library::tasks::{BarIs, GasIs, LinkIs};
    let needs = &item.def.needs;
    let mut list = Vec::new();
    if needs.link == Some(LinkIs::Out) {
        list.push("link out".to_owned());
    }
    if needs.gas == Some(GasIs::Zero) {
        list.push("gas zero".to_owned());
    }
    match needs.weapon_bar {
        Some(BarIs::On) => list.push("bar on".to_owned()),
        Some(BarIs::Restrained | BarIs::Held) => list.push("weapon restrained".to_owned()),
        _ => {}
    }
    if list.is_empty() {
        String::new()
    } else {
        format!("Needs {}", list.join(", "))
    }
}
