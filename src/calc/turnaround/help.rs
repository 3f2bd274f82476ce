//! What would help: the same turnaround with one thing changed, planned and replayed again.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::answer::{Answer, Verdict};
use super::odds::{Chance, Draw, odds};
use super::problem::{Person, Problem};
use super::work::Budget;
use super::{check, solve};

/// A later call that is asked about. **Units** seconds.
const LATER: i64 = 600;

/// One thing that could be different.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Change {
    /// One more person with this skill alone.
    Person {
        /// The skill.
        skill: String,
    },
    /// One more of a pool.
    Place {
        /// The pool.
        pool: String,
    },
    /// A pool that is whole from now on.
    Whole {
        /// The pool.
        pool: String,
    },
    /// An optional task left out.
    Without {
        /// The task.
        task: String,
    },
    /// The call so much later.
    LaterCall {
        /// By how much, in ticks.
        ticks: i64,
    },
    /// Something else, as the one who asks names it.
    Other {
        /// Its name.
        name: String,
    },
}

/// What a change gains.
///
/// **Units** ticks; chances from 0 to 1.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Help {
    /// What would be different.
    pub change: Change,
    /// Whether the call would then be met.
    pub verdict: Verdict,
    /// How much earlier the plan would finish.
    pub finish_gain: i64,
    /// How much more the optional tasks in the plan would be worth.
    pub value_gain: i64,
    /// Ready by the call then, if there is one.
    pub by_call: Option<Chance>,
    /// How much likelier that is than now; 0 without a call.
    pub chance_gain: f64,
}

/// What to ask.
#[derive(Debug, Clone)]
pub struct Ask<'a> {
    /// Steps of work for each change.
    pub steps: u64,
    /// How to draw; a thousand samples tell enough for a first answer.
    pub draw: &'a Draw,
    /// Pools of which there could be one more.
    pub places: &'a [String],
    /// Further changes, each with the problem it leads to.
    pub others: &'a [(String, Problem)],
}

/// Lists the changes that would gain something, the one that gains most first.
///
/// Both plans meet the same fortune: every task draws what it drew before. A change whose gain is
/// within what chance alone could do is not listed.
///
/// **Assumptions** `answer` is a plan for `problem`. Safety tasks are never optional, so none is
/// offered for leaving out.
pub fn what_would_help(
    problem: &Problem,
    answer: &Answer,
    ask: &Ask<'_>,
    stop: &dyn Fn() -> bool,
) -> Vec<Help> {
    let now = odds(problem, answer, ask.draw).by_call;
    let mut found: Vec<Help> = Vec::new();
    for (change, changed) in changes(problem, answer, ask) {
        if stop() {
            break;
        }
        if let Some(help) = one(answer, now, change, &changed, ask, stop) {
            found.push(help);
        }
    }
    found.sort_by(|a, b| {
        let in_time = |h: &Help| h.verdict == Verdict::OnTime;
        in_time(b)
            .cmp(&in_time(a))
            .then(b.chance_gain.total_cmp(&a.chance_gain))
            .then(b.finish_gain.cmp(&a.finish_gain))
            .then(b.value_gain.cmp(&a.value_gain))
            .then(a.change.cmp(&b.change))
    });
    found
}

fn one(
    answer: &Answer,
    now: Option<Chance>,
    change: Change,
    changed: &Problem,
    ask: &Ask<'_>,
    stop: &dyn Fn() -> bool,
) -> Option<Help> {
    check(changed).ok()?;
    let plan = solve(
        changed,
        Budget::steps(ask.steps).keeping(answer).stopping(stop),
    )
    .ok()?;
    let by_call = odds(changed, &plan, ask.draw).by_call;
    let chance_gain = match (now, by_call) {
        (Some(now), Some(then)) => then.chance - now.chance,
        _ => 0.0,
    };
    let likelier = match (now, by_call) {
        (Some(now), Some(then)) => then.low > now.chance && then.chance > now.high,
        _ => false,
    };
    let rescued = answer.verdict == Verdict::Late && plan.verdict == Verdict::OnTime;
    let help = Help {
        change,
        verdict: plan.verdict,
        finish_gain: answer.finish - plan.finish,
        value_gain: plan.value - answer.value,
        by_call,
        chance_gain,
    };
    // A plan that does more may well finish later: that counts against a gain in time only.
    let earlier = help.finish_gain > 0 && answer.verdict == plan.verdict;
    (rescued || likelier || earlier || help.value_gain > 0 && plan.verdict == Verdict::OnTime)
        .then_some(help)
}

fn changes(problem: &Problem, answer: &Answer, ask: &Ask<'_>) -> Vec<(Change, Problem)> {
    let mut list = Vec::new();
    let mut with = |change: Change, alter: &dyn Fn(&mut Problem)| {
        let mut changed = problem.clone();
        alter(&mut changed);
        list.push((change, changed));
    };
    let mut skills: Vec<&String> = problem
        .tasks
        .iter()
        .flat_map(|t| t.crew.iter().map(|h| &h.skill))
        .collect();
    skills.sort();
    skills.dedup();
    for skill in skills {
        let change = Change::Person {
            skill: skill.clone(),
        };
        with(change, &|changed| {
            changed.crew.push(newcomer(problem, skill))
        });
    }
    for (at, pool) in problem.pools.iter().enumerate() {
        if ask.places.contains(&pool.id) {
            let change = Change::Place {
                pool: pool.id.clone(),
            };
            with(change, &|changed| changed.pools[at].capacity += 1);
        }
        if !pool.reduced.is_empty() {
            let change = Change::Whole {
                pool: pool.id.clone(),
            };
            with(change, &|changed| changed.pools[at].reduced.clear());
        }
    }
    for task in problem
        .tasks
        .iter()
        .filter(|t| t.optional && answer.tasks.iter().any(|p| p.id == t.id))
    {
        let change = Change::Without {
            task: task.id.clone(),
        };
        with(change, &|changed| leave_out(changed, &task.id));
    }
    if let Some(call) = problem.call {
        let ticks = (LATER / problem.tick_seconds).max(1);
        with(Change::LaterCall { ticks }, &|changed| {
            changed.call = Some(call + ticks)
        });
    }
    for (name, other) in ask.others {
        with(Change::Other { name: name.clone() }, &|changed| {
            changed.clone_from(other)
        });
    }
    list
}

/// Takes an optional task out, and every task that cannot be done without it; nothing if one of
/// those must be done.
pub fn leave_out(problem: &mut Problem, id: &str) {
    let mut gone = vec![id.to_owned()];
    while let Some(task) = problem
        .tasks
        .iter()
        .find(|t| !gone.contains(&t.id) && t.requires.iter().any(|r| gone.contains(r)))
    {
        gone.push(task.id.clone());
    }
    if problem
        .tasks
        .iter()
        .any(|t| !t.optional && gone.contains(&t.id))
    {
        return;
    }
    problem.tasks.retain(|t| !gone.contains(&t.id));
    for task in &mut problem.tasks {
        task.after.retain(|a| !gone.contains(&a.task));
    }
}

fn newcomer(problem: &Problem, skill: &str) -> Person {
    let mut id = String::from("one more");
    while problem.crew.iter().any(|p| p.id == id) {
        id.push('+');
    }
    Person {
        id,
        skills: vec![skill.to_owned()],
        away: Vec::new(),
    }
}
