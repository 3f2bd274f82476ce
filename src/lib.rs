//! linkout: one shared account of every machine in the pits of a combat-robot event.

pub mod app;
pub mod auth;
pub mod calc;
pub mod cli;
pub mod config;
pub mod http;
pub mod live;
pub mod pit;
pub mod store;
pub mod telemetry;
