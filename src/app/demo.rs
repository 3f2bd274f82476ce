//! The demo: an invented event whose past is entered through the door, and which goes on by itself.

pub mod cast;
pub mod day;
pub mod entry;
pub mod play;
pub mod plot;
pub mod programme;
