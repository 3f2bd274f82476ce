//! The statements that write lines: columns as arrays, so that one prepared statement serves
//! batches of any length.

use diesel::pg::Pg;
use diesel::prelude::*;
use diesel::query_builder::{AstPass, Query, QueryFragment, QueryId};
use diesel::sql_types::{Array, BigInt, Bool, Jsonb, Nullable, SmallInt, Text, Timestamptz, Uuid};
use serde_json::Value;
use uuid::Uuid as Id;

use super::row::VERSION;
use crate::pit::ids::EventId;
use crate::pit::logbook::Line;

type Moment = chrono::DateTime<chrono::Utc>;

/// Lines column by column.
struct Columns {
    event: Id,
    id: Vec<Id>,
    kind: Vec<&'static str>,
    at: Vec<Moment>,
    claimed_at: Vec<Moment>,
    recorded_at: Vec<Moment>,
    clock_doubtful: Vec<bool>,
    seen_by: Vec<Option<Id>>,
    entered_by: Vec<Option<Id>>,
    entered_as: Vec<&'static str>,
    subject: Vec<String>,
    how: Vec<Option<&'static str>>,
    corrects: Vec<Option<Id>>,
    body: Vec<Value>,
}

impl Columns {
    fn of(event: EventId, lines: &[Line]) -> Self {
        Self {
            event: event.0,
            id: lines.iter().map(|line| line.id.0).collect(),
            kind: lines.iter().map(|line| line.kind().name()).collect(),
            at: lines.iter().map(|line| line.at).collect(),
            claimed_at: lines.iter().map(|line| line.claimed_at).collect(),
            recorded_at: lines.iter().map(|line| line.recorded_at).collect(),
            clock_doubtful: lines.iter().map(|line| line.clock_doubtful).collect(),
            seen_by: lines.iter().map(|line| line.seen_by.map(|p| p.0)).collect(),
            entered_by: lines
                .iter()
                .map(|line| line.entered_by.person.map(|p| p.0))
                .collect(),
            entered_as: lines
                .iter()
                .map(|line| line.entered_by.role.as_str())
                .collect(),
            subject: lines.iter().map(|line| line.subject.to_string()).collect(),
            how: lines
                .iter()
                .map(|line| line.how.map(|how| how.as_str()))
                .collect(),
            corrects: lines
                .iter()
                .map(|line| line.corrects.map(|id| id.0))
                .collect(),
            body: lines.iter().map(|line| line.body.to_value()).collect(),
        }
    }

    /// `unnest($n, ..)` over every column.
    fn unnest<'b>(&'b self, out: &mut AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql("unnest(");
        out.push_bind_param::<Array<Uuid>, _>(&self.id)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Text>, _>(&self.kind)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Timestamptz>, _>(&self.at)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Timestamptz>, _>(&self.claimed_at)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Timestamptz>, _>(&self.recorded_at)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Bool>, _>(&self.clock_doubtful)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Nullable<Uuid>>, _>(&self.seen_by)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Nullable<Uuid>>, _>(&self.entered_by)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Text>, _>(&self.entered_as)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Text>, _>(&self.subject)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Nullable<Text>>, _>(&self.how)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Nullable<Uuid>>, _>(&self.corrects)?;
        out.push_sql(", ");
        out.push_bind_param::<Array<Jsonb>, _>(&self.body)?;
        out.push_sql(
            ") WITH ORDINALITY AS line (id, kind, at, claimed_at, recorded_at, clock_doubtful, \
             seen_by, entered_by, entered_as, subject, how, corrects, body, place)",
        );
        Ok(())
    }
}

const INTO: &str = "INSERT INTO lines (event_id, seq, id, kind, version, at, claimed_at, \
     recorded_at, clock_doubtful, seen_by, entered_by, entered_as, subject, how, corrects, body) ";

const VALUES: &str = "line.id, line.kind, ";

const REST: &str = ", line.at, line.claimed_at, line.recorded_at, line.clock_doubtful, \
     line.seen_by, line.entered_by, line.entered_as, line.subject, line.how, line.corrects, \
     line.body FROM ";

/// Entry point to the two statements.
pub(super) struct InsertLines;

impl InsertLines {
    /// Gives out the next places of the event and returns the last; no row if there is no event.
    pub fn giving_places(event: EventId, lines: &[Line]) -> GivingPlaces {
        GivingPlaces {
            count: i64::try_from(lines.len()).unwrap_or(i64::MAX),
            columns: Columns::of(event, lines),
        }
    }

    /// Writes lines that have consecutive places already.
    pub fn in_their_places(event: EventId, lines: &[Line]) -> InTheirPlaces {
        InTheirPlaces {
            before: lines.first().map_or(0, |line| line.seq - 1),
            columns: Columns::of(event, lines),
        }
    }
}

/// See [`InsertLines::giving_places`].
pub(super) struct GivingPlaces {
    count: i64,
    columns: Columns,
}

impl QueryId for GivingPlaces {
    type QueryId = Self;
    const HAS_STATIC_QUERY_ID: bool = true;
}

impl Query for GivingPlaces {
    type SqlType = BigInt;
}

impl QueryFragment<Pg> for GivingPlaces {
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql("WITH event AS (UPDATE events SET last_seq = last_seq + ");
        out.push_bind_param::<BigInt, _>(&self.count)?;
        out.push_sql(" WHERE id = ");
        out.push_bind_param::<Uuid, _>(&self.columns.event)?;
        out.push_sql(" RETURNING id, last_seq), added AS (");
        out.push_sql(INTO);
        out.push_sql("SELECT event.id, event.last_seq - ");
        out.push_bind_param::<BigInt, _>(&self.count)?;
        out.push_sql(" + line.place, ");
        out.push_sql(VALUES);
        out.push_bind_param::<SmallInt, _>(&VERSION)?;
        out.push_sql(REST);
        out.push_sql("event, ");
        self.columns.unnest(&mut out)?;
        out.push_sql(") SELECT last_seq FROM event");
        Ok(())
    }
}

impl<C> RunQueryDsl<C> for GivingPlaces {}

/// See [`InsertLines::in_their_places`].
pub(super) struct InTheirPlaces {
    before: i64,
    columns: Columns,
}

impl QueryId for InTheirPlaces {
    type QueryId = Self;
    const HAS_STATIC_QUERY_ID: bool = true;
}

impl QueryFragment<Pg> for InTheirPlaces {
    fn walk_ast<'b>(&'b self, mut out: AstPass<'_, 'b, Pg>) -> QueryResult<()> {
        out.push_sql(INTO);
        out.push_sql("SELECT ");
        out.push_bind_param::<Uuid, _>(&self.columns.event)?;
        out.push_sql(", ");
        out.push_bind_param::<BigInt, _>(&self.before)?;
        out.push_sql(" + line.place, ");
        out.push_sql(VALUES);
        out.push_bind_param::<SmallInt, _>(&VERSION)?;
        out.push_sql(REST);
        self.columns.unnest(&mut out)
    }
}

impl<C> RunQueryDsl<C> for InTheirPlaces {}
