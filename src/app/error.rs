//! Why a use case did not do what was asked.

use super::stale::Difference;
use crate::calc::fault::Fault;
use std::error::Error;

/// Why a use case did not do what was asked, in words that whoever asked may read.
///
/// Only [`AppError::Unavailable`] and [`AppError::Bug`] carry a cause; it is logged once at the
/// edge and never sent.
#[derive(Debug, thiserror::Error)]
pub enum AppError {
    /// Well formed, but against a rule: every rule at once.
    #[error("{}", first("the input is against a rule", .0))]
    Refused(Vec<Fault>),
    /// Not of the published form: every fault at once.
    #[error("{}", first("the input is not of the published form", .0))]
    Malformed(Vec<Fault>),
    /// It does not exist, or is none of the asker's business.
    #[error("nothing of that name is here")]
    Unknown,
    /// Based on a revision that is no longer the last.
    #[error("the revision it is based on is not the last, which is {current:?}")]
    Stale {
        /// The last revision; none if the thing does not exist.
        current: Option<i64>,
        /// What changed since.
        changes: Vec<Difference>,
    },
    /// Another thing stands in the way: an id used for something else, a name taken.
    #[error("{detail}")]
    Conflict {
        /// What stands in the way.
        detail: String,
    },
    /// The asker may not do this, and its existence is no secret.
    #[error("{detail}")]
    Forbidden {
        /// Who may.
        detail: String,
    },
    /// Nobody is signed in, or the token no longer counts.
    #[error("nobody is signed in")]
    Unauthenticated,
    /// Asked too often.
    #[error("asked too often; again in {retry_after_s} s")]
    TooMany {
        /// Seconds until it makes sense to ask again.
        retry_after_s: u32,
    },
    /// Cannot be done at the moment; nothing was recorded.
    #[error("not available at the moment; again in {retry_after_s} s")]
    Unavailable {
        /// Seconds until it makes sense to ask again.
        retry_after_s: u32,
        /// Why.
        #[source]
        cause: Option<Box<dyn Error + Send + Sync>>,
    },
    /// Something that cannot happen, happened.
    #[error("a fault in linkout itself")]
    Bug(#[source] Box<dyn Error + Send + Sync>),
}

impl AppError {
    /// A refusal for one reason.
    pub fn refused(pointer: impl Into<String>, detail: impl Into<String>) -> Self {
        Self::Refused(vec![Fault::new(pointer, detail)])
    }

    /// One fault of form.
    pub fn malformed(pointer: impl Into<String>, detail: impl Into<String>) -> Self {
        Self::Malformed(vec![Fault::new(pointer, detail)])
    }

    /// Something in the way.
    pub fn conflict(detail: impl Into<String>) -> Self {
        Self::Conflict {
            detail: detail.into(),
        }
    }

    /// Not allowed, and who is.
    pub fn forbidden(detail: impl Into<String>) -> Self {
        Self::Forbidden {
            detail: detail.into(),
        }
    }

    /// Something that cannot happen.
    pub fn bug(cause: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self::Bug(cause.into())
    }
}

fn first(what: &str, faults: &[Fault]) -> String {
    match faults {
        [] => what.to_owned(),
        [one] => format!("{what}: {} {}", one.pointer, one.detail),
        [one, rest @ ..] => format!(
            "{what}: {} {} (and {} more)",
            one.pointer,
            one.detail,
            rest.len()
        ),
    }
}
