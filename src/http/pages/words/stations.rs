//! What stations are called, and what happens there.

use crate::pit::logbook::station::{Station, Step};

/// What a station is called.
pub fn name(station: Station) -> &'static str {
    match station {
        Station::GasBay => "Gas bay",
        Station::Scale => "Scale",
        Station::Inspection => "Inspection",
        Station::ChargingTable => "Charging table",
        Station::ArenaGate => "Arena gate",
        Station::TestArea => "Test area",
    }
}

/// What became of a robot at a station.
pub fn step(step: Step) -> &'static str {
    match step {
        Step::Asked => "in the queue",
        Step::Next => "is next",
        Step::Serving => "being served",
        Step::Served => "served",
        Step::Left => "left the queue",
    }
}
