//! Tests of the whole, against a real database.

mod accounts;
mod api_board;
mod api_conventions;
mod api_examples;
mod api_hostile;
mod api_lines;
mod api_register;
mod api_sessions;
mod architecture;
mod auth_matrix;
mod crash;
mod demo;
mod harness;
mod logbook;
mod migrations;
mod openapi;
mod pages;
mod planner;
mod private_cluster;
mod problems;
mod schema;
mod second_person;
mod tables;
mod writer;
