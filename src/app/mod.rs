//! Use cases: load, decide, append, announce. Nothing here knows HTTP, and no SQL is written here.

pub mod error;

pub use error::AppError;
