//! A plan as a network: who and what each task waits for, replayed with drawn durations.
//!
//! **Source** resource flows: Artigues, Michelon and Reusser 2003.

use std::collections::HashMap;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::answer::Answer;
use super::problem::Problem;
use crate::calc::durations::Quantiles;

/// Nothing drawn decides the start.
const NOTHING: u32 = u32::MAX;

/// One task of a plan, with everything that it waits for.
#[derive(Debug)]
struct Node {
    /// Its place among the tasks of the problem.
    task: usize,
    release: f64,
    /// `(node, lag)`: starts after that one's end.
    after: Vec<(usize, f64)>,
    /// Intervals in which somebody of its crew is away.
    away: Vec<(f64, f64)>,
}

/// A plan as a network; nodes in the order of the plan's starts.
///
/// **Assumptions** people, places and order stay as planned. Who is there at the start stays to the
/// end; who is away is waited for. A place that is to be taken away while a late task still holds
/// it is given up at that task's end.
#[derive(Debug)]
pub(super) struct Network {
    nodes: Vec<Node>,
}

/// Drawn replays, one column per node.
pub(super) struct Replays {
    /// Ends by node and replay.
    pub ends: Vec<Vec<f32>>,
    /// When the last task ended, by replay.
    pub ready: Vec<f32>,
    /// How often each node was on the chain that decided the end.
    pub deciding: Vec<u32>,
}

impl Network {
    /// Reads a plan that `validate` finds nothing wrong with.
    pub fn of(problem: &Problem, answer: &Answer) -> Self {
        let tasks: HashMap<&str, usize> = problem
            .tasks
            .iter()
            .enumerate()
            .map(|(i, t)| (t.id.as_str(), i))
            .collect();
        let mut placed: Vec<(i64, i64, usize, &[String])> = answer
            .tasks
            .iter()
            .filter_map(|one| {
                Some((
                    one.start,
                    one.end,
                    *tasks.get(one.id.as_str())?,
                    one.crew.as_slice(),
                ))
            })
            .collect();
        placed.sort_by_key(|p| (p.0, p.1, p.2));
        let node_of: HashMap<&str, usize> = placed
            .iter()
            .enumerate()
            .map(|(node, p)| (problem.tasks[p.2].id.as_str(), node))
            .collect();
        let mut nodes: Vec<Node> = placed
            .iter()
            .map(|&(_, _, task, crew)| {
                let own = &problem.tasks[task];
                let after = own
                    .after
                    .iter()
                    .filter_map(|a| Some((*node_of.get(a.task.as_str())?, a.lag as f64)));
                let there = problem.crew.iter().filter(|p| crew.contains(&p.id));
                let mut away: Vec<(f64, f64)> = there
                    .flat_map(|p| p.away.iter().map(|a| (a[0] as f64, a[1] as f64)))
                    .collect();
                away.sort_by(|a, b| a.0.total_cmp(&b.0));
                Node {
                    task,
                    release: own.release as f64,
                    after: after.collect(),
                    away,
                }
            })
            .collect();
        let mut last: HashMap<&str, usize> = HashMap::new();
        for (node, p) in placed.iter().enumerate() {
            for who in p.3 {
                if let Some(before) = last.insert(who, node) {
                    nodes[node].after.push((before, 0.0));
                }
            }
        }
        for pool in &problem.pools {
            let held: Vec<Held> = placed
                .iter()
                .enumerate()
                .map(|(node, p)| Held {
                    start: p.0,
                    end: p.1,
                    amount: problem.tasks[p.2].pools.get(&pool.id).copied().unwrap_or(0),
                    node: Some(node),
                })
                .chain(pool.reduced.iter().map(|cut| Held {
                    start: cut.start,
                    end: cut.end,
                    amount: cut.by,
                    node: None,
                }))
                .filter(|held| held.amount > 0)
                .collect();
            flow(pool.capacity, held, &mut nodes);
        }
        for node in &mut nodes {
            // Of several arcs from one task only the longest counts.
            node.after.sort_by(|a, b| {
                (a.0, b.1)
                    .partial_cmp(&(b.0, a.1))
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
            node.after.dedup_by_key(|a| a.0);
        }
        Self { nodes }
    }

    /// The task of each node, by its place in the problem.
    pub fn tasks(&self) -> impl Iterator<Item = usize> + '_ {
        self.nodes.iter().map(|node| node.task)
    }

    /// Replays the plan so many times.
    ///
    /// Every task draws from a stream of its own, named by its id, one number a replay: what befalls
    /// a task in the k-th replay is the same in every plan.
    pub fn replay(
        &self,
        problem: &Problem,
        times: &[Quantiles],
        samples: usize,
        seed: u64,
        day: &[f64],
    ) -> Replays {
        let count = self.nodes.len();
        let mut ends: Vec<Vec<f32>> = Vec::with_capacity(count);
        let mut causes: Vec<Vec<u32>> = Vec::with_capacity(count);
        for node in &self.nodes {
            let mut start = vec![node.release as f32; samples];
            let mut cause = vec![NOTHING; samples];
            for &(before, lag) in &node.after {
                let lag = lag as f32;
                for ((start, cause), end) in start.iter_mut().zip(&mut cause).zip(&ends[before]) {
                    if end + lag > *start {
                        *start = end + lag;
                        *cause = before as u32;
                    }
                }
            }
            for &(from, to) in &node.away {
                for (start, cause) in start.iter_mut().zip(&mut cause) {
                    if f64::from(*start) >= from && f64::from(*start) < to {
                        *start = to as f32;
                        *cause = NOTHING;
                    }
                }
            }
            let mut rng = stream(seed, &problem.tasks[node.task].id);
            let table = &times[node.task];
            for (start, factor) in start.iter_mut().zip(day) {
                *start += (table.at(rng.random::<f64>()) * factor) as f32;
            }
            ends.push(start);
            causes.push(cause);
        }
        let mut ready = vec![0f32; samples];
        let mut deciding = vec![0u32; count];
        for replay in 0..samples {
            let last = (0..count).max_by(|&a, &b| ends[a][replay].total_cmp(&ends[b][replay]));
            let mut at = last;
            if let Some(last) = last {
                ready[replay] = ends[last][replay];
            }
            while let Some(node) = at {
                deciding[node] += 1;
                let cause = causes[node][replay];
                at = (cause != NOTHING).then_some(cause as usize);
            }
        }
        Replays {
            ends,
            ready,
            deciding,
        }
    }
}

/// The random stream that belongs to a name.
pub(super) fn stream(seed: u64, name: &str) -> ChaCha8Rng {
    // FNV-1a, which spreads short names well and never changes.
    let hash = name.bytes().fold(0xcbf2_9ce4_8422_2325u64, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(hash);
    rng
}

/// A stretch of time in which a task, or nobody, holds some of a pool.
struct Held {
    start: i64,
    end: i64,
    amount: i64,
    node: Option<usize>,
}

/// Free units of a pool: since when, freed by which node, how many.
struct Free {
    since: i64,
    by: Option<usize>,
    amount: i64,
}

/// Passes the units of one pool on from task to task, and notes who waits for whom.
fn flow(capacity: i64, mut held: Vec<Held>, nodes: &mut [Node]) {
    held.sort_by_key(|h| (h.start, h.node.is_none(), h.node));
    let mut free = vec![Free {
        since: i64::MIN,
        by: None,
        amount: capacity,
    }];
    for one in &held {
        let mut wanted = one.amount;
        // Rather from those it waits for anyway, then from those who were done first.
        let waits = |by: Option<usize>| match (by, one.node) {
            (Some(by), Some(node)) => nodes[node].after.iter().any(|a| a.0 == by),
            _ => true,
        };
        free.sort_by_key(|f| (!waits(f.by), f.since));
        let mut arcs: Vec<(usize, f64)> = Vec::new();
        let mut not_before = f64::MIN;
        for units in free.iter_mut().filter(|f| f.since <= one.start) {
            let taken = units.amount.min(wanted);
            if taken == 0 {
                continue;
            }
            units.amount -= taken;
            wanted -= taken;
            match units.by {
                Some(by) => arcs.push((by, 0.0)),
                None => not_before = not_before.max(units.since as f64),
            }
        }
        free.retain(|f| f.amount > 0);
        free.push(Free {
            since: one.end,
            by: one.node,
            amount: one.amount - wanted,
        });
        if let Some(node) = one.node {
            nodes[node].after.extend(arcs);
            nodes[node].release = nodes[node].release.max(not_before);
        }
    }
}
