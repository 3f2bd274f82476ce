//! The isolation-link plan of a robot: what is missing in it, and who has not read it back.

use super::ids::PersonId;
use super::logbook::link_plan::{Plan, Reader};
use super::logbook::register::Machine;
use super::settings::Settings;
use super::state::RobotFile;
use crate::calc::units::Note;
use chrono::{DateTime, Utc};

/// What a change to the machine asks of its link plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Demand {
    /// Somebody says that the plan still holds.
    Confirm,
    /// The plan is written and read back anew.
    Rewrite,
}

/// A change to the machine that touches the link plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What was changed, in words.
    pub what: String,
    /// When.
    pub at: DateTime<Utc>,
    /// What it asks.
    pub demand: Demand,
}

/// Something that stands between a plan and relying on it.
#[derive(Debug, Clone, PartialEq)]
pub enum Gap {
    /// There is no plan.
    NoPlan,
    /// A field is empty.
    Empty(&'static str),
    /// The plan was written for another configuration.
    OtherConfiguration,
    /// The machine changed after the plan was written.
    OlderThan(Change),
    /// The machine changed and nobody said that the plan still holds.
    NotConfirmedSince(Change),
    /// Somebody named in the plan has not read this version back.
    NotReadBack(Reader, PersonId),
    /// The same person puts the link in and proves it: nobody proves their own work.
    ProvesOwnWork(PersonId),
    /// Fewer links are counted than the machine has.
    LinksDoNotAddUp {
        /// In the plan, spare included.
        counted: i32,
        /// On the machine, without spare.
        fitted: i32,
    },
    /// The time to reach the link was not measured.
    ReachNotMeasured {
        /// Inverted rather than upright.
        inverted: bool,
    },
    /// The time to reach the link is over the event's limit.
    ReachOverLimit {
        /// Inverted rather than upright.
        inverted: bool,
        /// Measured.
        seconds: i32,
        /// Allowed.
        limit: i32,
    },
}

impl Gap {
    /// Whether the robot may not be called ready to arm with this gap (H06). The others are to be
    /// mended, and are shown.
    pub fn forbids_arming(&self) -> bool {
        match self {
            Self::NoPlan
            | Self::Empty(_)
            | Self::OtherConfiguration
            | Self::OlderThan(_)
            | Self::NotConfirmedSince(_)
            | Self::ProvesOwnWork(_)
            | Self::LinksDoNotAddUp { .. } => true,
            Self::NotReadBack(reader, _) => matches!(reader, Reader::Inserter | Reader::Remover),
            Self::ReachNotMeasured { .. } | Self::ReachOverLimit { .. } => false,
        }
    }
}

/// The gaps of a robot's plan in force, those that forbid arming first.
///
/// `changes` are the changes made to the machine that touch its link plan.
pub fn gaps(file: &RobotFile, settings: &Settings, changes: &[Change]) -> Vec<Gap> {
    let plans = &file.state.link_plans;
    let Some((version, saved)) = plans.current() else {
        return vec![Gap::NoPlan];
    };
    let plan = &saved.value;
    let robot = &file.register.body;
    let mut gaps: Vec<Gap> = empty_fields(plan).into_iter().map(Gap::Empty).collect();
    if plan.configuration != robot.configuration {
        gaps.push(Gap::OtherConfiguration);
    }
    let confirmed = plans
        .confirmed
        .as_ref()
        .filter(|(confirmed, _)| *confirmed == version)
        .map(|(_, sight)| sight.at);
    let read = readers(plan, robot.driver)
        .iter()
        .filter_map(|(_, person)| plans.read_by(version, *person))
        .map(|sight| sight.at)
        .max();
    for change in changes.iter().filter(|change| change.at > saved.at) {
        match change.demand {
            Demand::Rewrite => gaps.push(Gap::OlderThan(change.clone())),
            Demand::Confirm if confirmed.max(read).is_none_or(|at| at < change.at) => {
                gaps.push(Gap::NotConfirmedSince(change.clone()));
            }
            Demand::Confirm => {}
        }
    }
    for (reader, person) in readers(plan, robot.driver) {
        if plans.read_by(version, person).is_none() {
            gaps.push(Gap::NotReadBack(reader, person));
        }
    }
    if let (Some(inserter), Some(verifier)) = (plan.inserter, plan.verifier)
        && inserter == verifier
    {
        gaps.push(Gap::ProvesOwnWork(inserter));
    }
    if let Some(counted) = plan.links
        && counted < robot.links
    {
        gaps.push(Gap::LinksDoNotAddUp {
            counted: counted.get(),
            fitted: robot.links.get(),
        });
    }
    let reach = [(false, plan.reach_upright_s), (true, plan.reach_inverted_s)];
    for (inverted, seconds) in reach {
        match seconds {
            None if !inverted || settings.reach_inverted => {
                gaps.push(Gap::ReachNotMeasured { inverted });
            }
            Some(seconds) if seconds > settings.reach_limit_s => gaps.push(Gap::ReachOverLimit {
                inverted,
                seconds: seconds.get(),
                limit: settings.reach_limit_s.get(),
            }),
            _ => {}
        }
    }
    gaps.sort_by_key(|gap| !gap.forbids_arming());
    gaps
}

/// Who has to read a plan back, as named in it. The driver is the robot's.
pub fn readers(plan: &Plan, driver: Option<PersonId>) -> Vec<(Reader, PersonId)> {
    [
        (Reader::Inserter, plan.inserter),
        (Reader::Remover, plan.remover),
        (Reader::Verifier, plan.verifier),
        (Reader::Driver, driver),
    ]
    .into_iter()
    .filter_map(|(reader, person)| Some((reader, person?)))
    .collect()
}

fn empty_fields(plan: &Plan) -> Vec<&'static str> {
    [
        ("place", plan.place.is_none()),
        ("links", plan.links.is_none()),
        ("holder", plan.holder.is_none()),
        ("inserter", plan.inserter.is_none()),
        ("remover", plan.remover.is_none()),
        ("verifier", plan.verifier.is_none()),
        ("retention", plan.retention.is_none()),
        ("arming", plan.arming.is_empty()),
        ("making_safe", plan.making_safe.is_empty()),
    ]
    .into_iter()
    .filter_map(|(field, empty)| empty.then_some(field))
    .collect()
}

/// A first draft for a type of machine: the usual orders, everything else for its crew to say.
/// **Source** order of making safe F2 and own; order of arming R1. The event's order comes first.
pub fn draft(machine: Machine) -> Plan {
    let bar = machine.restraint();
    let mut making_safe = vec![
        "Hold still until the marshal's signal, hands off the sticks".to_owned(),
        format!("{bar} on, from the side"),
        "Link out, into the holder's hand".to_owned(),
    ];
    let mut arming = vec![
        "Covers off, aimed away from people and the door; two stay".to_owned(),
        "Transmitter on, in the driver's hand, outside".to_owned(),
    ];
    if machine.has_gas() {
        making_safe.push("Bottle shut".to_owned());
        making_safe.push("Dump, read the gauge, wait, read it again".to_owned());
        arming.push("Bottle open, out of the arm's arc".to_owned());
    }
    making_safe.push("Transmitter off, light dark, second person looks".to_owned());
    arming.push("Link in, hatch shut, say \"link in\"".to_owned());
    arming.push(format!("{bar} off, one pull, last"));
    arming.push("All out, door shut".to_owned());
    let steps = |steps: Vec<String>| {
        steps
            .iter()
            .filter_map(|step| Note::new(step).ok())
            .collect()
    };
    Plan {
        arming: steps(arming),
        making_safe: steps(making_safe),
        ..Plan::default()
    }
}
