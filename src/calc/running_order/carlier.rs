//! The exact order for one arena with ready times, by Carlier's branching.

use super::sequence::{Job, by_urgency, interrupted, timed};

/// Most nodes looked at.
const MOST_NODES: usize = 20_000;

/// The best order found, and what is proved about it.
pub(super) struct Ordered {
    pub(super) order: Vec<usize>,
    /// No order has a smaller greatest end plus tail.
    pub(super) bound: i64,
    pub(super) proved: bool,
}

/// A narrowed problem, and what its orders cannot fall below.
struct Node {
    jobs: Vec<Job>,
    bound: i64,
}

/// Finds the order with the least greatest end plus tail.
///
/// In the critical stretch of an order by urgency, the last job less urgent than its end must go
/// before or after all that follow it there, or the order is the best.
pub(super) fn best(jobs: &[Job]) -> Ordered {
    let mut order = by_urgency(jobs);
    let mut least = timed(jobs, &order).1;
    let mut open = vec![Node {
        jobs: jobs.to_vec(),
        bound: interrupted(jobs),
    }];
    let mut nodes = 0;
    while let Some(node) = open.pop() {
        if node.bound >= least {
            continue;
        }
        nodes += 1;
        if nodes > MOST_NODES {
            open.push(node);
            break;
        }
        let found = by_urgency(&node.jobs);
        let value = timed(jobs, &found).1;
        if value < least {
            least = value;
            order.clone_from(&found);
        }
        let mut children = branched(&node, &found);
        children.retain(|child| child.bound < least);
        // The more hopeful child is looked at first.
        children.sort_by_key(|child| std::cmp::Reverse(child.bound));
        open.append(&mut children);
    }
    let bound = open.iter().map(|node| node.bound).min();
    let bound = bound.map_or(least, |bound| bound.min(least));
    Ordered {
        order,
        bound,
        proved: bound == least,
    }
}

fn branched(node: &Node, order: &[usize]) -> Vec<Node> {
    let jobs = &node.jobs;
    let (starts, latest) = timed(jobs, order);
    let ends = |place: usize| starts[place] + jobs[order[place]].run;
    let Some(last) = (0..order.len())
        .rev()
        .find(|place| ends(*place) + jobs[order[*place]].tail == latest)
    else {
        return Vec::new();
    };
    let mut first = last;
    while first > 0 && ends(first - 1) == starts[first] {
        first -= 1;
    }
    let end_tail = jobs[order[last]].tail;
    let Some(split) = (first..last)
        .rev()
        .find(|place| jobs[order[*place]].tail < end_tail)
    else {
        return Vec::new();
    };
    let after = order[split + 1..=last].iter().map(|job| jobs[*job]);
    let ready = after.clone().map(|job| job.ready).min().unwrap_or(0);
    let tail = after.clone().map(|job| job.tail).min().unwrap_or(0);
    let run: i64 = after.map(|job| job.run).sum();
    let moved = order[split];
    let narrowed = |change: &dyn Fn(&mut Job)| {
        let mut jobs = jobs.clone();
        change(&mut jobs[moved]);
        let of = jobs[moved];
        let together = ready.min(of.ready) + run + of.run + tail.min(of.tail);
        let bound = [ready + run + tail, together, interrupted(&jobs), node.bound];
        Node {
            bound: bound.into_iter().max().unwrap_or(node.bound),
            jobs,
        }
    };
    vec![
        narrowed(&|job| job.ready = job.ready.max(ready + run)),
        narrowed(&|job| job.tail = job.tail.max(tail + run)),
    ]
}
