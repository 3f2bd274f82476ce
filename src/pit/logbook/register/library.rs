//! A team's own task library.

use super::robot::Machine;
use crate::calc::units::{Count, Name, Word};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// Minutes of a task as three points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ThreePoint {
    /// If all goes well.
    #[schema(minimum = 0, maximum = 1440)]
    pub optimistic: f64,
    /// Most often.
    #[schema(minimum = 0, maximum = 1440)]
    pub likely: f64,
    /// If it does not.
    #[schema(minimum = 0, maximum = 1440)]
    pub pessimistic: f64,
}

/// What a team changes in a task of the library.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TaskChange {
    /// Other minutes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub minutes: Option<ThreePoint>,
    /// Another value, for optional repairs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub value: Option<Count>,
    /// Another name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<Name>,
    /// Other skills.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 6)]
    pub skills: Option<Vec<Word>>,
    /// Never done by this team; not for safety tasks.
    #[serde(default)]
    pub never: bool,
}

/// A team's own copy of a task library, as changes to the product's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Library {
    /// For which type of machine.
    pub machine: Machine,
    /// Changes by task id.
    pub changes: BTreeMap<String, TaskChange>,
}
