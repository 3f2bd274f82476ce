//! The edge: the API, the pages and how answers look. Rules live below; nothing here uses the store.

pub mod api;
pub mod assets;
pub mod document;
pub mod edge;
pub mod known;
pub mod pages;
pub mod problem;
mod problem_page;
mod same_site;
mod security;
pub mod server;
pub mod signed;

pub use problem::{Problem, ProblemKind};
