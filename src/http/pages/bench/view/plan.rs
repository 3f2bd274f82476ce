//! The plan of a robot as lanes.

use super::named;
use crate::http::pages::parts::lanes::{Bar, Lane, Link, News, Plan, Progress as Drawn};
use crate::http::pages::{reader::Reader, robot_now::RobotNow, words};
use crate::pit::logbook::work::{PlannedRobot, WaitsFor};
use crate::pit::logbook::{Body, machine};
use crate::pit::tasks::moved::{self, Became};
use crate::pit::tasks::{Progress, publish};
use chrono::TimeDelta;

/// As long a new plan says what it moved.
const NEWS: TimeDelta = TimeDelta::minutes(10);
/// So many moves are told one by one.
const MOVES_SHOWN: usize = 4;

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
            eight_in_ten: task.eight_in_ten.filter(|by| *by > at),
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
        chain: numbered(reader, now, &tasks),
        moved: moved(reader, now),
        tasks,
    })
}

/// The published plan's entry of a robot, if it is for the list in hand.
fn planned<'a>(reader: &'a Reader, now: &RobotNow<'_>) -> Option<&'a PlannedRobot> {
    let plan = publish::last_plan(&reader.pit, now.file.register.body.team)?;
    plan.robots
        .iter()
        .find(|planned| planned.robot == now.id && planned.turnaround == now.today.hand.turnaround)
}

/// The chain of tasks that decides when a robot is ready, from the first that is not done.
pub fn chain(reader: &Reader, now: &RobotNow<'_>) -> Vec<Link> {
    numbered(reader, now, &[])
}

fn numbered(reader: &Reader, now: &RobotNow<'_>, bars: &[Bar]) -> Vec<Link> {
    let Some(planned) = planned(reader, now).filter(|_| now.file.state.in_bout.is_none()) else {
        return Vec::new();
    };
    let mut links = Vec::new();
    for link in &planned.chain {
        let own = (link.robot == now.id)
            .then(|| now.today.find(&link.task, link.instance.as_deref()))
            .flatten()
            .map(|index| &now.today.items[index]);
        if own.is_some_and(|item| item.progress.is_done()) {
            continue;
        }
        let name = match own {
            Some(item) => named(reader, now, item),
            None => format!(
                "{} of {}",
                words::task_name(reader, Some(link.robot), &link.task),
                reader.robot(link.robot)
            ),
        };
        links.push(Link {
            number: bars
                .iter()
                .position(|bar| own.is_some() && bar.name == name)
                .map(|place| place + 1),
            waits: match &link.waits_for {
                Some(waits_for) => waits(reader, waits_for),
                None => "begins at once".to_owned(),
            },
            name,
        });
    }
    links
}

fn waits(reader: &Reader, waits_for: &WaitsFor) -> String {
    match waits_for {
        WaitsFor::Task => "after the one before".to_owned(),
        WaitsFor::Person { person } => format!("once {} is free of it", reader.name(*person)),
        WaitsFor::Return { person } => format!("once {} is free", reader.name(*person)),
        WaitsFor::Place { pool } | WaitsFor::Taken { pool } => {
            format!("once {} is free", words::pool(pool))
        }
        WaitsFor::Release => "once its packs are charged".to_owned(),
    }
}

/// What the plan shown now moved, as long as it is news.
fn moved(reader: &Reader, now: &RobotNow<'_>) -> Option<News> {
    let moved = moved::moved(&reader.pit, now.id)?;
    if reader.clock.now - moved.at > NEWS {
        return None;
    }
    let mut what = Vec::new();
    let (before, likely) = moved.likely;
    if (likely - before).abs() >= TimeDelta::minutes(1) {
        what.push(format!(
            "Likely ready {}, was {}",
            reader.clock.hm(likely),
            reader.clock.hm(before)
        ));
    }
    let name = |task: &str, area: Option<&str>| match now.today.find(task, area) {
        Some(index) => named(reader, now, &now.today.items[index]),
        None => words::task_name(reader, Some(now.id), task),
    };
    what.extend(moved.left_out.iter().map(|label| {
        let (task, area) = match label.split_once('@') {
            Some((task, area)) => (task, Some(area)),
            None => (label.as_str(), None),
        };
        format!("{}: left out", name(task, area))
    }));
    what.extend(moved.moves.iter().map(|one| {
        let became = match &one.became {
            Became::New => "new".to_owned(),
            Became::Later(by) if *by > TimeDelta::zero() => {
                format!("{} min later", by.num_minutes())
            }
            Became::Later(by) => format!("{} min earlier", -by.num_minutes()),
            Became::Others { to, .. } if to.is_empty() => "by borrowed hands".to_owned(),
            Became::Others { to, .. } => {
                let names: Vec<String> = to.iter().map(|who| reader.name(Some(*who))).collect();
                format!("by {}", words::list(&names))
            }
        };
        format!("{}: {became}", name(&one.task, one.instance.as_deref()))
    }));
    let more = what.len().saturating_sub(MOVES_SHOWN);
    what.truncate(MOVES_SHOWN);
    if more > 0 {
        what.push(format!("and {more} more"));
    }
    let because: Vec<String> = moved
        .because
        .iter()
        .rev()
        .take(2)
        .map(|line| format!("{} {}", words::who(reader, line), words::body(reader, line)))
        .collect();
    Some(News {
        at: moved.at,
        what,
        because: if because.is_empty() {
            "Work took another time than planned; nothing was entered.".to_owned()
        } else {
            format!("{}.", because.join("; "))
        },
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
                eight_in_ten: None,
                progress: Drawn::Planned,
                decides: false,
                mine: false,
            }
        })
        .collect()
}
