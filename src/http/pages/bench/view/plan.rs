//! The plan of a robot as lanes.

use super::named;
use crate::http::pages::parts::lanes::{Bar, Lane, Plan, Progress as Drawn};
use crate::http::pages::{reader::Reader, robot_now::RobotNow, words};
use crate::pit::logbook::{Body, machine};
use crate::pit::tasks::Progress;

/// The lanes: tasks that are done, under way and planned.
pub(super) fn plan(reader: &Reader, now: &RobotNow<'_>) -> Option<Plan> {
    if now.file.state.in_bout.is_some() {
        return None;
    }
    let at = reader.clock.now;
    let me = reader.signed.person;
    let begun = now
        .today
        .hand
        .began
        .unwrap_or(at)
        .max(at - chrono::TimeDelta::minutes(20));
    let mut lanes: Vec<(Option<crate::pit::ids::PersonId>, Lane)> = Vec::new();
    let mut tasks = Vec::new();
    let published = match reader
        .pit
        .plans
        .get(&now.file.register.body.team)
        .map(|line| &line.body)
    {
        Some(Body::Planned(plan)) => plan
            .tasks
            .iter()
            .filter(|task| task.robot == now.id)
            .collect(),
        _ => Vec::new(),
    };
    for task in published {
        let Some(index) = now.today.find(&task.task, task.instance.as_deref()) else {
            continue;
        };
        let item = &now.today.items[index];
        let (progress, start, end) = match &item.progress {
            Progress::Done {
                at: done, since, ..
            } => (Drawn::Done, since.unwrap_or(task.start).min(*done), *done),
            Progress::Running { since, .. } => (Drawn::Running, *since, task.end.max(at)),
            Progress::Open | Progress::Waiting(_) => (Drawn::Planned, task.start, task.end),
        };
        if end < begun {
            continue;
        }
        let mut names: Vec<String> = task
            .people
            .iter()
            .map(|who| reader.name(Some(*who)))
            .collect();
        if task.borrowed_hands > 0 {
            names.push(format!("{} borrowed", task.borrowed_hands));
        }
        let mut on = Vec::new();
        for person in &task.people {
            let lane = lanes.iter().position(|(who, _)| *who == Some(*person)).unwrap_or_else(|| {
                let holds = matches!(now.file.state.holder.as_ref().map(|h| h.value), Some(machine::Holder::Person(who)) if who == *person);
                let note = [(Some(*person) == me).then_some("you"), holds.then_some("link holder")].into_iter().flatten().collect::<Vec<_>>().join(", ");
                lanes.push((Some(*person), Lane { name: reader.name(Some(*person)), note }));
                lanes.len() - 1
            });
            on.push(lane);
        }
        tasks.push(Bar {
            name: named(reader, now, item),
            who: words::list(&names),
            lanes: on,
            start: start.max(begun),
            end,
            progress,
            decides: task.decides,
            mine: me.is_some_and(|me| task.people.contains(&me)),
        });
    }
    tasks.sort_by_key(|bar| (bar.start, bar.end));
    if tasks.is_empty() {
        tasks = assumed(reader, now);
        lanes.clear();
    }
    Some(Plan {
        from: tasks
            .iter()
            .map(|bar| bar.start)
            .min()
            .unwrap_or(at)
            .min(at),
        likely: now.ready.as_ref().map(|ready| ready.likely),
        call: now.next.as_ref().map(|next| next.bout.call),
        lanes: lanes.into_iter().map(|(_, lane)| lane).collect(),
        tasks,
    })
}

/// Before a plan is published: the open tasks in order, one after another, by the library's minutes.
fn assumed(reader: &Reader, now: &RobotNow<'_>) -> Vec<Bar> {
    let mut at = reader.clock.now;
    now.today
        .open()
        .filter(|(_, item)| !item.def.passive)
        .map(|(_, item)| {
            let start = at;
            at += chrono::TimeDelta::seconds((item.def.minutes.likely * 60.0) as i64);
            Bar {
                name: named(reader, now, item),
                who: format!("{} hands, no plan yet", item.def.hands),
                lanes: Vec::new(),
                start,
                end: at,
                progress: Drawn::Planned,
                decides: false,
                mine: false,
            }
        })
        .collect()
}
