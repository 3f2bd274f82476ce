//! What pages are put together from; every part takes plain values and gives markup.

pub mod banner;
pub mod call;
pub mod clock;
pub mod energy;
pub mod fields;
pub mod frame;
pub mod lanes;
pub mod next;
pub mod robot_row;
pub mod sheet;
pub mod signs;
pub mod verdict;
