//! Lines about spares: what came into the boxes, what left them, what was counted.

use crate::calc::units::{Count, Note};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What a spare is like.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum SpareState {
    /// Tried, and it works.
    Tested,
    /// Never used.
    New,
    /// Came off a machine whole.
    Used,
    /// Somebody else's, here to be used.
    Borrowed,
    /// Nobody knows whether it works.
    Untested,
    /// Broken and being mended.
    InRepair,
    /// With somebody else.
    Lent,
}

impl SpareState {
    /// Every state, the first to be taken for a swap before the others.
    pub const ALL: [Self; 7] = [
        Self::Tested,
        Self::New,
        Self::Used,
        Self::Borrowed,
        Self::Untested,
        Self::InRepair,
        Self::Lent,
    ];

    /// Whether it counts as a spare one can rely on.
    pub fn is_ready(self) -> bool {
        matches!(self, Self::Tested | Self::New | Self::Used | Self::Borrowed)
    }

    /// Whether it is in the box and could be fitted.
    pub fn is_here(self) -> bool {
        self.is_ready() || self == Self::Untested
    }

    /// As written in JSON.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Tested => "tested",
            Self::New => "new",
            Self::Used => "used",
            Self::Borrowed => "borrowed",
            Self::Untested => "untested",
            Self::InRepair => "in_repair",
            Self::Lent => "lent",
        }
    }
}

/// So many spares of one state.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Spares {
    /// How many.
    pub units: Count,
    /// What they are like.
    #[serde(rename = "as")]
    pub state: SpareState,
    /// From where, where to, or why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}

/// Spares that are something else now: mended, tested, lent, back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Became {
    /// How many.
    pub units: Count,
    /// What they were.
    pub from: SpareState,
    /// What they are.
    pub to: SpareState,
}

/// What happened to the spares of a type.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stock {
    /// Came in.
    Came(Spares),
    /// Left the team: thrown away, sold, given back.
    Went(Spares),
    /// Changed.
    Became(Became),
    /// Counted: from here on there are so many, whatever the lines before say.
    Counted(Spares),
}
