//! Lines about calls and bouts.

use crate::calc::units::{Minutes, Note};
use crate::pit::ids::{BoutId, RobotId};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A bout and the time to report for it in the arena queue.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Call {
    /// The bout.
    pub bout: BoutId,
    /// When to be in the arena queue.
    pub at: DateTime<Utc>,
}

/// A robot is called for a bout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Called {
    /// Which robot; both if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub robot: Option<RobotId>,
}

/// A crew's answer, or an official's word for a team that enters nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
#[schema(as = CallAnswer)]
pub enum Answer {
    /// On the way.
    Coming,
    /// Needs some more minutes.
    Need(Minutes),
    /// Ready.
    Ready,
    /// Will not be there.
    Not,
}

/// An answer for a robot's next bout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Answered {
    /// The bout; the next one if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bout: Option<BoutId>,
    /// The answer.
    pub answer: Answer,
}

/// What is said about a postponement.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
#[schema(as = PostponementWord)]
pub enum Postponing {
    /// The crew asks for it.
    Asked,
    /// The organiser grants it; the bout's new call is a register line of its own.
    Granted,
    /// The organiser does not.
    Refused,
}

/// A word on putting a robot's bout off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Postponement {
    /// The bout.
    pub bout: BoutId,
    /// What is said.
    pub said: Postponing,
    /// By how much.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by_min: Option<Minutes>,
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}

/// A bout begins.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Started {}

/// How a bout ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Ending {
    /// Decided in the ordinary way.
    #[default]
    Decided,
    /// A link was shaken out.
    LinkShakenOut,
    /// A robot did not come.
    Forfeit,
    /// It did not take place.
    Cancelled,
}

/// A bout is over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Ended {
    /// Who won, if anybody did.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub winner: Option<RobotId>,
    /// How it ended.
    #[serde(default)]
    pub ending: Ending,
}

/// Every call from a bout on moves by some minutes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CallsMoved {
    /// The first bout whose call moves; all that have not begun if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_bout: Option<BoutId>,
    /// Later by this many minutes, earlier if negative; from -240 to 240.
    #[schema(minimum = -240, maximum = 240)]
    #[serde(deserialize_with = "a_few_hours")]
    pub by_min: i16,
    /// What the organiser says about it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}

fn a_few_hours<'de, D: serde::Deserializer<'de>>(from: D) -> Result<i16, D::Error> {
    use serde::de::Error as _;
    let minutes = f64::deserialize(from)?;
    if minutes.fract() != 0.0 || !(-240.0..=240.0).contains(&minutes) {
        return Err(D::Error::custom(format!(
            "{minutes} min is not a whole number from -240 to 240 min"
        )));
    }
    #[expect(
        clippy::cast_possible_truncation,
        reason = "within bounds just checked"
    )]
    Ok(minutes as i16)
}
