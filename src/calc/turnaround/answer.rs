//! The published form of a turnaround plan.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A plan, what limits it, and whether a better one is known not to exist.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "verdict": "on_time", "value": 0, "value_bound": 0, "finish": 12, "finish_bound": 12, "proven": true,
    "tasks": [{"id": "t03", "start": 0, "end": 1, "crew": ["ana"]}, {"id": "t04", "start": 1, "end": 12, "crew": []}],
    "left_out": [],
    "deciding_chain": [
        {"task": "t03", "start": 0, "waits_for": {"kind": "start"}},
        {"task": "t04", "start": 1, "waits_for": {"kind": "task", "task": "t03"}}
    ]
}))]
pub struct Answer {
    /// Whether all that must be done is done by the call.
    pub verdict: Verdict,
    /// The value of the optional tasks that are done.
    pub value: i64,
    /// No plan of this verdict reaches a greater value.
    pub value_bound: i64,
    /// The tick at which the last task ends.
    pub finish: i64,
    /// No plan of this verdict and value is known to finish before this tick.
    pub finish_bound: i64,
    /// Whether verdict, value and finish are the best there are.
    pub proven: bool,
    /// What is done when and by whom, by start.
    pub tasks: Vec<Placed>,
    /// The optional tasks that are not done.
    pub left_out: Vec<String>,
    /// The tasks that decide the finish, from the first to the last, with what each waits for.
    pub deciding_chain: Vec<Deciding>,
}

/// Whether a plan meets the call.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Every mandatory task ends by the call and by its own deadline.
    OnTime,
    /// No plan was found that does: optional tasks are left out and the finish is the earliest.
    Late,
}

/// One task in a plan.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Placed {
    /// The task.
    pub id: String,
    /// Its first tick.
    pub start: i64,
    /// The first tick after it.
    pub end: i64,
    /// Who does it: skill by skill in the order the task asks for them.
    pub crew: Vec<String>,
}

/// One link of the chain of tasks that decides the finish.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Deciding {
    /// The task.
    pub task: String,
    /// When it starts.
    pub start: i64,
    /// Why it does not start earlier.
    pub waits_for: WaitsFor,
}

/// What keeps a task from starting earlier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum WaitsFor {
    /// Nothing: it starts with the plan.
    Start,
    /// Its own release.
    Release,
    /// The end of a task it comes after, with the lag if there is one.
    Task {
        /// The task it comes after.
        task: String,
    },
    /// A person who is with another task until then.
    Person {
        /// Who.
        person: String,
        /// The task that person does before.
        task: String,
    },
    /// A person who is away until then.
    Return {
        /// Who.
        person: String,
    },
    /// A place that another task holds until then.
    Place {
        /// The pool.
        pool: String,
        /// The task that frees it.
        task: String,
    },
    /// A pool that has less to give until then.
    Reduced {
        /// The pool.
        pool: String,
    },
}
