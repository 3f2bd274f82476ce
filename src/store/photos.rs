//! The bytes of photographs, each under the line that speaks of it.

use chrono::{DateTime, Utc};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};

use super::StoreError;
use super::schema::photos;
use crate::pit::ids::{EventId, LineId};

/// Most bytes that are kept of one photograph; the database's own bound is the same.
pub const MOST_BYTES: usize = 300 * 1024;

/// Keeps the bytes of a photograph, unless there are some; `false` then.
///
/// # Errors
/// [`StoreError::Refused`] by `photos_line_fk` without such a line, by `photos_jpeg_size` above
/// [`MOST_BYTES`].
pub async fn keep(
    connection: &mut AsyncPgConnection,
    event: EventId,
    line: LineId,
    jpeg: &[u8],
    now: DateTime<Utc>,
) -> Result<bool, StoreError> {
    let kept = diesel::insert_into(photos::table)
        .values((
            photos::event_id.eq(event.0),
            photos::line_id.eq(line.0),
            photos::jpeg.eq(jpeg),
            photos::recorded_at.eq(now),
        ))
        .on_conflict_do_nothing()
        .execute(connection)
        .await?;
    Ok(kept == 1)
}

/// The bytes of a photograph, if they have come.
///
/// # Errors
/// [`StoreError::Unavailable`].
pub async fn read(
    connection: &mut AsyncPgConnection,
    event: EventId,
    line: LineId,
) -> Result<Option<Vec<u8>>, StoreError> {
    Ok(photos::table
        .find((event.0, line.0))
        .select(photos::jpeg)
        .first(connection)
        .await
        .optional()?)
}
