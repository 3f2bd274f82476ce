//! A line as a row.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use serde_json::Value;
use uuid::Uuid;

use crate::pit::ids::{EventId, LineId, PersonId};
use crate::pit::logbook::{Author, Body, How, Kind, Line, Role};
use crate::store::StoreError;
use crate::store::schema::lines;

/// The version of every kind's body so far.
pub(super) const VERSION: i16 = 1;

#[derive(Queryable, Selectable)]
#[diesel(table_name = lines, check_for_backend(diesel::pg::Pg))]
pub(super) struct LineRow {
    event_id: Uuid,
    seq: i64,
    id: Uuid,
    kind: String,
    version: i16,
    at: DateTime<Utc>,
    claimed_at: DateTime<Utc>,
    recorded_at: DateTime<Utc>,
    clock_doubtful: bool,
    seen_by: Option<Uuid>,
    entered_by: Option<Uuid>,
    entered_as: String,
    subject: String,
    how: Option<String>,
    corrects: Option<Uuid>,
    body: Value,
}

impl TryFrom<LineRow> for Line {
    type Error = StoreError;

    fn try_from(row: LineRow) -> Result<Self, StoreError> {
        let unreadable = |what: &str| {
            StoreError::bug(format!(
                "line {} of event {}: {what} cannot be read",
                row.seq, row.event_id
            ))
        };
        if row.version != VERSION {
            return Err(unreadable("its version"));
        }
        let kind = Kind::named(&row.kind).ok_or_else(|| unreadable("its kind"))?;
        let body = Body::read(kind, &row.body, "").map_err(|_| unreadable("its body"))?;
        let how = match &row.how {
            None => None,
            Some(word) => Some(How::named(word).ok_or_else(|| unreadable("its how"))?),
        };
        Ok(Self {
            event: EventId(row.event_id),
            seq: row.seq,
            id: LineId(row.id),
            at: row.at,
            claimed_at: row.claimed_at,
            clock_doubtful: row.clock_doubtful,
            recorded_at: row.recorded_at,
            seen_by: row.seen_by.map(PersonId),
            entered_by: Author {
                person: row.entered_by.map(PersonId),
                role: Role::named(&row.entered_as).ok_or_else(|| unreadable("its role"))?,
            },
            subject: row.subject.parse().map_err(|_| unreadable("its subject"))?,
            how,
            corrects: row.corrects.map(LineId),
            body,
        })
    }
}
