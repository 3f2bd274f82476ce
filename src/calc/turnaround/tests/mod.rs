//! The planner against problems whose best plans are known, and against faulty input.

mod brute;
mod chain;
mod faults;
mod help;
mod merges;
mod odds;
mod pit;
mod published;
