//! A line as the server took it in.

use chrono::{DateTime, SubsecRound, Utc};

use crate::pit::ids::EventId;
use crate::pit::logbook::{Author, Draft, Line};

/// Lines that are taken or refused together.
pub type Report = Vec<Entry>;

/// A line as the server took it in: everything but its place in the logbook.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// What was handed in.
    pub draft: Draft,
    /// When it was seen, by the server's clock; never later than `recorded_at`.
    pub at: DateTime<Utc>,
    /// Whether the phone's clock was too far off to be trusted.
    pub clock_doubtful: bool,
    /// When the server had it.
    pub recorded_at: DateTime<Utc>,
    /// Who entered it.
    pub entered_by: Author,
}

impl Entry {
    /// The line this becomes at a place, as it will be read back: the database keeps microseconds.
    #[must_use]
    pub fn line(&self, event: EventId, seq: i64) -> Line {
        let Draft {
            id,
            at: claimed_at,
            seen_by,
            subject,
            how,
            corrects,
            if_revision: _,
            body,
        } = self.draft.clone();
        Line {
            event,
            seq,
            id,
            at: self.at.trunc_subsecs(6),
            claimed_at: claimed_at.trunc_subsecs(6),
            clock_doubtful: self.clock_doubtful,
            recorded_at: self.recorded_at.trunc_subsecs(6),
            seen_by: seen_by.or(self.entered_by.person),
            entered_by: self.entered_by,
            subject,
            how,
            corrects,
            body,
        }
    }
}
