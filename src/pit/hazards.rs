//! Hazards: what is wrong with a robot now, as pure functions of what is known and `now`.
//!
//! A hazard is raised, rises and is cleared by its condition; only what people say about it is a
//! line. Nothing is cleared by time. Doubt speaks only on exposure.

pub mod doubt;
pub mod live;
pub mod plan;
pub mod rules;

pub use rules::{Rule, Severity};

use super::energy::{Energy, energy};
use super::exposure::{Exposure, WorkNow, exposure};
use super::ids::{PersonId, RobotId, Subject};
use super::link_plan::{Gap, gaps};
use super::logbook::Body;
use super::logbook::hall::{DangerOf, Said};
use super::state::{Pit, RobotFile, View};
use chrono::{DateTime, Utc};

/// What a rule looks at.
pub struct Scene<'a> {
    /// The robot's file.
    pub file: &'a RobotFile,
    /// Its energy now.
    pub energy: Energy,
    /// Who is exposed to it now.
    pub exposure: Exposure,
    /// Gaps of its link plan.
    pub gaps: Vec<Gap>,
    /// Now.
    pub now: DateTime<Utc>,
}

/// What a rule says of a scene.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How bad it is.
    pub severity: Severity,
    /// Since when.
    pub since: DateTime<Utc>,
    /// What is so, in a few words; who is in `people`.
    pub why: String,
    /// Whom it concerns first.
    pub people: Vec<PersonId>,
}

/// A hazard of a robot.
#[derive(Debug, Clone, PartialEq)]
pub struct Hazard {
    /// The rule behind it, `H01` and so on, or `danger` where somebody raised the alarm.
    pub rule: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// What to do.
    pub advise: &'static str,
    /// What clears it.
    pub clears_when: &'static str,
    /// What the rule found.
    pub finding: Finding,
    /// Who has it open, and since when.
    pub seen_by: Vec<(PersonId, DateTime<Utc>)>,
    /// Accepted by a lead with this reason; warn and note only.
    pub accepted: Option<String>,
    /// A task still to be done clears it.
    pub task_clears_it: bool,
}

impl Hazard {
    /// How bad it is.
    pub fn severity(&self) -> Severity {
        self.finding.severity
    }

    /// Whether it keeps the robot where it is and no planned task clears it.
    pub fn holds(&self) -> bool {
        self.severity() >= Severity::Hold && !self.task_clears_it
    }
}

type Check = fn(&Scene<'_>) -> Option<Finding>;

/// Every rule that is watched: its id, and rows of reports that clear it.
pub const WATCHED: [(&str, Check, &[&str]); 6] = [
    ("H01", live::armed_outside, &[]),
    ("H02", live::link_in_with_hands_in, &[]),
    ("H03", live::gas_not_zero_with_hands_in, &[]),
    ("H04", live::weapon_not_restrained, &[]),
    (
        "H06",
        plan::no_plan_to_rely_on,
        &["plan_read", "plan_holds"],
    ),
    (
        "H28",
        doubt::old_or_contradicted,
        &["second_zero", "zero_metered", "second_light"],
    ),
];

/// The scene around a robot at `now`.
pub fn scene<'a>(
    pit: &Pit,
    robot: RobotId,
    file: &'a RobotFile,
    work: &WorkNow,
    now: DateTime<Utc>,
) -> View<Scene<'a>> {
    let energy = energy(file, pit.settings(), now);
    let exposure = exposure(pit, robot, file, work.hands_on.clone(), now);
    let gaps = gaps(file, pit.settings(), &work.link_plan_changes);
    View {
        value: Scene {
            file,
            energy: energy.value,
            exposure: exposure.value,
            gaps,
            now,
        },
        changes_at: exposure.changes_at,
    }
    .or_at(energy.changes_at)
}

/// Hazards of a robot at `now`, worst first, given the work on it.
pub fn hazards(pit: &Pit, robot: RobotId, work: &WorkNow, now: DateTime<Utc>) -> View<Vec<Hazard>> {
    let Some(file) = pit.robot(robot) else {
        return View {
            value: Vec::new(),
            changes_at: None,
        };
    };
    let scene = scene(pit, robot, file, work, now);
    let mut found: Vec<Hazard> = WATCHED
        .iter()
        .filter_map(|(id, check, rows)| {
            let rule = Rule::named(id)?;
            let finding = check(&scene.value)?;
            let mut hazard = said(file, rule.id(), finding);
            hazard.title = rule.title();
            hazard.advise = rule.advise();
            hazard.clears_when = rule.clears_when();
            hazard.task_clears_it = hazard.severity() < Severity::StopNow
                && rows.iter().any(|row| work.rows_to_come.contains(*row));
            Some(hazard)
        })
        .collect();
    found.extend(danger(file));
    found.sort_by_key(|hazard| (std::cmp::Reverse(hazard.severity()), hazard.finding.since));
    View {
        value: found,
        changes_at: scene.changes_at,
    }
}

/// Danger that somebody saw, until a marshal or organiser says that it is over.
fn danger(file: &RobotFile) -> Option<Hazard> {
    let danger = file.state.danger.as_ref()?;
    let what = match danger.value.what {
        DangerOf::Fire => "Smoke or fire",
        DangerOf::Live => "A machine that is live or moves",
        DangerOf::Gas => "Gas escapes",
        DangerOf::Pack => "A pack is swollen, hot or smokes",
        DangerOf::Hurt => "Somebody is hurt",
        DangerOf::Help | DangerOf::Over | DangerOf::Coming => "Help is asked for",
    };
    let note = danger
        .value
        .note
        .as_ref()
        .map(|note| format!(": {note}"))
        .unwrap_or_default();
    let finding = Finding {
        severity: Severity::StopNow,
        since: danger.at,
        why: format!("{what}{note}"),
        people: danger.seen_by.into_iter().collect(),
    };
    let mut hazard = said(file, "danger", finding);
    hazard.title = "Danger seen";
    hazard.advise =
        "Shout. Get away. The marshals are told; nobody is on the way until somebody answers.";
    hazard.clears_when = "a marshal or the organiser says that it is over";
    Some(hazard)
}

/// What people said about a finding since it began.
fn said(file: &RobotFile, rule: &'static str, finding: Finding) -> Hazard {
    let mut hazard = Hazard {
        rule,
        title: "",
        advise: "",
        clears_when: "",
        finding,
        seen_by: Vec::new(),
        accepted: None,
        task_clears_it: false,
    };
    let words = file.state.words.iter();
    for word in
        words.filter(|word| word.value.rule.as_str() == rule && word.at >= hazard.finding.since)
    {
        let Some(person) = word.seen_by else { continue };
        match word.value.said {
            Said::Seen | Said::Cleared => hazard.seen_by.push((person, word.at)),
            Said::Accepted if hazard.severity() <= Severity::Warn => {
                hazard.accepted = word.value.because.as_ref().map(ToString::to_string);
            }
            Said::Accepted => {}
        }
    }
    hazard
}

/// Whether everyone is to stop, since when and with what word.
pub fn everyone_stop(pit: &Pit) -> Option<(DateTime<Utc>, Option<String>)> {
    let line = pit
        .facts(Subject::Event)
        .into_iter()
        .rev()
        .find(|line| matches!(line.body, Body::EveryoneStop(_)))?;
    match &line.body {
        Body::EveryoneStop(stop) if stop.stop => {
            Some((line.at, stop.note.as_ref().map(ToString::to_string)))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests;
