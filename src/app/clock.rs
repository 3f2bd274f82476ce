//! The one clock: read at the edge of a request or a timer, never below.

use chrono::{DateTime, SubsecRound, Utc};

/// Says what time it is. Read once per request; everything below gets `now` as a value.
pub trait Clock: Send + Sync {
    /// The time, in whole microseconds, which is what the database keeps.
    fn now(&self) -> DateTime<Utc>;
}

/// The clock of this computer.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> DateTime<Utc> {
        Utc::now().trunc_subsecs(6)
    }
}
