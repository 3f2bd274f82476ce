//! Lines about the energy of a robot and where it stands.

use crate::calc::units::{Count, GaugePressure, Word};
use crate::pit::ids::PersonId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Where a robot is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// On the road or on a trolley.
    Transport,
    /// On its team's bench.
    PitBench,
    /// At the scale.
    Scale,
    /// With the inspector.
    Inspection,
    /// In the closed test area.
    TestArea,
    /// In the arena queue.
    Queue,
    /// Being placed and armed in the arena.
    ArenaLoad,
    /// In the arena, door shut.
    Arena,
    /// In the arena after a bout, being made safe.
    ArenaRecovery,
}

impl Place {
    /// Every place.
    pub const ALL: [Self; 9] = [
        Self::Transport,
        Self::PitBench,
        Self::Scale,
        Self::Inspection,
        Self::TestArea,
        Self::Queue,
        Self::ArenaLoad,
        Self::Arena,
        Self::ArenaRecovery,
    ];

    /// Whether the event's rules expect power and a free weapon here.
    /// **Source** R4, R5: power only in the arena or a test area.
    pub fn may_be_live(self) -> bool {
        matches!(
            self,
            Self::TestArea | Self::ArenaLoad | Self::Arena | Self::ArenaRecovery
        )
    }
}

/// A thing that can be in the machine, or out of it.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum LinkState {
    /// Every link is out.
    Out,
    /// A link is in.
    In,
}

/// Which of the links a line speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Links {
    /// All the robot has.
    All,
}

/// Who or what has the link.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Holder {
    /// A person, in the hand.
    Person(PersonId),
    /// The locked box.
    Box,
}

/// What the power light shows.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Light {
    /// No light.
    Dark,
    /// Light: main power is on.
    Lit,
    /// No light to be seen: missing, broken or hidden. It says nothing about power.
    Absent,
}

/// A bottle's valve.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Valve {
    /// Closed.
    Shut,
    /// Open to the system.
    Open,
}

/// The pressure of the gas system behind the bottle valve.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum System {
    /// Dumped, gauge at zero.
    Zero,
    /// Under pressure.
    Live,
}

/// What restrains the weapon.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Bar {
    /// The weapon bar is on.
    On,
    /// The bar is out and a second restraint is in.
    Held,
    /// Nothing restrains the weapon.
    Off,
}

/// Off or on.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[schema(as = Switch)]
#[serde(rename_all = "snake_case")]
pub enum Power {
    /// Switched off.
    Off,
    /// Switched on.
    On,
}

/// Which model memory a transmitter is set to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Model {
    /// This robot's.
    Right,
    /// Another's.
    Wrong,
}

/// The links, and who holds them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Link {
    /// Out or in. One link in is in.
    pub state: LinkState,
    /// Which links.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub links: Option<Links>,
    /// Who has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holder: Option<Holder>,
    /// The power light, seen at the same moment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<Light>,
    /// Where the robot was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
}

/// The gauge behind a regulator, at rest with the bottle open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Regulated {
    /// What it is set to.
    pub set_mbar_gauge: GaugePressure,
    /// What the gauge shows.
    pub read_mbar_gauge: GaugePressure,
}

impl Regulated {
    /// The gauge shows more than its needle may stand off the pin: gas in the machine.
    ///
    /// **Source** own starting value.
    pub fn shows_pressure(self) -> bool {
        self.read_mbar_gauge.get() > 200
    }
}

/// The gas system: at least one of valve, system and regulator.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(as = GasReport)]
#[serde(deny_unknown_fields)]
pub struct Gas {
    /// The bottle's valve.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve: Option<Valve>,
    /// The pressure behind it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub system: Option<System>,
    /// How many times the gauge was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read: Option<Count>,
    /// What the regulator is set to, and what the gauge behind it shows. Pressure on that gauge is
    /// a system under pressure, unless the line says otherwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub regulated: Option<Regulated>,
}

/// The weapon's restraint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WeaponBar {
    /// On, held or off.
    pub state: Bar,
    /// What the second restraint is, where the bar is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second: Option<Word>,
    /// Strapped for the road.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strapped: Option<bool>,
}

/// The transmitter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Transmitter {
    /// Off or on.
    pub state: Power,
    /// Who has it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<PersonId>,
    /// Which model memory it is set to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub model: Option<Model>,
    /// In its box.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub boxed: Option<bool>,
    /// It is the second transmitter, the weapon operator's own.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub second: bool,
}

/// The power light, and the transmitter seen with it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PowerLight {
    /// Dark or lit.
    pub state: Light,
    /// The transmitter, where it was looked at too.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transmitter: Option<Power>,
}

/// The stand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Stand {
    /// The wheels are clear of the ground.
    pub clear: bool,
    /// Where the robot was.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
}

/// Every source looked at once; each asserts what was found, nothing about the others.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Looked {
    /// The links.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub link: Option<LinkState>,
    /// Who has the link.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holder: Option<Holder>,
    /// The bottle's valve.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve: Option<Valve>,
    /// The pressure of the system.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub system: Option<System>,
    /// The weapon's restraint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weapon_bar: Option<Bar>,
    /// The transmitter.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub transmitter: Option<Power>,
    /// The second transmitter, where there is one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second_transmitter: Option<Power>,
    /// Everything that stores mechanical energy: rotor, arm and springs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stored: Option<StoredState>,
    /// The power light.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_light: Option<Light>,
    /// The packs are out of the machine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub packs_out: Option<bool>,
    /// The bottle is out of the machine.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bottle_out: Option<bool>,
}

/// Where a robot is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlaceOf {
    /// The place.
    pub place: Place,
    /// Strapped for the road.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strapped: Option<bool>,
}

/// What stores mechanical energy.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum StoredIn {
    /// A rotor or flywheel.
    Rotor,
    /// An arm that can fall or be thrown.
    Arm,
    /// A spring.
    Spring,
}

impl StoredIn {
    /// Everything that stores it.
    pub const ALL: [Self; 3] = [Self::Rotor, Self::Arm, Self::Spring];
}

/// How much of it there is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum StoredState {
    /// None: rotor still, arm down, spring relaxed.
    Released,
    /// Held by a prop or block made for it.
    Blocked,
    /// Rotor turning, arm up without a prop, spring cocked.
    Loaded,
}

/// Stored mechanical energy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(as = StoredEnergy)]
#[serde(deny_unknown_fields)]
pub struct Stored {
    /// Where.
    pub what: StoredIn,
    /// How much.
    pub state: StoredState,
}

/// Something without which energy cannot be proved gone, or is not kept in bounds.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum PartOf {
    /// The gauge.
    Gauge,
    /// The dump.
    Dump,
    /// The bottle's valve.
    BottleValve,
    /// The pressure after dumping.
    Pressure,
    /// The relief or burst device on the high side.
    Relief,
    /// The same behind a regulator.
    LowRelief,
}

impl PartOf {
    /// Every part.
    pub const ALL: [Self; 6] = [
        Self::Gauge,
        Self::Dump,
        Self::BottleValve,
        Self::Pressure,
        Self::Relief,
        Self::LowRelief,
    ];

    /// Whether pressure cannot be proved zero while it is bad (H15); the others keep it in bounds.
    pub fn proves_zero(self) -> bool {
        !matches!(self, Self::Relief | Self::LowRelief)
    }
}

/// A part that does not do what energy asks of it, or does so again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Trouble {
    /// Which part.
    pub what: PartOf,
    /// It is bad: dead, blocked, not shutting, not falling, missing or unrated. `false`: it works.
    pub bad: bool,
}
