//! Who is about to be exposed to a robot's energy: alarms speak on exposure, and only then.

use super::ids::{PersonId, RobotId};
use super::link_plan::Change;
use super::logbook::machine::{LinkState, Place, Valve};
use super::state::sight::earliest;
use super::state::{Pit, RobotFile, View};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;

/// Hands in or at a machine: a task that is under way and needs it isolated.
#[derive(Debug, Clone, PartialEq)]
pub struct HandsOn {
    /// The task in words.
    pub task: String,
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who is on it.
    pub people: Vec<PersonId>,
    /// It needs the gas at zero.
    pub needs_gas_zero: bool,
    /// It needs the weapon restrained.
    pub needs_restraint: bool,
}

/// A task under way, whatever it needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The task in words.
    pub task: String,
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who is on it.
    pub people: Vec<PersonId>,
    /// People it takes.
    pub hands: u32,
    /// The machine is lifted or wheeled.
    pub lift: bool,
    /// A lift table, hoist or ramp takes the mass.
    pub aid: bool,
    /// Grinding, welding or straightening.
    pub hot: bool,
}

/// A change to a machine, and what it asks to be proved again.
#[derive(Debug, Clone, PartialEq)]
pub struct ToProve {
    /// What was changed, in words.
    pub what: String,
    /// When.
    pub at: DateTime<Utc>,
    /// The scale.
    pub weigh: bool,
    /// The failsafe.
    pub failsafe: bool,
    /// The inspector.
    pub inspection: bool,
}

/// What the work on a robot says about exposure.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WorkNow {
    /// Tasks under way that need it isolated.
    pub hands_on: Vec<HandsOn>,
    /// Every task under way.
    pub running: Vec<Running>,
    /// Safety tasks that are not done: made safe, closed up, proved.
    pub safety_open: Vec<String>,
    /// Changes made to it.
    pub to_prove: Vec<ToProve>,
    /// Since when its departure check is done.
    pub departed: Option<DateTime<Utc>>,
    /// Changes that touch its link plan.
    pub link_plan_changes: Vec<Change>,
    /// Rows of reports that tasks still to be done close with.
    pub rows_to_come: BTreeSet<String>,
}

/// What exposes people to a robot now.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Exposure {
    /// Hands in or at it.
    pub hands_on: Vec<HandsOn>,
    /// Being carried or wheeled.
    pub moving: bool,
    /// In the arena queue.
    pub in_queue: bool,
    /// Called for its bout.
    pub called: bool,
    /// The moment it is called for is past.
    pub overdue: bool,
    /// From the departure check on.
    pub departed: bool,
    /// In the test area.
    pub in_test_area: bool,
    /// Being armed, or armed and its bout not begun.
    pub arming: bool,
    /// In the arena, its bout under way.
    pub in_bout: bool,
}

impl Exposure {
    /// Whether an old or contradicted state matters now.
    pub fn to_doubt(&self) -> bool {
        !self.in_bout
            && (!self.hands_on.is_empty()
                || self.moving
                || self.in_queue
                || self.called
                || self.arming)
    }
}

/// How long the word that a robot is on the move stands without another.
const ON_THE_MOVE: TimeDelta = TimeDelta::minutes(30);

/// What exposes people to `robot` at `now`, given the work on it.
pub fn exposure(
    pit: &Pit,
    robot: RobotId,
    file: &RobotFile,
    work: &WorkNow,
    now: DateTime<Utc>,
) -> View<Exposure> {
    let state = &file.state;
    let mut changes_at = None;
    let at = |place: Place| {
        state
            .place
            .as_ref()
            .is_some_and(|sight| sight.value == place)
    };
    let in_bout = state.in_bout.is_some();

    let moved_at = state
        .place
        .as_ref()
        .filter(|sight| sight.value == Place::Transport && !at_rest(file));
    let moving = moved_at.is_some_and(|sight| sight.at + ON_THE_MOVE > now);
    if moving {
        changes_at = earliest(changes_at, moved_at.map(|sight| sight.at + ON_THE_MOVE));
    }

    let (mut called, mut overdue) = (false, false);
    if let Some(next) = pit.next_bout(robot).filter(|next| next.if_first.is_none()) {
        let lead = TimeDelta::minutes(i64::from(pit.settings().called_before_min.get()));
        let call = next.bout.called_at.unwrap_or(next.bout.call - lead);
        called = !in_bout && call <= now;
        overdue = !in_bout && next.bout.call <= now;
        for moment in [call, next.bout.call] {
            changes_at = earliest(changes_at, Some(moment).filter(|moment| *moment > now));
        }
    }

    let armed =
        state.link.value() == Some(LinkState::In) || state.valve.value() == Some(Valve::Open);
    let arming =
        !in_bout && (at(Place::ArenaLoad) || ((at(Place::Arena) || at(Place::Queue)) && armed));
    View {
        value: Exposure {
            hands_on: work.hands_on.clone(),
            moving,
            in_queue: at(Place::Queue),
            called,
            overdue,
            departed: !in_bout && (work.departed.is_some() || at(Place::Queue) || arming),
            in_test_area: at(Place::TestArea),
            arming,
            in_bout,
        },
        changes_at,
    }
}

/// Strapped down for the road: nobody carries it.
fn at_rest(file: &RobotFile) -> bool {
    file.lines
        .iter()
        .rev()
        .find_map(|line| match &line.body {
            super::logbook::Body::Place(place) => Some(place.strapped == Some(true)),
            _ => None,
        })
        .unwrap_or(false)
}
