//! SQL and nothing else: the private database, the pool, the migrations and what is kept.

pub mod cluster;
mod error;
pub mod migrate;
pub mod pool;
pub mod schema;

pub use error::StoreError;
