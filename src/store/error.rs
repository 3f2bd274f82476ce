//! What can go wrong with the database, told apart by what the caller can do about it.

use diesel::result::{DatabaseErrorKind, Error as DieselError};

/// What went wrong with the database.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// A named constraint refused a row; the name says which rule it breaks.
    #[error("the constraint {constraint} refuses it")]
    Refused {
        /// The name of the constraint.
        constraint: String,
        /// What the database said.
        #[source]
        cause: DieselError,
    },
    /// Somebody else changed the same thing at the same moment; trying again may succeed.
    #[error("another change came at the same moment")]
    Contended(#[source] DieselError),
    /// The database cannot be reached or is on its way up or down; trying again later may succeed.
    #[error("the database is not available")]
    Unavailable(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// A fault of this program or of what is stored.
    #[error("a statement failed that should not")]
    Bug(#[source] Box<dyn std::error::Error + Send + Sync>),
}

impl StoreError {
    /// A fault of this program or of what is stored, told by this program itself.
    pub(crate) fn bug(what: impl Into<String>) -> Self {
        Self::Bug(what.into().into())
    }

    /// The name of the constraint that refused a row.
    #[must_use]
    pub fn constraint(&self) -> Option<&str> {
        match self {
            Self::Refused { constraint, .. } => Some(constraint),
            Self::Contended(_) | Self::Unavailable(_) | Self::Bug(_) => None,
        }
    }
}

/// The rule that a text without U+0000 is all PostgreSQL can keep, named as if it were a constraint.
pub const TEXT_WITHOUT_NUL: &str = "text_without_nul";

/// What a server says about U+0000, in text and in JSON.
const NUL: [&str; 2] = [
    "invalid byte sequence",
    "unsupported Unicode escape sequence",
];

/// What a server says when it is going, coming, full, or not the one that takes writes. The client
/// library passes on the text, not the code.
///
/// **Source** PostgreSQL 15, `postmaster.c`, `postgres.c` and `proc.c`, from memory.
const PASSING: [&str; 8] = [
    "terminating connection",
    "the database system is",
    "too many clients",
    "remaining connection slots",
    "too many connections",
    "canceling statement due to",
    "canceling authentication due to",
    "in a read-only transaction",
];

impl From<DieselError> for StoreError {
    fn from(cause: DieselError) -> Self {
        use DatabaseErrorKind as Kind;
        let DieselError::DatabaseError(kind, said) = &cause else {
            return match cause {
                DieselError::BrokenTransactionManager => Self::Unavailable(Box::new(cause)),
                other => Self::Bug(Box::new(other)),
            };
        };
        if let Some(constraint) = said.constraint_name() {
            let constraint = constraint.to_owned();
            return Self::Refused { constraint, cause };
        }
        match kind {
            Kind::SerializationFailure => Self::Contended(cause),
            Kind::UnableToSendCommand | Kind::ClosedConnection | Kind::ReadOnlyTransaction => {
                Self::Unavailable(Box::new(cause))
            }
            _ if said.message().contains("deadlock detected") => Self::Contended(cause),
            _ if PASSING.iter().any(|text| said.message().contains(text)) => {
                Self::Unavailable(Box::new(cause))
            }
            _ if NUL.iter().any(|text| said.message().contains(text)) => Self::Refused {
                constraint: TEXT_WITHOUT_NUL.to_owned(),
                cause,
            },
            _ => Self::Bug(Box::new(cause)),
        }
    }
}
