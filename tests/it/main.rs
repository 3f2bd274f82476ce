//! Tests of the whole, against a real database.

mod accounts;
mod crash;
mod harness;
mod logbook;
mod migrations;
mod private_cluster;
mod schema;
mod writer;
