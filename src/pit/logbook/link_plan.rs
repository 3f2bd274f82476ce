//! Lines about the isolation-link plan of a robot.

use crate::calc::units::{Count, Name, Note, Seconds, Word};
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
