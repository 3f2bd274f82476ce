//! Today's tasks of a robot: which are called, what each waits for, how far it is.
//!
//! A task is identified by robot, number of the turnaround, id in the library and area, so that two
//! phones that start it while offline start the same one. A fact closes its task: a line that says
//! what the row of a report says, with the task's predecessors closed before or on the same sheet.

pub mod advice;
mod build;
pub mod call;
mod close;
pub mod gate;
mod graph;
pub mod hand;
mod hang;
mod lay;
pub mod left;
pub mod lessons;
pub mod moved;
mod names;
mod plan;
pub mod problem;
pub mod publish;
mod staff;
pub mod today;
pub mod work;

#[cfg(test)]
mod planning;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod publishing;
#[cfg(test)]
pub(in crate::pit) mod testing;
#[cfg(test)]
mod tests;

pub use hand::Hand;
pub use left::Basis;
pub use problem::TeamProblem;
pub use today::{Item, LeftOut, Progress, TaskKey, Today, Unit, after_next_bout, today};
pub use work::work;
