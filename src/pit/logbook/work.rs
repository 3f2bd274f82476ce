//! Lines about work: damage, checks, tasks, proofs, changes, duties and published plans.

use super::bout::Call;
use super::register::{Machine, ThreePoint};
use crate::calc::units::{Mass, Note, Word};
use crate::pit::ids::{PersonId, RobotId};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Damage found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Damage {
    /// The area of the machine, from the machine type's list.
    pub area: Word,
    /// The kind of damage, from the machine type's list.
    pub kind: Word,
    /// What else there is to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Note>,
}

/// Something looked at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// What was looked at.
    pub what: Word,
    /// What was found.
    pub found: Note,
}

/// What became of a task.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum TaskState {
    /// Somebody began it.
    Started,
    /// It is done.
    Done,
    /// It will not be done this time. Refused by nobody, hazardous for safety tasks.
    LeftOut,
    /// It is to be done although nothing called it.
    Chosen,
}

/// A task of a robot's list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(as = TaskReport)]
#[serde(deny_unknown_fields)]
pub struct Task {
    /// The task's id in the library.
    pub task: Word,
    /// What became of it.
    pub state: TaskState,
    /// The area, for tasks done per area.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instance: Option<Word>,
    /// The list it belongs to; the one in hand at the time if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub turnaround: Option<u32>,
    /// Who else is on it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 12)]
    pub with: Vec<PersonId>,
    /// A lift table, hoist or ramp takes the mass.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub aid: bool,
    /// Why it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}

/// What is proved.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ProofOf {
    /// The weight.
    Weight,
    /// The inspection.
    Inspection,
    /// Everything stops on loss of signal.
    Failsafe,
    /// The gas path holds.
    Leak,
    /// The weapon works.
    Weapon,
}

/// What came out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Passed.
    Pass,
    /// Within the limit, for a weight.
    Within,
    /// Failed, or over the limit.
    Fail,
}

/// Something proved at a station or in the test area. A team's own entry counts as "team says".
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Proof {
    /// What.
    pub what: ProofOf,
    /// What came out.
    pub result: Outcome,
    /// The mass, for a weight.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<Mass>,
    /// What the official wrote.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Note>,
}

/// A change made to the machine, by the change kinds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Changed {
    /// The kind of change.
    pub change: Word,
    /// What was changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Note>,
}

/// A duty that one person has.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum DutyOf {
    /// Holds the link.
    LinkHolder,
    /// Puts the link in.
    LinkInserter,
    /// Takes the link out.
    LinkRemover,
    /// Looks after whoever acts.
    SecondPerson,
    /// Watches packs on charge or set aside.
    PackWatcher,
    /// Handles the weapon's restraint.
    WeaponOperator,
    /// Handles the gas.
    GasPerson,
    /// Drives.
    Driver,
}

impl DutyOf {
    /// Every duty.
    pub const ALL: [Self; 8] = [
        Self::LinkHolder,
        Self::LinkInserter,
        Self::LinkRemover,
        Self::SecondPerson,
        Self::PackWatcher,
        Self::WeaponOperator,
        Self::GasPerson,
        Self::Driver,
    ];

    /// As a line says it.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::LinkHolder => "link_holder",
            Self::LinkInserter => "link_inserter",
            Self::LinkRemover => "link_remover",
            Self::SecondPerson => "second_person",
            Self::PackWatcher => "pack_watcher",
            Self::WeaponOperator => "weapon_operator",
            Self::GasPerson => "gas_person",
            Self::Driver => "driver",
        }
    }
}

/// A duty taken, offered or ended. It passes from person to person: whoever says of themselves that
/// they have it has it; named by somebody else it is offered, and stays where it was until they
/// take it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Duty {
    /// Which.
    pub duty: DutyOf,
    /// Who takes it, or to whom it is offered; none if it ends.
    pub who: Option<PersonId>,
}

/// One task of a published plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedTask {
    /// The robot it is for.
    pub robot: RobotId,
    /// Its id in the plan: the tasks of one block are one, named by the first.
    pub task: String,
    /// The area, for tasks done per area.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instance: Option<String>,
    /// When it begins.
    pub start: DateTime<Utc>,
    /// When it ends.
    pub end: DateTime<Utc>,
    /// When it has ended by eight times in ten.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eight_in_ten: Option<DateTime<Utc>>,
    /// Who does it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub people: Vec<PersonId>,
    /// Hands beyond the team's own.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub borrowed_hands: u32,
    /// It is on the chain of tasks that decides when its robot is ready.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub decides: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "the form serde asks for")]
fn is_zero(n: &u32) -> bool {
    *n == 0
}

/// What keeps a task of a deciding chain from starting earlier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = LinkWaitsFor)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub enum WaitsFor {
    /// The task before it in the chain.
    Task,
    /// Somebody who is on the task before it in the chain; none: somebody the hall lends.
    Person {
        /// Who.
        person: Option<PersonId>,
    },
    /// A place that the task before it in the chain holds.
    Place {
        /// The pool.
        pool: String,
    },
    /// Somebody who is away, or still on work that is under way.
    Return {
        /// Who.
        person: Option<PersonId>,
    },
    /// A place that is taken until then.
    Taken {
        /// The pool.
        pool: String,
    },
    /// A moment: packs from the charging table.
    Release,
}

/// A task of the chain that decides when a robot is ready.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChainLink {
    /// The robot it is for: one robot may wait for people who are on another.
    pub robot: RobotId,
    /// Its id in the plan.
    pub task: String,
    /// The area, for tasks done per area.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instance: Option<String>,
    /// What it waits for; none if it begins at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub waits_for: Option<WaitsFor>,
}

/// Minutes of a task that a plan was made with, where they are learned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LearnedMinutes {
    /// The machine type.
    pub machine: Machine,
    /// The task's id in the library.
    pub task: String,
    /// Its minutes.
    pub minutes: ThreePoint,
    /// From how many observations.
    pub used: u32,
}

/// One robot in a published plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedRobot {
    /// The robot.
    pub robot: RobotId,
    /// Number of the turnaround, 0 for arrival.
    pub turnaround: u32,
    /// The call it is planned for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub call: Option<Call>,
    /// When it is likely to be reported in the arena queue.
    pub likely: DateTime<Utc>,
    /// When it is by eight times in ten.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub eight_in_ten: Option<DateTime<Utc>>,
    /// Chance of being ready by the call, from 0 to 1.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub odds: Option<f64>,
    /// Optional tasks the plan leaves out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<String>,
    /// The tasks that decide when it is ready, from the first to the last.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub chain: Vec<ChainLink>,
}

/// A published turnaround plan of a team.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Planned {
    /// The line after which it was made.
    pub after_seq: i64,
    /// Its robots.
    pub robots: Vec<PlannedRobot>,
    /// Its tasks, by start.
    pub tasks: Vec<PlannedTask>,
    /// No better plan exists for these durations.
    pub proven: bool,
    /// Durations that were learned from the team's own work, of the tasks in the plan.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub learned: Vec<LearnedMinutes>,
}
