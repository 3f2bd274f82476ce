//! Something bad that was reported, until one person puts it right and another has seen that.

use super::sight::Sight;
use crate::pit::logbook::{How, Line, Role};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Something bad that two people have not yet seen put right. Nobody proves their own work.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsettled {
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who said that it is put right: another has to look.
    pub right: Option<Sight<()>>,
}

impl Unsettled {
    /// `line` says that it is bad, for the first time or still.
    pub fn raise(slot: &mut Option<Self>, line: &Line) {
        let since = slot.as_ref().map_or(line.at, |open| open.since);
        *slot = Some(Self { since, right: None });
    }

    /// `line` says that it is put right. The first to say so opens the second look; another
    /// person's sight ends the matter. A program settles nothing.
    pub fn settle(slot: &mut Option<Self>, line: &Line) {
        let by_a_person = line.seen_by.is_some() && line.entered_by.role != Role::Program;
        let Some(open) = slot.as_mut().filter(|_| by_a_person) else {
            return;
        };
        match &open.right {
            None => open.right = Some(Sight::of(line, ())),
            Some(right) => {
                let another = right.seen_by != line.seen_by
                    && (right.entered_by.person != line.entered_by.person
                        || line.entered_by.role == Role::Marshal);
                if another && line.how == Some(How::Saw) {
                    *slot = None;
                }
            }
        }
    }
}

/// The same for one of several things.
pub fn raise<K: Ord>(open: &mut BTreeMap<K, Unsettled>, which: K, line: &Line) {
    let mut slot = open.remove(&which);
    Unsettled::raise(&mut slot, line);
    open.extend(slot.map(|slot| (which, slot)));
}

/// The same for one of several things.
pub fn settle<K: Ord>(open: &mut BTreeMap<K, Unsettled>, which: K, line: &Line) {
    let mut slot = open.remove(&which);
    Unsettled::settle(&mut slot, line);
    open.extend(slot.map(|slot| (which, slot)));
}
