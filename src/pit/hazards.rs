//! Hazards: what is wrong with a robot now, as pure functions of what is known and `now`.
//!
//! A hazard is raised, rises and is cleared by its condition; only what people say about it is a
//! line. Nothing is cleared by time. Doubt speaks only on exposure.

mod arming;
mod bench;
pub mod doubt;
mod duty;
mod gas;
mod life;
mod link;
pub mod live;
pub mod matrix;
mod packs;
pub mod plan;
mod prove;
pub mod rules;
mod stored;
mod things;

pub use life::{Life, Word};
pub use rules::{ClearsBy, Mark, Rule, Severity};
pub use things::BottleNow;

use super::energy::{Energy, energy};
use super::exposure::{Exposure, WorkNow, exposure};
use super::ids::{PackId, PersonId, RobotId, Subject};
use super::link_plan::{Gap, gaps};
use super::logbook::hall::{self, DangerOf, Said};
use super::logbook::machine::Place;
use super::logbook::{Body, Role};
use super::packs::{OnCharge, Story, stories};
use super::state::sight::earliest;
use super::state::{Pit, RobotFile, Sight, View};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// What a rule looks at.
pub struct Scene<'a> {
    /// Everything known.
    pub pit: &'a Pit,
    /// Which robot.
    pub robot: RobotId,
    /// The robot's file.
    pub file: &'a RobotFile,
    /// The work on it.
    pub work: &'a WorkNow,
    /// Its energy now.
    pub energy: Energy,
    /// Who is exposed to it now.
    pub exposure: Exposure,
    /// Gaps of its link plan.
    pub gaps: Vec<Gap>,
    /// The story of each pack that its crew spoke of last.
    pub packs: BTreeMap<PackId, Story>,
    /// Bottles that its crew spoke of last.
    pub bottles: Vec<BottleNow>,
    /// Now.
    pub now: DateTime<Utc>,
}

impl Scene<'_> {
    /// Whether it is at `place`, as far as anybody said.
    fn at(&self, place: Place) -> bool {
        let known = self.file.state.place.as_ref();
        known.is_some_and(|known| known.value == place)
    }

    /// Since when it is where it is.
    fn place_since(&self) -> Option<DateTime<Utc>> {
        self.file.state.place.as_ref().map(|place| place.at)
    }

    /// Its packs on charge.
    fn charges(&self) -> impl Iterator<Item = (PackId, &OnCharge)> {
        let packs = self.packs.iter();
        packs.filter_map(|(id, story)| Some((*id, story.charge.as_ref()?)))
    }

    /// What people said about a rule's hazard on this robot.
    fn words(&self, rule: &'static str) -> impl Iterator<Item = &Sight<hall::Hazard>> {
        let words = self.file.state.words.iter();
        words.filter(move |word| word.value.rule.as_str() == rule)
    }

    /// Whether a marshal or the organiser said, from `since` on, that it is settled.
    fn settled_by_a_marshal(&self, rule: &'static str, since: DateTime<Utc>) -> bool {
        self.words(rule).any(|word| {
            word.at >= since
                && word.value.said == Said::Cleared
                && matches!(word.entered_by.role, Role::Marshal | Role::Organiser)
        })
    }
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
    /// What people said about it.
    pub life: Life,
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

/// How a rule judges a scene: for this moment only, or with the moment at which time changes it.
#[derive(Clone, Copy)]
pub enum Check {
    /// Time changes it only through energy and exposure.
    Now(fn(&Scene<'_>) -> Option<Finding>),
    /// It counts time itself.
    Timed(fn(&Scene<'_>) -> View<Option<Finding>>),
}

/// A rule that is watched.
pub struct Watched {
    /// Its id.
    pub rule: &'static str,
    /// How it judges.
    pub check: Check,
    /// Rows of reports that clear it, so that a planned task may.
    rows: &'static [&'static str],
}

const fn now(
    rule: &'static str,
    check: fn(&Scene<'_>) -> Option<Finding>,
    rows: &'static [&'static str],
) -> Watched {
    let check = Check::Now(check);
    Watched { rule, check, rows }
}

const fn timed(
    rule: &'static str,
    check: fn(&Scene<'_>) -> View<Option<Finding>>,
    rows: &'static [&'static str],
) -> Watched {
    let check = Check::Timed(check);
    Watched { rule, check, rows }
}

/// Rows that close tasks of making safe, closing up and proving.
const SAFETY_ROWS: [&str; 16] = [
    "bar_on",
    "link_out",
    "bottle_shut",
    "gauge_zero",
    "tx_off",
    "light_dark",
    "closed_up",
    "fast_done",
    "weighed",
    "inspected",
    "plan_read",
    "plan_holds",
    "t_light_lit",
    "failsafe_ok",
    "t_leak_ok",
    "t_weapon_ok",
];

/// Every rule, in order.
pub const WATCHED: [Watched; 30] = [
    now("H01", live::armed_outside, &[]),
    now("H02", live::link_in_with_hands_in, &[]),
    now("H03", live::gas_not_zero_with_hands_in, &[]),
    now("H04", live::weapon_not_restrained, &[]),
    now("H05", arming::out_of_order, &[]),
    now(
        "H06",
        plan::no_plan_to_rely_on,
        &["plan_read", "plan_holds"],
    ),
    now("H07", plan::slow_to_reach, &[]),
    now("H08", link::link_unaccounted, &["links_counted"]),
    now("H09", link::transmitter_loose, &["tx_off", "tx_checked"]),
    now("H10", prove::failsafe_unproved, &["failsafe_ok"]),
    now(
        "H11",
        link::light_disagrees,
        &["light_dark", "second_light"],
    ),
    timed("H12", gas::bottle_unfit, &[]),
    now("H13", gas::charge_unknown, &["bay_filled"]),
    now("H14", gas::relief_unknown, &["gas_looked", "inspected"]),
    now("H15", gas::zero_unprovable, &[]),
    timed("H16", gas::bad_air, &[]),
    timed("H17", packs::suspect_pack, &["suspect_pack"]),
    timed("H18", packs::unwatched_charge, &[]),
    now("H19", packs::charger_wrong, &[]),
    now("H20", packs::packs_differ, &[]),
    now("H21", prove::weight_unproved, &["weighed"]),
    now("H22", prove::inspection_unproved, &["inspected"]),
    now("H23", bench::off_its_stand, &["on_stand"]),
    now("H24", bench::lift_too_few, &[]),
    now("H25", stored::stored_energy, &[]),
    now("H26", bench::hot_work, &[]),
    now("H27", arming::not_alone, &[]),
    now(
        "H28",
        doubt::old_or_contradicted,
        &["second_zero", "zero_metered", "second_light"],
    ),
    timed("H29", duty::in_two_places, &[]),
    now("H30", duty::safety_task_open, &SAFETY_ROWS),
];

/// The scene around a robot at `now`.
pub fn scene<'a>(
    pit: &'a Pit,
    robot: RobotId,
    file: &'a RobotFile,
    work: &'a WorkNow,
    now: DateTime<Utc>,
) -> View<Scene<'a>> {
    let energy = energy(file, pit.settings(), now);
    let exposure = exposure(pit, robot, file, work, now);
    let gaps = gaps(file, pit.settings(), &work.link_plan_changes);
    let mut packs = stories(pit, file.register.body.team);
    packs.retain(|_, story| story.robot == Some(robot));
    let bottles = things::bottles(pit, robot, file);
    View {
        value: Scene {
            pit,
            robot,
            file,
            work,
            energy: energy.value,
            exposure: exposure.value,
            gaps,
            packs,
            bottles,
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
    let mut changes_at = scene.changes_at;
    let mut found = Vec::new();
    for watched in &WATCHED {
        let finding = match watched.check {
            Check::Now(check) => check(&scene.value),
            Check::Timed(check) => {
                let view = check(&scene.value);
                changes_at = earliest(changes_at, view.changes_at);
                view.value
            }
        };
        let (Some(rule), Some(finding)) = (Rule::named(watched.rule), finding) else {
            continue;
        };
        let rows = watched.rows;
        found.push(Hazard {
            rule: watched.rule,
            title: rule.title(),
            advise: rule.advise(),
            clears_when: rule.clears_when(),
            task_clears_it: finding.severity < Severity::StopNow
                && rows.iter().any(|row| work.rows_to_come.contains(*row)),
            life: Life::of(file, watched.rule, &finding),
            finding,
        });
    }
    found.extend(danger(file));
    found.sort_by_key(|hazard| (std::cmp::Reverse(hazard.severity()), hazard.finding.since));
    View {
        value: found,
        changes_at,
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
    Some(Hazard {
        rule: "danger",
        title: "Danger seen",
        advise: "Shout. Get away. The marshals are told; nobody is on the way until somebody answers.",
        clears_when: "a marshal or the organiser says that it is over",
        life: Life::of(file, "danger", &finding),
        finding,
        task_clears_it: false,
    })
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
