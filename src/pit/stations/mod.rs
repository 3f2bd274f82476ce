//! The event's stations: who waits where, who is next, and how long it is likely to take.
//!
//! A queue is derived, never kept: what a robot's lines say of the stations gives its visits, and
//! the visits of all robots give the queue.

pub mod queue;
pub mod visit;
pub mod wait;

#[cfg(test)]
mod tests;

pub use queue::{Entry, Queue, queue};
pub use visit::{Visit, Visits};
pub use wait::Waits;

use crate::pit::library::tasks::PoolOf;
use crate::pit::logbook::station::Station;

/// The pool of the task libraries that a station is; none for the charging table, whose channels
/// are the teams' own, and the arena gate, which follows the running order.
pub fn pool(station: Station) -> Option<PoolOf> {
    match station {
        Station::GasBay => Some(PoolOf::GasBay),
        Station::Scale => Some(PoolOf::Scale),
        Station::Inspection => Some(PoolOf::Inspector),
        Station::TestArea => Some(PoolOf::TestArea),
        Station::ChargingTable | Station::ArenaGate => None,
    }
}
