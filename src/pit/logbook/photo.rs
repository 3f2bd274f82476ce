//! The line that says a photograph was taken, and of what; its bytes are kept apart.

use crate::calc::units::Note;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What a photograph shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Shows {
    /// Damage to a robot.
    Damage,
    /// Where a robot's links are and how they come out.
    LinkPlan,
    /// What is stamped on a bottle.
    BottleStamp,
}

impl Shows {
    /// The noun of what it can be about.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Damage | Self::LinkPlan => "robot",
            Self::BottleStamp => "bottle",
        }
    }

    /// As written in JSON.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Damage => "damage",
            Self::LinkPlan => "link_plan",
            Self::BottleStamp => "bottle_stamp",
        }
    }
}

/// A photograph. The line comes first; the bytes follow to the line's own address, later where the
/// network is bad.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// What it shows.
    pub shows: Shows,
    /// What else there is to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Note>,
}
