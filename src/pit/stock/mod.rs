//! Spares: how many there are, whether they last the day, what to get now.
//!
//! Counts are never kept: they are what the register line says was brought, and every line since.

mod ahead;
mod day;
mod jointly;
mod pack;
mod shelf;
mod swap;
pub mod table;

#[cfg(test)]
mod tests;

pub use ahead::bouts_ahead;
pub use day::{BoxDay, InBox, box_day, parts_of};
pub use jointly::bouts_jointly;
pub use pack::{Format, Packed, Proof, Wish, pack};
pub use shelf::{Shelf, shelf};
pub use swap::{Swap, swap, types_for};
