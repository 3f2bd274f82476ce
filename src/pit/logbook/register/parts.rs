//! Types of part that a team has spares of.

use crate::calc::units::{
    Count, FailureRate, Mass, Minutes, Name, Percent, Price, UnitBouts, Volume, Word,
};
use crate::pit::ids::{RobotId, TeamId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A robot that a part fits, and how many sit on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Fit {
    /// The robot.
    pub robot: RobotId,
    /// How many are fitted; 0 if it fits and none is.
    pub units: Count,
}

/// How often a part fails, as the team believes before it has seen anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FailurePrior {
    /// On average.
    pub mean_per_1000_unit_bouts: FailureRate,
    /// One would be surprised by more than this: 95 % sure to be below it.
    pub worst_per_1000_unit_bouts: FailureRate,
}

/// What a type of part showed at earlier events.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SeenElsewhere {
    /// Failures seen there.
    pub failures: Count,
    /// Fitted units times bouts watched there.
    pub unit_bouts: UnitBouts,
    /// What a bout there is worth here; one half if not given. Less where machine, weapon or
    /// opponents were others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub weight_percent: Option<Percent>,
}

impl SeenElsewhere {
    /// What a bout there is worth here.
    ///
    /// **Source** the default: common practice for a power prior, no source.
    pub fn weight_percent(self) -> Percent {
        self.weight_percent
            .or(Percent::new(50))
            .expect("a default within its bounds")
    }
}

/// A type of part.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartType {
    /// Its team.
    pub team: TeamId,
    /// What people call it.
    pub label: Name,
    /// Mass of one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<Mass>,
    /// Room one takes in a box.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub volume_ml: Option<Volume>,
    /// Price of one, in hundredths of the event's currency or whatever its smallest coin is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price_minor: Option<Price>,
    /// The repair that takes one, by its task without the machine's letters, such as `wheel`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repair: Option<Word>,
    /// Where it is in the boxes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Name>,
    /// The robots it fits.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 24)]
    pub fits: Vec<Fit>,
    /// Spares brought to the event; what is used, bought or counted after that is in lines.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spares: Option<Count>,
    /// How many of the broken ones can be repaired here; none if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repairable_percent: Option<Percent>,
    /// How long repairing one takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repair_min: Option<Minutes>,
    /// How often it fails, as the team believes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub prior: Option<FailurePrior>,
    /// What it showed at earlier events; counts less than what it shows here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub elsewhere: Option<SeenElsewhere>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}
