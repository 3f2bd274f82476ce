//! Reading the logbook: what was written, as far as it is the reader's to see.

use super::{App, AppError, signed::Signed};
use crate::auth::{Reach, may, to_read};
use crate::pit::ids::{EventId, Subject};
use crate::pit::logbook::{Kind, Line};
use crate::pit::state::Pit;
use crate::store::logbook::{self, Filter};

/// Which lines to read, oldest first.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Of these kinds; of every kind if empty.
    pub kinds: Vec<Kind>,
    /// About this.
    pub subject: Option<Subject>,
    /// After this place.
    pub after: i64,
    /// At most this many.
    pub limit: usize,
}

/// Lines, and the place to go on from if there may be more.
#[derive(Debug)]
pub struct Read {
    /// The lines.
    pub lines: Vec<Line>,
    /// The place of the last line that was looked at, if there are more.
    pub go_on_after: Option<i64>,
}

/// Whether a line is for the eyes of `signed`.
pub fn may_see(signed: &Signed, pit: &Pit, line: &Line) -> bool {
    match may(signed.role, to_read(line.kind())) {
        Reach::Everything => true,
        Reach::Nothing => false,
        Reach::OwnTeam => {
            let team = pit.team_of(line.subject);
            team.is_some() && team == signed.team
        }
    }
}

/// Reads lines. A page may hold fewer than asked for, where lines of others lie in between.
///
/// # Errors
/// [`AppError::Unavailable`].
pub async fn read(
    app: &App,
    signed: &Signed,
    event: EventId,
    wanted: &Wanted,
) -> Result<Read, AppError> {
    let pit = app.events.open(event).await?.pit();
    let limit = i64::try_from(wanted.limit).unwrap_or(i64::MAX);
    let mut connection = app.pool.get().await?;
    let found = logbook::list(
        &mut connection,
        event,
        &Filter {
            kinds: wanted.kinds.clone(),
            subject: wanted.subject,
            after: Some(wanted.after),
            before: None,
            limit: limit.saturating_add(1),
        },
    )
    .await?;
    let more = found.len() > wanted.limit;
    let looked_at = &found[..found.len().min(wanted.limit)];
    Ok(Read {
        go_on_after: looked_at.last().filter(|_| more).map(|line| line.seq),
        lines: looked_at
            .iter()
            .filter(|line| may_see(signed, &pit, line))
            .cloned()
            .collect(),
    })
}
