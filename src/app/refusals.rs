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

/// Rules that linkout keeps by itself, each with how: nothing anybody sends can break one, so a row
/// that does is a fault of linkout.
pub const KEPT: &[(&str, &str)] = &[
    (
        "accounts_login_lower",
        "a login is lowered before it is kept",
    ),
    ("accounts_pkey", "the id is made here"),
    ("bottle_stamps_bottle_fk", "written with its bottle"),
    (
        "bottle_stamps_pkey",
        "written with its bottle, after the one before is taken away",
    ),
    (
        "calendars_of_one",
        "made for the one thing that was asked for",
    ),
    ("calendars_pkey", "the id is made here"),
    ("calendars_secret_hash_length", "hashed here"),
    (
        "calendars_secret_once",
        "made here, of 128 random bits or more",
    ),
    (
        "events_created_by_fk",
        "the account that is signed in; accounts are closed, never deleted",
    ),
    ("events_last_seq_from", "counted by the writer"),
    ("events_pkey", "the id is made here"),
    ("join_codes_code_hash_length", "hashed here"),
    ("join_codes_created_by_fk", "the account that is signed in"),
    ("join_codes_pkey", "made here, of 50 random bits"),
    (
        "join_codes_uses_left_from",
        "counted down only while some are left",
    ),
    ("lines_body_object", "a body is read as an object"),
    ("lines_entered_as_known", "the role of the session"),
    ("lines_kind_length", "the name of a kind of line"),
    ("lines_pkey", "places are given out by the writer"),
    ("lines_seq_from", "places are given out by the writer"),
    ("lines_subject_form", "a subject is read and written anew"),
    ("lines_version_from", "the version of a kind of line"),
    ("part_fits_part_type_fk", "written with its part type"),
    ("photos_jpeg_size", "made small enough before it is kept"),
    (
        "photos_line_fk",
        "the line is looked up first; lines are never deleted",
    ),
    ("photos_pkey", "kept only where there is none"),
    ("sessions_account_fk", "the account that signs in"),
    ("sessions_belong", "opened for an event or an account"),
    ("sessions_pkey", "the id is made here"),
    ("sessions_role_known", "the role of a join code"),
    (
        "set_packs_place_between",
        "places are given out from 0, and a set is short",
    ),
    ("set_packs_set_fk", "written with its set"),
];

/// The refusal that the name of a constraint stands for.
fn refused_by(constraint: &str) -> AppError {
    let ends = |end: &str| constraint.ends_with(end);
    if ends("_event_fk") || KEPT.iter().any(|(name, _)| *name == constraint) {
        return AppError::bug(format!("the rule {constraint} was broken"));
    }
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
        _ if ["_between", "_length", "_known", "_form", "_one", "_from"]
            .into_iter()
            .any(ends) =>
        {
            AppError::refused("", format!("A value is out of bounds ({constraint})."))
        }
        _ => AppError::bug(format!("nobody knows the rule {constraint}")),
    }
}
