//! Who somebody is and what they may do: tokens, passwords, codes, and the two tables of rights.

pub mod actions;
pub mod code;
pub mod password;
pub mod pin;
pub mod rights;
pub mod throttle;
pub mod token;

pub use actions::{Action, may, to_read};
pub use rights::{Reach, may_correct, may_write, who_may_write};
pub use token::{Claims, Key, Tokens};
