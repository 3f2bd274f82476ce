//! Building a plan task by task: serial and parallel schedule generation, and justification.
//!
//! **Source** Kolisch 1996 (serial and parallel generation); Valls, Ballestín and Quintanilla 2005
//! (forward-backward improvement).

use std::cmp::Reverse;
use std::collections::{BTreeSet, BinaryHeap};

use super::model::{FAR, Model};
use super::profile::Profile;
use super::staff;

/// A plan in numbers.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub on: Vec<bool>,
    pub start: Vec<i32>,
    pub crew: Vec<Vec<usize>>,
    pub finish: i32,
    /// By how much tasks end after their own deadlines, in all.
    pub overdue: i64,
}

/// Builds plans for one model, one after the other.
pub(super) struct Builder<'a> {
    model: &'a Model,
    empty_pools: Vec<Profile>,
    empty_people: Vec<Profile>,
    pools: Vec<Profile>,
    people: Vec<Profile>,
}

impl<'a> Builder<'a> {
    pub fn new(model: &'a Model) -> Self {
        let empty_pools: Vec<Profile> = model
            .pools
            .iter()
            .map(|p| Profile::new(p.size, &p.reduced))
            .collect();
        let empty_people: Vec<Profile> = model
            .away
            .iter()
            .map(|gone| {
                let cuts: Vec<(i32, i32, i32)> = gone.iter().map(|g| (g.0, g.1, 1)).collect();
                Profile::new(1, &cuts)
            })
            .collect();
        Self {
            model,
            pools: empty_pools.clone(),
            people: empty_people.clone(),
            empty_pools,
            empty_people,
        }
    }

    fn clear(&mut self) {
        self.pools.clone_from(&self.empty_pools);
        self.people.clone_from(&self.empty_people);
    }

    /// Each task of `order`, at its earliest after those before it; none before `floor`.
    pub fn serial(&mut self, order: &[usize], on: &[bool], floor: i32) -> Plan {
        self.clear();
        let mut plan = self.blank(on);
        for &i in order.iter().filter(|&&i| on[i]) {
            let ready = self.ready(&plan, i).max(floor);
            self.place(&mut plan, i, ready);
        }
        plan
    }

    /// As [`Builder::serial`], but whoever `crew` names for a task does it, if anybody is named.
    pub fn settle(&mut self, order: &[usize], on: &[bool], crew: &[Vec<usize>]) -> Plan {
        self.clear();
        let mut plan = self.blank(on);
        for &i in order.iter().filter(|&&i| on[i]) {
            let mut start = self.ready(&plan, i);
            if crew[i].is_empty() {
                self.place(&mut plan, i, start);
                continue;
            }
            loop {
                let before = start;
                for &(pool, amount) in &self.model.holds[i] {
                    start = self.pools[pool].earliest(start, self.model.dur[i], amount);
                }
                for &who in &crew[i] {
                    start = self.people[who].earliest(start, self.model.dur[i], 1);
                }
                if start == before {
                    break;
                }
            }
            self.book(&mut plan, i, start, crew[i].clone());
        }
        plan
    }

    /// Goes through time and starts, of the tasks that can start, those with the smallest key first.
    pub fn parallel(&mut self, key: &[i64], on: &[bool]) -> Plan {
        self.clear();
        let model = self.model;
        let mut plan = self.blank(on);
        let mut waiting: Vec<usize> = (0..model.n)
            .map(|i| model.preds[i].iter().filter(|p| on[p.0]).count())
            .collect();
        let mut open: Vec<usize> = (0..model.n).filter(|&i| on[i] && waiting[i] == 0).collect();
        let mut moments: BTreeSet<i32> = self
            .empty_pools
            .iter()
            .chain(&self.empty_people)
            .flat_map(|p| p.steps().iter().map(|s| s.0.max(0)))
            .chain((0..model.n).filter(|&i| on[i]).map(|i| model.release[i]))
            .collect();
        moments.insert(0);
        while let Some(now) = moments.pop_first() {
            open.sort_by_key(|&i| (key[i], i));
            let mut at = 0;
            while at < open.len() {
                let i = open[at];
                let mut crew = Vec::new();
                if self.ready(&plan, i) > now || self.fit(i, now, &mut crew) != now {
                    at += 1;
                    continue;
                }
                self.book(&mut plan, i, now, crew);
                open.remove(at);
                let end = now + model.dur[i];
                moments.insert(end);
                for &(next, lag) in model.succs[i].iter().filter(|s| on[s.0]) {
                    moments.insert(end + lag);
                    waiting[next] -= 1;
                    if waiting[next] == 0 {
                        open.push(next);
                    }
                }
            }
        }
        plan
    }

    fn blank(&self, on: &[bool]) -> Plan {
        Plan {
            on: on.to_vec(),
            start: vec![0; self.model.n],
            crew: vec![Vec::new(); self.model.n],
            finish: 0,
            overdue: 0,
        }
    }

    fn ready(&self, plan: &Plan, i: usize) -> i32 {
        let model = self.model;
        model.preds[i]
            .iter()
            .filter(|p| plan.on[p.0])
            .map(|&(before, lag)| plan.start[before] + model.dur[before] + lag)
            .fold(model.release[i], i32::max)
    }

    fn place(&mut self, plan: &mut Plan, i: usize, from: i32) {
        let mut crew = Vec::new();
        let start = self.fit(i, from, &mut crew);
        self.book(plan, i, start, crew);
    }

    fn book(&mut self, plan: &mut Plan, i: usize, start: i32, crew: Vec<usize>) {
        let end = start + self.model.dur[i];
        for &(pool, amount) in &self.model.holds[i] {
            self.pools[pool].take(start, end, amount);
        }
        for &who in &crew {
            self.people[who].take(start, end, 1);
        }
        plan.start[i] = start;
        plan.crew[i] = crew;
        plan.finish = plan.finish.max(end);
        plan.overdue += i64::from((end - self.model.deadline[i]).max(0));
    }

    /// The earliest start from `from` on, and who does it then.
    fn fit(&self, i: usize, from: i32, crew: &mut Vec<usize>) -> i32 {
        let model = self.model;
        let length = model.dur[i];
        let mut start = from;
        loop {
            loop {
                let before = start;
                for &(pool, amount) in &model.holds[i] {
                    start = self.pools[pool].earliest(start, length, amount);
                }
                if start == before {
                    break;
                }
            }
            match self.staff(i, start, crew) {
                None => return start,
                Some(later) => start = later,
            }
        }
    }

    /// Fills the slots of `i` at `start`, or names the next moment worth trying.
    fn staff(&self, i: usize, start: i32, crew: &mut Vec<usize>) -> Option<i32> {
        let slots = &self.model.slots[i];
        let length = self.model.dur[i];
        crew.clear();
        if slots.is_empty() {
            return None;
        }
        let mut later = i32::MAX;
        let mut free: Vec<Vec<usize>> = Vec::new();
        for slot in slots {
            let mut now = Vec::new();
            for &who in &slot.able {
                let at = self.people[who].earliest(start, length, 1);
                if at == start {
                    now.push(who);
                    if slots.len() == 1 && now.len() == slot.count {
                        crew.extend(now);
                        return None;
                    }
                } else {
                    later = later.min(at);
                }
            }
            free.extend(std::iter::repeat_n(now, slot.count));
        }
        if slots.len() > 1
            && let Some(chosen) = staff::assign(&free)
        {
            crew.extend(chosen);
            return None;
        }
        Some(later)
    }
}

/// A list of tasks in which each comes after those it waits for, smallest key first.
pub(super) fn list_by(model: &Model, key: &[i64]) -> Vec<usize> {
    let mut waiting: Vec<usize> = model.preds.iter().map(Vec::len).collect();
    let mut open: BinaryHeap<Reverse<(i64, usize)>> = (0..model.n)
        .filter(|&i| waiting[i] == 0)
        .map(|i| Reverse((key[i], i)))
        .collect();
    let mut list = Vec::with_capacity(model.n);
    while let Some(Reverse((_, i))) = open.pop() {
        list.push(i);
        for &(next, _) in &model.succs[i] {
            waiting[next] -= 1;
            if waiting[next] == 0 {
                open.push(Reverse((key[next], next)));
            }
        }
    }
    list
}

/// Pushes a plan to the right and back to the left while that shortens it.
pub(super) struct Justifier<'a> {
    model: &'a Model,
    mirror: &'a Model,
    forward: Builder<'a>,
    backward: Builder<'a>,
    end: i32,
}

impl<'a> Justifier<'a> {
    /// `mirror` is `model` mirrored at `end`.
    pub fn new(model: &'a Model, mirror: &'a Model, end: i32) -> Self {
        Self {
            model,
            mirror,
            forward: Builder::new(model),
            backward: Builder::new(mirror),
            end,
        }
    }

    /// The builder of forward plans.
    pub fn builder(&mut self) -> &mut Builder<'a> {
        &mut self.forward
    }

    /// One pass to the right, one to the left.
    pub fn justify(&mut self, plan: &Plan) -> Plan {
        let model = self.model;
        let right_first: Vec<i64> = (0..model.n)
            .map(|i| -i64::from(plan.start[i] + model.dur[i]))
            .collect();
        let list = list_by(self.mirror, &right_first);
        let right = self
            .backward
            .serial(&list, &plan.on, self.end - plan.finish);
        // In the mirror a task ends where, seen forwards, it starts.
        let left_first: Vec<i64> = (0..model.n)
            .map(|i| i64::from(self.end - right.start[i] - model.dur[i]))
            .collect();
        let list = list_by(model, &left_first);
        self.forward.serial(&list, &plan.on, 0)
    }

    /// Justifies until it no longer helps.
    pub fn improve(&mut self, mut plan: Plan) -> Plan {
        loop {
            let next = self.justify(&plan);
            if rank(&next) >= rank(&plan) {
                return plan;
            }
            plan = next;
        }
    }
}

/// What makes one plan with the same tasks better than another: fewer overdue, then earlier.
pub(super) fn rank(plan: &Plan) -> (i64, i32) {
    (plan.overdue, plan.finish)
}

/// Keys by which the first lists are made: latest end, most work after it, least slack, fixed first.
pub(super) fn rules(model: &Model, surely: &[bool]) -> Vec<Vec<i64>> {
    let latest = model.latest_ends(surely, model.call.unwrap_or(FAR / 2).min(FAR / 2));
    let head = model.heads(surely);
    let mut weight = vec![0i64; model.n];
    for &i in model.order.iter().rev() {
        let after: i64 = model.succs[i]
            .iter()
            .map(|s| weight[s.0])
            .max()
            .unwrap_or(0);
        let people: usize = model.slots[i].iter().map(|s| s.count).sum();
        weight[i] = after + i64::from(model.dur[i]) * (1 + people as i64);
    }
    let fixed =
        |i: usize| model.deadline[i] != FAR && model.deadline[i] - model.dur[i] - head[i] <= 0;
    let first = |i: usize, key: i64| if fixed(i) { i64::MIN / 2 + key } else { key };
    vec![
        (0..model.n)
            .map(|i| first(i, i64::from(latest[i])))
            .collect(),
        (0..model.n)
            .map(|i| first(i, i64::from(latest[i] - model.dur[i])))
            .collect(),
        (0..model.n).map(|i| first(i, -weight[i])).collect(),
        (0..model.n).map(|i| first(i, i64::from(head[i]))).collect(),
        (0..model.n)
            .map(|i| first(i, -i64::from(model.dur[i])))
            .collect(),
    ]
}
