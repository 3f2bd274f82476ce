//! Lines and states in words: what people read in a logbook, a reason, a row.

mod line;
pub mod packs;
pub mod stations;

pub use line::{body, spare_state};

pub use line::stored_words as stored;
use line::{power, restraint};

use super::bench::LogLine;
use super::parts::clock::span;
use super::reader::{Reader, capital};
use crate::app::door;
use crate::pit::energy::{SourceNow, SourceOf, Standing};
use crate::pit::ids::{LineId, PersonId, RobotId, Subject};
use crate::pit::library;
use crate::pit::logbook::bout::{Answer, Ending};
use crate::pit::logbook::hall::{ArmedAt, DangerOf};
use crate::pit::logbook::link_plan::Reader as PlanReader;
use crate::pit::logbook::machine::{
    Bar, Holder, LinkState, Looked, Place, StoredState, System, Valve,
};
use crate::pit::logbook::photo::Shows;
use crate::pit::logbook::things::{BottleState, Looks, ThingPlace};
use crate::pit::logbook::work::DutyOf;
use crate::pit::logbook::{Body, How, Line};
use crate::pit::state::{Entry, RobotFile};
use chrono::{DateTime, TimeDelta, Utc};

/// "Ana", "Ana and Ben", "Ana, Ben and Cal".
pub fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// "just now", "4 min ago".
pub fn ago(length: TimeDelta) -> String {
    match length.num_minutes() {
        ..1 => "just now".to_owned(),
        _ => format!("{} ago", span(length)),
    }
}

/// A mass: of a bottle in grams, of a machine in kilograms.
pub fn mass(grams: i32) -> String {
    if grams < 10_000 {
        format!("{grams} g")
    } else {
        format!("{:.2} kg", f64::from(grams) / 1000.0)
    }
}

/// How a bout ended, if not in the ordinary way.
pub fn ending(ending: Ending) -> Option<&'static str> {
    match ending {
        Ending::Decided => None,
        Ending::LinkShakenOut => Some("a link was shaken out"),
        Ending::Forfeit => Some("by forfeit"),
        Ending::Cancelled => Some("it did not take place"),
    }
}

/// What a photograph shows.
pub fn photo(shows: Shows) -> &'static str {
    match shows {
        Shows::Damage => "damage",
        Shows::LinkPlan => "where the links are",
        Shows::BottleStamp => "the bottle’s stamp",
    }
}

/// Where a machine is armed.
pub fn armed_at(place: ArmedAt) -> &'static str {
    match place {
        ArmedAt::Arena => "in the arena",
        ArmedAt::TestArea => "in the test area",
    }
}

/// Where a robot is.
pub fn place(place: Place) -> &'static str {
    match place {
        Place::Transport => "on the move",
        Place::PitBench => "bench",
        Place::Scale => "scale",
        Place::Inspection => "inspection",
        Place::TestArea => "test area",
        Place::Queue => "arena queue",
        Place::ArenaLoad => "arena, being armed",
        Place::Arena => "arena",
        Place::ArenaRecovery => "arena, after its bout",
    }
}

/// Who has the link.
pub fn holder(reader: &Reader, holder: Holder) -> String {
    match holder {
        Holder::Person(person) => format!("in {}’s hand", reader.name(Some(person))),
        Holder::Box => "in the locked box".to_owned(),
    }
}

/// What a source is called.
pub fn source_name(file: &RobotFile, of: SourceOf) -> &'static str {
    match of {
        SourceOf::Link => "Link",
        SourceOf::Gas => "Gas",
        SourceOf::WeaponBar => file.register.body.machine.restraint(),
        SourceOf::Transmitter => "Transmitter",
        SourceOf::SecondTransmitter => "Second transmitter",
        SourceOf::Stored => "Stored energy",
    }
}

/// A source in the state that is known.
pub fn source(file: &RobotFile, source: &SourceNow) -> String {
    let name = source_name(file, source.source);
    let state = &file.state;
    let known = match source.source {
        SourceOf::Link if source.removed => "Packs out",
        SourceOf::Link if source.standing == Standing::Live => "Link in",
        SourceOf::Link => "Link out",
        SourceOf::Gas if source.standing == Standing::Live => match state.valve.value() {
            Some(Valve::Open) => "Gas open",
            _ => "Gas under pressure",
        },
        SourceOf::Gas => "Gas at zero",
        SourceOf::WeaponBar => {
            let word = match state.weapon_bar.value() {
                Some(Bar::Held) => "held",
                Some(Bar::Off) => "off",
                Some(Bar::On) | None => "on",
            };
            return mark(format!("{name} {word}"), source.standing);
        }
        SourceOf::Transmitter if source.standing == Standing::Live => "Transmitter on",
        SourceOf::Transmitter => "Transmitter off",
        SourceOf::SecondTransmitter if source.standing == Standing::Live => "Second transmitter on",
        SourceOf::SecondTransmitter => "Second transmitter off",
        SourceOf::Stored if source.standing == Standing::Live => "Energy stored",
        SourceOf::Stored => "No stored energy",
    };
    mark(known.to_owned(), source.standing)
}

fn mark(known: String, standing: Standing) -> String {
    match standing {
        Standing::Isolated | Standing::Live => known,
        Standing::Stale | Standing::Disputed | Standing::Unknown => format!("{known}?"),
    }
}

/// Why a source does not count.
pub fn doubt(reader: &Reader, file: &RobotFile, source: &SourceNow, now: DateTime<Utc>) -> String {
    let name = source_name(file, source.source);
    let who = reader.name(source.seen_by);
    match source.standing {
        Standing::Unknown => format!("{name} not seen yet. Treat as live."),
        Standing::Disputed => {
            let against = reader.name(source.against);
            format!(
                "Two accounts of the {} disagree: {who} and {against}. Treat as live.",
                name.to_lowercase()
            )
        }
        _ => {
            let when = source.seen_at.map_or_else(String::new, |at| ago(now - at));
            format!("{name} last seen {when}, by {who}. Treat as live.")
        }
    }
}

/// An answer to a call.
pub fn answer(answer: Answer) -> String {
    match answer {
        Answer::Coming => "coming".to_owned(),
        Answer::Need(minutes) => format!("need {} min", minutes.get()),
        Answer::Ready => "ready".to_owned(),
        Answer::Not => "will not be there".to_owned(),
    }
}

/// The last move of calls, with what the organiser said.
pub fn last_move(reader: &Reader) -> Option<String> {
    let line = reader
        .pit
        .facts(Subject::Event)
        .into_iter()
        .rev()
        .find(|line| matches!(line.body, Body::CallsMoved(_)))?;
    let Body::CallsMoved(moved) = &line.body else {
        return None;
    };
    if reader.clock.now - line.at > TimeDelta::minutes(30) {
        return None;
    }
    let because = moved
        .because
        .as_ref()
        .map_or_else(String::new, |why| format!(": {why}"));
    Some(format!(
        "Calls moved by {:+} min at {}{because}",
        moved.by_min,
        reader.clock.hm(line.at)
    ))
}

/// A line of the logbook for a list. Those who may write about it may put it right.
pub fn log_line(reader: &Reader, entry: &Entry) -> LogLine {
    let counts = entry.effective();
    let fate = match (&entry.correction, &counts) {
        (None, _) => None,
        (Some(correction), None) => {
            let own = correction.entered_by.person == entry.first.entered_by.person;
            let window = TimeDelta::seconds(i64::from(reader.pit.settings().withdraw_s.get()));
            let quick = correction.recorded_at - entry.first.recorded_at <= window;
            Some(if own && quick {
                "withdrawn"
            } else {
                "taken back"
            })
        }
        (Some(_), Some(_)) => Some("put right"),
    };
    let line = counts.as_deref().unwrap_or(&entry.first);
    LogLine {
        at: line.at,
        who: who(reader, line),
        how: line.how.map(How::as_str),
        what: body(reader, line),
        fate: fate.filter(|_| counts.is_none()),
        put_right: (fate.is_none()
            && door::may_put_right(&reader.pit, reader.signed.enterer(), &entry.first))
        .then(|| format!("{}/lines/{}", reader.base, entry.first.id)),
    }
}

/// Who saw it, and who entered it if that was somebody else.
pub fn who(reader: &Reader, line: &Line) -> String {
    match (line.seen_by, line.entered_by.person) {
        (Some(saw), Some(entered)) if saw != entered => {
            format!(
                "{}, named by {}",
                reader.name(Some(saw)),
                reader.name(Some(entered))
            )
        }
        (Some(saw), _) => reader.name(Some(saw)),
        (None, Some(entered)) => reader.name(Some(entered)),
        (None, None) => capital(line.entered_by.role.as_str()),
    }
}

/// Everything a look asserts.
pub fn asserts(reader: &Reader, robot: Option<RobotId>, looked: &Looked) -> String {
    let link = looked.link.map(|link| {
        let state = if link == LinkState::Out {
            "link out"
        } else {
            "link in"
        };
        looked.holder.map_or_else(
            || state.to_owned(),
            |who| format!("{state} {}", holder(reader, who)),
        )
    });
    let valve = looked.valve.map(|valve| {
        if valve == Valve::Shut {
            "bottle shut"
        } else {
            "bottle open"
        }
        .to_owned()
    });
    let system = looked.system.map(|system| {
        if system == System::Zero {
            "gas at zero"
        } else {
            "gas under pressure"
        }
        .to_owned()
    });
    let bar = looked.weapon_bar.map(|bar| restraint(reader, robot, bar));
    let tx = looked
        .transmitter
        .map(|tx| format!("transmitter {}", power(tx)));
    let light = looked
        .power_light
        .map(|light| line::light(light).to_owned());
    let second = looked
        .second_transmitter
        .map(|tx| format!("second transmitter {}", power(tx)));
    let stored = looked.stored.map(|stored| {
        match stored {
            StoredState::Released => "no stored energy",
            StoredState::Blocked => "stored energy blocked",
            StoredState::Loaded => "energy stored",
        }
        .to_owned()
    });
    let packs = looked
        .packs_out
        .map(|out| if out { "packs out" } else { "packs in" }.to_owned());
    let bottle = looked
        .bottle_out
        .map(|out| if out { "bottle out" } else { "bottle in" }.to_owned());
    [
        link, valve, system, bar, tx, second, stored, light, packs, bottle,
    ]
    .into_iter()
    .flatten()
    .collect::<Vec<_>>()
    .join(", ")
}

pub(super) fn bottle_state(state: BottleState) -> &'static str {
    match state {
        BottleState::Filled => "filled",
        BottleState::Weighed => "weighed",
        BottleState::Dumped => "emptied",
    }
}

pub(super) fn thing_place(place: ThingPlace) -> &'static str {
    match place {
        ThingPlace::Machine => "in the machine",
        ThingPlace::Bench => "on the bench",
        ThingPlace::ChargingTable => "on the charging table",
        ThingPlace::Quarantine => "set aside",
        ThingPlace::GasStation => "at the gas bay",
        ThingPlace::Returned => "handed back",
    }
}

pub(super) fn looks(looks: Looks) -> &'static str {
    match looks {
        Looks::Fine => "nothing wrong to see",
        Looks::Swollen => "swollen",
        Looks::Hot => "hot",
        Looks::Hit => "hit or dented",
        Looks::Smells => "smells",
    }
}

pub(super) fn low_cell(cells: &[crate::calc::units::CellVoltage]) -> String {
    let low = cells
        .iter()
        .map(|cell| cell.get())
        .min()
        .unwrap_or_default();
    format!("lowest cell {:.2} V", f64::from(low) / 1000.0)
}

/// A duty.
pub fn duty(duty: DutyOf) -> &'static str {
    match duty {
        DutyOf::LinkHolder => "Link holder",
        DutyOf::LinkInserter => "Puts the link in",
        DutyOf::LinkRemover => "Takes the link out",
        DutyOf::SecondPerson => "Second person",
        DutyOf::PackWatcher => "Pack watcher",
        DutyOf::WeaponOperator => "Weapon restraint",
        DutyOf::GasPerson => "Gas",
        DutyOf::Driver => "Driver",
    }
}

/// Who reads a plan back.
pub fn plan_reader(reader: PlanReader) -> &'static str {
    match reader {
        PlanReader::Inserter => "Puts it in",
        PlanReader::Remover => "Takes it out",
        PlanReader::Verifier => "Second person",
        PlanReader::Driver => "Driver",
    }
}

/// What danger was told.
pub fn danger(what: DangerOf) -> &'static str {
    match what {
        DangerOf::Help => "help asked for",
        DangerOf::Fire => "smoke or fire",
        DangerOf::Live => "a machine is live or moves",
        DangerOf::Gas => "gas escapes",
        DangerOf::Pack => "a pack is swollen, hot or smokes",
        DangerOf::Hurt => "somebody is hurt",
        DangerOf::Over => "over",
        DangerOf::Coming => "on the way",
    }
}

/// A place that tasks share, by its name in the library.
pub fn pool(id: &str) -> &'static str {
    match id {
        "access" => "the machine",
        "bench" => "the bench",
        "charger_channel" => "a charger channel",
        "gas_bay" => "the gas bay",
        "scale" => "the scale",
        "inspector" => "an inspector",
        "test_area" => "the test area",
        "lift" => "the lift",
        "trolley" => "the trolley",
        "press" => "the press",
        _ => "a place",
    }
}

/// The name of a task of a robot's type.
pub fn task_name(reader: &Reader, robot: Option<RobotId>, id: &str) -> String {
    robot
        .and_then(|robot| reader.pit.robot(robot))
        .and_then(|file| library::lists(file.register.body.machine).task(id))
        .map_or_else(|| id.replace('_', " "), |task| task.name.clone())
}

/// The name of an area of a robot.
pub fn area_name(reader: &Reader, robot: RobotId, id: &str) -> String {
    reader
        .pit
        .robot(robot)
        .and_then(|file| library::damage(file.register.body.machine).area(id))
        .map_or_else(|| id.replace('_', " "), |area| area.label.clone())
}

/// "front left wheel: cut, bent or off".
pub fn damage_words(reader: &Reader, robot: RobotId, area: &str, kind: &str) -> String {
    let known = reader
        .pit
        .robot(robot)
        .and_then(|file| library::damage(file.register.body.machine).kind(kind))
        .map_or_else(|| kind.replace('_', " "), |kind| kind.label.clone());
    format!("{}: {known}", area_name(reader, robot, area))
}

/// The people of a reader's team, themselves first, by name.
pub fn team_mates(reader: &Reader, team: crate::pit::ids::TeamId) -> Vec<(PersonId, String)> {
    let mut people: Vec<(PersonId, String)> = reader
        .pit
        .people_of(team)
        .filter_map(|(id, _)| reader.names.get(&id).map(|name| (id, name.clone())))
        .collect();
    people.sort_by_key(|(id, name)| (Some(*id) != reader.signed.person, name.to_lowercase()));
    people
}

/// The id of a line from its text.
pub fn line_id(text: &str) -> Option<LineId> {
    text.parse().ok()
}
