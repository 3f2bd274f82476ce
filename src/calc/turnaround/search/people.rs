//! People as literals: who stands in which slot of which task.
//!
//! People who can stand in for each other are one kind, counted and not named, so that the search
//! does not try the same plan under every exchange of names.

use std::collections::HashMap;

use super::encode::{Encoding, Helper};
use super::energy::Energy;
use super::linear::Linear;
use super::literal::Lit;
use super::timetable::{Holder, Timetable};
use crate::calc::turnaround::model::Model;
use crate::calc::turnaround::shared::Shared;

impl Encoding<'_> {
    /// Who does what: everybody at one task at a time, and none while away.
    pub(super) fn people(&mut self) {
        self.out.kinds = kinds(self.model);
        let kind_of: HashMap<usize, usize> = self
            .out
            .kinds
            .iter()
            .enumerate()
            .flat_map(|(kind, people)| people.iter().map(move |&who| (who, kind)))
            .collect();
        // Per kind: who needs one of it, under which literal, if under any.
        let mut users: Vec<Vec<(usize, Option<Lit>)>> = vec![Vec::new(); self.out.kinds.len()];
        for i in self.tasks_in() {
            let mut per_kind: HashMap<usize, Vec<Lit>> = HashMap::new();
            for slot in 0..self.model.slots[i].len() {
                self.slot(i, slot, &kind_of, &mut users, &mut per_kind);
            }
            let mut asked: Vec<(usize, Vec<Lit>)> = per_kind.into_iter().collect();
            asked.sort_by_key(|a| a.0);
            for (kind, lits) in asked {
                let size = self.out.kinds[kind].len()
                    - users[kind]
                        .iter()
                        .filter(|u| u.0 == i && u.1.is_none())
                        .count();
                if lits.len() > size {
                    let terms = lits.iter().map(|&lit| (lit, 1)).collect();
                    self.out.solver.linear(Linear {
                        terms,
                        number: None,
                        limit: size as i64,
                    });
                }
                users[kind].extend(lits.into_iter().map(|lit| (i, Some(lit))));
            }
        }
        for (kind, users) in users.iter().enumerate() {
            self.kind(kind, users);
        }
    }

    fn slot(
        &mut self,
        i: usize,
        slot: usize,
        kind_of: &HashMap<usize, usize>,
        users: &mut [Vec<(usize, Option<Lit>)>],
        per_kind: &mut HashMap<usize, Vec<Lit>>,
    ) {
        let asked = &self.model.slots[i][slot];
        let mut able: Vec<usize> = asked.able.iter().map(|who| kind_of[who]).collect();
        able.dedup();
        able.sort_unstable();
        able.dedup();
        if asked.able.len() == asked.count {
            // Everybody able is needed: nothing to choose.
            for kind in able {
                for _ in 0..self.out.kinds[kind].len() {
                    users[kind].push((i, None));
                }
            }
            return;
        }
        let mut terms: Vec<(Lit, i64)> = Vec::new();
        for kind in able {
            let solver = &mut self.out.solver;
            let lits: Vec<Lit> = (0..asked.count.min(self.out.kinds[kind].len()))
                .map(|_| Lit::yes(solver.yes_or_no()))
                .collect();
            for pair in lits.windows(2) {
                solver.clause(&[pair[1].not(), pair[0]]);
            }
            if let Some(done) = self.out.done[i] {
                solver.clause(&[lits[0].not(), Lit::yes(done)]);
            }
            terms.extend(lits.iter().map(|&lit| (lit.not(), 1)));
            per_kind.entry(kind).or_default().extend(&lits);
            self.out.helpers[i].push(Helper { slot, kind, lits });
        }
        if asked.count == 1 {
            let mut clause: Vec<Lit> = terms.iter().map(|t| t.0.not()).collect();
            clause.extend(self.given(i).into_iter().map(Lit::not));
            self.out.solver.clause(&clause);
            return;
        }
        let count = asked.count as i64;
        let mut limit = terms.len() as i64 - count;
        if let Some(done) = self.out.done[i] {
            terms.push((Lit::yes(done), count));
            limit += count;
        }
        self.out.solver.linear(Linear {
            terms,
            number: None,
            limit,
        });
    }

    fn kind(&mut self, kind: usize, users: &[(usize, Option<Lit>)]) {
        let model = self.model;
        let people = self.out.kinds[kind].clone();
        for &(i, lit) in users {
            for &(from, to) in &model.away[people[0]] {
                let mut clause: Vec<Lit> = lit.map(Lit::not).into_iter().collect();
                if lit.is_none() {
                    clause.extend(self.given(i).into_iter().map(Lit::not));
                }
                clause.push(Lit::at_most(self.out.start[i], from - model.dur[i]));
                clause.push(Lit::at_least(self.out.start[i], to));
                self.out.solver.clause(&clause);
            }
        }
        let holders: Vec<Holder> = users
            .iter()
            .map(|&(i, lit)| Holder {
                start: self.out.start[i],
                latest: self.out.latest_start[i],
                length: model.dur[i],
                amount: 1,
                given: lit.or(self.out.done[i].map(Lit::yes)),
                floats: false,
            })
            .collect();
        let alike = Shared {
            size: people.len() as i32,
            cuts: model.away[people[0]]
                .iter()
                .map(|gone| (gone.0, gone.1, people.len() as i32))
                .collect(),
            holds: Vec::new(),
        };
        self.out.solver.energy(Energy::new(&alike, holders.clone()));
        if people.len() > 1 {
            self.out
                .solver
                .timetable(Timetable::new(people.len() as i32, Vec::new(), holders));
            return;
        }
        for (at, &(a, one)) in users.iter().enumerate() {
            for &(b, other) in users[at + 1..].iter().filter(|u| u.0 != a) {
                if self.may_meet(a, b) {
                    let mut clause: Vec<Lit> = match one {
                        Some(lit) => vec![lit.not()],
                        None => self.given(a).into_iter().map(Lit::not).collect(),
                    };
                    match other {
                        Some(lit) => clause.push(lit.not()),
                        None => clause.extend(self.given(b).into_iter().map(Lit::not)),
                    }
                    clause.extend(self.apart(a, b));
                    self.out.solver.clause(&clause);
                }
            }
        }
    }
}

/// People alike: able at the same slots, away at the same times.
fn kinds(model: &Model) -> Vec<Vec<usize>> {
    let mut able: Vec<Vec<(usize, usize)>> = vec![Vec::new(); model.away.len()];
    for (i, slots) in model.slots.iter().enumerate() {
        for (slot, asked) in slots.iter().enumerate() {
            for &who in &asked.able {
                able[who].push((i, slot));
            }
        }
    }
    let mut kinds: Vec<Vec<usize>> = Vec::new();
    for who in (0..model.away.len()).filter(|&who| !able[who].is_empty()) {
        match kinds
            .iter_mut()
            .find(|kind| able[kind[0]] == able[who] && model.away[kind[0]] == model.away[who])
        {
            Some(kind) => kind.push(who),
            None => kinds.push(vec![who]),
        }
    }
    kinds
}
