//! A turnaround as variables, arcs, clauses and timetables.
//!
//! A task that may be left out has two starts, which are one if it is done: the one is pushed back
//! by what comes before it, the other forward by what comes after it. While it is unknown or out,
//! both may be pushed without limit ("it floats") and it pushes nobody. So bounds are passed on
//! before the choice is made, and it is left out once they have crossed.

use std::collections::HashMap;

use super::energy::Energy;
use super::linear::Linear;
use super::literal::Lit;
use super::solver::Solver;
use super::timetable::{Holder, Timetable};
use crate::calc::turnaround::bounds::{Known, calendar_heads, windows};
use crate::calc::turnaround::model::{FAR, Model};
use crate::calc::turnaround::shared::Shared;

/// What is to become of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::calc::turnaround) enum Role {
    Must,
    May,
    Out,
}

/// Energy windows beyond so many are left out, the loosest first.
const MOST_WINDOWS: usize = 300;

/// So many people of one kind for one slot group of a task.
#[derive(Debug, Clone)]
pub(super) struct Helper {
    pub slot: usize,
    pub kind: usize,
    /// One literal per person: at least one of the kind, at least two, ...
    pub lits: Vec<Lit>,
}

/// A turnaround, ready to be searched.
pub(super) struct Encoded {
    pub solver: Solver,
    pub roles: Vec<Role>,
    /// Per task: its start, as seen from what comes before.
    pub start: Vec<usize>,
    /// Per task: its start, as seen from what comes after; the same unless it may be left out.
    pub latest_start: Vec<usize>,
    /// Per task: whether it is done, if that is open.
    pub done: Vec<Option<usize>>,
    pub finish: usize,
    pub value: usize,
    /// People who can stand in for each other.
    pub kinds: Vec<Vec<usize>>,
    pub helpers: Vec<Vec<Helper>>,
    /// "The first ends before the second starts".
    pub befores: HashMap<(usize, usize), usize>,
}

/// An encoding in the making.
pub(super) struct Encoding<'a> {
    pub model: &'a Model,
    all: &'a [Shared],
    pub out: Encoded,
    /// Earliest start and latest end, if done.
    head: Vec<i32>,
    latest: Vec<i32>,
    /// Whether one task ends before another starts in any plan with both.
    follows: Vec<Vec<bool>>,
}

/// Writes down all plans with the given roles that finish from `least` to `limit`.
pub(super) fn encode(
    model: &Model,
    all: &[Shared],
    roles: &[Role],
    least: i32,
    limit: i32,
) -> Encoded {
    let surely: Vec<bool> = roles.iter().map(|&role| role == Role::Must).collect();
    let head = calendar_heads(model, all, &surely);
    let latest = model.latest_ends(&surely, limit);
    let most = (0..model.n)
        .filter(|&i| roles[i] != Role::Out)
        .map(|i| model.value[i])
        .sum::<i64>() as i32;
    let mut solver = Solver::new();
    let finish = solver.measure(least, limit.max(least));
    let value = solver.measure(0, most);
    if least > limit {
        solver.clause(&[]);
    }
    let mut encoding = Encoding {
        model,
        all,
        out: Encoded {
            solver,
            roles: roles.to_vec(),
            start: Vec::new(),
            latest_start: Vec::new(),
            done: Vec::new(),
            finish,
            value,
            kinds: Vec::new(),
            helpers: vec![Vec::new(); model.n],
            befores: HashMap::new(),
        },
        head,
        latest,
        follows: follows(model, roles),
    };
    encoding.tasks(limit);
    encoding.links();
    encoding.places();
    encoding.people();
    encoding.worth();
    encoding.windows();
    encoding.out
}

fn follows(model: &Model, roles: &[Role]) -> Vec<Vec<bool>> {
    let n = model.n;
    let mut before = vec![vec![false; n]; n];
    for &i in model.order.iter().filter(|&&i| roles[i] != Role::Out) {
        for &(earlier, _) in model.preds[i].iter().filter(|p| roles[p.0] != Role::Out) {
            before[i][earlier] = true;
            if roles[earlier] == Role::Must {
                // Through a task that may be left out nothing follows.
                let further = before[earlier].clone();
                for (mine, theirs) in before[i].iter_mut().zip(further) {
                    *mine |= theirs;
                }
            }
        }
    }
    before
}

impl Encoding<'_> {
    fn is_in(&self, i: usize) -> bool {
        self.out.roles[i] != Role::Out
    }

    pub(super) fn tasks_in(&self) -> Vec<usize> {
        (0..self.model.n).filter(|&i| self.is_in(i)).collect()
    }

    /// The literals that must hold for `i` to be done.
    pub(super) fn given(&self, i: usize) -> Vec<Lit> {
        self.out.done[i].map(Lit::yes).into_iter().collect()
    }

    fn tasks(&mut self, limit: i32) {
        let model = self.model;
        let afloat = model.horizon.max(limit.min(FAR))
            + model.preds.iter().flatten().map(|p| p.1).max().unwrap_or(0)
            + 1;
        for i in 0..model.n {
            let last = self.latest[i] - model.dur[i];
            let fits = self.head[i] <= last;
            let solver = &mut self.out.solver;
            let (start, latest, done) = match self.out.roles[i] {
                Role::Must => {
                    if !fits {
                        solver.clause(&[]);
                    }
                    let start = solver.variable(self.head[i], last.max(self.head[i]));
                    (start, start, None)
                }
                Role::May => {
                    let start = solver.floating(self.head[i].min(afloat), last, afloat);
                    let latest = solver.measure(-afloat, last);
                    let done = solver.yes_or_no();
                    let given = vec![Lit::yes(done)];
                    solver.arc(start, latest, 0, given.clone(), given.clone());
                    solver.arc(latest, start, 0, given.clone(), given);
                    (start, latest, Some(done))
                }
                Role::Out => {
                    let start = solver.measure(0, 0);
                    (start, start, None)
                }
            };
            self.out.start.push(start);
            self.out.latest_start.push(latest);
            self.out.done.push(done);
            if self.is_in(i) {
                let given = self.given(i);
                let finish = self.out.finish;
                self.out.solver.up(start, finish, model.dur[i], given);
                self.out
                    .solver
                    .down(latest, finish, model.dur[i], Vec::new());
            }
        }
    }

    fn links(&mut self) {
        let model = self.model;
        for i in self.tasks_in() {
            for &(earlier, lag) in &model.preds[i] {
                if !self.is_in(earlier) {
                    continue;
                }
                let distance = model.dur[earlier] + lag;
                let (up, down) = (self.given(earlier), self.given(i));
                let (from, to) = (self.out.start[earlier], self.out.start[i]);
                self.out.solver.up(from, to, distance, up);
                let (from, to) = (self.out.latest_start[earlier], self.out.latest_start[i]);
                self.out.solver.down(from, to, distance, down);
            }
            let Some(done) = self.out.done[i] else {
                continue;
            };
            for &other in &model.requires[i] {
                let mut clause = vec![Lit::yes(done).not()];
                match self.out.roles[other] {
                    Role::Must => continue,
                    Role::May => clause.extend(self.given(other)),
                    Role::Out => {}
                }
                self.out.solver.clause(&clause);
            }
        }
    }

    /// Whether two tasks can overlap as far as paths and windows tell.
    pub(super) fn may_meet(&self, a: usize, b: usize) -> bool {
        !self.follows[a][b]
            && !self.follows[b][a]
            && self.head[a] < self.latest[b]
            && self.head[b] < self.latest[a]
    }

    /// "One of the two ends before the other starts", as far as each is possible.
    pub(super) fn apart(&mut self, a: usize, b: usize) -> Vec<Lit> {
        [(a, b), (b, a)]
            .into_iter()
            .filter_map(|(first, then)| self.before(first, then))
            .collect()
    }

    fn before(&mut self, first: usize, then: usize) -> Option<Lit> {
        let length = self.model.dur[first];
        if self.head[first] + length + self.model.dur[then] > self.latest[then] {
            return None;
        }
        if let Some(&known) = self.out.befores.get(&(first, then)) {
            return Some(Lit::yes(known));
        }
        let solver = &mut self.out.solver;
        let lit = Lit::yes(solver.yes_or_no());
        solver.arc(
            self.out.start[first],
            self.out.start[then],
            length,
            vec![lit],
            vec![lit],
        );
        self.out.befores.insert((first, then), lit.variable());
        Some(lit)
    }

    fn places(&mut self) {
        for shared in self.all {
            let holds: Vec<(usize, i32)> = shared
                .holds
                .iter()
                .copied()
                .filter(|h| self.is_in(h.0))
                .collect();
            let mut pairs = true;
            for (at, &(a, much)) in holds.iter().enumerate() {
                for &(b, more) in &holds[at + 1..] {
                    if much + more <= shared.size {
                        pairs = false;
                    } else if self.may_meet(a, b) {
                        let mut clause: Vec<Lit> = [self.given(a), self.given(b)]
                            .concat()
                            .into_iter()
                            .map(Lit::not)
                            .collect();
                        clause.extend(self.apart(a, b));
                        self.out.solver.clause(&clause);
                    }
                }
            }
            let cuts = cuts(shared);
            let asked: i64 = holds.iter().map(|h| i64::from(h.1)).sum();
            if asked <= i64::from(shared.size) && cuts.is_empty() {
                continue;
            }
            let holders = self.holders(&holds);
            self.out.solver.energy(Energy::new(shared, holders.clone()));
            if !(pairs && cuts.is_empty()) {
                self.out
                    .solver
                    .timetable(Timetable::new(shared.size, cuts, holders));
            }
        }
    }

    fn holders(&self, holds: &[(usize, i32)]) -> Vec<Holder> {
        holds
            .iter()
            .map(|&(i, amount)| Holder {
                start: self.out.start[i],
                latest: self.out.latest_start[i],
                length: self.model.dur[i],
                amount,
                given: self.out.done[i].map(Lit::yes),
                floats: true,
            })
            .collect()
    }

    /// The value is what all could be worth less what is left out.
    fn worth(&mut self) {
        let model = self.model;
        let terms: Vec<(Lit, i64)> = (0..model.n)
            .filter_map(|i| self.out.done[i].map(|done| (Lit::yes(done).not(), model.value[i])))
            .filter(|term| term.1 > 0)
            .collect();
        let most = (0..model.n)
            .filter(|&i| self.is_in(i))
            .map(|i| model.value[i])
            .sum();
        self.out.solver.linear(Linear {
            terms,
            number: Some((2 * self.out.value, 1)),
            limit: most,
        });
    }

    /// What is done within a window must fit into it.
    fn windows(&mut self) {
        let roles = &self.out.roles;
        let surely: Vec<bool> = roles.iter().map(|&role| role == Role::Must).collect();
        let perhaps: Vec<bool> = roles.iter().map(|&role| role == Role::May).collect();
        let known = Known {
            surely: &surely,
            perhaps: &perhaps,
            spare: 0,
        };
        let mut found: Vec<(i64, Linear)> = Vec::new();
        for shared in self.all {
            for window in windows(self.model, shared, &known, &self.head, &self.latest) {
                let excess: i64 = window.perhaps.iter().map(|p| p.1).sum::<i64>() - window.room;
                let done = &self.out.done;
                let terms = window
                    .perhaps
                    .iter()
                    .filter_map(|&(i, energy)| done[i].map(|d| (Lit::yes(d), energy)));
                let linear = Linear {
                    terms: terms.collect(),
                    number: None,
                    limit: window.room,
                };
                found.push((excess, linear));
            }
        }
        found.sort_by_key(|f| std::cmp::Reverse(f.0));
        for (_, linear) in found.into_iter().take(MOST_WINDOWS) {
            self.out.solver.linear(linear);
        }
    }
}

fn cuts(shared: &Shared) -> Vec<(i32, i32, i32)> {
    let profile = shared.profile();
    profile
        .steps()
        .windows(2)
        .map(|pair| (pair[0].0, pair[1].0, shared.size - pair[0].1))
        .filter(|cut| cut.2 > 0)
        .collect()
}
