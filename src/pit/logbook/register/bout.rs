//! Bouts and who is in them.

use crate::calc::units::Count;
use crate::pit::ids::{BoutId, RobotId};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Who is in one corner of a bout.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Slot {
    /// This robot.
    Robot(RobotId),
    /// The winner of this bout.
    Winner(BoutId),
    /// The loser of this bout.
    Loser(BoutId),
}

/// A bout and its call.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Bout {
    /// Number in the running order as people say it.
    pub number: Count,
    /// The two corners.
    #[schema(min_items = 2, max_items = 2)]
    pub slots: [Slot; 2],
    /// When both are to be in the arena queue.
    pub call_at: DateTime<Utc>,
    /// Keeps its place when the order changes.
    #[serde(default)]
    pub fixed: bool,
    /// The call it had before the order changed last, for its crews to see what changed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved_from: Option<DateTime<Utc>>,
    /// Will not take place.
    #[serde(default)]
    pub retired: bool,
}
