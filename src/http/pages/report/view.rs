//! Sheets as they stand for a robot and a person now, and what comes back from them.

use super::{Area, CallAnswer, Damage, Look, LookSource, PutRight, Report, Reports};
use crate::app::AppError;
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
    sheet::{Number, Sheet, SheetRow},
};
use crate::http::pages::{
    bench,
    form::{self, Fields},
    reader::Reader,
    robot_now::RobotNow,
    words,
};
use crate::pit::energy::SourceOf;
use crate::pit::ids::{ChannelId, RobotId};
use crate::pit::library;
use crate::pit::library::reports::Blank;
use crate::pit::logbook::machine::{Bar, Holder, Light, LinkState, Power, System, Valve};
use crate::pit::logbook::{Body, Kind, Line};
use crate::pit::reports::{self, Mark, MarkedRow};
use crate::pit::state::Entry;
use chrono::TimeDelta;
use serde_json::{Value, json};
use std::collections::BTreeMap;

fn tag(reader: &Reader, now: &RobotNow<'_>, name: &str) -> Tag {
    Tag {
        name: name.to_owned(),
        sub: now.file.register.body.name.to_string(),
        href: None,
        ..bench::view::tag(reader, now)
    }
}

/// The people who may be named, the person of this phone first.
fn people(reader: &Reader, now: &RobotNow<'_>) -> Vec<Chip> {
    words::team_mates(reader, now.file.register.body.team)
        .into_iter()
        .map(|(id, name)| Chip::new(id.to_string(), name))
        .collect()
}

fn holders(reader: &Reader, now: &RobotNow<'_>) -> Vec<Chip> {
    let mut chips = people(reader, now);
    chips.push(Chip::new("box", "box"));
    chips
}

/// Who or what a form says has the link.
pub fn holder(fields: &Fields) -> Option<Holder> {
    match fields.filled("holder")? {
        "box" => Some(Holder::Box),
        person => person.parse().ok().map(Holder::Person),
    }
}

/// Every report.
pub fn list(reader: &Reader, now: &RobotNow<'_>) -> Reports {
    let base = reader.bench(now.id);
    let link = |id: &str, label: &str| (label.to_owned(), format!("{base}/report/{id}"));
    let fit = reports::offered(&reader.pit, &now.today, reader.signed.person);
    let fits = |id: &str| fit.iter().any(|sheet| sheet.report.id == id);
    let mut others = vec![
        ("Look at every source".to_owned(), format!("{base}/look")),
        ("Damage".to_owned(), format!("{base}/damage")),
    ];
    others.extend(
        library::data()
            .reports
            .reports
            .iter()
            .filter(|report| !fits(&report.id))
            .filter(|report| !full(reader, now, &report.id).1.is_empty())
            .map(|report| link(&report.id, &report.label)),
    );
    Reports {
        tag: tag(reader, now, "Other report"),
        back: base.clone(),
        fit: fit
            .iter()
            .map(|sheet| link(&sheet.report.id, &sheet.report.label))
            .collect(),
        others,
    }
}

/// The rows of a report: those that fit now, or all that say something about this machine.
fn full(reader: &Reader, now: &RobotNow<'_>, id: &str) -> (Vec<usize>, Vec<reports::SheetRow>) {
    let offered = reports::offered(&reader.pit, &now.today, reader.signed.person)
        .into_iter()
        .find(|sheet| sheet.report.id == id);
    match offered {
        Some(sheet) => (sheet.closes, sheet.rows),
        None => (
            Vec::new(),
            reports::every_row(&reader.pit, &now.today, id, reader.signed.person),
        ),
    }
}

/// The sheet of a report.
///
/// # Errors
/// [`AppError::Unknown`] if there is no such report for this machine.
pub fn sheet(
    reader: &Reader,
    now: &RobotNow<'_>,
    id: &str,
    typed: Typed,
) -> Result<Report, AppError> {
    let report = library::data()
        .reports
        .report(id)
        .ok_or(AppError::Unknown)?;
    let (closes, rows) = full(reader, now, id);
    if rows.is_empty() {
        return Err(AppError::Unknown);
    }
    let base = reader.bench(now.id);
    let names: Vec<&str> = closes
        .iter()
        .map(|index| now.today.items[*index].def.name.as_str())
        .collect();
    let effect = match names.as_slice() {
        [] => format!("Writes {} lines.", rows.len()),
        [one] => format!("Writes {} lines and closes “{one}”.", rows.len()),
        many => format!(
            "Writes {} lines and closes {} tasks: {}.",
            rows.len(),
            many.len(),
            many.join(", ")
        ),
    };
    let hands_over = rows.iter().any(hands_over);
    let also = reports::on_charge_too(&reader.pit, &now.today, &rows, reader.signed.person);
    Ok(Report {
        tag: tag(reader, now, &report.label),
        back: base.clone(),
        sheet: Sheet {
            action: format!("{base}/report/{id}"),
            people: people(reader, now),
            who: reader
                .signed
                .person
                .map_or_else(String::new, |me| me.to_string()),
            hidden: rows.iter().chain(&also).flat_map(filled).collect(),
            also: also.as_ref().map(|on_charge| SheetRow {
                text: "And on charge at once, settings read back".to_owned(),
                detail: format!("only if cool, 35 °C or less; {}", on(reader, on_charge)),
                ..row(reader, on_charge)
            }),
            numbers: numbers(&rows),
            rows: rows.iter().map(|one| row(reader, one)).collect(),
            holder: hands_over.then(|| holders(reader, now)),
            warning: warning(reader, now, &rows),
            button: report.button.clone(),
            effect,
            typed,
        },
    })
}

/// Whose hands are in, where a row makes the machine live. It is recorded all the same.
fn warning(reader: &Reader, now: &RobotNow<'_>, rows: &[reports::SheetRow]) -> Option<String> {
    let task = now.work.hands_on.first()?;
    let livens = rows.iter().any(|row| {
        let body = row.row.body.filled(|_| None);
        match row.row.kind {
            Kind::Link => body["state"] == "in",
            Kind::Gas => body["valve"] == "open" || body["system"] == "live",
            Kind::WeaponBar => body["state"] == "off",
            _ => false,
        }
    });
    livens.then(|| {
        let people: Vec<String> = task
            .people
            .iter()
            .map(|who| reader.name(Some(*who)))
            .collect();
        format!(
            "Hands are in: {}, {}. They say first that it is done.",
            task.task,
            words::list(&people)
        )
    })
}

/// Whether a row says in whose hand the link is from then on.
fn hands_over(row: &reports::SheetRow) -> bool {
    let asked = row.filled.contains_key(Blank::Me.as_str()) || row.empty.contains(&Blank::Me);
    row.row.kind == Kind::Link && asked
}

/// On which channels a row puts a set.
fn on(reader: &Reader, row: &reports::SheetRow) -> String {
    let channels = row.filled.get(Blank::Channels.as_str());
    let labels: Vec<String> = channels
        .and_then(|ids| serde_json::from_value::<Vec<ChannelId>>(ids.clone()).ok())
        .into_iter()
        .flatten()
        .filter_map(|id| reader.pit.channels.get(&id))
        .map(|channel| channel.body.label.to_string())
        .collect();
    if labels.is_empty() {
        String::new()
    } else {
        format!("on {}", words::list(&labels))
    }
}

fn row(reader: &Reader, row: &reports::SheetRow) -> SheetRow {
    SheetRow {
        id: row.row.id.clone(),
        text: if hands_over(row) {
            "Link out".to_owned()
        } else {
            row.text.clone()
        },
        detail: if hands_over(row) {
            "with whom: above".to_owned()
        } else {
            on(reader, row)
        },
        no_opposite: matches!(
            row.row.kind,
            Kind::Check | Kind::Task | Kind::Count | Kind::LinkPlan | Kind::Place
        ),
    }
}

/// What is filled into a row's blanks rides in the form, so that the same form writes the same lines.
fn filled(row: &reports::SheetRow) -> Vec<(String, String)> {
    row.filled
        .iter()
        .map(|(blank, value)| (format!("fill.{}.{blank}", row.row.id), value.to_string()))
        .collect()
}

fn numbers(rows: &[reports::SheetRow]) -> Vec<Number> {
    rows.iter()
        .filter(|row| row.empty.contains(&Blank::Reading))
        .map(|row| Number {
            name: format!("reading.{}", row.row.id),
            label: format!("{}: reading", row.text),
            unit: "g",
            last: String::new(),
        })
        .collect()
}

/// The rows a sheet sends, with what is in their blanks.
///
/// # Errors
/// What is wrong, by field.
pub fn marked(fields: &Fields) -> Result<Vec<MarkedRow>, Typed> {
    let mut typed = fields.typed();
    let all = fields.get("all") == Some("1");
    let saw: Vec<&str> = fields.all("saw").collect();
    let not_so: Vec<&str> = fields.all("notso").collect();
    let also: Vec<&str> = fields.all("also").collect();
    let mut ids: Vec<&str> = fields.all("row").chain(also.iter().copied()).collect();
    ids.dedup();
    let mut rows = Vec::new();
    for id in ids {
        let mark = if not_so.contains(&id) {
            Mark::NotSo
        } else if all || saw.contains(&id) || also.contains(&id) {
            Mark::So
        } else {
            continue;
        };
        let mut filled: BTreeMap<String, Value> = BTreeMap::new();
        let prefix = format!("fill.{id}.");
        for (name, value) in &fields.0 {
            if let Some(blank) = name.strip_prefix(&prefix)
                && let Ok(value) = serde_json::from_str(value)
            {
                filled.insert(blank.to_owned(), value);
            }
        }
        if let Some(reading) = fields.filled(&format!("reading.{id}")) {
            match form::decimal(reading) {
                Some(grams) => {
                    filled.insert(Blank::Reading.as_str().to_owned(), json!(grams));
                }
                None => {
                    typed
                        .faults
                        .insert(format!("reading.{id}"), "A number of grams.".to_owned());
                }
            }
        }
        let is_link = library::data()
            .reports
            .row(id)
            .is_some_and(|row| row.kind == Kind::Link);
        if is_link && mark == Mark::So && fields.get("asks_holder") == Some("1") {
            match holder(fields) {
                Some(holder) => {
                    filled.insert(Blank::Me.as_str().to_owned(), json!(holder));
                }
                None => {
                    typed
                        .faults
                        .insert("holder".to_owned(), "Say who has the link.".to_owned());
                }
            }
        }
        rows.push(MarkedRow {
            row: id.to_owned(),
            mark,
            filled,
        });
    }
    if rows.is_empty() {
        typed
            .faults
            .insert(String::new(), "Nothing is ticked.".to_owned());
    }
    if typed.is_sound() {
        Ok(rows)
    } else {
        Err(typed)
    }
}

/// The look sheet.
pub fn look(reader: &Reader, now: &RobotNow<'_>, typed: Typed) -> Look {
    let base = reader.bench(now.id);
    let bar = now.file.register.body.machine.restraint();
    let source = |of: SourceOf| {
        now.energy
            .value
            .source(of)
            .map_or_else(String::new, |source| {
                let known = words::source(now.file, source);
                match source.seen_at {
                    Some(at) => format!(
                        "{known}, {} {}",
                        reader.name(source.seen_by),
                        words::ago(reader.clock.now - at)
                    ),
                    None => "nobody has looked".to_owned(),
                }
            })
    };
    let two = |a: (&str, &str), b: (&str, &str)| vec![Chip::new(a.0, a.1), Chip::new(b.0, b.1)];
    let mut sources = vec![LookSource {
        name: "link",
        label: "Link".to_owned(),
        found: two(("out", "out"), ("in", "in")),
        now: source(SourceOf::Link),
    }];
    if now.file.register.body.machine.has_gas() {
        sources.push(LookSource {
            name: "system",
            label: "Gas".to_owned(),
            found: two(("zero", "gauge at zero"), ("live", "pressure")),
            now: source(SourceOf::Gas),
        });
        sources.push(LookSource {
            name: "valve",
            label: "Bottle".to_owned(),
            found: two(("shut", "shut or out"), ("open", "open")),
            now: String::new(),
        });
    }
    sources.push(LookSource {
        name: "weapon_bar",
        label: bar.to_owned(),
        found: vec![
            Chip::new("on", "on"),
            Chip::new("held", "second restraint"),
            Chip::new("off", "off"),
        ],
        now: source(SourceOf::WeaponBar),
    });
    sources.push(LookSource {
        name: "transmitter",
        label: "Transmitter".to_owned(),
        found: two(("off", "off"), ("on", "on")),
        now: source(SourceOf::Transmitter),
    });
    if now.file.register.body.transmitters.get() > 1 {
        sources.push(LookSource {
            name: "second_transmitter",
            label: "Second transmitter".to_owned(),
            found: two(("off", "off"), ("on", "on")),
            now: source(SourceOf::SecondTransmitter),
        });
    }
    sources.push(LookSource {
        name: "stored",
        label: "Rotor, arm, springs".to_owned(),
        found: vec![
            Chip::new("released", "still, down, relaxed"),
            Chip::new("blocked", "propped or blocked"),
            Chip::new("loaded", "turning, up or cocked"),
        ],
        now: source(SourceOf::Stored),
    });
    sources.push(LookSource {
        name: "power_light",
        label: "Power light".to_owned(),
        found: vec![
            Chip::new("dark", "dark"),
            Chip::new("lit", "lit"),
            Chip::new("absent", "none to be seen"),
        ],
        now: String::new(),
    });
    Look {
        tag: tag(reader, now, "Look now"),
        back: base.clone(),
        action: format!("{base}/look"),
        sources,
        looked: bench::view::looked(reader, now),
        holders: holders(reader, now),
        people: people(reader, now),
        who: reader
            .signed
            .person
            .map_or_else(String::new, |me| me.to_string()),
        typed,
    }
}

/// The body of a look, from the sources that were tapped.
pub fn looked(fields: &Fields) -> Value {
    let mut body = serde_json::Map::new();
    for name in [
        "link",
        "system",
        "valve",
        "weapon_bar",
        "transmitter",
        "second_transmitter",
        "stored",
        "power_light",
    ] {
        if let Some(found) = fields.filled(name) {
            body.insert(name.to_owned(), json!(found));
        }
    }
    if let Some(holder) = holder(fields) {
        body.insert("holder".to_owned(), json!(holder));
    }
    Value::Object(body)
}

/// The damage pages.
pub fn damage(reader: &Reader, now: &RobotNow<'_>, area: Option<&str>) -> Damage {
    let known = library::damage(now.file.register.body.machine);
    let base = reader.bench(now.id);
    let found = &now.today.found;
    let as_area = |area: &library::damage::Area| Area {
        id: area.id.clone(),
        label: area.label.clone(),
        known: u32::try_from(found.iter().filter(|damage| damage.area == area.id).count())
            .unwrap_or(u32::MAX),
    };
    let chosen = area.and_then(|id| known.area(id));
    Damage {
        tag: tag(reader, now, "Damage"),
        back: base.clone(),
        action: format!("{base}/damage"),
        photos: format!("{}/photos/robot:{}", reader.base, now.id),
        areas: known.areas.iter().map(as_area).collect(),
        chosen: chosen.map(as_area),
        kinds: chosen
            .map(|area| {
                area.kinds
                    .iter()
                    .filter_map(|id| known.kind(id))
                    .map(|kind| Chip::new(kind.id.clone(), kind.label.clone()))
                    .collect()
            })
            .unwrap_or_default(),
        found: found
            .iter()
            .map(|damage| words::damage_words(reader, now.id, &damage.area, &damage.kind))
            .collect(),
    }
}

/// The answer to a call; none where no bout is known.
pub fn answer(reader: &Reader, now: &RobotNow<'_>, typed: Typed) -> Option<CallAnswer> {
    let next = now.next.as_ref()?;
    let base = reader.bench(now.id);
    Some(CallAnswer {
        tag: tag(reader, now, "Answer the call"),
        back: base.clone(),
        action: format!("{base}/call"),
        bout: next.bout.id.to_string(),
        label: format!("Call, bout {}", next.bout.number),
        at: next.bout.call,
        typed,
    })
}

/// A line to be put right.
pub fn put_right(reader: &Reader, entry: &Entry, back: String, typed: Typed) -> PutRight {
    let line = &entry.first;
    let robot: Option<RobotId> = match line.subject {
        crate::pit::ids::Subject::Robot(robot) => Some(robot),
        _ => None,
    };
    let window = TimeDelta::seconds(i64::from(reader.pit.settings().withdraw_s.get()));
    let own = line.entered_by.person.is_some() && line.entered_by.person == reader.signed.person;
    PutRight {
        tag: Tag {
            name: "Put right".to_owned(),
            sub: robot.map_or_else(String::new, |robot| reader.robot(robot)),
            bench: robot
                .and_then(|robot| reader.pit.robot(robot)?.register.body.bench)
                .map(|bench| bench.get()),
            href: None,
        },
        back,
        action: format!("{}/lines/{}", reader.base, line.id),
        line: format!(
            "{} {}{}",
            words::who(reader, line),
            line.how
                .map_or_else(String::new, |how| format!("{} ", how.as_str())),
            words::body(reader, line)
        ),
        by: reader.clock.hm(line.at),
        withdraw_until: Some(line.recorded_at + window)
            .filter(|until| own && *until > reader.clock.now),
        states: other_states(line),
        typed,
    }
}

/// The other states a line about one state can be put right to: value of the button and its words.
fn other_states(line: &Line) -> Vec<Chip> {
    let chip = |value: &str, label: &str| vec![Chip::new(format!("to-{value}"), label)];
    match &line.body {
        Body::Link(link) if link.state == LinkState::Out => chip("in", "Link in"),
        Body::Link(_) => chip("out", "Link out"),
        Body::PowerLight(light) if light.state == Light::Dark => chip("lit", "Light lit"),
        Body::PowerLight(_) => chip("dark", "Light dark"),
        Body::Transmitter(tx) if tx.state == Power::Off => chip("on", "Transmitter on"),
        Body::Transmitter(_) => chip("off", "Transmitter off"),
        Body::WeaponBar(bar) => match bar.state {
            Bar::On => chip("off", "Off"),
            Bar::Held | Bar::Off => chip("on", "On"),
        },
        Body::Gas(gas) if gas.valve.is_none() => match gas.system {
            Some(System::Zero) => chip("live", "Under pressure"),
            _ => chip("zero", "At zero"),
        },
        Body::Gas(gas) if gas.system.is_none() => match gas.valve {
            Some(Valve::Shut) => chip("open", "Bottle open"),
            _ => chip("shut", "Bottle shut"),
        },
        _ => Vec::new(),
    }
}

/// The body of a line put right to `state`.
pub fn other_body(line: &Line, state: &str) -> Option<Value> {
    other_states(line)
        .iter()
        .find(|chip| chip.value == format!("to-{state}"))?;
    Some(match (&line.body, state) {
        (Body::Gas(gas), state) if gas.valve.is_none() => json!({"system": state}),
        (Body::Gas(_), state) => json!({"valve": state}),
        (_, state) => json!({"state": state}),
    })
}
