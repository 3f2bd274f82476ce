//! The edge: the API, the pages and how answers look. Rules live below; nothing here uses the store.

pub mod assets;
pub mod pages;
pub mod problem;

pub use problem::{Problem, ProblemKind};
