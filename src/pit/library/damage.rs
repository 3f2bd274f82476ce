//! Areas of the machine types and the kinds of damage found there.

use crate::pit::logbook::register::Machine;
use serde::Deserialize;
use std::collections::BTreeMap;

/// Every machine type's areas and kinds of damage.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DamageFile {
    /// Counts up when the meaning of the file changes.
    pub version: u32,
    /// What the file holds.
    pub note: String,
    /// By machine type.
    pub machines: BTreeMap<Machine, MachineDamage>,
}

/// A machine type's areas and kinds of damage.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MachineDamage {
    /// Areas to tap.
    pub areas: Vec<Area>,
    /// Kinds of damage.
    pub kinds: Vec<DamageKind>,
}

impl MachineDamage {
    /// The area called `id`.
    pub fn area(&self, id: &str) -> Option<&Area> {
        self.areas.iter().find(|area| area.id == id)
    }

    /// The kind called `id`.
    pub fn kind(&self, id: &str) -> Option<&DamageKind> {
        self.kinds.iter().find(|kind| kind.id == id)
    }
}

/// An area to tap.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Area {
    /// Unique in the machine type.
    pub id: String,
    /// What people call it.
    pub label: String,
    /// Kinds of damage offered there.
    pub kinds: Vec<String>,
}

/// What a kind of damage makes suspect.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Suspect {
    /// The packs that were fitted.
    Pack,
    /// The bottle that was fitted.
    Bottle,
}

/// A kind of damage.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DamageKind {
    /// Unique in the machine type.
    pub id: String,
    /// What people call it.
    pub label: String,
    /// Tasks of the turnaround list it calls.
    pub calls: Vec<String>,
    /// What is suspect until it is cleared.
    pub suspect: Option<Suspect>,
    /// What else there is to know.
    pub note: String,
}
