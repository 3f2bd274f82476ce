//! What a place and a kind of work ask of a machine, and what of it is not there.

use crate::pit::energy::{Energy, SourceOf, Standing};
use crate::pit::library::tasks::{BarIs, Conditions, GasIs, LinkIs, StandIs, TransmitterIs};
use crate::pit::logbook::machine::{Bar, LinkState, Place, Power, System, Valve};
use crate::pit::state::RobotState;
use serde::Deserialize;
use std::sync::LazyLock;

/// Where something is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Site {
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
    /// Being placed and armed in the arena.
    ArenaLoad,
    /// In the arena, door shut.
    Arena,
    /// In the arena after a bout.
    ArenaRecovery,
}

impl From<Place> for Site {
    fn from(place: Place) -> Self {
        match place {
            Place::Transport => Self::Transport,
            Place::PitBench => Self::PitBench,
            Place::Scale => Self::Scale,
            Place::Inspection => Self::Inspection,
            Place::TestArea => Self::TestArea,
            Place::Queue => Self::Queue,
            Place::ArenaLoad => Self::ArenaLoad,
            Place::Arena => Self::Arena,
            Place::ArenaRecovery => Self::ArenaRecovery,
        }
    }
}

/// What is asked of stored mechanical energy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StoredAsked {
    /// There is none.
    None,
    /// Only what the remote control stores, nobody near.
    Remote,
    /// Nothing.
    Any,
}

/// The words of a place's row, as people read them.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlaceWords {
    /// The link.
    pub link: String,
    /// The gas.
    pub gas: String,
    /// The weapon's restraint.
    pub weapon_bar: String,
    /// Stored mechanical energy.
    pub stored_mechanical: String,
    /// The transmitter.
    pub transmitter: String,
    /// Charging.
    pub charging: String,
    /// The wheels.
    pub wheels: String,
    /// Who is there.
    pub who: String,
}

/// What a place asks of a machine.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlaceRow {
    /// The place.
    pub place: Site,
    /// What it asks of the sources.
    pub asks: Conditions,
    /// What it asks of stored energy.
    pub stored: StoredAsked,
    /// The same in words.
    pub words: PlaceWords,
}

/// The words of a work's row, as people read them.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkWords {
    /// The link.
    pub link: String,
    /// The gas.
    pub gas: String,
    /// The weapon's restraint.
    pub restraint: String,
    /// The transmitter.
    pub transmitter: String,
    /// The wheels.
    pub wheels_clear: String,
}

/// What a kind of work asks of a machine.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WorkRow {
    /// Unique.
    pub work: String,
    /// What people call it.
    pub label: String,
    /// What it asks of the sources.
    pub asks: Conditions,
    /// The packs are out of the machine.
    pub packs_out: bool,
    /// The bottle is out of the machine.
    pub bottle_out: bool,
    /// The same in words.
    pub words: WorkWords,
    /// The rules that watch it.
    pub rules: Vec<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(rename = "title")]
    _title: String,
    places: Vec<PlaceRow>,
    works: Vec<WorkRow>,
}

static MATRICES: LazyLock<File> = LazyLock::new(|| {
    serde_json::from_str(include_str!("data/matrices.json")).expect("the matrices as shipped")
});

/// Every place's row.
pub fn places() -> &'static [PlaceRow] {
    &MATRICES.places
}

/// Every kind of work's row.
pub fn works() -> &'static [WorkRow] {
    &MATRICES.works
}

/// What `site` asks of a machine; none for a place the data does not know.
pub fn at_place(site: Site) -> Option<&'static PlaceRow> {
    places().iter().find(|row| row.place == site)
}

/// What `work` asks of a machine; none for work the data does not know.
pub fn for_work(work: &str) -> Option<&'static WorkRow> {
    works().iter().find(|row| row.work == work)
}

/// A state that is asked for and not there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Missing {
    /// What is asked for, in words.
    pub asked: &'static str,
    /// Nobody reported the contrary: unknown, too old or disputed.
    pub doubt: bool,
}

/// What of `asks` is not there. Doubt about isolation counts as not there; a state that is asked to
/// be live is missing only if it is known to be isolated.
pub fn missing(asks: &Conditions, state: &RobotState, energy: &Energy) -> Vec<Missing> {
    let mut missing = Vec::new();
    let mut lacks = |asked: &'static str, standing: Option<Standing>, is: bool| {
        let Some(standing) = standing.filter(|_| !is) else {
            return;
        };
        missing.push(Missing {
            asked,
            doubt: matches!(
                standing,
                Standing::Stale | Standing::Disputed | Standing::Unknown
            ),
        });
    };
    let standing = |of: SourceOf| energy.source(of).map(|source| source.standing);
    let isolated = |of: SourceOf| energy.isolated(of);

    match asks.link {
        Some(LinkIs::Out) => lacks(
            "link out",
            standing(SourceOf::Link),
            isolated(SourceOf::Link),
        ),
        Some(LinkIs::In) => lacks(
            "link in",
            standing(SourceOf::Link),
            state.link.value() != Some(LinkState::Out),
        ),
        Some(LinkIs::Any | LinkIs::Unproved) | None => {}
    }
    match asks.gas {
        Some(GasIs::Zero) => lacks("gas zero", standing(SourceOf::Gas), isolated(SourceOf::Gas)),
        Some(GasIs::Shut) => lacks(
            "bottle shut",
            standing(SourceOf::Gas),
            isolated(SourceOf::Gas) || state.valve.value() == Some(Valve::Shut),
        ),
        Some(GasIs::Live) => lacks(
            "gas live",
            standing(SourceOf::Gas),
            state.system.value() != Some(System::Zero),
        ),
        Some(GasIs::Any | GasIs::Na | GasIs::Unproved) | None => {}
    }
    let bar = standing(SourceOf::WeaponBar);
    let held = isolated(SourceOf::WeaponBar);
    match asks.weapon_bar {
        Some(BarIs::On) => lacks(
            "weapon restraint on",
            bar,
            held && state.weapon_bar.value() == Some(Bar::On),
        ),
        Some(BarIs::Restrained) => lacks("weapon restrained", bar, held),
        Some(BarIs::Held) => lacks(
            "second restraint in",
            bar,
            held && state.weapon_bar.value() == Some(Bar::Held),
        ),
        Some(BarIs::Off) => lacks(
            "weapon restraint off",
            bar,
            state.weapon_bar.value().is_none_or(|bar| bar == Bar::Off),
        ),
        Some(BarIs::Any | BarIs::Unproved) | None => {}
    }
    let transmitter = standing(SourceOf::Transmitter);
    match asks.transmitter {
        Some(TransmitterIs::Off) => lacks(
            "transmitter off",
            transmitter,
            isolated(SourceOf::Transmitter) && isolated(SourceOf::SecondTransmitter),
        ),
        Some(TransmitterIs::Driver) => lacks(
            "transmitter on, with the driver",
            transmitter,
            state.transmitter.value() != Some(Power::Off),
        ),
        Some(TransmitterIs::Any | TransmitterIs::Unproved) | None => {}
    }
    if asks.stand == Some(StandIs::Yes) {
        let clear = state.on_stand.as_ref().map(|stand| stand.value);
        let known = if clear.is_none() {
            Standing::Unknown
        } else {
            Standing::Live
        };
        lacks(
            "wheels clear of the ground",
            Some(known),
            clear == Some(true),
        );
    }
    missing
}
