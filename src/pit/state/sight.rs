//! What somebody said a state is, who contradicts it, and until when it is good.

use crate::pit::ids::{LineId, PersonId};
use crate::pit::logbook::{Author, How, Line, Role};
use chrono::{DateTime, TimeDelta, Utc};

/// A value that changes by time alone at `changes_at`, if it does.
#[derive(Debug, Clone, PartialEq)]
pub struct View<T> {
    /// The value now.
    pub value: T,
    /// The earliest moment at which it changes although nobody enters anything.
    pub changes_at: Option<DateTime<Utc>>,
}

impl<T> View<T> {
    /// The earlier of this view's change and `other`.
    #[must_use]
    pub fn or_at(mut self, other: Option<DateTime<Utc>>) -> Self {
        self.changes_at = earliest(self.changes_at, other);
        self
    }
}

/// The earlier of two moments, either of which may not come.
pub fn earliest(a: Option<DateTime<Utc>>, b: Option<DateTime<Utc>>) -> Option<DateTime<Utc>> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

/// One account of a state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight<T> {
    /// What it was.
    pub value: T,
    /// Done or seen.
    pub how: How,
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    pub seen_by: Option<PersonId>,
    /// Who entered it.
    pub entered_by: Author,
    /// The line that says so.
    pub line: LineId,
}

impl<T> Sight<T> {
    /// The account of `line` that the state is `value`.
    pub fn of(line: &Line, value: T) -> Self {
        Self {
            value,
            how: line.how.unwrap_or(How::Saw),
            at: line.at,
            seen_by: line.seen_by,
            entered_by: line.entered_by,
            line: line.id,
        }
    }

    /// Whether a person stands behind it. A program never counts as a sight.
    pub fn by_a_person(&self) -> bool {
        self.seen_by.is_some() && self.entered_by.role != Role::Program
    }
}

/// Two people who cannot both be right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dispute {
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who says isolated: their own later look does not settle it.
    pub claimants: Vec<PersonId>,
    /// Who says otherwise.
    pub against: Option<PersonId>,
}

/// A source of energy: the account that stands, and the dispute about it if there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct Source<T> {
    /// The account that stands.
    pub standing: Option<Sight<T>>,
    /// The dispute about it.
    pub dispute: Option<Dispute>,
}

impl<T> Default for Source<T> {
    fn default() -> Self {
        Self {
            standing: None,
            dispute: None,
        }
    }
}

impl<T: Copy> Source<T> {
    /// The value that stands, undisputed or not.
    pub fn value(&self) -> Option<T> {
        self.standing.as_ref().map(|sight| sight.value)
    }

    /// Forgets everything: nobody knows.
    pub fn forget(&mut self) {
        *self = Self::default();
    }

    /// Takes in the next account, in order of time.
    ///
    /// An act changes the state. A dispute needs another person's sight that differs from the
    /// standing account within `window`; a later undisputed sight simply wins. After a dispute
    /// isolation stands again only on a later look by someone other than who claimed it.
    pub fn take(&mut self, sight: Sight<T>, isolated: impl Fn(T) -> bool, window: TimeDelta) {
        let says_isolated = isolated(sight.value);
        if says_isolated && !sight.by_a_person() {
            return;
        }
        if let Some(dispute) = &mut self.dispute {
            if !says_isolated {
                self.dispute = None;
                self.standing = Some(sight);
                return;
            }
            let claimed_before = |person: Option<PersonId>| {
                person.is_some_and(|person| dispute.claimants.contains(&person))
            };
            let another = !claimed_before(sight.seen_by)
                && (!claimed_before(sight.entered_by.person)
                    || sight.entered_by.role == Role::Marshal);
            if sight.how == How::Saw && another && sight.at > dispute.since {
                self.dispute = None;
                self.standing = Some(sight);
            } else {
                dispute.claimants.extend(sight.seen_by);
            }
            return;
        }
        if let Some(standing) = &self.standing {
            let differs = isolated(standing.value) != says_isolated;
            let another = sight.seen_by != standing.seen_by;
            if differs
                && another
                && sight.how == How::Saw
                && standing.by_a_person()
                && sight.at - standing.at <= window
            {
                let (claim, other) = if says_isolated {
                    (&sight, standing)
                } else {
                    (standing, &sight)
                };
                self.dispute = Some(Dispute {
                    since: sight.at,
                    claimants: claim
                        .seen_by
                        .into_iter()
                        .chain(claim.entered_by.person)
                        .collect(),
                    against: other.seen_by,
                });
                // The worse account stands while they disagree.
                let worse = *other;
                self.standing = Some(worse);
                return;
            }
        }
        self.standing = Some(sight);
    }
}
