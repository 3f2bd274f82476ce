//! Use cases: load, decide, append, announce. Nothing here knows HTTP, and no SQL is written here.

pub mod clock;
pub mod door;
pub mod error;
pub mod event;
pub mod events;
pub mod id_source;
pub mod receive;
mod refusals;
pub mod tail;
mod writer;

pub use clock::Clock;
pub use error::AppError;
pub use event::Event;
pub use events::Events;
pub use id_source::IdSource;

pub use crate::store::logbook::{Entry, Recorded, Report};
