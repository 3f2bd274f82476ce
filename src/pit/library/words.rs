//! Words of the task lists: skills, pools, phases, places, and states of a machine.

use crate::pit::logbook::machine::Place;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What a person can do.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Skill {
    /// Bolts, bearings, wheels.
    Mechanic,
    /// Leads, packs, controllers.
    Electrics,
    /// Bottles, valves, hoses.
    Pneumatics,
    /// Welding, bending, grinding.
    Fabricator,
    /// Drives the robot.
    Driver,
}

impl Skill {
    /// Every skill.
    pub const ALL: [Self; 5] = [
        Self::Mechanic,
        Self::Electrics,
        Self::Pneumatics,
        Self::Fabricator,
        Self::Driver,
    ];

    /// The skill as written in JSON.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Mechanic => "mechanic",
            Self::Electrics => "electrics",
            Self::Pneumatics => "pneumatics",
            Self::Fabricator => "fabricator",
            Self::Driver => "driver",
        }
    }

    /// The skill written `text`.
    pub fn named(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|skill| skill.as_str() == text)
    }
}

/// A thing of which there are only so many.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum PoolOf {
    /// Hands that fit into the machine at once.
    Access,
    /// Work places on the bench top.
    Bench,
    /// Charger outputs.
    ChargerChannel,
    /// Filling points.
    GasBay,
    /// The event's scale.
    Scale,
    /// An inspector's attention.
    Inspector,
    /// Closed test area.
    TestArea,
    /// Lift table or hoist.
    Lift,
    /// The robot's trolley.
    Trolley,
    /// Press, grinder or welding place.
    Press,
}

impl PoolOf {
    /// The pool as written in JSON.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Access => "access",
            Self::Bench => "bench",
            Self::ChargerChannel => "charger_channel",
            Self::GasBay => "gas_bay",
            Self::Scale => "scale",
            Self::Inspector => "inspector",
            Self::TestArea => "test_area",
            Self::Lift => "lift",
            Self::Trolley => "trolley",
            Self::Press => "press",
        }
    }
}

/// A part of a list.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Phase {
    /// Arriving at the event.
    Arrive,
    /// Making safe in the arena.
    MakeSafe,
    /// Going back to the bench.
    Recover,
    /// Opening and deciding.
    Triage,
    /// Packs.
    Energy,
    /// Bottle.
    Gas,
    /// Looking for damage.
    Inspect,
    /// Repairing.
    Repair,
    /// Closing up.
    Close,
    /// Proving what was changed.
    Prove,
    /// Leaving for the arena queue.
    Queue,
    /// Placing and arming.
    Arming,
    /// Packing up.
    Pack,
}

/// Where a task is done.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Spot {
    /// On the road or on a trolley.
    Transport,
    /// On the bench.
    PitBench,
    /// At the charging table.
    ChargingTable,
    /// At the observation box.
    Quarantine,
    /// At the gas bay.
    GasStation,
    /// At the scale.
    Scale,
    /// With the inspector.
    Inspection,
    /// In the test area.
    TestArea,
    /// In the arena queue.
    Queue,
    /// Placing and arming in the arena.
    ArenaLoad,
    /// Making safe in the arena.
    ArenaRecovery,
}

impl Spot {
    /// The robot's place there; none where the robot itself does not go.
    pub fn place(self) -> Option<Place> {
        match self {
            Self::Transport => Some(Place::Transport),
            Self::PitBench => Some(Place::PitBench),
            Self::ChargingTable | Self::Quarantine | Self::GasStation => None,
            Self::Scale => Some(Place::Scale),
            Self::Inspection => Some(Place::Inspection),
            Self::TestArea => Some(Place::TestArea),
            Self::Queue => Some(Place::Queue),
            Self::ArenaLoad => Some(Place::ArenaLoad),
            Self::ArenaRecovery => Some(Place::ArenaRecovery),
        }
    }
}

/// How the links are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LinkIs {
    /// Out.
    Out,
    /// In.
    In,
    /// Either.
    Any,
    /// Not known.
    Unproved,
}

/// How the gas system is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GasIs {
    /// Dumped, at zero.
    Zero,
    /// Bottle shut, system not dumped.
    Shut,
    /// Under pressure.
    Live,
    /// Any of these.
    Any,
    /// There is none.
    Na,
    /// Not known.
    Unproved,
}

/// How the weapon is restrained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BarIs {
    /// By the weapon bar.
    On,
    /// By the bar or a second restraint.
    Restrained,
    /// By a second restraint, the bar out.
    Held,
    /// Not at all.
    Off,
    /// Any of these.
    Any,
    /// Not known.
    Unproved,
}

/// How the transmitter is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TransmitterIs {
    /// Off.
    Off,
    /// On, in the driver's hand.
    Driver,
    /// Either.
    Any,
    /// Not known.
    Unproved,
}

/// Whether the wheels are clear.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StandIs {
    /// Clear.
    Yes,
    /// Not clear.
    No,
    /// Either.
    Any,
}

/// State of a machine, as far as something is said about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Conditions {
    /// The links.
    pub link: Option<LinkIs>,
    /// The gas system.
    pub gas: Option<GasIs>,
    /// The weapon's restraint.
    pub weapon_bar: Option<BarIs>,
    /// The transmitter.
    pub transmitter: Option<TransmitterIs>,
    /// The stand.
    pub stand: Option<StandIs>,
}

impl Conditions {
    /// These, with what `other` says instead where it says something.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            link: other.link.or(self.link),
            gas: other.gas.or(self.gas),
            weapon_bar: other.weapon_bar.or(self.weapon_bar),
            transmitter: other.transmitter.or(self.transmitter),
            stand: other.stand.or(self.stand),
        }
    }

    /// Whether something is said about every source.
    pub fn complete(self) -> bool {
        self.link.is_some()
            && self.gas.is_some()
            && self.weapon_bar.is_some()
            && self.transmitter.is_some()
            && self.stand.is_some()
    }
}
