//! The bench of a robot as its crew needs to see it now.

pub mod help;
mod next;
mod plan;

use next::next;
pub use plan::chain;
use plan::plan;

use super::{Bench, FirstSteps, LogLine, Offer, OpenPoint, Optional};
use crate::http::pages::parts::{
    energy::{Energy, Looked, SeenBy, SourceRow},
    fields::Typed,
    frame::Tag,
    next::Finish,
    sheet::Sheet,
    signs::Sign,
};
use crate::http::pages::stations::bench::at_bench;
use crate::http::pages::{
    clearance, duties, gas, hazards, reader::Reader, report, robot_now::RobotNow, words,
};
use crate::pit::energy::{SourceNow, SourceOf, Standing, Verdict};
use crate::pit::hazards::Severity;
use crate::pit::ids::Subject;
use crate::pit::logbook::machine::{self, Light, LinkState, Power, StoredState, System, Valve};
use crate::pit::logbook::{How, Role};
use crate::pit::reports;
use crate::pit::state::Source;
use crate::pit::tasks::{Item, advice::Advice};

/// How many lines stand on the bench.
const LAST_LINES: usize = 5;

/// The view of a robot's bench.
pub fn view(reader: &Reader, now: &RobotNow<'_>, advice: Option<&Advice>) -> Bench {
    let base = reader.bench(now.id);
    let is_crew = matches!(reader.signed.role, Role::Crew | Role::Lead);
    let (gas, gas_open) = gas::at_bench::at_bench(reader, now);
    let mut open_points = before_arming(reader, now);
    open_points.extend(gas_open);
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
        stations: if is_crew {
            at_bench(reader, now)
        } else {
            Vec::new()
        },
        duties: duties::routes::view(reader, now),
        clearance: clearance::view::here(reader, now),
        hazards: (format!("{base}/hazards"), hazards::view::shown(reader, now)),
        before_arming: open_points,
        gas,
        help: help::gains(reader, now, advice),
        helps_not: help::none(now, advice),
        leave_out: optional(reader, now, advice),
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
        SourceOf::Link => {
            let with = state
                .holder
                .as_ref()
                .map_or_else(String::new, |holder| words::holder(reader, holder.value));
            // Each task with hands in keeps the link out until whoever is on it says it is done.
            match now.work.hands_on.first() {
                Some(task) if state.link.value() == Some(LinkState::Out) => {
                    format!("{with}; kept out for “{}”", task.task)
                }
                _ => with,
            }
        }
        SourceOf::Gas => match state.bottle_out.value() {
            Some(true) => "bottle out".to_owned(),
            _ => String::new(),
        },
        SourceOf::Transmitter => state.transmitter_with.map_or_else(String::new, |who| {
            format!("with {}", reader.name(Some(who)))
        }),
        SourceOf::SecondTransmitter => state
            .second_transmitter_with
            .map_or_else(String::new, |who| {
                format!("with {}", reader.name(Some(who)))
            }),
        SourceOf::Stored => state
            .stored
            .iter()
            .filter_map(|(what, source)| Some(words::stored(*what, source.value()?)))
            .collect::<Vec<_>>()
            .join(", "),
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
        second_transmitter: state
            .second_transmitter
            .value()
            .filter(|power| *power == Power::Off),
        stored: state
            .stored
            .values()
            .filter_map(Source::value)
            .max()
            .filter(|stored| *stored != StoredState::Loaded),
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

fn optional(reader: &Reader, now: &RobotNow<'_>, advice: Option<&Advice>) -> Vec<Optional> {
    now.today
        .open()
        .filter(|(_, item)| item.def.optional())
        .map(|(_, item)| Optional {
            task: item.key.task.clone(),
            instance: item.key.instance.clone(),
            name: named(reader, now, item),
            detail: format!(
                "{:.0} min, {} hands. {}{}",
                item.def.minutes.likely,
                item.def.hands,
                item.def.value_reason,
                help::without(now, item, advice)
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
        ("Not right", format!("{base}/found")),
        ("Rules", format!("{}/rules", reader.base)),
        ("Link plan", format!("{base}/plan")),
        ("Arming", format!("{base}/clearance")),
        ("Put off our bout", format!("{base}/postpone")),
        ("Duties", format!("{base}/duties")),
        ("Durations learned", format!("{base}/durations")),
        (
            "Logbook",
            format!("{}/logbook?robot={}", reader.base, now.id),
        ),
    ];
    more.push(("Stations", format!("{}/stations", reader.base)));
    more.push(("Calendars", format!("{}/calendars", reader.base)));
    let team = now.file.register.body.team;
    more.push(("Packs", format!("{}/packs?team={team}", reader.base)));
    more.push((
        "Charging table",
        format!("{}/charging?team={team}", reader.base),
    ));
    if let Some(set) = now.file.state.fitted_set {
        more.push((
            "Cell volts",
            format!("{}/sets/{set}/volts?robot={}", reader.base, now.id),
        ));
    }
    if now.file.register.body.machine.has_gas() || now.file.register.body.gas_system.is_some() {
        more.push(("Gas", format!("{}/gas?team={team}", reader.base)));
    }
    if let Some(bottle) = now.file.state.fitted_bottle {
        more.push((
            "Bottle mass",
            format!("{}/bottles/{bottle}/mass?robot={}", reader.base, now.id),
        ));
    }
    more
}
