//! What would help, in words.

use super::named;
use crate::http::pages::bench::Gain as Shown;
use crate::http::pages::{reader::Reader, robot_now::RobotNow, robot_now::percent, words};
use crate::pit::ids::RobotId;
use crate::pit::library::tasks::Skill;
use crate::pit::tasks::Item;
use crate::pit::tasks::advice::{Advice, Gain, Measure};

/// So many stand on the bench.
const SHOWN: usize = 5;

/// What would help a robot, what gains most first.
pub fn gains(reader: &Reader, now: &RobotNow<'_>, advice: Option<&Advice>) -> Vec<Shown> {
    of(now, advice)
        .unwrap_or_default()
        .iter()
        .take(SHOWN)
        .map(|gain| {
            let (title, detail) = measure(reader, now, &gain.measure);
            Shown {
                title,
                detail,
                gain: sooner(gain),
                odds: match (gain.odds, gain.meets_call) {
                    (Some(odds), true) => format!("call met, {} %", percent(odds)),
                    (Some(odds), false) => format!("{} % by the call", percent(odds)),
                    (None, _) => String::new(),
                },
            }
        })
        .collect()
}

/// What is said where nothing is listed.
pub(super) fn none(now: &RobotNow<'_>, advice: Option<&Advice>) -> Option<String> {
    if now.file.state.in_bout.is_some() || now.today.all_done() {
        return None;
    }
    match (advice, of(now, advice)) {
        (None, _) => Some("Being worked out.".to_owned()),
        (Some(advice), Some([])) => Some(format!(
            "None of {} changes tried would make it ready earlier or likelier.",
            advice.tried
        )),
        _ => None,
    }
}

/// What leaving out a task gains, as the end of a sentence about it.
pub(super) fn without(now: &RobotNow<'_>, item: &Item, advice: Option<&Advice>) -> String {
    of(now, advice)
        .unwrap_or_default()
        .iter()
        .find(|gain| {
            matches!(&gain.measure, Measure::Without { robot, task, instance }
                if *robot == now.id && item.is(task, instance.as_deref()))
        })
        .map_or_else(String::new, |gain| format!(" Without it {}.", sooner(gain)))
}

fn of<'a>(now: &RobotNow<'_>, advice: Option<&'a Advice>) -> Option<&'a [Gain]> {
    // What was worked out for a robot that has gone into its bout meanwhile helps nobody.
    let advice = advice.filter(|_| now.file.state.in_bout.is_none())?;
    advice.robots.get(&now.id).map(Vec::as_slice)
}

fn sooner(gain: &Gain) -> String {
    match gain.sooner.num_minutes() {
        1.. => format!("{} min sooner", gain.sooner.num_minutes()),
        _ => "likelier".to_owned(),
    }
}

fn measure(reader: &Reader, now: &RobotNow<'_>, measure: &Measure) -> (String, String) {
    let for_other = |robot: RobotId| {
        if robot == now.id {
            String::new()
        } else {
            format!(" for {}", reader.robot(robot))
        }
    };
    match measure {
        Measure::Person(skill) => (
            format!("One more {}", hand(*skill)),
            "Of your own, or lent by another team".to_owned(),
        ),
        Measure::Channel => (
            "One more charger channel".to_owned(),
            "Borrowed, or freed by another charge".to_owned(),
        ),
        Measure::BorrowedSet(robot) => (
            format!("A charged set borrowed{}", for_other(*robot)),
            "Charged, matched and of the same kind".to_owned(),
        ),
        Measure::GasBayFree => (
            "The gas bay free now".to_owned(),
            "Ask its steward who is next".to_owned(),
        ),
        Measure::Without {
            robot,
            task,
            instance,
        } => {
            let own = (*robot == now.id)
                .then(|| now.today.find(task, instance.as_deref()))
                .flatten()
                .map(|index| &now.today.items[index]);
            let name = own.map_or_else(
                || words::task_name(reader, Some(*robot), task),
                |item| named(reader, now, item),
            );
            let why = own.map_or_else(String::new, |item| item.def.value_reason.clone());
            (format!("Without: {name}{}", for_other(*robot)), why)
        }
        Measure::LaterCall(by) => (
            format!("Every call {} min later", by.num_minutes()),
            "For the organiser to decide".to_owned(),
        ),
    }
}

fn hand(skill: Skill) -> &'static str {
    match skill {
        Skill::Mechanic => "mechanic",
        Skill::Electrics => "hand for the electrics",
        Skill::Pneumatics => "hand for the gas",
        Skill::Fabricator => "fabricator",
        Skill::Driver => "driver",
    }
}
