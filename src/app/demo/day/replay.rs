//! Takes up a day where the service that played it ended.

use super::Day;
use crate::pit::logbook::{Family, Line};
use crate::pit::state::Pit;
use std::collections::BTreeSet;

impl Day {
    /// Goes through the day again up to the last step that is in the logbook.
    ///
    /// What is entered next depends on what was known at the time, so the lines (all of the event,
    /// in their order) are folded again, each step seeing what was recorded before it was due and
    /// what earlier steps wrote. A step in the middle that wrote nothing had been refused, and
    /// stays so.
    pub fn replay(&mut self, lines: &[Line]) {
        let written: BTreeSet<_> = lines.iter().map(|line| line.id).collect();
        let Some(end) = lines.iter().map(|line| line.recorded_at).max() else {
            return;
        };
        let mut pit = Pit::default();
        let mut ahead = lines.iter().peekable();
        // The register was entered before the day began.
        while let Some(line) = ahead.next_if(|line| line.kind().family() == Family::Register) {
            pit = pit.with(line);
        }
        let mut recorded = self.clone();
        while let Some(at) = self.next_at().filter(|at| *at <= end) {
            while let Some(line) = ahead.next_if(|line| line.recorded_at < at) {
                pit = pit.with(line);
            }
            let Some(step) = self.next(&pit) else {
                continue;
            };
            let drafts = &step.drafts;
            if !drafts.iter().any(|draft| written.contains(&draft.id)) {
                continue;
            }
            while let Some(line) =
                ahead.next_if(|_| drafts.iter().any(|draft| pit.entry(draft.id).is_none()))
            {
                pit = pit.with(line);
            }
            recorded = self.clone();
        }
        *self = recorded;
    }
}
