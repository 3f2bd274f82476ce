//! What a line of the logbook says, in words.

use super::{
    answer, area_name, asserts, bottle_state, damage_words, holder, list, looks as looks_word,
    low_cell, place, task_name, thing_place,
};
use super::{danger as danger_word, duty as duty_word};
use crate::calc::units::GaugePressure;
use crate::http::pages::reader::Reader;
use crate::pit::ids::{RobotId, Subject};
use crate::pit::library;
use crate::pit::logbook::bout::Postponing;
use crate::pit::logbook::hall::Clearing;
use crate::pit::logbook::link_plan::{LinkPlan, Reach};
use crate::pit::logbook::machine::{
    Bar, Light, LinkState, PartOf, Power, StoredIn, StoredState, System, Valve,
};
use crate::pit::logbook::stock::{SpareState, Stock};
use crate::pit::logbook::things::ChargeState;
use crate::pit::logbook::work::{ProofOf, TaskState};
use crate::pit::logbook::{Body, Line};

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
            let regulated = gas.regulated.map(|gauge| {
                let bar = |pressure: GaugePressure| f64::from(pressure.get()) / 1000.0;
                format!(
                    "regulator set to {:.1} bar, gauge at {:.1}",
                    bar(gauge.set_mbar_gauge),
                    bar(gauge.read_mbar_gauge)
                )
            });
            valve
                .into_iter()
                .chain(system)
                .map(str::to_owned)
                .chain(regulated)
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
        Body::PowerLight(seen) => light(seen.state).to_owned(),
        Body::Stored(stored) => stored_words(stored.what, stored.state),
        Body::Trouble(trouble) => part_words(trouble.what, trouble.bad).to_owned(),
        Body::Stand(stand) => if stand.clear {
            "on its stand, wheels clear"
        } else {
            "wheels not clear"
        }
        .to_owned(),
        Body::Looked(looked) => asserts(reader, robot, looked),
        Body::Place(to) => format!("at: {}", place(to.place)),
        Body::Pack(pack) => {
            let set = pack.set.and_then(|id| reader.pit.sets.get(&id));
            let one = pack.pack.and_then(|id| reader.pit.packs.get(&id));
            let what = match (set, one) {
                (Some(set), _) => format!("set {}", set.body.label),
                (None, Some(one)) => format!("pack {}", one.body.label),
                (None, None) => "packs".to_owned(),
            };
            [
                Some(what),
                pack.place.map(|place| thing_place(place).to_owned()),
                pack.looks.map(|looks| looks_word(looks).to_owned()),
                pack.cells_mv.as_ref().map(|cells| low_cell(cells)),
                pack.pack_c.map(|warm| format!("{} °C", warm.get())),
                pack.cell_resistance_uohm
                    .map(|ohm| format!("{:.1} mΩ a cell", f64::from(ohm.get()) / 1000.0)),
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
                (Some(ChargeState::Interrupted), _) => format!("{set}: mains off while on charge"),
                (Some(ChargeState::Ended), _) => format!("{set} off charge"),
                (None, Some(running)) => format!("{} on charge", running.get()),
                (None, None) if charge.read_back_by.is_some() => {
                    format!("{set}: charger settings read back")
                }
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
                bottle.looks.map(|looks| looks_word(looks).to_owned()),
                bottle.state.map(|state| bottle_state(state).to_owned()),
                bottle.mass_g.map(|mass| format!("{} g", mass.get())),
                bottle.shots.map(|shots| match shots.get() {
                    1 => "1 shot since".to_owned(),
                    shots => format!("{shots} shots since"),
                }),
                bottle
                    .supply
                    .and_then(|id| reader.pit.supplies.get(&id))
                    .map(|supply| format!("from {}", supply.body.label)),
            ]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", ")
        }
        Body::SupplyWeighed(weighed) => {
            let mass = super::mass(weighed.mass_g.get());
            format!("supply cylinder weighed, {mass}")
        }
        Body::Stock(stock) => stock_moved(stock),
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
            let mass = proof
                .mass_g
                .map_or_else(String::new, |mass| format!(", {}", super::mass(mass.get())));
            let why = proof
                .note
                .as_ref()
                .map_or_else(String::new, |note| format!(": {note}"));
            // An official's result counts; a team's own is no more than its word.
            let whose = if line.entered_by.role.speaks_for_the_event() {
                ""
            } else {
                ", team says"
            };
            let result = if failed { "failed" } else { "passed" };
            format!("{what} {result}{mass}{why}{whose}")
        }
        Body::Station(at) => format!(
            "{}: {}",
            super::stations::name(at.station).to_lowercase(),
            super::stations::step(at.step)
        ),
        Body::Changed(changed) => {
            let known = library::data().changes.kind(changed.change.as_str());
            format!(
                "changed: {}",
                known.map_or_else(|| changed.change.to_string(), |kind| kind.label.clone())
            )
        }
        Body::Duty(duty) => match duty.who {
            Some(who) => format!("{}: {}", duty_word(duty.duty), reader.name(Some(who))),
            None => format!("{}: nobody", duty_word(duty.duty)),
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
            LinkPlan::Timed(timed) => {
                let lies = match timed.reach {
                    Reach::Upright => "upright",
                    Reach::Inverted => "inverted",
                    Reach::HatchBent => "with the hatch bent",
                };
                format!("link reached {lies} in {} s", timed.seconds.get())
            }
        },
        Body::Called(_) => "called".to_owned(),
        Body::Answered(answered) => format!("call answered: {}", answer(answered.answer)),
        Body::Postponement(word) => {
            let what = match word.said {
                Postponing::Asked => "postponement asked for",
                Postponing::Granted => "postponement granted",
                Postponing::Refused => "postponement refused",
            };
            let by = word
                .by_min
                .map_or_else(String::new, |by| format!(", {} min", by.get()));
            bout(reader, Subject::Bout(word.bout), &format!("{what}{by}"))
        }
        Body::BoutStarted(_) => bout(reader, line.subject, "begun"),
        Body::BoutEnded(ended) => bout(
            reader,
            line.subject,
            &super::ending(ended.ending)
                .map_or_else(|| "over".to_owned(), |how| format!("over, {how}")),
        ),
        Body::CallsMoved(moved) => format!("calls moved by {:+} min", moved.by_min),
        Body::AllowedHere(allowed) => {
            format!("stands by while it is live, {} min", allowed.for_min.get())
        }
        Body::Clearance(word) => {
            let at = super::armed_at(word.place);
            match word.said {
                Clearing::Asked => format!("asked the marshal about arming {at}"),
                Clearing::Confirmed => format!("looked: nothing speaks against arming {at}"),
                Clearing::Refused => match &word.because {
                    Some(because) => format!("not to be armed {at} yet: {because}"),
                    None => format!("not to be armed {at} yet"),
                },
            }
        }
        Body::Inside(inside) => match inside.watched {
            Some(false) => format!("{} inside, nobody watches", inside.people.get()),
            _ => format!("{} inside", inside.people.get()),
        },
        Body::Air(air) => match (air.symptoms, air.co2_ppm) {
            (true, _) => "bad air: somebody feels it".to_owned(),
            (false, Some(ppm)) => format!("air at the gas bay: {} ppm", ppm.get()),
            (false, None) => "air at the gas bay looked at".to_owned(),
        },
        Body::Danger(danger) => format!("danger: {}", danger_word(danger.what)),
        Body::EveryoneStop(stop) => if stop.stop { "everyone stop" } else { "go on" }.to_owned(),
        Body::Announced(said) => format!("announced: {}", said.text),
        Body::Photo(photo) => format!("photograph of {}", super::photo(photo.shows)),
        Body::AnnouncementSeen(_) => "has seen an announcement".to_owned(),
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
        | Body::RegisterCharger(_)
        | Body::RegisterCircuit(_)
        | Body::RegisterBottle(_)
        | Body::RegisterSupply(_)
        | Body::RegisterPartType(_)
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

pub(super) fn restraint(reader: &Reader, robot: Option<RobotId>, bar: Bar) -> String {
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

pub(super) fn light(light: Light) -> &'static str {
    match light {
        Light::Dark => "power light dark",
        Light::Lit => "power light lit",
        Light::Absent => "no power light to be seen",
    }
}

/// "rotor turning".
pub fn stored_words(what: StoredIn, state: StoredState) -> String {
    let (what, released, loaded) = match what {
        StoredIn::Rotor => ("rotor", "still", "turning"),
        StoredIn::Arm => ("arm", "down", "up without a prop"),
        StoredIn::Spring => ("spring", "relaxed", "cocked"),
    };
    let state = match state {
        StoredState::Released => released,
        StoredState::Blocked => "blocked",
        StoredState::Loaded => loaded,
    };
    format!("{what} {state}")
}

/// "gauge dead".
pub(super) fn part_words(part: PartOf, bad: bool) -> &'static str {
    match (part, bad) {
        (PartOf::Gauge, true) => "gauge dead",
        (PartOf::Gauge, false) => "gauge works",
        (PartOf::Dump, true) => "dump blocked",
        (PartOf::Dump, false) => "dump works",
        (PartOf::BottleValve, true) => "bottle cannot be shut",
        (PartOf::BottleValve, false) => "bottle shuts",
        (PartOf::Pressure, true) => "pressure does not fall",
        (PartOf::Pressure, false) => "pressure falls to zero",
        (PartOf::Relief, true) => "relief missing or unrated",
        (PartOf::Relief, false) => "relief rated",
        (PartOf::LowRelief, true) => "low-side relief missing or unrated",
        (PartOf::LowRelief, false) => "low-side relief rated",
    }
}

pub(super) fn power(power: Power) -> &'static str {
    match power {
        Power::Off => "off",
        Power::On => "on",
    }
}

/// What happened to spares.
fn stock_moved(stock: &Stock) -> String {
    match stock {
        Stock::Came(came) => format!("{} {} came in", came.units.get(), spare_state(came.state)),
        Stock::Went(went) => format!("{} {} gone", went.units.get(), spare_state(went.state)),
        Stock::Became(became) => format!(
            "{} {} now {}",
            became.units.get(),
            spare_state(became.from),
            spare_state(became.to)
        ),
        Stock::Counted(counted) => format!(
            "counted: {} {}",
            counted.units.get(),
            spare_state(counted.state)
        ),
    }
}

/// What a spare is like, in a word.
pub fn spare_state(state: SpareState) -> &'static str {
    match state {
        SpareState::InRepair => "in repair",
        other => other.as_str(),
    }
}
