//! Lines about stations: who asks for one, who is next, who is being served.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A place of the event that serves one team after the other.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Station {
    /// Fills and weighs bottles.
    GasBay,
    /// Weighs machines.
    Scale,
    /// Inspects machines.
    Inspection,
    /// Charges packs.
    ChargingTable,
    /// Lets machines in to the arena.
    ArenaGate,
    /// Closed area for a live machine.
    TestArea,
}

impl Station {
    /// Every station.
    pub const ALL: [Self; 6] = [
        Self::GasBay,
        Self::Scale,
        Self::Inspection,
        Self::ChargingTable,
        Self::ArenaGate,
        Self::TestArea,
    ];

    /// The station as written in JSON and addresses.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::GasBay => "gas_bay",
            Self::Scale => "scale",
            Self::Inspection => "inspection",
            Self::ChargingTable => "charging_table",
            Self::ArenaGate => "arena_gate",
            Self::TestArea => "test_area",
        }
    }

    /// The station written `text`.
    pub fn named(text: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|station| station.as_str() == text)
    }
}

/// A step of a robot at a station.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// Its crew wants to be served.
    Asked,
    /// It is next: its crew is to come. Said by the station.
    Next,
    /// It is being served. Said by the station.
    Serving,
    /// It was served.
    Served,
    /// It is not waiting any more.
    Left,
}

/// A robot, its bottle or its packs at a station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(as = StationReport)]
#[serde(deny_unknown_fields)]
pub struct AtStation {
    /// Which.
    pub station: Station,
    /// What became of it there.
    pub step: Step,
}
