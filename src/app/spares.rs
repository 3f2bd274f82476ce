//! A team's box of spares, worked out beside the requests.

use super::AppError;
use crate::pit::ids::TeamId;
use crate::pit::state::Pit;
use crate::pit::stock::{BoxDay, box_day};
use chrono::{DateTime, Utc};
use std::sync::Arc;

/// A team's box and whether it lasts the rest of the day.
///
/// # Errors
/// [`AppError::Unknown`] for a team that does not exist, [`AppError::Refused`] with what the
/// calculators refuse.
pub async fn of_team(pit: &Arc<Pit>, team: TeamId, now: DateTime<Utc>) -> Result<BoxDay, AppError> {
    if !pit.teams.contains_key(&team) {
        return Err(AppError::Unknown);
    }
    let pit = pit.clone();
    beside(move || box_day(&pit, team, now).map_err(AppError::Refused)).await
}

/// Runs something that may take a while beside the requests.
///
/// # Errors
/// Whatever it says; [`AppError::Bug`] if it panicked.
pub async fn beside<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, AppError> + Send + 'static,
) -> Result<T, AppError> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(AppError::bug)?
}
