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

/// The earliest finish of the tasks in `surely`, as far as path and energy tell.
///
/// For every shared thing, head `a` and tail `q`: what must be done after `a` and before the last
/// `q` takes at least its energy over the capacity, so the finish is at least
/// `a + q + energy / capacity`, calendars counted.
pub(super) fn finish_bound(model: &Model, all: &[Shared], surely: &[bool], head: &[i32]) -> i32 {
    let tail = model.tails(surely);
    let mut best = (0..model.n)
        .filter(|&i| surely[i])
        .map(|i| head[i] + model.dur[i] + tail[i])
        .max()
        .unwrap_or(0);
    for shared in all {
        best = best.max(energy_bound(model, shared, surely, head, &tail));
    }
    best
}

fn energy_bound(
    model: &Model,
    shared: &Shared,
    surely: &[bool],
    head: &[i32],
    tail: &[i32],
) -> i32 {
    let mut holds: Vec<(usize, i32)> = shared
        .holds
        .iter()
        .copied()
        .filter(|h| surely[h.0])
        .collect();
    holds.sort_by_key(|h| std::cmp::Reverse(head[h.0]));
    let mut tails: Vec<i32> = holds.iter().map(|h| tail[h.0]).collect();
    tails.sort_unstable();
    tails.dedup();
    let stride = tails.len().div_ceil(MOST_TAILS).max(1);
    let supply = Supply::of(shared);
    let mut best = 0;
    for &q in tails.iter().step_by(stride) {
        let mut energy = 0i64;
        for (at, &(i, amount)) in holds.iter().enumerate() {
            if tail[i] >= q {
                energy += i64::from(amount) * i64::from(model.dur[i]);
            }
            let last_of_head = holds.get(at + 1).is_none_or(|next| head[next.0] != head[i]);
            if last_of_head && energy > 0 {
                best = best.max(supply.until(head[i], energy).saturating_add(q));
            }
        }
    }
    best
}

/// The amount a shared thing can give over time.
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

/// Whether path alone shows that the tasks in `surely` cannot meet their latest ends.
pub(super) fn misses(model: &Model, surely: &[bool], head: &[i32], limit: i32) -> bool {
    let latest = model.latest_ends(surely, limit);
    (0..model.n).any(|i| surely[i] && head[i] + model.dur[i] > latest[i])
}
