//! The planner against problems whose best plans are known, and against faulty input.

mod brute;
mod faults;
mod pit;
