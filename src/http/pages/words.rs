//! Lines and states in words: what people read in a logbook, a reason, a row.

use super::bench::LogLine;
use super::parts::clock::span;
use super::reader::{Reader, capital};
use crate::pit::energy::{SourceNow, SourceOf, Standing};
use crate::pit::ids::{LineId, PersonId, RobotId, Subject};
use crate::pit::library;
use crate::pit::logbook::bout::Answer;
use crate::pit::logbook::hall::DangerOf;
use crate::pit::logbook::link_plan::{LinkPlan, Reader as PlanReader};
use crate::pit::logbook::machine::{
    Bar, Holder, Light, LinkState, Looked, Place, Power, System, Valve,
};
use crate::pit::logbook::things::{ChargeState, Looks, ThingPlace};
use crate::pit::logbook::work::{DutyOf, ProofOf, TaskState};
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
        put_right: fate
            .is_none()
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

/// What a line says.
pub fn body(reader: &Reader, line: &Line) -> String {
    let robot = match line.subject {
        Subject::Robot(robot) => Some(robot),
        _ => None,
    };
    match &line.body {
        Body::Link(link) => {
            let state = if link.state == LinkState::Out {
                "link out"
            } else {
                "link in"
            };
            match link.holder {
                Some(who) => format!("{state}, {}", holder(reader, who)),
                None => state.to_owned(),
            }
        }
        Body::Gas(gas) => {
            let valve = gas.valve.map(|valve| {
                if valve == Valve::Shut {
                    "bottle shut"
                } else {
                    "bottle open"
                }
            });
            let system = gas.system.map(|system| {
                if system == System::Zero {
                    "gas at zero"
                } else {
                    "gas under pressure"
                }
            });
            valve
                .into_iter()
                .chain(system)
                .collect::<Vec<_>>()
                .join(", ")
        }
        Body::WeaponBar(bar) => restraint(reader, robot, bar.state),
        Body::Transmitter(tx) => match tx.with {
            Some(with) => format!(
                "transmitter {}, with {}",
                power(tx.state),
                reader.name(Some(with))
            ),
            None => format!("transmitter {}", power(tx.state)),
        },
        Body::PowerLight(light) => if light.state == Light::Dark {
            "power light dark"
        } else {
            "power light lit"
        }
        .to_owned(),
        Body::Stand(stand) => if stand.clear {
            "on its stand, wheels clear"
        } else {
            "wheels not clear"
        }
        .to_owned(),
        Body::Looked(looked) => asserts(reader, robot, looked),
        Body::Place(to) => format!("at: {}", place(to.place)),
        Body::Pack(pack) => {
            let set = pack
                .set
                .and_then(|id| reader.pit.sets.get(&id))
                .map_or_else(
                    || "packs".to_owned(),
                    |set| format!("set {}", set.body.label),
                );
            [
                Some(set),
                pack.place.map(|place| thing_place(place).to_owned()),
                pack.looks.map(|looks| self::looks(looks).to_owned()),
                pack.cells_mv.as_ref().map(|cells| low_cell(cells)),
            ]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", ")
        }
        Body::Charge(charge) => {
            let set = charge
                .set
                .and_then(|id| reader.pit.sets.get(&id))
                .map_or_else(
                    || "a set".to_owned(),
                    |set| format!("set {}", set.body.label),
                );
            match (charge.state, charge.running) {
                (Some(ChargeState::Started), _) => format!("{set} on charge"),
                (Some(ChargeState::Ended), _) => format!("{set} off charge"),
                (None, Some(running)) => format!("{} on charge", running.get()),
                (None, None) => format!("{set} at the charger"),
            }
        }
        Body::Bottle(bottle) => {
            let name = bottle
                .bottle
                .and_then(|id| reader.pit.bottles.get(&id))
                .map_or_else(
                    || "bottle".to_owned(),
                    |bottle| format!("bottle {}", bottle.body.label),
                );
            [
                Some(name),
                bottle.place.map(|place| thing_place(place).to_owned()),
                bottle.looks.map(|looks| self::looks(looks).to_owned()),
                bottle.mass_g.map(|mass| format!("{} g", mass.get())),
            ]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", ")
        }
        Body::Part(part) => match &part.area {
            Some(area) => format!(
                "{} swapped, {}",
                part.part,
                robot.map_or_else(
                    || area.to_string(),
                    |robot| area_name(reader, robot, area.as_str())
                )
            ),
            None => format!("{} swapped", part.part),
        },
        Body::Loan(loan) => format!("{} things not home", loan.open.get()),
        Body::Count(count) => match count.missing.get() {
            0 => format!("{} counted, none missing", count.what),
            n => format!("{} counted, {n} missing", count.what),
        },
        Body::Damage(damage) => {
            let (area, kind) = (damage.area.as_str(), damage.kind.as_str());
            robot.map_or_else(
                || format!("{area}: {kind}"),
                |robot| damage_words(reader, robot, area, kind),
            )
        }
        Body::Check(check) => format!("{}: {}", check.what.as_str().replace('_', " "), check.found),
        Body::Task(task) => {
            let name = task_name(reader, robot, task.task.as_str());
            match task.state {
                TaskState::Started => format!("began: {name}"),
                TaskState::Done => format!("done: {name}"),
                TaskState::LeftOut => format!("left out: {name}"),
                TaskState::Chosen => format!("put on the list: {name}"),
            }
        }
        Body::Proof(proof) => {
            let what = match proof.what {
                ProofOf::Weight => "weight",
                ProofOf::Inspection => "inspection",
                ProofOf::Failsafe => "failsafe",
                ProofOf::Leak => "leak test",
                ProofOf::Weapon => "weapon test",
            };
            let failed = proof.result == crate::pit::logbook::work::Outcome::Fail;
            format!("{what} {}", if failed { "failed" } else { "passed" })
        }
        Body::Changed(changed) => {
            let known = library::data().changes.kind(changed.change.as_str());
            format!(
                "changed: {}",
                known.map_or_else(|| changed.change.to_string(), |kind| kind.label.clone())
            )
        }
        Body::Duty(duty) => match duty.who {
            Some(who) => format!("{}: {}", self::duty(duty.duty), reader.name(Some(who))),
            None => format!("{}: nobody", self::duty(duty.duty)),
        },
        Body::LinkPlan(plan) => match plan {
            LinkPlan::Saved(_) => "link plan saved".to_owned(),
            LinkPlan::ReadBack(read) => {
                let names: Vec<String> = read
                    .read_by
                    .iter()
                    .map(|who| reader.name(Some(*who)))
                    .collect();
                format!("link plan {} read back by {}", read.version, list(&names))
            }
            LinkPlan::Confirmed(confirmed) => {
                format!("link plan {} still holds", confirmed.version)
            }
        },
        Body::Called(_) => "called".to_owned(),
        Body::Answered(answered) => format!("call answered: {}", answer(answered.answer)),
        Body::BoutStarted(_) => bout(reader, line.subject, "begun"),
        Body::BoutEnded(_) => bout(reader, line.subject, "over"),
        Body::CallsMoved(moved) => format!("calls moved by {:+} min", moved.by_min),
        Body::AllowedHere(allowed) => {
            format!("stands by while it is live, {} min", allowed.for_min.get())
        }
        Body::Danger(danger) => format!("danger: {}", self::danger(danger.what)),
        Body::EveryoneStop(stop) => if stop.stop { "everyone stop" } else { "go on" }.to_owned(),
        Body::Hazard(word) => format!("hazard {}: {:?}", word.rule, word.said).to_lowercase(),
        Body::Planned(_) => "a new plan".to_owned(),
        Body::Void(_) => "took a line back".to_owned(),
        Body::RegisterEvent(_)
        | Body::RegisterTeam(_)
        | Body::RegisterPerson(_)
        | Body::RegisterRobot(_)
        | Body::RegisterPack(_)
        | Body::RegisterSet(_)
        | Body::RegisterChannel(_)
        | Body::RegisterBottle(_)
        | Body::RegisterBout(_)
        | Body::RegisterLibrary(_) => format!("register: {}", line.subject.noun()),
    }
}

fn bout(reader: &Reader, subject: Subject, what: &str) -> String {
    let number = match subject {
        Subject::Bout(id) => reader.pit.bouts.get(&id).map(|bout| bout.body.number.get()),
        _ => None,
    };
    number.map_or_else(|| format!("bout {what}"), |n| format!("bout {n} {what}"))
}

fn restraint(reader: &Reader, robot: Option<RobotId>, bar: Bar) -> String {
    let name = robot
        .and_then(|robot| reader.pit.robot(robot))
        .map_or("weapon bar", |file| file.register.body.machine.restraint());
    let state = match bar {
        Bar::On => "on",
        Bar::Held => "out, second restraint in",
        Bar::Off => "off",
    };
    format!("{} {state}", name.to_lowercase())
}

fn power(power: Power) -> &'static str {
    match power {
        Power::Off => "off",
        Power::On => "on",
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
    let light = looked.power_light.map(|light| {
        if light == Light::Dark {
            "power light dark"
        } else {
            "power light lit"
        }
        .to_owned()
    });
    let packs = looked
        .packs_out
        .map(|out| if out { "packs out" } else { "packs in" }.to_owned());
    let bottle = looked
        .bottle_out
        .map(|out| if out { "bottle out" } else { "bottle in" }.to_owned());
    [link, valve, system, bar, tx, light, packs, bottle]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(", ")
}

fn thing_place(place: ThingPlace) -> &'static str {
    match place {
        ThingPlace::Machine => "in the machine",
        ThingPlace::Bench => "on the bench",
        ThingPlace::ChargingTable => "on the charging table",
        ThingPlace::Quarantine => "set aside",
        ThingPlace::GasStation => "at the gas bay",
        ThingPlace::Returned => "handed back",
    }
}

fn looks(looks: Looks) -> &'static str {
    match looks {
        Looks::Fine => "nothing wrong to see",
        Looks::Swollen => "swollen",
        Looks::Hot => "hot",
        Looks::Hit => "hit or dented",
        Looks::Smells => "smells",
    }
}

fn low_cell(cells: &[crate::calc::units::CellVoltage]) -> String {
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
