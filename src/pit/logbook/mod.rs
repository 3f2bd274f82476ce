//! The logbook: what a line is, every kind there is, and how a line is read from outside.

pub mod bout;
pub mod examples;
pub mod hall;
pub mod kinds;
pub mod line;
pub mod link_plan;
pub mod machine;
pub mod photo;
pub mod register;
pub mod station;
pub mod stock;
pub mod things;
pub mod work;

pub use kinds::{Body, Family, Kind};
pub use line::{Author, Draft, How, Line, Role};
