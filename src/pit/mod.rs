//! Facts and rules of the pits: the lines, the fold, energy, hazards, link plans, tasks, readiness.
//!
//! Pure: nothing here reads a clock, a file, a socket, the environment or makes an id. What is
//! known at a moment is a function of the lines; what is true at a moment is a function of what is
//! known and `now`.

pub mod announcements;
pub mod arena;
pub mod board;
pub mod bout_list;
pub mod calendar;
pub mod clashes;
pub mod clearance;
pub mod csv;
pub mod departure;
pub mod energy;
pub mod exposure;
pub mod gas;
pub mod hazards;
pub mod ids;
pub mod library;
pub mod link_plan;
pub mod logbook;
pub mod order;
pub mod packs;
pub mod photos;
pub mod postponements;
pub mod readiness;
pub mod reports;
pub mod settings;
pub mod state;
pub mod stations;
pub mod stock;
pub mod tasks;
#[cfg(test)]
pub(crate) mod testing;
pub mod weight;
