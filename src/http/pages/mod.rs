//! Pages: functions that take a view and give markup, and the code that makes views of the pit.

pub mod bench;
pub mod board;
pub mod danger;
pub mod form;
pub mod join;
pub mod keypad;
pub mod link_plan;
pub mod logbook;
pub mod marshal;
pub mod parts;
pub mod problem;
pub mod reader;
pub mod register;
pub mod report;
pub mod robot_now;
pub mod team;
pub mod wall;
pub mod words;

#[cfg(test)]
mod samples;
