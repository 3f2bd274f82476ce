//! What exists: the full after-image of a thing, as a register line carries it.

use crate::calc::units::{
    Charge, Count, Current, GaugePressure, Mass, Name, Note, Power, Volume, Word,
};
use crate::pit::ids::{BoutId, PackId, PersonId, RobotId, TeamId};
use crate::pit::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// The event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Event {
    /// Its name.
    pub name: Name,
    /// The hall.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hall: Option<Name>,
    /// IANA time zone of the hall.
    #[schema(example = "Europe/London")]
    pub time_zone: String,
    /// First day.
    pub first_day: NaiveDate,
    /// Last day.
    pub last_day: NaiveDate,
    /// Rules and limits of this event.
    #[serde(default)]
    pub settings: Settings,
    /// Whom to call and where to go, line by line, as the organiser wrote it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 8)]
    pub emergency: Vec<Note>,
}

/// A team.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Team {
    /// Its name.
    pub name: Name,
    /// No longer at the event.
    #[serde(default)]
    pub retired: bool,
}

/// A span in which a person is away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Away {
    /// From.
    pub from: DateTime<Utc>,
    /// To.
    pub to: DateTime<Utc>,
}

/// A person, without the name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// The team; none for people of the event.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub team: Option<TeamId>,
    /// What they can do: mechanic, electrics, pneumatics, fabricator, driver.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 12)]
    pub skills: Vec<Word>,
    /// When they are away.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 24)]
    pub away: Vec<Away>,
    /// No longer at the event.
    #[serde(default)]
    pub retired: bool,
}

/// The types of machine that task libraries and damage lists exist for.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Machine {
    /// Pneumatic flipper of about 110 kg.
    FlipperHeavyweight,
    /// Spinner of about 110 kg.
    SpinnerHeavyweight,
    /// Small machine of 1.36 or 1.5 kg.
    SmallMachine,
}

impl Machine {
    /// Every type.
    pub const ALL: [Self; 3] = [
        Self::FlipperHeavyweight,
        Self::SpinnerHeavyweight,
        Self::SmallMachine,
    ];

    /// The type as written in JSON, the database and the task data.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::FlipperHeavyweight => "flipper_heavyweight",
            Self::SpinnerHeavyweight => "spinner_heavyweight",
            Self::SmallMachine => "small_machine",
        }
    }

    /// Whether it has a gas system.
    pub fn has_gas(self) -> bool {
        self == Self::FlipperHeavyweight
    }

    /// What its weapon restraint is called.
    pub fn restraint(self) -> &'static str {
        match self {
            Self::FlipperHeavyweight | Self::SpinnerHeavyweight => "Weapon bar",
            Self::SmallMachine => "Weapon lock",
        }
    }
}

/// A robot in one configuration.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Robot {
    /// Its team.
    pub team: TeamId,
    /// Its name, unique at the event.
    pub name: Name,
    /// The type of machine.
    pub machine: Machine,
    /// Number of its bench.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bench: Option<Count>,
    /// The configuration it is in, such as the lid or weapon fitted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub configuration: Option<Name>,
    /// Who drives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub driver: Option<PersonId>,
    /// Links it has, spares not counted.
    pub links: Count,
    /// Limit of its class.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_g: Option<Mass>,
    /// No longer at the event.
    #[serde(default)]
    pub retired: bool,
}

/// Chemistry of a pack.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Chemistry {
    /// Lithium polymer.
    Lipo,
    /// Lithium nickel manganese cobalt.
    Nmc,
    /// Lithium iron phosphate.
    Lfp,
}

/// A pack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// Its team.
    pub team: TeamId,
    /// What is written on it.
    pub label: Name,
    /// Its chemistry.
    pub chemistry: Chemistry,
    /// Cells in series.
    pub cells: Count,
    /// Nominal capacity.
    pub capacity_mah: Charge,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// Packs used together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Set {
    /// Its team.
    pub team: TeamId,
    /// What it is called.
    pub label: Name,
    /// Its packs.
    #[schema(min_items = 1, max_items = 16)]
    pub packs: Vec<PackId>,
    /// The robot it is for; any of the team's if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub robot: Option<RobotId>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// An output of a charger.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Channel {
    /// Its team.
    pub team: TeamId,
    /// What it is called.
    pub label: Name,
    /// Greatest current.
    pub max_current_ma: Current,
    /// Greatest power.
    pub max_power_w: Power,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// What a bottle holds.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum GasOf {
    /// Carbon dioxide.
    Co2,
    /// Nitrogen.
    Nitrogen,
    /// Air.
    Air,
}

/// A bottle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Bottle {
    /// Its team.
    pub team: TeamId,
    /// What is written on it.
    pub label: Name,
    /// What it holds.
    pub gas: GasOf,
    /// Inner volume.
    pub volume_ml: Volume,
    /// Empty, with valve.
    pub tare_g: Mass,
    /// The most gas it may hold, as stamped; unknown: advice is not to fill.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub permitted_fill_g: Option<Mass>,
    /// Date of its last test, as stamped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tested_on: Option<NaiveDate>,
    /// Test pressure, as stamped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test_pressure_mbar_gauge: Option<GaugePressure>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// Who is in one corner of a bout.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Slot {
    /// This robot.
    Robot(RobotId),
    /// The winner of this bout.
    Winner(BoutId),
    /// The loser of this bout.
    Loser(BoutId),
}

/// A bout and its call.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Bout {
    /// Number in the running order as people say it.
    pub number: Count,
    /// The two corners.
    #[schema(min_items = 2, max_items = 2)]
    pub slots: [Slot; 2],
    /// When both are to be in the arena queue.
    pub call_at: DateTime<Utc>,
    /// Will not take place.
    #[serde(default)]
    pub retired: bool,
}

/// Minutes of a task as three points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ThreePoint {
    /// If all goes well.
    #[schema(minimum = 0, maximum = 1440)]
    pub optimistic: f64,
    /// Most often.
    #[schema(minimum = 0, maximum = 1440)]
    pub likely: f64,
    /// If it does not.
    #[schema(minimum = 0, maximum = 1440)]
    pub pessimistic: f64,
}

/// What a team changes in a task of the library.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TaskChange {
    /// Other minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<ThreePoint>,
    /// Another value, for optional repairs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<Count>,
    /// Another name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<Name>,
    /// Other skills.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 6)]
    pub skills: Option<Vec<Word>>,
    /// Never done by this team; not for safety tasks.
    #[serde(default)]
    pub never: bool,
}

/// A team's own copy of a task library, as changes to the product's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Library {
    /// For which type of machine.
    pub machine: Machine,
    /// Changes by task id.
    pub changes: BTreeMap<String, TaskChange>,
}
