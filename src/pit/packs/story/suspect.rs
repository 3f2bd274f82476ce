//! When a pack is suspect, and what it takes until it is good again: the one rule of the house.

use super::Story;
use crate::pit::ids::PersonId;
use crate::pit::logbook::things::{Looks, Pack, ThingPlace};
use crate::pit::logbook::{Line, Role};
use chrono::{DateTime, TimeDelta, Utc};

/// A pack that somebody found wrong or set aside.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Suspect {
    /// Since when.
    pub since: DateTime<Utc>,
    /// The worst it looked; none if it was set aside without a word.
    pub looks: Option<Looks>,
    /// By whose word.
    pub by: Option<PersonId>,
    /// Who watches it.
    pub watcher: Option<PersonId>,
    /// Until then it is only watched; none while it is not set aside, for then nobody watches it.
    /// Afterwards two people have to look: time clears nothing.
    pub observe_until: Option<DateTime<Utc>>,
    /// Who found it good since; a second person has to.
    pub cleared_by: Option<PersonId>,
}

impl Suspect {
    /// Whether it is swollen, hot or smells: worse than a knock.
    pub fn certain(&self) -> bool {
        self.looks.is_some_and(|looks| badness(looks) > 1)
    }

    /// Whether nothing anybody says makes it good again: swollen is for good.
    pub fn is_for_good(&self) -> bool {
        self.looks == Some(Looks::Swollen)
    }

    /// Takes a word that it is good; true if it is the second person's, after the observation.
    fn cleared(&mut self, line: &Line) -> bool {
        let Some(who) = answers_for(line) else {
            return false;
        };
        let observed = self.observe_until.is_some_and(|until| line.at >= until);
        if !observed || self.is_for_good() {
            return false;
        }
        let first = *self.cleared_by.get_or_insert(who);
        first != who
    }
}

fn badness(looks: Looks) -> u8 {
    match looks {
        Looks::Fine => 0,
        Looks::Hit => 1,
        Looks::Hot | Looks::Smells => 2,
        Looks::Swollen => 3,
    }
}

/// Whose word a line is: who enters it, if they saw it themselves or answer for what they are told.
/// Nobody is a second person by being named.
fn answers_for(line: &Line) -> Option<PersonId> {
    let author = line.entered_by;
    let official = matches!(
        author.role,
        Role::Official | Role::Marshal | Role::Organiser
    );
    author
        .person
        .filter(|who| official || line.seen_by == Some(*who))
}

impl Story {
    /// Takes a look at the pack in: wrong at once, good again only by the rule of [`Suspect`].
    ///
    /// `moved`: the line says that it is somewhere else than before. `alone`: the line speaks of
    /// this pack only.
    pub(super) fn look(
        &mut self,
        line: &Line,
        said: &Pack,
        moved: bool,
        alone: bool,
        observed: TimeDelta,
    ) {
        let aside = said.place == Some(ThingPlace::Quarantine);
        if let Some(looks) = said.looks.filter(|looks| *looks != Looks::Fine) {
            self.found_wrong(line, Some(looks), observed);
        } else if aside && self.suspect.is_none() {
            self.found_wrong(line, None, observed);
        }
        let Some(suspect) = &mut self.suspect else {
            return;
        };
        suspect.watcher = said.watcher.or(suspect.watcher);
        if aside {
            suspect.observe_until.get_or_insert(line.at + observed);
        } else if moved && suspect.observe_until.is_some_and(|until| line.at < until) {
            // Fetched back before its time, it begins anew.
            suspect.observe_until = None;
        }
        if alone && said.looks == Some(Looks::Fine) && suspect.cleared(line) {
            self.suspect = None;
        }
    }

    /// It was found wrong: what was observed and said before counts no longer.
    pub(super) fn found_wrong(&mut self, line: &Line, looks: Option<Looks>, observed: TimeDelta) {
        let before = self.suspect;
        let aside = self
            .place
            .is_some_and(|is| is.place == ThingPlace::Quarantine);
        self.suspect = Some(Suspect {
            since: before.map_or(line.at, |suspect| suspect.since),
            looks: looks
                .into_iter()
                .chain(before.and_then(|suspect| suspect.looks))
                .max_by_key(|looks| badness(*looks)),
            by: before.map_or(line.seen_by, |suspect| suspect.by),
            watcher: before.and_then(|suspect| suspect.watcher),
            observe_until: aside.then(|| line.at + observed),
            cleared_by: None,
        });
    }

    /// Takes a word that what was suspect is good.
    pub(super) fn said_good(&mut self, line: &Line) {
        if self.suspect.as_mut().is_some_and(|it| it.cleared(line)) {
            self.suspect = None;
        }
    }
}
