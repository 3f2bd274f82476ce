//! What tests stand on.

pub mod cluster;
pub mod database;
