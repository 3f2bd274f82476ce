//! Lines about danger: what is allowed, seen, stopped, and said about hazards.

use super::line::Role;
use super::machine::Place;
use crate::calc::units::{Concentration, Count, Minutes, Note, Word};
use crate::pit::ids::{LineId, TeamId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The marshal allows a robot to be live at a place, under their eye, for a while.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AllowedHere {
    /// Where.
    pub place: Place,
    /// For how long.
    pub for_min: Minutes,
    /// What for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}

/// Where a machine is armed.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ArmedAt {
    /// In the arena, before a bout.
    Arena,
    /// In the closed test area.
    TestArea,
}

/// What is said about arming a machine.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Clearing {
    /// The crew asks the marshal.
    Asked,
    /// The marshal looked, and nothing speaks against it. A word, never a permit.
    Confirmed,
    /// Not yet.
    Refused,
}

/// A clearance to arm: asked for by the crew, answered by a marshal. Coming to the arena queue asks
/// as well.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Clearance {
    /// Where.
    pub place: ArmedAt,
    /// What is said.
    pub said: Clearing,
    /// Why, where it is refused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}

/// What somebody sees.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum DangerOf {
    /// Help is needed, no form filled in.
    Help,
    /// Smoke or fire.
    Fire,
    /// A machine that is live or moves.
    Live,
    /// A leak.
    Gas,
    /// A swollen, hot or smoking pack.
    Pack,
    /// A person is hurt.
    Hurt,
    /// Dealt with: said by a marshal or the organiser.
    Over,
    /// Somebody is on the way.
    Coming,
}

/// Danger at a robot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Danger {
    /// What.
    pub what: DangerOf,
    /// What else there is to say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Note>,
}

/// Everyone stop, or go on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EveryoneStop {
    /// `true`: stop; `false`: go on.
    pub stop: bool,
    /// What everyone is told.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<Note>,
}

/// The organiser tells people something. Not a secret: it is only shown to those it is for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Announced {
    /// What.
    pub text: Note,
    /// Roles it is for; with no roles and no teams it is for everyone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 7)]
    pub roles: Vec<Role>,
    /// Teams it is for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 64)]
    pub teams: Vec<TeamId>,
}

/// A person has seen an announcement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AnnouncementSeen {
    /// The line that announced it.
    pub announcement: LineId,
}

/// What somebody says about a hazard.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Said {
    /// I have it open.
    Seen,
    /// The lead takes it on, with a reason; warn and note only.
    Accepted,
    /// I looked, it is over.
    Cleared,
}

/// A word on a hazard of a robot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Hazard {
    /// The rule's id, such as `H06`.
    pub rule: Word,
    /// What is said.
    pub said: Said,
    /// Why, where it is accepted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}

/// People with a robot inside the arena or the test area.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Inside {
    /// How many are inside.
    pub people: Count,
    /// Somebody outside watches whoever arms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub watched: Option<bool>,
}

/// The air where bottles are filled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Air {
    /// Carbon dioxide at knee height.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub co2_ppm: Option<Concentration>,
    /// Somebody there has a headache or is short of breath.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub symptoms: bool,
}

/// Takes back the line it corrects.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Void {
    /// Why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub because: Option<Note>,
}
