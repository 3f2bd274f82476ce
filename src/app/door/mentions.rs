//! What a line speaks of besides its subject, so that nothing unknown gets into the logbook.

use super::registered;
use crate::calc::fault::Fault;
use crate::pit::ids::{PersonId, Subject};
use crate::pit::library;
use crate::pit::logbook::bout::Postponement;
use crate::pit::logbook::hall::Said;
use crate::pit::logbook::link_plan::LinkPlan;
use crate::pit::logbook::machine::Holder;
use crate::pit::logbook::register::{Machine, Slot};
use crate::pit::logbook::things::{Bottle, BottleState};
use crate::pit::logbook::{Body, Draft};
use crate::pit::state::Pit;
use crate::pit::state::running_order::Progress;

/// Every id in a line other than its subject, with the pointer of the field under the line.
pub fn of(draft: &Draft) -> Vec<(String, Subject)> {
    let mut found = Vec::new();
    if let Some(person) = draft.seen_by {
        found.push(("/seen_by".to_owned(), Subject::Person(person)));
    }
    let mut note = |field: &str, subject: Option<Subject>| {
        found.extend(subject.map(|subject| (format!("/body/{field}"), subject)));
    };
    let person = |id: Option<PersonId>| id.map(Subject::Person);
    let holder = |holder: Option<Holder>| match holder {
        Some(Holder::Person(id)) => Some(Subject::Person(id)),
        Some(Holder::Box) | None => None,
    };
    match &draft.body {
        Body::RegisterPerson(body) => note("team", body.team.map(Subject::Team)),
        Body::RegisterRobot(body) => {
            note("team", Some(Subject::Team(body.team)));
            note("driver", person(body.driver));
        }
        Body::RegisterPack(body) => note("team", Some(Subject::Team(body.team))),
        Body::RegisterSet(body) => {
            note("team", Some(Subject::Team(body.team)));
            note("robot", body.robot.map(Subject::Robot));
            for (n, pack) in body.packs.iter().enumerate() {
                note(&format!("packs/{n}"), Some(Subject::Pack(*pack)));
            }
        }
        Body::RegisterChannel(body) => {
            note("team", Some(Subject::Team(body.team)));
            note("charger", body.charger.map(Subject::Charger));
        }
        Body::RegisterCharger(body) => {
            note("team", Some(Subject::Team(body.team)));
            note("circuit", body.circuit.map(Subject::Circuit));
        }
        Body::RegisterCircuit(body) => {
            note("team", body.team.map(Subject::Team));
            note("fed_by", body.fed_by.map(Subject::Circuit));
        }
        Body::RegisterBottle(body) => note("team", Some(Subject::Team(body.team))),
        Body::RegisterSupply(body) => note("team", body.team.map(Subject::Team)),
        Body::RegisterPartType(body) => {
            note("team", Some(Subject::Team(body.team)));
            for (n, fit) in body.fits.iter().enumerate() {
                note(&format!("fits/{n}/robot"), Some(Subject::Robot(fit.robot)));
            }
        }
        Body::RegisterBout(body) => {
            for (n, slot) in body.slots.iter().enumerate() {
                let (name, subject) = match slot {
                    Slot::Robot(id) => ("robot", Subject::Robot(*id)),
                    Slot::Winner(id) => ("winner", Subject::Bout(*id)),
                    Slot::Loser(id) => ("loser", Subject::Bout(*id)),
                };
                note(&format!("slots/{n}/{name}"), Some(subject));
            }
        }
        Body::Link(body) => note("holder", holder(body.holder)),
        Body::Transmitter(body) => note("with", person(body.with)),
        Body::Looked(body) => note("holder", holder(body.holder)),
        Body::Pack(body) => {
            note("set", body.set.map(Subject::Set));
            note("pack", body.pack.map(Subject::Pack));
            note("watcher", person(body.watcher));
        }
        Body::Charge(body) => {
            note("set", body.set.map(Subject::Set));
            for (n, channel) in body.channels.iter().flatten().enumerate() {
                note(&format!("channels/{n}"), Some(Subject::Channel(*channel)));
            }
            note("watcher", person(body.watcher));
            note("read_back_by", person(body.read_back_by));
        }
        Body::Part(body) => note("spare", body.spare.map(Subject::Part)),
        Body::Bottle(body) => {
            note("bottle", body.bottle.map(Subject::Bottle));
            note("supply", body.supply.map(Subject::Supply));
        }
        Body::Count(body) => note("holder", holder(body.holder)),
        Body::Task(body) => {
            for (n, with) in body.with.iter().enumerate() {
                note(&format!("with/{n}"), Some(Subject::Person(*with)));
            }
        }
        Body::Duty(body) => note("who", person(body.who)),
        Body::LinkPlan(LinkPlan::Saved(plan)) => {
            note("saved/holder", person(plan.holder));
            note("saved/inserter", person(plan.inserter));
            note("saved/remover", person(plan.remover));
            note("saved/verifier", person(plan.verifier));
            note("saved/holder_deputy", person(plan.holder_deputy));
            note("saved/inserter_deputy", person(plan.inserter_deputy));
            note("saved/remover_deputy", person(plan.remover_deputy));
            note("saved/verifier_deputy", person(plan.verifier_deputy));
        }
        Body::LinkPlan(LinkPlan::ReadBack(read)) => {
            for (n, reader) in read.read_by.iter().enumerate() {
                note(
                    &format!("read_back/read_by/{n}"),
                    Some(Subject::Person(*reader)),
                );
            }
        }
        Body::Called(body) => note("robot", body.robot.map(Subject::Robot)),
        Body::Answered(body) => note("bout", body.bout.map(Subject::Bout)),
        Body::Postponement(body) => note("bout", Some(Subject::Bout(body.bout))),
        Body::Announced(body) => {
            for (n, team) in body.teams.iter().enumerate() {
                note(&format!("teams/{n}"), Some(Subject::Team(*team)));
            }
        }
        Body::BoutEnded(body) => note("winner", body.winner.map(Subject::Robot)),
        Body::CallsMoved(body) => note("from_bout", body.from_bout.map(Subject::Bout)),
        _ => {}
    }
    found
}

/// Words that have to be in a list of the machine's type or of the event, and what else a line's
/// body can get wrong although each field is of its form.
pub fn words(pit: &Pit, draft: &Draft, base: &str) -> Vec<Fault> {
    let mut faults = registered::check(draft, base);
    let machine = match draft.subject {
        Subject::Robot(robot) => pit.robot(robot).map(|file| file.register.body.machine),
        _ => None,
    };
    match &draft.body {
        Body::AnnouncementSeen(seen) => {
            let announced = pit
                .files
                .get(&Subject::Event)
                .and_then(|file| file.get(&seen.announcement))
                .is_some_and(|entry| matches!(entry.first.body, Body::Announced(_)));
            if !announced {
                faults.push(Fault::new(
                    format!("{base}/body/announcement"),
                    "No announcement has this id.",
                ));
            }
        }
        Body::Postponement(word) => faults.extend(postponement(pit, draft, word, base)),
        Body::BoutEnded(ended) => {
            let fought = match draft.subject {
                Subject::Bout(bout) => pit.bout(bout).map(|bout| bout.robots),
                _ => None,
            };
            if let (Some(winner), Some(robots)) = (ended.winner, fought)
                && !robots.contains(&Some(winner))
            {
                faults.push(Fault::new(
                    format!("{base}/body/winner"),
                    "It was not in this bout.",
                ));
            }
        }
        Body::Photo(photo) if photo.shows.noun() != draft.subject.noun() => {
            faults.push(Fault::new(
                format!("{base}/body/shows"),
                format!(
                    "It is about a {}, not a {}.",
                    photo.shows.noun(),
                    draft.subject.noun()
                ),
            ));
        }
        Body::Bottle(bottle) => faults.extend(of_bottle(bottle, base)),
        Body::Gas(gas)
            if gas.valve.is_none() && gas.system.is_none() && gas.regulated.is_none() =>
        {
            faults.push(Fault::new(
                format!("{base}/body"),
                "Say the valve, the system, or the regulator.",
            ));
        }
        Body::Hazard(word) if word.said == Said::Accepted && word.because.is_none() => {
            faults.push(Fault::new(
                format!("{base}/body/because"),
                "Say why it is taken on.",
            ));
        }
        Body::Gas(_) | Body::Trouble(_)
            if machine.is_some_and(|machine: Machine| !machine.has_gas()) =>
        {
            faults.push(Fault::new(
                format!("{base}/kind"),
                "This machine has no gas system.",
            ));
        }
        Body::Damage(damage) => {
            if let Some(known) = machine.map(library::damage) {
                let area = known.area(damage.area.as_str());
                if area.is_none() {
                    faults.push(not_in_list(base, "area", damage.area.as_str()));
                }
                if known.kind(damage.kind.as_str()).is_none() {
                    faults.push(not_in_list(base, "kind", damage.kind.as_str()));
                }
            }
        }
        Body::Changed(changed)
            if library::data()
                .changes
                .kind(changed.change.as_str())
                .is_none() =>
        {
            faults.push(not_in_list(base, "change", changed.change.as_str()));
        }
        Body::Task(task) => {
            if let Some(lists) = machine.map(library::lists)
                && lists.task(task.task.as_str()).is_none()
            {
                faults.push(not_in_list(base, "task", task.task.as_str()));
            }
        }
        Body::LinkPlan(LinkPlan::ReadBack(read)) if read.read_by.is_empty() => {
            faults.push(Fault::new(
                format!("{base}/body/read_back/read_by"),
                "Somebody has to have read it.",
            ));
        }
        _ => {}
    }
    faults
}

/// Shots stand between two weighings, and a cylinder is named where something was filled.
fn of_bottle(bottle: &Bottle, base: &str) -> Vec<Fault> {
    let mut faults = Vec::new();
    if bottle.shots.is_some() && bottle.mass_g.is_none() {
        faults.push(Fault::new(
            format!("{base}/body/shots"),
            "Shots are counted between two weighings: give the mass as well.",
        ));
    }
    if bottle.supply.is_some() && bottle.state != Some(BottleState::Filled) {
        faults.push(Fault::new(
            format!("{base}/body/supply"),
            "A supply cylinder is named with a filling only.",
        ));
    }
    faults
}

/// A postponement is about a bout that waits for the robot, by no more than the event allows.
fn postponement(pit: &Pit, draft: &Draft, word: &Postponement, base: &str) -> Vec<Fault> {
    let mut faults = Vec::new();
    let bout = pit.bout(word.bout);
    let waits = bout.is_some_and(|bout| match draft.subject {
        Subject::Robot(robot) => {
            bout.progress == Progress::Waiting && bout.robots.contains(&Some(robot))
        }
        _ => false,
    });
    if !waits {
        faults.push(Fault::new(
            format!("{base}/body/bout"),
            "This robot has no such bout before it.",
        ));
    }
    let most = pit.settings().postponement_min;
    if let Some(by) = word.by_min.filter(|by| *by > most) {
        faults.push(Fault::new(
            format!("{base}/body/by_min"),
            format!(
                "{} min is more than the {} min of one postponement at this event.",
                by.get(),
                most.get()
            ),
        ));
    }
    faults
}

fn not_in_list(base: &str, field: &str, word: &str) -> Fault {
    Fault::new(
        format!("{base}/body/{field}"),
        format!("'{word}' is not in the list for this machine."),
    )
}
