//! How long other teams keep a station busy, for the plan of a robot that wants it.

use super::{pool, queue};
use crate::pit::ids::RobotId;
use crate::pit::library::tasks::PoolOf;
use crate::pit::logbook::station::Station;
use crate::pit::state::Pit;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// When the stations have time, for each robot that waits and for those that do not yet.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Waits {
    turn: BTreeMap<(PoolOf, RobotId), DateTime<Utc>>,
    free: BTreeMap<PoolOf, DateTime<Utc>>,
}

impl Waits {
    /// As the queues stand at `now`.
    ///
    /// **Assumptions** somebody who has not asked yet is served after all who have.
    pub fn at(pit: &Pit, now: DateTime<Utc>) -> Self {
        let mut waits = Self::default();
        for station in Station::ALL {
            let Some(pool) = pool(station) else { continue };
            let queue = queue(pit, station, now);
            for entry in &queue.entries {
                waits.turn.insert((pool, entry.robot), entry.starts);
            }
            if queue.free_at > now {
                waits.free.insert(pool, queue.free_at);
            }
        }
        waits
    }

    /// When a robot's turn comes for something of `pool`; none where nobody is in its way.
    pub fn turn(&self, robot: RobotId, pool: PoolOf) -> Option<DateTime<Utc>> {
        self.turn
            .get(&(pool, robot))
            .or_else(|| self.free.get(&pool))
            .copied()
    }
}
