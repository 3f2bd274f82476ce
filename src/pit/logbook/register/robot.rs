//! A robot: its configurations, what its packs feed, its gas system.

use super::gas::GasSystem;
use crate::calc::units::{Charge, Count, Current, Mass, Name, Voltage};
use crate::pit::ids::{PersonId, TeamId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

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

/// What breaks the main power of a robot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum BrokenBy {
    /// A link that is taken out.
    #[default]
    Link,
    /// A switch of a type that the event names.
    NamedSwitch,
    /// Another switch.
    Switch,
}

/// One of the configurations a robot can be in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Configuration {
    /// What it is called, such as the lid or weapon fitted.
    pub name: Name,
    /// What the robot weighed in it, if it was weighed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<Mass>,
}

/// Something that the packs feed, with whatever its maker says about voltage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FedPart {
    /// What people call it: drive controller, weapon motor, valves.
    pub name: Name,
    /// What it must never see; judged against full packs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_mv: Option<Voltage>,
    /// What it is rated at; judged against nominal packs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated_mv: Option<Voltage>,
    /// Below this it stops; judged against packs pulled down to their floor.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_mv: Option<Voltage>,
}

/// What a robot's packs feed, and what it takes from them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Electrics {
    /// What the packs feed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 12)]
    pub parts: Vec<FedPart>,
    /// What one bout takes from each pack, as the team expects it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bout_charge_mah: Option<Charge>,
    /// Highest current of each pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub peak_current_ma: Option<Current>,
}

fn one() -> Count {
    Count::new(1).expect("one is a count")
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
    /// Every configuration it can be in; `configuration` is one of them unless this is empty.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 12)]
    pub configurations: Vec<Configuration>,
    /// Who drives it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub driver: Option<PersonId>,
    /// Links it has, spares not counted.
    pub links: Count,
    /// Transmitters it answers to: a second one is the weapon operator's.
    #[serde(default = "one")]
    pub transmitters: Count,
    /// What breaks its main power.
    #[serde(default)]
    pub isolator: BrokenBy,
    /// A spring or flywheel in it stores energy of its own, to be proved gone apart from the weapon.
    #[serde(default)]
    pub stores_energy: bool,
    /// Its own limit, where it is not the one the event has for its type.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub limit_g: Option<Mass>,
    /// What its packs feed and what it takes from them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub electrics: Option<Electrics>,
    /// Its gas system.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gas_system: Option<GasSystem>,
    /// No longer at the event.
    #[serde(default)]
    pub retired: bool,
}
