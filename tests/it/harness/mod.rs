//! What tests stand on.

pub mod app;
pub mod around;
pub mod build;
pub mod client;
pub mod cluster;
pub mod data_folder;
pub mod database;
pub mod event;
pub mod hall;
pub mod service;

use std::time::{Duration, Instant};

/// Waits for a condition.
pub async fn wait_until(what: &str, mut condition: impl FnMut() -> bool) {
    let begun = Instant::now();
    while !condition() {
        assert!(
            begun.elapsed() < Duration::from_secs(30),
            "waiting until {what}"
        );
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
}
