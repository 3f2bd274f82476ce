//! What no plan can beat: the critical path and the energy of windows.

use super::model::{FAR, Model};
use super::shared::Shared;

/// Above so many different tails a sample of them is looked at.
const MOST_TAILS: usize = 200;

/// Heads that also mind the calendars: a task does not start where, alone, it would not fit.
pub(super) fn calendar_heads(model: &Model, all: &[Shared], surely: &[bool]) -> Vec<i32> {
    let mut needs: Vec<Vec<(usize, i32)>> = vec![Vec::new(); model.n];
    let profiles: Vec<_> = all.iter().map(Shared::profile).collect();
    for (thing, shared) in all.iter().enumerate().filter(|(_, s)| !s.cuts.is_empty()) {
        for &(i, amount) in &shared.holds {
            needs[i].push((thing, amount));
        }
    }
    let mut head = model.release.clone();
    for &i in &model.order {
        for &(before, lag) in model.preds[i].iter().filter(|p| surely[p.0]) {
            head[i] = head[i].max(head[before] + model.dur[before] + lag);
        }
        loop {
            let before = head[i];
            for &(thing, amount) in &needs[i] {
                head[i] = profiles[thing].earliest(head[i], model.dur[i], amount);
            }
            if head[i] == before {
                break;
            }
        }
    }
    head
}

/// What is known of tasks before any plan is made.
pub(super) struct Known<'a> {
    /// Done in every plan looked at.
    pub surely: &'a [bool],
    /// Done in some of them.
    pub perhaps: &'a [bool],
    /// The greatest value that may be left out.
    pub spare: i64,
}

/// The earliest finish of the plans looked at, as far as path and energy tell.
///
/// For every shared thing, head `a` and tail `q`: what must be done after `a` and before the last
/// `q` takes at least its energy over the capacity, so the finish is at least
/// `a + q + energy / capacity`, calendars counted. Of optional tasks, the most energy that may be
/// left out for the spare value is taken off: a knapsack.
pub(super) fn finish_bound(model: &Model, all: &[Shared], known: &Known<'_>, head: &[i32]) -> i32 {
    let tail = model.tails(known.surely);
    let mut best = (0..model.n)
        .filter(|&i| known.surely[i])
        .map(|i| head[i] + model.dur[i] + tail[i])
        .max()
        .unwrap_or(0);
    for shared in all {
        best = energy_bound(model, shared, known, head, &tail, best);
    }
    best
}

fn energy_bound(
    model: &Model,
    shared: &Shared,
    known: &Known<'_>,
    head: &[i32],
    tail: &[i32],
    best: i32,
) -> i32 {
    let mut holds: Vec<(usize, i32)> = shared
        .holds
        .iter()
        .copied()
        .filter(|h| known.surely[h.0] || known.perhaps[h.0])
        .collect();
    holds.sort_by_key(|h| std::cmp::Reverse(head[h.0]));
    let mut tails: Vec<i32> = holds.iter().map(|h| tail[h.0]).collect();
    tails.sort_unstable();
    tails.dedup();
    let stride = tails.len().div_ceil(MOST_TAILS).max(1);
    let supply = Supply::of(shared);
    let mut best = best;
    for &q in tails.iter().step_by(stride) {
        let mut energy = 0i64;
        let mut perhaps: Vec<(i64, i64)> = Vec::new();
        for (at, &(i, amount)) in holds.iter().enumerate() {
            if tail[i] >= q {
                let mine = i64::from(amount) * i64::from(model.dur[i]);
                energy += mine;
                if !known.surely[i] {
                    perhaps.push((model.value[i], mine));
                }
            }
            let last_of_head = holds.get(at + 1).is_none_or(|next| head[next.0] != head[i]);
            // The knapsack costs more than the rest, so first see whether it could matter.
            if last_of_head && energy > 0 && supply.until(head[i], energy).saturating_add(q) > best
            {
                let left = if perhaps.is_empty() {
                    0
                } else {
                    knapsack(&perhaps, known.spare)
                };
                if energy > left {
                    best = best.max(supply.until(head[i], energy - left).saturating_add(q));
                }
            }
        }
    }
    best
}

/// States of a knapsack beyond which its fractional bound is taken.
const MOST_STATES: usize = 2_000;

/// The greatest gain of items `(weight, gain)` within `room`, or a little more if it takes too long.
///
/// **Source** dominance lists (Nemhauser and Ullmann 1969); fractional bound (Dantzig 1957).
pub(super) fn knapsack(items: &[(i64, i64)], room: i64) -> i64 {
    if room < 0 {
        return 0;
    }
    let weight: i64 = items.iter().map(|item| item.0).sum();
    if weight <= room {
        return items.iter().map(|item| item.1).sum();
    }
    let mut states: Vec<(i64, i64)> = vec![(0, 0)];
    for &(weight, gain) in items {
        let with: Vec<(i64, i64)> = states
            .iter()
            .map(|s| (s.0 + weight, s.1 + gain))
            .filter(|s| s.0 <= room)
            .collect();
        states.extend(with);
        states.sort_unstable_by_key(|s| (s.0, -s.1));
        let mut most = -1;
        states.retain(|s| {
            let better = s.1 > most;
            most = most.max(s.1);
            better
        });
        if states.len() > MOST_STATES {
            return fractional(items, room);
        }
    }
    states.last().map_or(0, |s| s.1)
}

fn fractional(items: &[(i64, i64)], room: i64) -> i64 {
    let mut items = items.to_vec();
    items.sort_by(|a, b| (b.1 * a.0).cmp(&(a.1 * b.0)));
    let mut left = room;
    let mut gain = 0;
    for (weight, mine) in items {
        if weight <= left {
            left -= weight;
            gain += mine;
        } else {
            return gain + mine * left / weight;
        }
    }
    gain
}

/// A stretch of time and the tasks that, if done, are done within it.
pub(super) struct Window {
    /// What can be given, less what tasks that are surely done need.
    pub room: i64,
    /// Optional tasks and their energy.
    pub perhaps: Vec<(usize, i64)>,
}

/// The windows that are too small for all that is perhaps done within them.
pub(super) fn windows(
    model: &Model,
    shared: &Shared,
    known: &Known<'_>,
    head: &[i32],
    latest: &[i32],
) -> Vec<Window> {
    let holds: Vec<(usize, i64)> = shared
        .holds
        .iter()
        .filter(|h| {
            (known.surely[h.0] || known.perhaps[h.0]) && head[h.0] + model.dur[h.0] <= latest[h.0]
        })
        .map(|&(i, amount)| (i, i64::from(amount) * i64::from(model.dur[i])))
        .collect();
    let mut found = Vec::new();
    if holds.iter().all(|h| known.surely[h.0]) {
        return found;
    }
    let supply = Supply::of(shared);
    let bounds = |of: &[i32]| {
        let mut all: Vec<i32> = holds.iter().map(|h| of[h.0]).collect();
        all.sort_unstable();
        all.dedup();
        all
    };
    for &from in &bounds(head) {
        for &to in bounds(latest)
            .iter()
            .filter(|&&to| to > from && to < FAR / 2)
        {
            let inside = || {
                holds
                    .iter()
                    .filter(|h| head[h.0] >= from && latest[h.0] <= to)
            };
            let energy: i64 = inside().map(|h| h.1).sum();
            let room = supply.between(from, to);
            let perhaps: Vec<(usize, i64)> =
                inside().filter(|h| !known.surely[h.0]).copied().collect();
            if energy > room && !perhaps.is_empty() {
                let optional: i64 = perhaps.iter().map(|p| p.1).sum();
                found.push(Window {
                    room: room - (energy - optional),
                    perhaps,
                });
            }
        }
    }
    found
}

/// The greatest value that each window by itself allows.
pub(super) fn value_bound(
    model: &Model,
    all: &[Shared],
    known: &Known<'_>,
    head: &[i32],
    latest: &[i32],
) -> i64 {
    let total: i64 = (0..model.n)
        .filter(|&i| known.surely[i] || known.perhaps[i])
        .map(|i| model.value[i])
        .sum();
    let mut best = total;
    for shared in all {
        for window in windows(model, shared, known, head, latest) {
            let items: Vec<(i64, i64)> = window
                .perhaps
                .iter()
                .map(|&(i, energy)| (energy, model.value[i]))
                .collect();
            let inside: i64 = items.iter().map(|item| item.1).sum();
            best = best.min(total - inside + knapsack(&items, window.room));
        }
    }
    best
}

/// The amount a shared thing can give over time.
#[derive(Debug)]
pub(super) struct Supply {
    /// `(from, free, given from the first step to here)`.
    steps: Vec<(i32, i32, i64)>,
}

impl Supply {
    pub fn of(shared: &Shared) -> Self {
        let mut steps = Vec::new();
        let mut given = 0i64;
        let mut last: Option<(i32, i32)> = None;
        for &(from, free) in shared.profile().steps() {
            let from = from.max(0);
            if let Some((since, rate)) = last {
                given += i64::from(from - since) * i64::from(rate);
            }
            steps.push((from, free, given));
            last = Some((from, free));
        }
        Self { steps }
    }

    fn given(&self, time: i32) -> i64 {
        let at = self.steps.partition_point(|s| s.0 <= time).max(1) - 1;
        let (from, free, given) = self.steps[at];
        given + i64::from(time - from) * i64::from(free)
    }

    /// What can be given on `[start, end)`.
    pub fn between(&self, start: i32, end: i32) -> i64 {
        if end <= start {
            0
        } else if let [(_, free, _)] = self.steps[..] {
            i64::from(end - start) * i64::from(free)
        } else {
            self.given(end) - self.given(start)
        }
    }

    /// The earliest moment by which `energy` can be given from `start` on.
    pub fn until(&self, start: i32, energy: i64) -> i32 {
        let goal = self.given(start) + energy;
        let at = self.steps.partition_point(|s| s.2 < goal).max(1) - 1;
        let (from, free, given) = self.steps[at];
        if free <= 0 {
            return FAR;
        }
        let ticks = (goal - given + i64::from(free) - 1) / i64::from(free);
        i32::try_from(i64::from(from) + ticks).unwrap_or(FAR)
    }
}
