//! The logbook: lines are added in batches, never changed, and read in order.

mod append;
mod entry;
mod insert;
mod row;

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl};

use super::StoreError;
use super::schema::{events, lines};
use crate::pit::ids::{EventId, Subject};
use crate::pit::logbook::{Kind, Line};
use row::LineRow;

pub use append::{NotRecorded, Outcome, Recorded};
pub use entry::{Entry, Report};

/// Which lines to list.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only lines of these kinds; of any kind if empty.
    pub kinds: Vec<Kind>,
    /// Only lines about this.
    pub subject: Option<Subject>,
    /// Only lines after this place.
    pub after: Option<i64>,
    /// Only lines before this place; the newest come first if it is given or nothing is.
    pub before: Option<i64>,
    /// At most this many.
    pub limit: i64,
}

/// An event as the writers of its logbook see it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EventState {
    /// The event.
    pub id: EventId,
    /// Place of its last line, 0 if there is none.
    pub last_seq: i64,
    /// When it was created.
    pub created_at: DateTime<Utc>,
}

/// Adds reports to an event's logbook in one transaction.
///
/// Each report has an outcome of its own as far as that can be told without an error of the
/// database; a report that is refused so leaves no trace, and the others are recorded.
///
/// # Errors
/// If the database refuses anything, nothing is recorded at all: the caller tries each report
/// alone to learn whose it was.
pub async fn append(
    connection: &mut AsyncPgConnection,
    event: EventId,
    reports: &[Report],
) -> Result<Vec<Outcome>, StoreError> {
    if let Some(outcomes) = append::in_one_statement(connection, event, reports).await? {
        return Ok(outcomes);
    }
    connection
        .transaction(async |tx| append::in_tx(tx, event, reports).await)
        .await
}

/// Creates an event together with its first lines; an event that exists already is left as it is.
///
/// # Errors
/// As [`append`].
pub async fn found(
    connection: &mut AsyncPgConnection,
    event: EventId,
    created_at: DateTime<Utc>,
    created_by: Option<uuid::Uuid>,
    first: &Report,
) -> Result<Outcome, StoreError> {
    connection
        .transaction(async |tx| {
            diesel::insert_into(events::table)
                .values((
                    events::id.eq(event.0),
                    events::last_seq.eq(0),
                    events::created_at.eq(created_at),
                    events::created_by.eq(created_by),
                ))
                .on_conflict_do_nothing()
                .execute(tx)
                .await?;
            let mut outcomes = append::in_tx(tx, event, std::slice::from_ref(first)).await?;
            match outcomes.pop() {
                Some(Ok(recorded)) => Ok(Ok(recorded)),
                // An event without its first line would be nobody's.
                Some(Err(refused)) => Err(Founding::Refused(refused)),
                None => Err(Founding::Store(StoreError::bug(
                    "a report without an outcome",
                ))),
            }
        })
        .await
        .map_or_else(
            |failed| match failed {
                Founding::Refused(refused) => Ok(Err(refused)),
                Founding::Store(cause) => Err(cause),
            },
            Ok,
        )
}

/// Why an event was not created, while its transaction has yet to be rolled back.
enum Founding {
    Refused(NotRecorded),
    Store(StoreError),
}

impl From<diesel::result::Error> for Founding {
    fn from(cause: diesel::result::Error) -> Self {
        Self::Store(cause.into())
    }
}

impl From<StoreError> for Founding {
    fn from(cause: StoreError) -> Self {
        Self::Store(cause)
    }
}

/// The lines of an event after a place, in order, at most `limit`.
///
/// # Errors
/// [`StoreError::Unavailable`], or [`StoreError::Bug`] for a line that cannot be read.
pub async fn read_after(
    connection: &mut AsyncPgConnection,
    event: EventId,
    after: i64,
    limit: i64,
) -> Result<Vec<Line>, StoreError> {
    let rows: Vec<LineRow> = lines::table
        .filter(lines::event_id.eq(event.0))
        .filter(lines::seq.gt(after))
        .order(lines::seq)
        .limit(limit)
        .select(LineRow::as_select())
        .load(connection)
        .await?;
    rows.into_iter().map(Line::try_from).collect()
}

/// The lines of an event that match, newest first unless only `after` is given.
///
/// # Errors
/// As [`read_after`].
pub async fn list(
    connection: &mut AsyncPgConnection,
    event: EventId,
    filter: &Filter,
) -> Result<Vec<Line>, StoreError> {
    let mut query = lines::table
        .filter(lines::event_id.eq(event.0))
        .limit(filter.limit)
        .select(LineRow::as_select())
        .into_boxed();
    if !filter.kinds.is_empty() {
        let names: Vec<&str> = filter.kinds.iter().map(|kind| kind.name()).collect();
        query = query.filter(lines::kind.eq_any(names));
    }
    if let Some(subject) = filter.subject {
        query = query.filter(lines::subject.eq(subject.to_string()));
    }
    if let Some(after) = filter.after {
        query = query.filter(lines::seq.gt(after));
    }
    if let Some(before) = filter.before {
        query = query.filter(lines::seq.lt(before));
    }
    query = if filter.after.is_some() && filter.before.is_none() {
        query.order(lines::seq.asc())
    } else {
        query.order(lines::seq.desc())
    };
    let rows: Vec<LineRow> = query.load(connection).await?;
    rows.into_iter().map(Line::try_from).collect()
}

/// Every event, oldest first.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn events(connection: &mut AsyncPgConnection) -> Result<Vec<EventState>, StoreError> {
    let rows: Vec<(uuid::Uuid, i64, DateTime<Utc>)> = events::table
        .order((events::created_at, events::id))
        .select((events::id, events::last_seq, events::created_at))
        .load(connection)
        .await?;
    Ok(rows
        .into_iter()
        .map(|(id, last_seq, created_at)| EventState {
            id: EventId(id),
            last_seq,
            created_at,
        })
        .collect())
}

/// The place of the last line of each of these events; unknown ones are left out.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn last_places(
    connection: &mut AsyncPgConnection,
    of: &[EventId],
) -> Result<Vec<(EventId, i64)>, StoreError> {
    let ids: Vec<uuid::Uuid> = of.iter().map(|event| event.0).collect();
    let rows: Vec<(uuid::Uuid, i64)> = events::table
        .filter(events::id.eq_any(ids))
        .select((events::id, events::last_seq))
        .load(connection)
        .await?;
    Ok(rows
        .into_iter()
        .map(|(id, seq)| (EventId(id), seq))
        .collect())
}
