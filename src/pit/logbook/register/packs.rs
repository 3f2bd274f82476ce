//! Packs, and which of them are used together.

use crate::calc::units::{Charge, Count, Current, Name, Resistance, Word};
use crate::pit::ids::{PackId, RobotId, TeamId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Chemistry of a pack.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Chemistry {
    /// Lithium polymer.
    Lipo,
    /// Lithium nickel manganese cobalt.
    Nmc,
    /// Lithium iron phosphate.
    Lfp,
}

/// A pack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// Its team.
    pub team: TeamId,
    /// What is written on it.
    pub label: Name,
    /// Its chemistry.
    pub chemistry: Chemistry,
    /// Cells in series.
    pub cells: Count,
    /// Cells side by side at each step of the series.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub parallel_cells: Count,
    /// Nominal capacity of the whole pack.
    pub capacity_mah: Charge,
    /// Most current it may be charged with; its capacity in one hour if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_charge_ma: Option<Current>,
    /// Resistance of one cell as a charger read it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cell_resistance_uohm: Option<Resistance>,
    /// Full cycles it had before the event.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cycles_before: Option<Count>,
    /// What the code on it reads.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub code: Option<Word>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// One, for what comes alone unless somebody says otherwise.
fn one() -> Count {
    Count::new(1).expect("one is a count")
}

fn is_one(count: &Count) -> bool {
    *count == one()
}

/// Packs used together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Set {
    /// Its team.
    pub team: TeamId,
    /// What it is called.
    pub label: Name,
    /// Its packs.
    #[schema(min_items = 1, max_items = 16)]
    pub packs: Vec<PackId>,
    /// Strings side by side, each of equally many packs in series; the packs are listed string by
    /// string. Not known if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strings: Option<Count>,
    /// The robot it is for; any of the team's if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub robot: Option<RobotId>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}
