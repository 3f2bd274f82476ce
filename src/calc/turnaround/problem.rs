//! The published form of a turnaround problem: what has to be done, by whom, where, until when.

use super::check::MOST_INTERVALS;
use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::openapi::{ArrayBuilder, schema::Schema};
use utoipa::{PartialSchema as _, ToSchema};

/// A turnaround to plan: tasks, the people and places they need, and the call.
///
/// Times are whole ticks from the moment of planning; intervals are half open.
///
/// **Units** ticks of `tick_seconds` seconds.
/// **Assumptions** a task, once started, is not interrupted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "tick_seconds": 60, "call": 35,
    "pools": [{"id": "charger", "capacity": 3, "reduced": [{"start": 11, "end": 24, "by": 1}]}],
    "crew": [{"id": "ana", "skills": ["electrics"], "away": [[5, 15]]}],
    "tasks": [
        {"id": "t03", "name": "plug in", "duration": 1, "crew": [{"skill": "electrics", "count": 1}]},
        {"id": "t04", "name": "charge", "duration": 11, "three_point": [10, 11, 14], "release": 0,
         "deadline": null, "optional": false, "value": 0, "pools": {"charger": 1},
         "after": [{"task": "t03", "lag": 0}], "requires": []}
    ]
}))]
pub struct Problem {
    /// How long one tick is, in seconds.
    #[serde(default = "a_minute")]
    #[schema(minimum = 1, maximum = 3600)]
    pub tick_seconds: i64,
    /// The tick by which everything must be done; `null` for as early as possible.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub call: Option<i64>,
    /// Places and things that several tasks share.
    #[serde(default)]
    #[schema(max_items = 500)]
    pub pools: Vec<Pool>,
    /// The people who can be asked.
    #[serde(default)]
    #[schema(max_items = 500)]
    pub crew: Vec<Person>,
    /// What there is to do.
    #[serde(default)]
    #[schema(max_items = 10000)]
    pub tasks: Vec<Task>,
}

fn a_minute() -> i64 {
    60
}

/// Places or things of one kind, shared by the tasks that hold some of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Pool {
    /// The name by which tasks ask for it.
    #[schema(min_length = 1)]
    pub id: String,
    /// How many there are.
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub capacity: i64,
    /// When there are fewer.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub reduced: Vec<Reduction>,
}

/// An interval during which a pool has less to give.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Reduction {
    /// First tick of the interval.
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub start: i64,
    /// First tick after the interval.
    #[schema(minimum = 1, maximum = 1_000_000)]
    pub end: i64,
    /// How many are missing meanwhile.
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub by: i64,
}

/// One person, with what they can do and when they are not there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[schema(as = CrewMember)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// Who.
    #[schema(min_length = 1)]
    pub id: String,
    /// What they can do.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub skills: Vec<String>,
    /// Intervals `[start, end)` in which they cannot be asked.
    #[serde(default)]
    #[schema(schema_with = intervals)]
    pub away: Vec<[i64; 2]>,
}

fn intervals() -> Schema {
    let ends = ArrayBuilder::new()
        .items(i64::schema())
        .min_items(Some(2))
        .max_items(Some(2));
    ArrayBuilder::new()
        .items(ends)
        .max_items(Some(MOST_INTERVALS))
        .description(Some(
            "Intervals `[start, end)` in which they cannot be asked.",
        ))
        .into()
}

/// One piece of work that is done in one go.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Task {
    /// The name by which other tasks and the answer speak of it.
    #[schema(min_length = 1)]
    pub id: String,
    /// What people call it.
    #[serde(default)]
    pub name: String,
    /// How long it takes.
    #[schema(minimum = 1, maximum = 100_000)]
    pub duration: i64,
    /// Shortest, most likely and longest time it takes, for the odds; certain if absent.
    #[serde(default)]
    #[schema(min_items = 3, max_items = 3)]
    pub three_point: Option<[f64; 3]>,
    /// The earliest start.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub release: i64,
    /// The latest end of its own, besides the call.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub deadline: Option<i64>,
    /// Whether it may be left out.
    #[serde(default)]
    pub optional: bool,
    /// What doing it is worth if it is optional.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub value: i64,
    /// The people it needs, all at once and for its whole length.
    #[serde(default)]
    #[schema(max_items = 100000)]
    pub crew: Vec<Hands>,
    /// What it holds of each pool for its whole length.
    #[serde(default)]
    pub pools: BTreeMap<String, i64>,
    /// The tasks that must have ended before, if they are done at all.
    #[serde(default)]
    #[schema(max_items = 100000)]
    pub after: Vec<After>,
    /// The tasks that must be done if this one is.
    #[serde(default)]
    #[schema(max_items = 100000)]
    pub requires: Vec<String>,
}

/// So many different people with one skill.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Hands {
    /// The skill asked for.
    pub skill: String,
    /// How many people.
    #[schema(minimum = 1, maximum = 50)]
    pub count: i64,
}

/// A start that waits for another task's end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct After {
    /// The task that must have ended.
    pub task: String,
    /// How long after its end, at least.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 100_000)]
    pub lag: i64,
}
