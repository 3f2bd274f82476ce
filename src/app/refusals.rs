//! What the database's refusals mean to whoever asked.

use crate::app::AppError;
use crate::store::logbook::NotRecorded;
use crate::store::{StoreError, TEXT_WITHOUT_NUL};

/// Seconds after which it makes sense to try again: a private database is back in less.
const RETRY_AFTER_S: u32 = 1;

impl From<StoreError> for AppError {
    fn from(cause: StoreError) -> Self {
        match cause {
            StoreError::Refused { constraint, .. } => refused_by(&constraint),
            StoreError::Contended(_) | StoreError::Unavailable(_) => Self::Unavailable {
                retry_after_s: RETRY_AFTER_S,
                cause: Some(cause.into()),
            },
            StoreError::Bug(cause) => Self::Bug(cause),
        }
    }
}

impl From<NotRecorded> for AppError {
    fn from(cause: NotRecorded) -> Self {
        match cause {
            NotRecorded::NoEvent(_) => Self::Unknown,
            NotRecorded::IdUsed { id, seq } => Self::conflict(format!(
                "The id {id} was used for another line, which stands at {seq}. Give this one an id of its own."
            )),
            NotRecorded::Stale { present, .. } => Self::Stale {
                current: present,
                changes: Vec::new(),
            },
            NotRecorded::Store(cause) => cause.into(),
        }
    }
}

/// The refusal that the name of a constraint stands for.
fn refused_by(constraint: &str) -> AppError {
    let ends = |end: &str| constraint.ends_with(end);
    match constraint {
        "accounts_login_once" => AppError::conflict("This login is taken."),
        "lines_corrects_fk" => {
            AppError::refused("/corrects", "The line it corrects is not in this logbook.")
        }
        "lines_at_not_ahead" => AppError::refused("/at", "It lies in the future."),
        "bouts_two_robots" => {
            AppError::refused("/body/slots", "A robot does not fight against itself.")
        }
        "bouts_not_after_itself" => {
            AppError::refused("/body/slots", "A bout does not wait for its own end.")
        }
        "event_details_days_in_order" => {
            AppError::refused("/body/last_day", "The last day is before the first.")
        }
        "circuits_not_fed_by_itself" => AppError::refused("/body/fed_by", "Nothing feeds itself."),
        "part_fits_pkey" => AppError::refused("/body/fits", "A robot is named twice."),
        "set_packs_pkey" => AppError::refused("/body/packs", "A pack is in the set twice."),
        "lines_only_grow" => AppError::refused("", "What is in the logbook stays as it is."),
        TEXT_WITHOUT_NUL => AppError::refused("", "Text cannot hold the character U+0000."),
        _ if ends("_name_once") => AppError::conflict("This name is taken at this event."),
        _ if ends("_label_once") => AppError::conflict("The team has another one with this label."),
        _ if ends("_fk") => AppError::refused(
            "",
            format!("It names something that is not registered ({constraint})."),
        ),
        _ if ends("_pkey") || ends("_once") => {
            AppError::conflict(format!("It is there already ({constraint})."))
        }
        _ => AppError::refused("", format!("A value is out of bounds ({constraint}).")),
    }
}
