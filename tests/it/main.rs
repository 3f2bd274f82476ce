//! Tests of the whole, against a real database.

mod harness;
mod migrations;
mod private_cluster;
mod schema;
