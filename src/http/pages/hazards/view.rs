//! Hazards and rules in the words of a page.

use super::rules::RulePage;
use super::{Found, Hazards, Shown, Start};
use crate::http::pages::bench;
use crate::http::pages::parts::{fields::Chip, fields::Typed, frame::Tag};
use crate::http::pages::register::things::settings::{GROUPS, SOURCES};
use crate::http::pages::register::things::specs::Take;
use crate::http::pages::{reader::Reader, robot_now::RobotNow, words};
use crate::pit::hazards::matrix::{Missing, Site, missing};
use crate::pit::hazards::{ClearsBy, Hazard, Rule, Severity, Word};
use crate::pit::ids::Subject;
use crate::pit::logbook::machine::{PartOf, StoredIn};
use crate::pit::logbook::{Body, Role};
use crate::pit::tasks::Item;
use serde_json::{Value, json};

fn tag(reader: &Reader, now: &RobotNow<'_>, name: &str) -> Tag {
    Tag {
        name: name.to_owned(),
        sub: now.file.register.body.name.to_string(),
        href: None,
        ..bench::view::tag(reader, now)
    }
}

/// The hazards of a robot as somebody reads them.
pub fn hazards(reader: &Reader, now: &RobotNow<'_>, back: String, typed: Typed) -> Hazards {
    let base = reader.bench(now.id);
    Hazards {
        tag: tag(reader, now, "Hazards"),
        back,
        action: format!("{base}/hazards"),
        found: format!("{base}/found"),
        shown: shown(reader, now),
        typed,
    }
}

/// Each hazard of a robot.
pub fn shown(reader: &Reader, now: &RobotNow<'_>) -> Vec<Shown> {
    now.hazards
        .iter()
        .map(|hazard| one(reader, now, hazard))
        .collect()
}

fn one(reader: &Reader, now: &RobotNow<'_>, hazard: &Hazard) -> Shown {
    let rule = Rule::named(hazard.rule);
    let people: Vec<String> = hazard
        .finding
        .people
        .iter()
        .map(|who| reader.name(Some(*who)))
        .collect();
    let who = if people.is_empty() {
        String::new()
    } else {
        format!(" ({})", people.join(", "))
    };
    let own = now.file.register.body.team;
    let is_lead = reader.signed.role == Role::Lead && reader.signed.team == Some(own);
    let low = hazard.severity() <= Severity::Warn;
    let answers = matches!(reader.signed.role, Role::Marshal | Role::Organiser);
    let may_clear = match rule.map(Rule::clears_by) {
        Some(ClearsBy::Marshal) if answers => Some("I have settled it"),
        Some(ClearsBy::TwoPeople) if reader.signed.person.is_some() => {
            Some("I looked, nothing is wrong with it")
        }
        _ => None,
    };
    Shown {
        rule: rule.map(|rule| rule.id().to_owned()),
        severity: hazard.severity().word(),
        title: hazard.title.to_owned(),
        why: format!("{}{who}", hazard.finding.why),
        since: hazard.finding.since,
        advise: hazard.advise.to_owned(),
        clears: hazard.clears_when.to_owned(),
        said: said(reader, hazard),
        act: act(reader, now, hazard.rule),
        may_accept: is_lead && low && hazard.life.accepted.is_none(),
        may_clear,
    }
}

fn said(reader: &Reader, hazard: &Hazard) -> Vec<String> {
    let life = &hazard.life;
    let names = |words: &[Word]| {
        let mut names: Vec<String> = words
            .iter()
            .map(|word| reader.name(Some(word.who)))
            .collect();
        names.dedup();
        words::list(&names)
    };
    let mut said = Vec::new();
    if life.reopened {
        said.push("It stood before and is open again.".to_owned());
    }
    if !life.cleared_by.is_empty() {
        said.push(format!(
            "Over by the word of {}; by the lines it still stands.",
            names(&life.cleared_by)
        ));
    } else if !life.seen_by.is_empty() {
        said.push(format!("Open with {}.", names(&life.seen_by)));
    }
    if let Some((word, because)) = &life.accepted {
        said.push(format!(
            "Taken on by {}: {because}",
            reader.name(Some(word.who))
        ));
    }
    if hazard.task_clears_it {
        said.push("A task still to be done clears it.".to_owned());
    }
    said
}

/// Where a hazard is dealt with.
fn act(reader: &Reader, now: &RobotNow<'_>, rule: &str) -> Option<(&'static str, String)> {
    let base = reader.bench(now.id);
    let is_crew = matches!(reader.signed.role, Role::Crew | Role::Lead);
    let crew = |label: &'static str, href: String| is_crew.then_some((label, href));
    match rule {
        "H01" | "H02" | "H03" | "H04" | "H09" | "H11" | "H28" => {
            Some(("Look now", format!("{base}/look")))
        }
        "H05" | "H14" | "H15" | "H16" | "H25" | "H27" => {
            Some(("Say what is so", format!("{base}/found")))
        }
        "H06" | "H07" => crew("Link plan", format!("{base}/plan")),
        "H12" | "H13" => {
            let bottle = now.file.state.fitted_bottle?;
            crew(
                "Weigh the bottle",
                format!("{}/bottles/{bottle}/mass?robot={}", reader.base, now.id),
            )
        }
        "H18" | "H19" => crew("Packs on charge", format!("{base}/report/packs_on_charge")),
        "H17" => crew("Pack set aside", format!("{base}/report/observe_pack")),
        "H20" => {
            let set = now.file.state.fitted_set?;
            crew(
                "Cell volts",
                format!("{}/sets/{set}/volts?robot={}", reader.base, now.id),
            )
        }
        "H24" => {
            let lift = now.today.items.iter().find(|item| {
                now.work
                    .running
                    .iter()
                    .any(|task| task.lift && task.task == item.def.name)
            })?;
            crew(
                "Say who lifts",
                format!("{base}/start?task={}", lift.key.task),
            )
        }
        "H29" => crew("Hand a duty over", format!("{}/team", reader.base)),
        "H30" => crew("Answer the call", format!("{base}/call")),
        "H08" | "H10" | "H21" | "H22" | "H23" | "H26" => crew("Report", format!("{base}/report")),
        _ => None,
    }
}

/// The words of a part that can be bad.
fn part_words(part: PartOf) -> (&'static str, &'static str, &'static str) {
    match part {
        PartOf::Gauge => ("gauge", "Gauge dead", "Gauge works"),
        PartOf::Dump => ("dump", "Dump blocked", "Dump works"),
        PartOf::BottleValve => ("bottle_valve", "Bottle does not shut", "Bottle shuts"),
        PartOf::Pressure => ("pressure", "Pressure does not fall", "Falls to zero"),
        PartOf::Relief => ("relief", "Relief missing or unrated", "Relief rated"),
        PartOf::LowRelief => (
            "low_relief",
            "Low-side relief missing",
            "Low-side relief rated",
        ),
    }
}

/// What can be found not to be right on a robot.
pub fn found(reader: &Reader, now: &RobotNow<'_>, back: String, typed: Typed) -> Found {
    let state = &now.file.state;
    let air = reader.pit.facts(Subject::Event).into_iter().rev();
    Found {
        tag: tag(reader, now, "Not right"),
        back,
        action: format!("{}/found", reader.bench(now.id)),
        parts: PartOf::ALL
            .into_iter()
            .map(|part| {
                let (value, bad, good) = part_words(part);
                (value, bad, good, state.troubles.contains_key(&part))
            })
            .collect(),
        stored: StoredIn::ALL
            .into_iter()
            .map(|what| match what {
                StoredIn::Rotor => ("rotor", ["still", "blocked", "Rotor turning"]),
                StoredIn::Arm => ("arm", ["down", "propped", "Arm up, no prop"]),
                StoredIn::Spring => ("spring", ["relaxed", "blocked", "Spring cocked"]),
            })
            .collect(),
        inside: state.inside.as_ref().map(|inside| {
            format!(
                "{} inside, {} {}",
                inside.value.people.get(),
                reader.name(inside.seen_by),
                words::ago(reader.clock.now - inside.at)
            )
        }),
        air: air
            .filter(|line| matches!(line.body, Body::Air(_)))
            .map(|line| {
                format!(
                    "{}, {}",
                    words::body(reader, &line),
                    words::ago(reader.clock.now - line.at)
                )
            })
            .next(),
        gas: now.file.register.body.machine.has_gas(),
        typed,
    }
}

/// What a tap on that page says: kind, subject is the event, and body.
pub fn tapped(
    found: &str,
    watched: Option<bool>,
    ppm: Option<i64>,
) -> Option<(&'static str, bool, Value)> {
    if found == "symptoms" {
        return Some(("air", true, json!({"symptoms": true})));
    }
    if found == "air" {
        return Some(("air", true, json!({"co2_ppm": ppm?})));
    }
    let (what, state) = found.rsplit_once('-')?;
    Some(match (what, state) {
        ("inside", people) => {
            let mut body = json!({"people": people.parse::<i64>().ok()?});
            if let Some(watched) = watched {
                body["watched"] = json!(watched);
            }
            ("inside", false, body)
        }
        (what, "bad" | "good") => (
            "trouble",
            false,
            json!({"what": what, "bad": state == "bad"}),
        ),
        (what, state) => ("stored", false, json!({"what": what, "state": state})),
    })
}

/// States that a task needs and that are not there.
pub fn lacking(now: &RobotNow<'_>, item: &Item) -> Vec<Missing> {
    if !item.def.hands_on() {
        return Vec::new();
    }
    missing(&item.def.needs, &now.file.state, &now.energy.value)
}

/// A task about to be started.
pub fn start(reader: &Reader, now: &RobotNow<'_>, item: &Item) -> Start {
    let base = reader.bench(now.id);
    let running = |lift: bool| lift && item.def.hands > 1;
    let lift = item.def.takes.iter().any(|take| {
        matches!(
            take.pool,
            crate::pit::library::tasks::PoolOf::Lift | crate::pit::library::tasks::PoolOf::Trolley
        )
    });
    Start {
        tag: tag(reader, now, "Before you begin"),
        back: base.clone(),
        action: format!("{base}/tasks"),
        task: item.key.task.clone(),
        instance: item.key.instance.clone(),
        name: bench::view::named(reader, now, item),
        missing: lacking(now, item)
            .into_iter()
            .map(|missing| {
                let mut asked = missing.asked.to_owned();
                if let Some(first) = asked.get_mut(..1) {
                    first.make_ascii_uppercase();
                }
                let why = if missing.doubt {
                    "unknown, too old or disputed: treat as live"
                } else {
                    "somebody reported that it is not so"
                };
                (asked, why.to_owned())
            })
            .collect(),
        look: format!("{base}/look"),
        people: words::team_mates(reader, now.file.register.body.team)
            .into_iter()
            .filter(|(id, _)| Some(*id) != reader.signed.person)
            .map(|(id, name)| Chip::new(id.to_string(), name))
            .collect(),
        hands: item.def.hands,
        lift: running(lift),
    }
}

/// A rule as its page shows it.
pub fn rule(reader: &Reader, rule: &Rule) -> RulePage {
    let here = json!(reader.pit.settings());
    let field = |setting: &str| {
        let at = format!("settings/{setting}");
        let mut rules = GROUPS.iter().flat_map(|group| group.rules);
        rules.find(|known| known.at == at)
    };
    let shown = |setting: &str| {
        let (label, unit) = match field(setting) {
            Some(known) => (
                known.label,
                match known.take {
                    Take::Number(unit, 1) => unit,
                    _ => "",
                },
            ),
            None => (setting, ""),
        };
        let value = format!("{} {unit}", value(&here[setting]));
        (label.to_owned(), value.trim().to_owned())
    };
    RulePage {
        id: rule.id().to_owned(),
        title: rule.title().to_owned(),
        severity: rule.severity().word(),
        rises: rule
            .escalates()
            .map(|rises| rises.replace("S4", "Stop now").replace("S3", "Hold")),
        exposure: rule.exposure().to_owned(),
        when: rule.when().to_owned(),
        advise: rule.advise().to_owned(),
        clears: rule.clears_when().to_owned(),
        clears_by: rule.clears_by().words(),
        tell: rule.tell().join(", "),
        false_alarm: rule.likely_false_alarm().to_owned(),
        mark: rule.mark().word(),
        sources: rule
            .basis()
            .iter()
            .map(|id| (id.clone(), source(id)))
            .collect(),
        settings: rule
            .settings()
            .iter()
            .map(|setting| shown(setting))
            .collect(),
        note: rule.note().to_owned(),
    }
}

fn source(id: &str) -> String {
    let known = SOURCES.iter().find(|(known, _)| *known == id);
    known.map_or_else(String::new, |(_, text)| (*text).to_owned())
}

fn value(value: &Value) -> String {
    match value {
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::String(word) => word.replace('_', " "),
        Value::Null => "not set".to_owned(),
        other => other.to_string(),
    }
}

/// Where something is done, in words.
pub fn site(site: Site) -> &'static str {
    match site {
        Site::Transport => "On the move",
        Site::PitBench => "Bench",
        Site::ChargingTable => "Charging table",
        Site::Quarantine => "Observation box",
        Site::GasStation => "Gas bay",
        Site::Scale => "Scale",
        Site::Inspection => "Inspection",
        Site::TestArea => "Test area",
        Site::Queue => "Arena queue",
        Site::ArenaLoad => "Arena, being armed",
        Site::Arena => "Arena, during a bout",
        Site::ArenaRecovery => "Arena, after a bout",
    }
}
