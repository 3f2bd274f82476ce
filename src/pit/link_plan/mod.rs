//! The isolation-link plan of a robot: what is missing in it, and who has not read it back.

mod draft;
mod elsewhere;
mod gap;
pub mod order;

#[cfg(test)]
mod tests;

pub use draft::draft;
pub use elsewhere::elsewhere;
pub use gap::{Gap, field_words};

use super::ids::PersonId;
use super::logbook::link_plan::{Plan, Reach, Reader};
use super::logbook::work::DutyOf;
use super::settings::Settings;
use super::state::RobotFile;
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

/// The duties of a plan and what they are called when somebody takes them.
const DUTIES: [(Reader, DutyOf); 4] = [
    (Reader::Inserter, DutyOf::LinkInserter),
    (Reader::Remover, DutyOf::LinkRemover),
    (Reader::Verifier, DutyOf::SecondPerson),
    (Reader::Driver, DutyOf::Driver),
];

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
    for (reader, duty) in DUTIES {
        let has = file.state.duties.get(&duty).copied();
        let named = readers(plan, robot.driver)
            .into_iter()
            .find(|(of, _)| *of == reader)
            .map(|(_, person)| person);
        if let Some(to) = has.filter(|has| Some(*has) != named)
            && plans.read_by(version, to).is_none()
        {
            gaps.push(Gap::HandedOver { reader, to });
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
    if let Some(counted) = plan.links
        && !plan.each.is_empty()
        && usize::try_from(counted.get()) != Ok(plan.each.len())
    {
        gaps.push(Gap::LinksNotListed {
            counted: counted.get(),
            listed: plan.each.len(),
        });
    }
    let orders = [
        (true, &plan.arming, order::of_arming(settings)),
        (false, &plan.making_safe, order::of_making_safe(settings)),
    ];
    for (arming, steps, event) in orders {
        let not_kept = order::not_kept(steps, event);
        gaps.extend(
            not_kept
                .into_iter()
                .map(|asked| Gap::AnotherOrder { arming, asked }),
        );
    }
    if !settings.isolator.takes(robot.isolator) {
        gaps.push(Gap::IsolatorNotTaken);
    }
    if plan.hatch_needs_tool {
        gaps.push(Gap::HatchNeedsTool);
    }
    for (inverted, reach) in [(false, Reach::Upright), (true, Reach::Inverted)] {
        match plans.reach(reach) {
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
    let gas = robot.machine.has_gas();
    gaps.extend(not_said(plan, gas).into_iter().map(Gap::NotSaid));
    gaps.sort_by_key(|gap| (!gap.forbids_arming(), !gap.speaks_against_arming()));
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

/// Fields a plan can do without, that its crew is asked for all the same.
fn not_said(plan: &Plan, gas: bool) -> Vec<&'static str> {
    [
        ("spare", plan.spare.is_none()),
        ("hatch", plan.hatch.is_none()),
        ("dead_when", plan.dead_when.is_none()),
        ("clock", plan.clock_upright.is_none()),
        ("stand", plan.stand.is_none()),
        ("pull", plan.pull.is_none()),
        ("second_way", plan.second_way.is_none()),
        ("valve", gas && plan.valve.is_none()),
        ("gauge", gas && plan.gauge.is_none()),
        ("if_not_shut", gas && plan.if_not_shut.is_none()),
        ("if_jammed", plan.if_jammed.is_none()),
        ("if_moving", plan.if_moving.is_none()),
        ("if_fire", plan.if_fire.is_none()),
        ("if_locked", plan.if_locked.is_none()),
    ]
    .into_iter()
    .filter_map(|(field, empty)| empty.then_some(field))
    .collect()
}
