//! Mathematics and physics that know no pit: they take numbers and give numbers.
//!
//! Every calculator has one published input and one published output (serde, OpenAPI schema), is a
//! pure function of its input, and answers bad input with every [`fault::Fault`] at once. The name
//! of a calculator means one place: `POST /api/v1/calc/turnaround`, `linkout calc turnaround` and
//! `calc::turnaround` are the same thing.

pub mod battery;
pub mod durations;
pub mod fault;
pub mod gas;
mod names;
mod objects;
pub mod running_order;
pub mod spares;
pub mod strict;
pub mod table;
pub mod turnaround;
pub mod units;
