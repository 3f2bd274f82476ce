//! Tasks of the machine types, as the starting data lists them.

pub use super::words::*;
use crate::pit::logbook::register::{Machine, ThreePoint};
use crate::pit::logbook::work::DutyOf;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;
use utoipa::ToSchema;

/// What a task calls for that is neither damage nor a change: it is on every list.
pub const ALWAYS: &str = "always";
/// The same: somebody chose it.
pub const CHOICE: &str = "choice";

/// Every machine type's lists, with the words they use.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TaskFile {
    /// What the file is called.
    pub title: String,
    /// Counts up when the meaning of the file changes.
    pub version: u32,
    /// Where the minutes come from.
    pub minutes_are: String,
    /// What the lists are not.
    pub warning: String,
    /// Things of which there are only so many.
    pub pools: Vec<Pool>,
    /// What people can do.
    pub skills: Vec<Skill>,
    /// What people take on.
    pub duties: Vec<DutyOf>,
    /// Words allowed in conditions, places and phases.
    pub values: BTreeMap<String, Vec<String>>,
    /// The lists.
    pub machines: BTreeMap<Machine, MachineTasks>,
}

/// A pool with its size.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pool {
    /// Which.
    pub id: PoolOf,
    /// Whose it is.
    pub per: Whose,
    /// How many there are.
    pub capacity: Capacity,
    /// What one of it is.
    pub meaning: String,
}

/// Who shares a pool.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Whose {
    /// Every robot has its own.
    Robot,
    /// A team's robots share it.
    Team,
    /// Everyone at the event shares it.
    Event,
}

/// Size of a pool, the same for all or by machine type.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
pub enum Capacity {
    /// The same for all.
    Same(u32),
    /// By machine type.
    Of(BTreeMap<Machine, u32>),
}

impl Capacity {
    /// The size for `machine`.
    pub fn of(&self, machine: Machine) -> u32 {
        match self {
            Self::Same(size) => *size,
            Self::Of(sizes) => sizes.get(&machine).copied().unwrap_or(1),
        }
    }
}

/// The lists of a machine type.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineTasks {
    /// What the type is called.
    pub label: String,
    /// Whose damage kinds it uses.
    pub damage_kinds: Machine,
    /// State of the machine at the start of each list.
    pub starts_with: BTreeMap<List, Conditions>,
    /// The task that ends the plan of each list.
    pub plan_ends_with: BTreeMap<List, String>,
    /// Where a charge stands in the way.
    pub gates: Vec<Gate>,
    /// Where the lists follow an event setting.
    pub settings: Vec<Setting>,
    /// Where repairs go that are found necessary on arrival.
    pub arrival_repairs: ArrivalRepairs,
    /// From arrival to the first bout.
    pub arrival: Vec<Arc<TaskDef>>,
    /// Between two bouts.
    pub turnaround: Vec<Arc<TaskDef>>,
    /// After the last bout.
    pub end_of_day: Vec<Arc<TaskDef>>,
}

impl MachineTasks {
    /// The tasks of one list, in the order of the data.
    pub fn list(&self, list: List) -> &[Arc<TaskDef>] {
        match list {
            List::Arrival => &self.arrival,
            List::Turnaround => &self.turnaround,
            List::EndOfDay => &self.end_of_day,
        }
    }

    /// The same, to change.
    pub(super) fn list_mut(&mut self, list: List) -> &mut Vec<Arc<TaskDef>> {
        match list {
            List::Arrival => &mut self.arrival,
            List::Turnaround => &mut self.turnaround,
            List::EndOfDay => &mut self.end_of_day,
        }
    }

    /// The task called `id`, in any list.
    pub fn task(&self, id: &str) -> Option<&Arc<TaskDef>> {
        List::ALL
            .into_iter()
            .flat_map(|list| self.list(list))
            .find(|task| task.id == id)
    }
}

/// The three lists of a day.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum List {
    /// From arrival to the first bout.
    Arrival,
    /// Between two bouts.
    Turnaround,
    /// After the last bout.
    EndOfDay,
}

impl List {
    /// Every list.
    pub const ALL: [Self; 3] = [Self::Arrival, Self::Turnaround, Self::EndOfDay];
}

/// A charge that must be over before packs go in, unless another set is ready.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gate {
    /// The list it is in.
    pub list: List,
    /// The charge.
    pub task: String,
    /// What waits for it.
    pub before: String,
    /// When it stands in the way.
    pub when: String,
}

/// An event setting that changes the lists.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setting {
    /// Name of the setting.
    pub id: String,
    /// Its value where the event says nothing.
    pub default: String,
    /// What it decides.
    pub meaning: String,
    /// What it changes, by list.
    pub patches: BTreeMap<List, ByBottlePlace>,
    /// When it is not used.
    pub note: String,
}

/// Changes by where the bottle goes in.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ByBottlePlace {
    /// On the bench.
    pub bench: BTreeMap<String, Patch>,
    /// In the arena queue.
    pub queue: BTreeMap<String, Patch>,
    /// In the arena.
    pub arena: BTreeMap<String, Patch>,
}

/// A change of one task.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Patch {
    /// `+id` adds a predecessor, `-id` drops one.
    #[serde(default)]
    pub after: Vec<String>,
    /// Another place.
    #[serde(default)]
    pub place: Option<Spot>,
    /// Other conditions.
    #[serde(default)]
    pub needs: Option<Conditions>,
    /// Other hands in the machine.
    #[serde(default)]
    pub access: Option<Amount>,
}

/// Where repairs go that are found necessary on arrival.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ArrivalRepairs {
    /// Their phase.
    pub phase: Phase,
    /// The task before them.
    pub after: String,
    /// The task after them.
    pub before: String,
    /// What is meant.
    pub note: String,
}

/// How much of a pool a task takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Whole {
    /// The whole pool.
    All,
}

/// How much of a pool a task takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(untagged)]
pub enum Amount {
    /// So many.
    Some(u32),
    /// All: of access, nobody else's hands are in.
    Whole(Whole),
}

/// A pool and how much of it a task takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Take {
    /// The pool.
    pub pool: PoolOf,
    /// How much.
    pub amount: Amount,
}

/// What a task is done once for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Per {
    /// The robot.
    Robot,
    /// Every area that calls it.
    Area,
}

/// A task of a list.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TaskDef {
    /// Unique over all lists.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// Part of the list.
    pub phase: Phase,
    /// Any of these puts it on the day's list: always, choice, kinds of damage and of change.
    pub called_by: Vec<String>,
    /// Never left out.
    pub safety: bool,
    /// Worth of an optional repair, 1 to 20; 0 if it is not optional.
    pub value: u32,
    /// Why it is worth that.
    pub value_reason: String,
    /// Duration. **Source** starting values, the author's estimates.
    pub minutes: ThreePoint,
    /// People it takes, lookers-on for safety included; 0 for what goes on by itself.
    pub hands: u32,
    /// Skills among them; one person may have several.
    pub skills: Vec<Skill>,
    /// Duties among them.
    pub duties: Vec<DutyOf>,
    /// State it needs at its start.
    pub needs: Conditions,
    /// State it leaves; less safe from its start, safer at its end.
    pub sets: Conditions,
    /// Where it is done.
    pub place: Spot,
    /// What it takes of pools.
    pub takes: Vec<Take>,
    /// Tasks of the same list that come first; those not called pass on their own.
    pub after: Vec<String>,
    /// Kinds of change it makes.
    pub changes: Vec<String>,
    /// The row of a report that closes it.
    pub closes_with: String,
    /// Goes on by itself, watched.
    pub passive: bool,
    /// Tasks of one block are planned as one, in order, without a gap.
    pub block: String,
    /// What it is done once for.
    pub per: Per,
    /// What the minutes rest on.
    pub basis: Vec<String>,
    /// What else there is to know.
    pub note: String,
}

impl TaskDef {
    /// Whether hands are in the machine that must be isolated for it.
    pub fn hands_on(&self) -> bool {
        !self.passive
            && self.takes.iter().any(|take| take.pool == PoolOf::Access)
            && (self.needs.link == Some(LinkIs::Out) || self.needs.gas == Some(GasIs::Zero))
    }

    /// Whether a plan may leave it out.
    pub fn optional(&self) -> bool {
        !self.safety && self.value > 0
    }

    /// Whether `trigger` calls it.
    pub fn called_by(&self, trigger: &str) -> bool {
        self.called_by.iter().any(|calls| calls == trigger)
    }
}
