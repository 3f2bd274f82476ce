//! Use cases: load, decide, append, announce. Nothing here knows HTTP, and no SQL is written here.

pub mod clock;
pub mod error;
pub mod id_source;

pub use clock::Clock;
pub use error::AppError;
pub use id_source::IdSource;
