//! SQL and nothing else: the private database, the pool, the migrations and what is kept.

pub mod accounts;
pub mod calendars;
pub mod cluster;
mod error;
pub mod join_codes;
pub mod listen;
pub mod logbook;
pub mod migrate;
pub mod names;
pub mod photos;
pub mod pool;
pub mod projection;
pub mod schema;
pub mod sessions;
pub mod turn;

pub use error::{StoreError, TEXT_WITHOUT_NUL};

use crate::pit::logbook::Role;

/// The role a row names; the constraint of its column knows the same words.
fn role(word: &str) -> Result<Role, StoreError> {
    Role::named(word).ok_or_else(|| StoreError::bug(format!("there is no role '{word}'")))
}
