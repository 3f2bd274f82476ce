//! Lines about the isolation-link plan of a robot.

use crate::calc::units::{ClockHour, Count, Distance, Name, Note, Pull, Seconds, Word};
use crate::pit::ids::PersonId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What is written down so that the link can be reached, pulled and put in the same way by anyone
/// named in it. **Source** fields assembled from the sport's rules and what went wrong without them.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// The configuration it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub configuration: Option<Name>,
    /// Where the link is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Note>,
    /// How the hatch opens.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hatch: Option<Note>,
    /// What keeps the link in during a bout, and the pull.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retention: Option<Note>,
    /// How many links there are, spare included.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub links: Option<Count>,
    /// Where the spare is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<Note>,
    /// What shows that it is dead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dead_when: Option<Note>,
    /// Who holds the link between bouts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holder: Option<PersonId>,
    /// Who puts it in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inserter: Option<PersonId>,
    /// Who takes it out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remover: Option<PersonId>,
    /// Who looks that it is done: another person.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verifier: Option<PersonId>,
    /// Steps of arming, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 20)]
    pub arming: Vec<Note>,
    /// Steps of making safe, in order.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 20)]
    pub making_safe: Vec<Note>,
    /// Time to reach and pull the link upright, gloves on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reach_upright_s: Option<Seconds>,
    /// The same inverted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reach_inverted_s: Option<Seconds>,
    /// Where the link is upright, by the clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock_upright: Option<ClockHour>,
    /// Where it is when the machine lies on its back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock_inverted: Option<ClockHour>,
    /// How it is reached then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inverted: Option<Note>,
    /// From the link to the nearest wheel.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_wheel_mm: Option<Distance>,
    /// From the link to the weapon.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to_blade_mm: Option<Distance>,
    /// The other way to the link, if the hatch is bent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second_way: Option<Note>,
    /// Which way the link is pulled.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pull: Option<Note>,
    /// How hard.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pull_n: Option<Pull>,
    /// How long to wait until it is dead: capacitors empty themselves.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wait_s: Option<Seconds>,
    /// Where a meter shows zero.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meter: Option<Note>,
    /// Who holds it where the holder cannot.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holder_deputy: Option<PersonId>,
    /// Who puts it in instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inserter_deputy: Option<PersonId>,
    /// Who takes it out instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub remover_deputy: Option<PersonId>,
    /// Who looks instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verifier_deputy: Option<PersonId>,
    /// What the second person has to see.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub verifier_sees: Option<Note>,
    /// Who of the team has no part in it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub excused: Option<Note>,
    /// Where the one who acts stands, by the clock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stand: Option<ClockHour>,
    /// Where the second person stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stand_second: Option<ClockHour>,
    /// Which side, how far, and how long the reach tool is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stand_off: Option<Note>,
    /// The sector nobody stands in begins here, clockwise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keep_out_from: Option<ClockHour>,
    /// It ends here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub keep_out_to: Option<ClockHour>,
    /// Where the bottle valve is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve: Option<ClockHour>,
    /// What turns it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve_tool: Option<Note>,
    /// Where gauge and dump are.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub gauge: Option<ClockHour>,
    /// What to do if the bottle cannot be shut.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_not_shut: Option<Note>,
    /// What to do if the hatch is blocked or the link jammed in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_jammed: Option<Note>,
    /// What to do while it still drives or the weapon turns.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_moving: Option<Note>,
    /// What to do at smoke or fire.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_fire: Option<Note>,
    /// What to do if two machines hang together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_locked: Option<Note>,
    /// The same with the hatch bent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reach_hatch_bent_s: Option<Seconds>,
    /// The hatch needs a tool.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub hatch_needs_tool: bool,
    /// The gas leaves only while the link is in: said to the marshal before.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub vents_only_live: bool,
    /// Every link by its mark, spares too.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 12)]
    pub each: Vec<OneLink>,
}

/// One of the links of a robot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OneLink {
    /// What is written on it.
    pub mark: Name,
    /// What it breaks, fuse and all; for a spare, whether it was tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub breaks: Option<Note>,
    /// Where it is between bouts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<Note>,
}

/// How the machine lies when the way to its link is timed, gloves on.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Reach {
    /// On its wheels.
    Upright,
    /// On its back.
    Inverted,
    /// On its wheels, the hatch bent.
    HatchBent,
}

/// A duty named in the plan, as whoever reads it back has it.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Reader {
    /// Puts the link in.
    Inserter,
    /// Takes it out.
    Remover,
    /// Looks that it is done.
    Verifier,
    /// Drives.
    Driver,
}

/// What happens to a link plan. A version is the number of times a plan was saved for the robot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum LinkPlan {
    /// Written, as a whole.
    Saved(Box<Plan>),
    /// Read aloud together; these people said the same order.
    ReadBack(ReadBack),
    /// Still holds after a change that does not ask for a new one.
    Confirmed(Confirmed),
    /// The way to the link was timed; whoever is named as seeing it did it, gloves on.
    Timed(Timed),
}

/// A time to reach the link and pull it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Timed {
    /// How it lay.
    pub reach: Reach,
    /// How long it took.
    pub seconds: Seconds,
}

/// People who read a plan back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReadBack {
    /// The version they read.
    pub version: u32,
    /// Who read it. It counts for whoever enters it; of others it says that they were named.
    #[schema(min_items = 1, max_items = 8)]
    pub read_by: Vec<PersonId>,
}

/// A plan that still holds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Confirmed {
    /// The version confirmed.
    pub version: u32,
    /// The change kinds it still holds after.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 20)]
    pub because: Vec<Word>,
}
