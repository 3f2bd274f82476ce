//! Bouts through one arena, each ready at its own time: the order with the least greatest lateness.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::carlier;
use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// Most bouts put in order at once.
const MOST_BOUTS: usize = 100;

/// Input of `arena-sequence`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(ArenaSequenceInput::example()))]
pub struct ArenaSequenceInput {
    /// The bouts, in any order (1 to 100).
    #[schema(min_items = 1, max_items = 100)]
    pub bouts: Vec<BoutToSequence>,
}

/// A bout that needs the arena for a while.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BoutToSequence {
    /// Name of the bout.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// When both robots are ready, in seconds from any common moment (-1,000,000 to 1,000,000).
    #[schema(minimum = -1_000_000, maximum = 1_000_000)]
    pub ready_s: i64,
    /// How long it holds the arena, the reset included, in seconds (0 to 100,000).
    #[schema(minimum = 0, maximum = 100_000)]
    pub run_s: i64,
    /// When it should be over, in seconds from the same moment (-1,000,000 to 1,000,000).
    #[schema(minimum = -1_000_000, maximum = 1_000_000)]
    pub due_s: i64,
}

impl ArenaSequenceInput {
    /// Four bouts, one of which must not wait.
    pub fn example() -> Self {
        let bout = |name: &str, ready_s, run_s, due_s| BoutToSequence {
            name: name.to_owned(),
            ready_s,
            run_s,
            due_s,
        };
        Self {
            bouts: vec![
                bout("12", 0, 480, 900),
                bout("13", 300, 420, 800),
                bout("14", 0, 360, 1500),
                bout("15", 600, 480, 2400),
            ],
        }
    }
}

/// Output of `arena-sequence`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(arena_sequence(&ArenaSequenceInput::example()).ok()))]
pub struct ArenaSequenceOutput {
    /// The best order found.
    pub best: BoutSequence,
    /// Whether it is proved that no order has a smaller greatest lateness.
    pub proved_best: bool,
    /// No order has a greatest lateness below this, in seconds.
    pub max_late_at_least_s: i64,
    /// The order by Schrage's rule: whenever the arena is free, the most urgent bout that is ready.
    pub by_urgency: BoutSequence,
    /// Greatest lateness if bouts could be interrupted, in seconds: a quick bound from below.
    pub max_late_if_interrupted_s: i64,
}

/// An order of bouts and what it leads to.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct BoutSequence {
    /// Names of the bouts in order.
    pub order: Vec<String>,
    /// When each starts, in seconds, in this order.
    pub starts_s: Vec<i64>,
    /// Greatest lateness, in seconds; below 0 if every bout is over before it should be.
    pub max_late_s: i64,
}

/// A bout as the search sees it: ready time, running time, and what is left to do after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Job {
    pub(super) ready: i64,
    pub(super) run: i64,
    pub(super) tail: i64,
}

/// Puts bouts through one arena so that the greatest lateness is as small as possible.
///
/// **Units**: seconds from any common moment.
/// **Assumptions**: ready times do not depend on the order (no rest between two bouts of one robot:
/// see `running-order` for that); one arena; bouts are not interrupted.
/// **Source**: Carlier, The one-machine sequencing problem, 1982; Schrage's rule and the interrupted
/// bound as there (from memory).
///
/// # Errors
/// Every value out of its range, repeated names.
pub fn arena_sequence(input: &ArenaSequenceInput) -> Result<ArenaSequenceOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    names::count(
        &mut faults,
        "/bouts",
        input.bouts.len(),
        1,
        MOST_BOUTS,
        "bouts",
    );
    let bout_names = input.bouts.iter().map(|bout| bout.name.as_str());
    names::distinct(&mut faults, bout_names, |index| {
        format!("/bouts/{index}/name")
    });
    for (index, bout) in input.bouts.iter().enumerate() {
        let mut within = |field: &str, value: i64, min: i64, max: i64| {
            if !(min..=max).contains(&value) {
                faults.add(
                    format!("/bouts/{index}/{field}"),
                    format!("{value} is not from {min} to {max}."),
                );
            }
        };
        within("ready_s", bout.ready_s, -1_000_000, 1_000_000);
        within("run_s", bout.run_s, 0, 100_000);
        within("due_s", bout.due_s, -1_000_000, 1_000_000);
    }
    faults.check()?;

    let jobs: Vec<Job> = input
        .bouts
        .iter()
        .map(|bout| Job {
            ready: bout.ready_s,
            run: bout.run_s,
            tail: -bout.due_s,
        })
        .collect();
    let told = |order: &[usize]| {
        let (starts_s, max_late_s) = timed(&jobs, order);
        let names = order.iter().map(|bout| input.bouts[*bout].name.clone());
        BoutSequence {
            order: names.collect(),
            starts_s,
            max_late_s,
        }
    };
    let best = carlier::best(&jobs);
    Ok(ArenaSequenceOutput {
        best: told(&best.order),
        proved_best: best.proved,
        max_late_at_least_s: best.bound,
        by_urgency: told(&by_urgency(&jobs)),
        max_late_if_interrupted_s: interrupted(&jobs),
    })
}

/// Starts in this order, and the greatest end plus tail.
pub(super) fn timed(jobs: &[Job], order: &[usize]) -> (Vec<i64>, i64) {
    let mut free = i64::MIN;
    let mut latest = i64::MIN;
    let mut starts = Vec::with_capacity(order.len());
    for job in order.iter().map(|job| jobs[*job]) {
        let start = free.max(job.ready);
        free = start + job.run;
        latest = latest.max(free + job.tail);
        starts.push(start);
    }
    (starts, latest)
}

/// Schrage's rule: of the jobs that are ready the one with the longest tail, then the longest run,
/// then the first.
pub(super) fn by_urgency(jobs: &[Job]) -> Vec<usize> {
    let mut left: Vec<usize> = (0..jobs.len()).collect();
    let mut order = Vec::with_capacity(jobs.len());
    let mut now = i64::MIN;
    while let Some(first_ready) = left.iter().map(|job| jobs[*job].ready).min() {
        now = now.max(first_ready);
        let ready = left
            .iter()
            .enumerate()
            .filter(|(_, job)| jobs[**job].ready <= now);
        let next = ready.max_by_key(|(_, job)| {
            let of = jobs[**job];
            (of.tail, of.run, std::cmp::Reverse(**job))
        });
        let Some(place) = next.map(|(place, _)| place) else {
            break;
        };
        let job = left.remove(place);
        now += jobs[job].run;
        order.push(job);
    }
    order
}

/// The greatest end plus tail if a job may be interrupted by a more urgent one.
pub(super) fn interrupted(jobs: &[Job]) -> i64 {
    let mut left: Vec<(Job, i64)> = jobs.iter().map(|job| (*job, job.run)).collect();
    let mut latest = i64::MIN;
    let mut now = i64::MIN;
    while let Some(first_ready) = left.iter().map(|(job, _)| job.ready).min() {
        now = now.max(first_ready);
        let ready = left
            .iter()
            .enumerate()
            .filter(|(_, (job, _))| job.ready <= now);
        let Some(place) = ready
            .max_by_key(|(_, (job, _))| job.tail)
            .map(|(place, _)| place)
        else {
            break;
        };
        let coming = left
            .iter()
            .map(|(job, _)| job.ready)
            .filter(|ready| *ready > now)
            .min();
        let (job, to_run) = &mut left[place];
        let until = coming.map_or(now + *to_run, |ready| ready.min(now + *to_run));
        *to_run -= until - now;
        now = until;
        if *to_run == 0 {
            latest = latest.max(now + job.tail);
            left.swap_remove(place);
        }
    }
    latest
}
