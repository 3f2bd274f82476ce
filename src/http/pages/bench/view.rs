//! The bench of a robot as its crew needs to see it now.

use super::{Bench, FirstSteps, LogLine, Offer, OpenPoint, Optional};
use crate::http::pages::parts::{
    energy::{Energy, Looked, SeenBy, SourceRow},
    fields::Typed,
    frame::Tag,
    lanes::{Bar, Lane, Plan, Progress as Drawn},
    next::{Finish, NextTask, Starts},
    sheet::Sheet,
    signs::Sign,
};
use crate::http::pages::{reader::Reader, report, robot_now::RobotNow, words};
use crate::pit::energy::{SourceNow, SourceOf, Standing, Verdict};
use crate::pit::hazards::Severity;
use crate::pit::ids::Subject;
use crate::pit::logbook::machine::{self, Light, LinkState, Power, System, Valve};
use crate::pit::logbook::{Body, How, Kind, Role};
use crate::pit::reports;
use crate::pit::tasks::{Item, Progress};

/// How many lines stand on the bench.
const LAST_LINES: usize = 5;

/// The view of a robot's bench.
pub fn view(reader: &Reader, now: &RobotNow<'_>) -> Bench {
    let base = reader.bench(now.id);
    let is_crew = matches!(reader.signed.role, Role::Crew | Role::Lead);
    let stop = now
        .hazards
        .iter()
        .find(|hazard| hazard.severity() == Severity::StopNow);
    Bench {
        tag: tag(reader, now),
        verdict: now.verdict(reader, Some(format!("{base}/look"))),
        call: now.call(reader),
        next: is_crew.then(|| next(reader, now)).flatten(),
        standing: standing(reader, now).filter(|_| is_crew),
        first: stop.map(|hazard| FirstSteps {
            steps: first_steps(now, hazard.advise),
            action: format!("{base}/hazards"),
            rule: hazard.rule.to_owned(),
            tells: "the marshals and your crew".to_owned(),
        }),
        report: offer(reader, now),
        reports: format!("{base}/report"),
        energy: energy(reader, now),
        plan: plan(reader, now),
        before_arming: before_arming(reader, now),
        help: Vec::new(),
        leave_out: optional(now),
        tasks: format!("{base}/tasks"),
        log: log(reader, now),
        more: more(reader, now),
    }
}

/// Name, bench and next opponent.
pub fn tag(reader: &Reader, now: &RobotNow<'_>) -> Tag {
    let sub = match &now.next {
        Some(next) => {
            let other = next
                .bout
                .robots
                .iter()
                .flatten()
                .find(|robot| **robot != now.id);
            match (other, next.if_first) {
                (Some(other), None) => {
                    format!("v {}, bout {}", reader.robot(*other), next.bout.number)
                }
                (None, None) => format!("bout {}", next.bout.number),
                (_, Some(_)) => format!("perhaps bout {}", next.bout.number),
            }
        }
        None => now
            .file
            .state
            .place
            .as_ref()
            .map_or_else(String::new, |at| words::place(at.value).to_owned()),
    };
    Tag {
        name: now.file.register.body.name.to_string(),
        sub,
        bench: now.file.register.body.bench.map(|bench| bench.get()),
        href: Some(reader.bench(now.id)),
    }
}

/// The report that stands open for the person who reads.
fn standing(reader: &Reader, now: &RobotNow<'_>) -> Option<(String, String, Sheet)> {
    let offered = reports::offered(&reader.pit, &now.today, reader.signed.person)
        .into_iter()
        .find(reports::Sheet::stands_open)?;
    let label = offered.report.label.clone();
    let report = report::view::sheet(reader, now, &offered.report.id, Typed::default()).ok()?;
    Some((label, report.sheet.action.clone(), report.sheet))
}

fn first_steps(now: &RobotNow<'_>, advise: &str) -> Vec<String> {
    let link = match now.file.state.link.value() {
        Some(LinkState::In) => {
            "Link out, into the holder’s hand, if it can be reached from outside the weapon’s reach"
        }
        _ => "One goes and looks, from outside the weapon’s reach",
    };
    vec![
        "Hands out, all back from the weapon".to_owned(),
        link.to_owned(),
        advise.to_owned(),
    ]
}

fn next(reader: &Reader, now: &RobotNow<'_>) -> Option<NextTask> {
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
        needs: needs(item),
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

/// A task's name, with its area.
pub fn named(reader: &Reader, now: &RobotNow<'_>, item: &Item) -> String {
    match &item.key.instance {
        Some(area) => format!(
            "{}, {}",
            item.def.name,
            words::area_name(reader, now.id, area)
        ),
        None => item.def.name.clone(),
    }
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

fn offer(reader: &Reader, now: &RobotNow<'_>) -> Option<Offer> {
    let sheets = reports::offered(&reader.pit, &now.today, reader.signed.person);
    let next = next(reader, now);
    // The one the large button opens already is not offered twice.
    let by_button = match next.map(|next| next.how) {
        Some(Finish::Sheet { href, .. }) => Some(href),
        _ => None,
    };
    sheets
        .into_iter()
        .map(|sheet| Offer {
            href: format!("{}/report/{}", reader.bench(now.id), sheet.report.id),
            label: sheet.report.label.clone(),
        })
        .find(|offer| Some(&offer.href) != by_button.as_ref())
}

fn energy(reader: &Reader, now: &RobotNow<'_>) -> Energy {
    let settings = reader.pit.settings();
    let place = now.file.state.place.as_ref().map(|sight| sight.value);
    let limit = match settings.stale_after(place, false) {
        None => "no limit during a bout".to_owned(),
        Some(limit) => format!(
            "limit {} min, {}",
            limit.num_minutes(),
            place.map_or("place unknown", words::place)
        ),
    };
    let value = &now.energy.value;
    let in_arena = value.verdict == Verdict::LiveInArena;
    Energy {
        limit,
        rows: value
            .sources
            .iter()
            .map(|source| row(reader, now, source, in_arena))
            .collect(),
        looked: looked(reader, now),
    }
}

fn row(reader: &Reader, now: &RobotNow<'_>, source: &SourceNow, in_arena: bool) -> SourceRow {
    let sign = match source.standing {
        _ if in_arena => Sign::InArena,
        Standing::Isolated => Sign::MadeSafe,
        Standing::Live => Sign::Live,
        Standing::Stale | Standing::Disputed | Standing::Unknown => Sign::Unproved,
    };
    let detail = match source.standing {
        Standing::Stale => "too old".to_owned(),
        Standing::Disputed => "two accounts disagree".to_owned(),
        Standing::Unknown => "nobody has looked".to_owned(),
        Standing::Isolated | Standing::Live => detail(reader, now, source.source),
    };
    SourceRow {
        sign,
        state: words::source(now.file, source),
        detail,
        by: source.seen_at.map(|at| SeenBy {
            saw: source.how == Some(How::Saw),
            name: reader.name(source.seen_by),
            at,
        }),
        until: source.good_until,
    }
}

fn detail(reader: &Reader, now: &RobotNow<'_>, source: SourceOf) -> String {
    let state = &now.file.state;
    match source {
        SourceOf::Link => state
            .holder
            .as_ref()
            .map_or_else(String::new, |holder| words::holder(reader, holder.value)),
        SourceOf::Gas => match state.bottle_out.value() {
            Some(true) => "bottle out".to_owned(),
            _ => String::new(),
        },
        SourceOf::Transmitter => state.transmitter_with.map_or_else(String::new, |who| {
            format!("with {}", reader.name(Some(who)))
        }),
        SourceOf::WeaponBar => String::new(),
    }
}

/// What "Looked: all as before" would assert, if every source stands isolated.
pub fn looked(reader: &Reader, now: &RobotNow<'_>) -> Option<Looked> {
    if !now.to_see_again() {
        return None;
    }
    let state = &now.file.state;
    let isolated = machine::Looked {
        link: state.link.value().filter(|link| *link == LinkState::Out),
        holder: state.holder.as_ref().map(|holder| holder.value),
        valve: state.valve.value().filter(|valve| *valve == Valve::Shut),
        system: state
            .system
            .value()
            .filter(|system| *system == System::Zero),
        weapon_bar: state.weapon_bar.value(),
        transmitter: state
            .transmitter
            .value()
            .filter(|power| *power == Power::Off),
        power_light: state
            .power_light
            .value()
            .filter(|light| *light == Light::Dark),
        packs_out: state.packs_out.value().filter(|out| *out),
        bottle_out: state.bottle_out.value().filter(|out| *out),
    };
    let body = serde_json::to_string(&isolated).ok()?;
    Some(Looked {
        action: format!("{}/looked", reader.bench(now.id)),
        asserts: words::asserts(reader, Some(now.id), &isolated),
        fields: vec![("looked", body)],
    })
}

/// The lanes: tasks that are done, under way and planned.
fn plan(reader: &Reader, now: &RobotNow<'_>) -> Option<Plan> {
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
        likely: now.planned.map(|planned| planned.likely),
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

fn before_arming(reader: &Reader, now: &RobotNow<'_>) -> Vec<OpenPoint> {
    let base = reader.bench(now.id);
    let mut points: Vec<OpenPoint> = crate::http::pages::link_plan::view::gaps(reader, now)
        .into_iter()
        .map(|gap| OpenPoint {
            title: gap.title,
            why: gap.why,
            href: Some(format!("{base}/plan")),
        })
        .collect();
    points.extend(
        now.energy
            .value
            .sources
            .iter()
            .filter(|source| {
                matches!(
                    source.standing,
                    Standing::Stale | Standing::Disputed | Standing::Unknown
                )
            })
            .map(|source| OpenPoint {
                title: format!("{} unproved", words::source_name(now.file, source.source)),
                why: words::doubt(reader, now.file, source, reader.clock.now),
                href: Some(format!("{base}/look")),
            }),
    );
    points
}

fn optional(now: &RobotNow<'_>) -> Vec<Optional> {
    now.today
        .open()
        .filter(|(_, item)| item.def.optional())
        .map(|(_, item)| Optional {
            task: item.key.task.clone(),
            instance: item.key.instance.clone(),
            name: item.def.name.clone(),
            detail: format!(
                "{:.0} min, {} hands. {}",
                item.def.minutes.likely, item.def.hands, item.def.value_reason
            ),
        })
        .collect()
}

fn log(reader: &Reader, now: &RobotNow<'_>) -> Vec<LogLine> {
    let Some(file) = reader.pit.files.get(&Subject::Robot(now.id)) else {
        return Vec::new();
    };
    let mut entries: Vec<_> = file
        .values()
        .filter(|entry| entry.first.corrects.is_none())
        .collect();
    entries.sort_by_key(|entry| std::cmp::Reverse((entry.first.recorded_at, entry.first.seq)));
    entries
        .into_iter()
        .take(LAST_LINES)
        .map(|entry| words::log_line(reader, entry))
        .collect()
}

fn more(reader: &Reader, now: &RobotNow<'_>) -> Vec<(&'static str, String)> {
    let base = reader.bench(now.id);
    let mut more = vec![
        ("Damage", format!("{base}/damage")),
        ("Link plan", format!("{base}/plan")),
        (
            "Logbook",
            format!("{}/logbook?robot={}", reader.base, now.id),
        ),
    ];
    if let Some(set) = now.file.state.fitted_set {
        more.push((
            "Cell volts",
            format!("{}/sets/{set}/volts?robot={}", reader.base, now.id),
        ));
    }
    if let Some(bottle) = now.file.state.fitted_bottle {
        more.push((
            "Bottle mass",
            format!("{}/bottles/{bottle}/mass?robot={}", reader.base, now.id),
        ));
    }
    more
}
