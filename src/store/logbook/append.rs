//! How lines get their places.

use std::collections::HashMap;

use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};

use super::entry::{Entry, Report};
use super::insert::InsertLines;
use super::row::LineRow;
use crate::pit::ids::{EventId, LineId, Subject};
use crate::pit::logbook::{Family, Line};
use crate::store::StoreError;
use crate::store::projection::{self, Thing};
use crate::store::schema::{events, lines};

/// Where a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recorded {
    /// Its place.
    pub seq: i64,
    /// Whether it was recorded now; otherwise the same line had been recorded before.
    pub is_new: bool,
}

/// Why a report was not recorded.
#[derive(Debug, thiserror::Error)]
pub enum NotRecorded {
    /// There is no such event.
    #[error("there is no event {0}")]
    NoEvent(EventId),
    /// A line with this id and other content is recorded already.
    #[error("line {seq} has the id {id} and other content")]
    IdUsed {
        /// The id that was used twice.
        id: LineId,
        /// Where the other line stands.
        seq: i64,
    },
    /// A register line is based on another revision than the present one.
    #[error("{subject} is at revision {present:?}, not {based_on:?}")]
    Stale {
        /// What the line is about.
        subject: Subject,
        /// The revision it was based on, `None` for a new thing.
        based_on: Option<i64>,
        /// The revision there is, `None` if there is no such thing yet.
        present: Option<i64>,
    },
    /// The database did not take it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What became of a report: a place for each of its lines, in order.
pub type Outcome = Result<Vec<Recorded>, NotRecorded>;

/// The whole batch as one statement, which is a transaction of its own: one way to the server and
/// back instead of six.
///
/// `None` if it has to be done step by step: register lines have revisions to compare, and an id
/// that is already there needs a look at what it stands for.
pub(super) async fn in_one_statement(
    connection: &mut AsyncPgConnection,
    event: EventId,
    reports: &[Report],
) -> Result<Option<Vec<Outcome>>, StoreError> {
    let entries: Vec<&Entry> = reports.iter().flatten().collect();
    let mut ids: Vec<LineId> = entries.iter().map(|entry| entry.draft.id).collect();
    ids.sort_unstable();
    ids.dedup();
    let has_register = entries.iter().any(|entry| is_register(entry));
    if has_register || ids.len() < entries.len() || entries.is_empty() {
        return Ok(None);
    }
    // The places are given out by the statement; what is written here is replaced.
    let lines: Vec<Line> = entries.iter().map(|entry| entry.line(event, 0)).collect();
    // Every row is waited for, though there is one: the first row is sent before the commit, so a
    // call that returns with it would acknowledge what may never be committed.
    let last: Vec<i64> = match InsertLines::giving_places(event, &lines)
        .load(connection)
        .await
        .map_err(StoreError::from)
    {
        Ok(last) => last,
        Err(refused) if refused.constraint() == Some("lines_id_once") => return Ok(None),
        Err(other) => return Err(other),
    };
    let &[last] = last.as_slice() else {
        let missing = |_| Err(NotRecorded::NoEvent(event));
        return Ok(Some(reports.iter().map(missing).collect()));
    };
    let mut next = last - places(entries.len()) + 1;
    let mut give = |_: &Entry| {
        let recorded = Recorded {
            seq: next,
            is_new: true,
        };
        next += 1;
        recorded
    };
    Ok(Some(
        reports
            .iter()
            .map(|report| Ok(report.iter().map(&mut give).collect()))
            .collect(),
    ))
}

/// The batch step by step, inside a transaction.
pub(super) async fn in_tx(
    tx: &mut AsyncPgConnection,
    event: EventId,
    reports: &[Report],
) -> Result<Vec<Outcome>, StoreError> {
    let last: Option<i64> = events::table
        .filter(events::id.eq(event.0))
        .select(events::last_seq)
        .for_no_key_update()
        .first(tx)
        .await
        .optional()?;
    let Some(last) = last else {
        let missing = |_| Err(NotRecorded::NoEvent(event));
        return Ok(reports.iter().map(missing).collect());
    };
    let known = known_lines(tx, event, reports).await?;
    let revisions = present_revisions(tx, event, reports).await?;
    let mut book = OpenPage {
        event,
        known,
        revisions,
        last,
        added: Vec::new(),
    };
    let outcomes: Vec<Outcome> = reports.iter().map(|report| book.take(report)).collect();
    if !book.added.is_empty() {
        InsertLines::in_their_places(event, &book.added)
            .execute(tx)
            .await?;
        for line in &book.added {
            projection::apply_in_tx(tx, line).await?;
        }
        diesel::update(events::table.filter(events::id.eq(event.0)))
            .set(events::last_seq.eq(book.last))
            .execute(tx)
            .await?;
    }
    Ok(outcomes)
}

/// The end of the logbook while a batch is being added to it.
struct OpenPage {
    event: EventId,
    known: HashMap<LineId, Line>,
    revisions: HashMap<Thing, i64>,
    last: i64,
    added: Vec<Line>,
}

impl OpenPage {
    /// Adds a report as a whole or not at all.
    fn take(&mut self, report: &Report) -> Outcome {
        let before = (self.last, self.added.len());
        let mut undo = Vec::new();
        let outcome = report
            .iter()
            .map(|entry| self.add(entry, &mut undo))
            .collect();
        if Result::is_err(&outcome) {
            self.last = before.0;
            for line in self.added.drain(before.1..) {
                self.known.remove(&line.id);
            }
            for (thing, revision) in undo.into_iter().rev() {
                match revision {
                    Some(revision) => self.revisions.insert(thing, revision),
                    None => self.revisions.remove(&thing),
                };
            }
        }
        outcome
    }

    fn add(
        &mut self,
        entry: &Entry,
        undo: &mut Vec<(Thing, Option<i64>)>,
    ) -> Result<Recorded, NotRecorded> {
        let id = entry.draft.id;
        let line = entry.line(self.event, self.last + 1);
        if let Some(before) = self.known.get(&id) {
            return if is_same(before, &line) {
                Ok(Recorded {
                    seq: before.seq,
                    is_new: false,
                })
            } else {
                Err(NotRecorded::IdUsed {
                    id,
                    seq: before.seq,
                })
            };
        }
        if let Some(thing) = Thing::of(line.subject, &line.body) {
            let present = self.revisions.get(&thing).copied();
            if present != entry.draft.if_revision {
                return Err(NotRecorded::Stale {
                    subject: line.subject,
                    based_on: entry.draft.if_revision,
                    present,
                });
            }
            undo.push((thing, self.revisions.insert(thing, line.seq)));
        }
        let recorded = Recorded {
            seq: line.seq,
            is_new: true,
        };
        self.last = line.seq;
        self.known.insert(id, line.clone());
        self.added.push(line);
        Ok(recorded)
    }
}

/// Whether two lines say the same: what the server adds may differ when one is sent again.
fn is_same(one: &Line, other: &Line) -> bool {
    one.kind() == other.kind()
        && one.claimed_at == other.claimed_at
        && one.seen_by == other.seen_by
        && one.entered_by.person == other.entered_by.person
        && one.subject == other.subject
        && one.how == other.how
        && one.corrects == other.corrects
        && one.body == other.body
}

async fn known_lines(
    tx: &mut AsyncPgConnection,
    event: EventId,
    reports: &[Report],
) -> Result<HashMap<LineId, Line>, StoreError> {
    let ids: Vec<uuid::Uuid> = reports
        .iter()
        .flatten()
        .map(|entry| entry.draft.id.0)
        .collect();
    let rows: Vec<LineRow> = lines::table
        .filter(lines::event_id.eq(event.0))
        .filter(lines::id.eq_any(ids))
        .select(LineRow::as_select())
        .load(tx)
        .await?;
    rows.into_iter()
        .map(|row| Line::try_from(row).map(|line| (line.id, line)))
        .collect()
}

async fn present_revisions(
    tx: &mut AsyncPgConnection,
    event: EventId,
    reports: &[Report],
) -> Result<HashMap<Thing, i64>, StoreError> {
    let mut revisions = HashMap::new();
    for entry in reports.iter().flatten() {
        let Some(thing) = Thing::of(entry.draft.subject, &entry.draft.body) else {
            continue;
        };
        if !revisions.contains_key(&thing)
            && let Some(revision) = projection::revision_in_tx(tx, event, thing).await?
        {
            revisions.insert(thing, revision);
        }
    }
    Ok(revisions)
}

fn is_register(entry: &Entry) -> bool {
    entry.draft.body.kind().family() == Family::Register
}

fn places(count: usize) -> i64 {
    i64::try_from(count).unwrap_or(i64::MAX)
}
