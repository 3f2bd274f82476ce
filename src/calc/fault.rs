//! What is wrong with an input, field by field.

use serde::Serialize;
use utoipa::ToSchema;

/// One thing that is wrong with an input, and where.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Fault {
    /// JSON pointer (RFC 6901) to the field, `""` for the whole document.
    pub pointer: String,
    /// A sentence a person can act on, with the allowed range where there is one.
    pub detail: String,
}

impl Fault {
    /// A fault at `pointer`.
    pub fn new(pointer: impl Into<String>, detail: impl Into<String>) -> Self {
        Self {
            pointer: pointer.into(),
            detail: detail.into(),
        }
    }
}

/// Collects every fault of an input, so that one answer names them all.
#[derive(Debug, Default)]
pub struct Faults(Vec<Fault>);

impl Faults {
    /// No faults yet.
    pub fn none() -> Self {
        Self::default()
    }

    /// Notes a fault at `pointer`.
    pub fn add(&mut self, pointer: impl Into<String>, detail: impl Into<String>) {
        self.0.push(Fault::new(pointer, detail));
    }

    /// Notes a fault unless `value` is a number from `min` to `max`, both included.
    pub fn range(&mut self, pointer: impl Into<String>, value: f64, min: f64, max: f64) {
        if !(value >= min && value <= max) {
            self.add(pointer, format!("{value} is not from {min} to {max}."));
        }
    }

    /// `value` if nothing was wrong.
    ///
    /// # Errors
    /// Every fault noted so far.
    pub fn or<T>(self, value: T) -> Result<T, Vec<Fault>> {
        if self.0.is_empty() {
            Ok(value)
        } else {
            Err(self.0)
        }
    }

    /// Whether nothing was noted so far.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The faults noted so far.
    ///
    /// # Errors
    /// Every fault noted so far, if there is one.
    pub fn check(self) -> Result<(), Vec<Fault>> {
        self.or(())
    }
}
