//! Searching for better plans, and for proof that there are none.
//!
//! **Source** lazy clause generation for project scheduling: Schutt, Feydy, Stuckey and Wallace
//! 2011; restarts after Luby, Sinclair and Zuckerman 1993; values tried first as in the best plan
//! so far.

mod arcs;
mod clauses;
mod encode;
mod energy;
mod learning;
mod linear;
mod literal;
mod order;
mod people;
mod solver;
mod store;
mod timetable;

use literal::Lit;

use super::model::Model;
use super::schedule::Plan;
use super::shared::Shared;
use super::work::Work;
use encode::Encoded;
pub(super) use encode::Role;

/// Contradictions before the first restart. Of 30 to 250 this proves most of the published projects
/// of 60 tasks within a second.
const RESTART: u64 = 120;
/// Learnt clauses kept at first; the limit grows with every clearing.
const LEARNT: usize = 4_000;
/// Passed-on bounds that count as one step of work.
const PASSED_A_STEP: u64 = 200;

/// How one round of searching ended.
#[derive(Debug)]
pub(super) enum End {
    /// A plan was found.
    Plan(Plan),
    /// There is none under the assumption.
    None,
    /// The limit was reached before either.
    Limit,
}

/// A search for plans of one model with given roles.
pub(super) struct Search<'a> {
    model: &'a Model,
    code: Encoded,
    /// Per variable: the value to try first.
    hint: Vec<i32>,
    restarts: u64,
    most_learnt: usize,
    counted: u64,
}

impl<'a> Search<'a> {
    /// All plans with the given roles that finish from `least` to `limit`.
    pub fn new(model: &'a Model, all: &[Shared], roles: &[Role], least: i32, limit: i32) -> Self {
        let mut code = encode::encode(model, all, roles, least, limit);
        code.solver.settle();
        let hint = (0..code.solver.store.variables())
            .map(|v| code.solver.store.min(v))
            .collect();
        Self {
            model,
            code,
            hint,
            restarts: 0,
            most_learnt: LEARNT,
            counted: 0,
        }
    }

    /// Tries what `plan` does first.
    pub fn follow(&mut self, plan: &Plan) {
        let code = &self.code;
        for i in 0..self.model.n {
            if plan.on[i] {
                self.hint[code.start[i]] = plan.start[i];
            }
            if let Some(done) = code.done[i] {
                self.hint[done] = i32::from(plan.on[i]);
            }
            let mut first = 0;
            for slot in 0..self.model.slots[i].len() {
                let next = (first + self.model.slots[i][slot].count).min(plan.crew[i].len());
                let crew = &plan.crew[i][first.min(next)..next];
                for helper in code.helpers[i].iter().filter(|h| h.slot == slot) {
                    let there = crew
                        .iter()
                        .filter(|who| code.kinds[helper.kind].contains(who))
                        .count();
                    for (k, lit) in helper.lits.iter().enumerate() {
                        self.hint[lit.variable()] = i32::from(k < there);
                    }
                }
                first = next;
            }
        }
        for (&(a, b), &before) in &code.befores {
            self.hint[before] = i32::from(plan.start[a] + self.model.dur[a] <= plan.start[b]);
        }
    }

    /// No plan finishes before this.
    pub fn least_finish(&self) -> i32 {
        self.code.solver.store.min(self.code.finish)
    }

    /// No plan is worth more than this.
    pub fn most_value(&self) -> i64 {
        i64::from(self.code.solver.store.max(self.code.value))
    }

    /// Whether there is no plan at all.
    pub fn is_exhausted(&self) -> bool {
        self.code.solver.is_contradictory()
    }

    /// From now on only plans worth at least `value`.
    pub fn worth_at_least(&mut self, value: i64) {
        self.fact(Lit::at_least(self.code.value, value as i32));
    }

    /// Known from elsewhere: no plan is worth more than `value`.
    pub fn worth_at_most(&mut self, value: i64) {
        self.fact(Lit::at_most(self.code.value, value as i32));
    }

    /// From now on only plans that finish by `finish`.
    pub fn finish_by(&mut self, finish: i32) {
        self.fact(Lit::at_most(self.code.finish, finish));
    }

    fn fact(&mut self, lit: Lit) {
        self.code.solver.back_to(0);
        if self.code.solver.settle() {
            self.code.solver.fact(lit);
            self.code.solver.settle();
        }
    }

    /// Looks for a plan worth at least `value`.
    pub fn find_worth(&mut self, value: i64, clashes: u64, work: &mut Work<'_>) -> End {
        self.find(
            &[Lit::at_least(self.code.value, value as i32)],
            clashes,
            work,
        )
    }

    /// Looks for a plan that finishes by `finish`.
    pub fn find_by(&mut self, finish: i32, clashes: u64, work: &mut Work<'_>) -> End {
        self.find(&[Lit::at_most(self.code.finish, finish)], clashes, work)
    }

    /// Looks for a plan that finishes by `finish` and differs from `plan` near the tasks in `free`:
    /// what comes before them stays, what comes after is at most `slack` earlier.
    pub fn find_near(
        &mut self,
        plan: &Plan,
        free: &[bool],
        slack: i32,
        finish: i32,
        clashes: u64,
        work: &mut Work<'_>,
    ) -> End {
        let code = &self.code;
        let mut assumed = vec![Lit::at_most(code.finish, finish)];
        let from = (0..self.model.n)
            .filter(|&i| free[i] && plan.on[i])
            .map(|i| plan.start[i])
            .min();
        for i in (0..self.model.n).filter(|&i| !free[i]) {
            if let Some(done) = code.done[i] {
                let lit = Lit::yes(done);
                assumed.push(if plan.on[i] { lit } else { lit.not() });
            }
            if plan.on[i] {
                let after = from.is_some_and(|from| plan.start[i] > from);
                let earlier = if after { slack } else { 0 };
                assumed.push(Lit::at_least(code.start[i], plan.start[i] - earlier));
                assumed.push(Lit::at_most(code.latest_start[i], plan.start[i]));
            }
        }
        self.find(&assumed, clashes, work)
    }

    /// Looks for a plan under assumptions; gives up after so many contradictions. What was learnt
    /// stays true without them.
    fn find(&mut self, assumed: &[Lit], clashes: u64, work: &mut Work<'_>) -> End {
        let mut left = clashes;
        loop {
            self.restarts += 1;
            let end = self.run(assumed, luby(self.restarts) * RESTART, &mut left, work);
            self.code.solver.back_to(0);
            if let Some(end) = end {
                return end;
            }
            if self.code.solver.learnt() > self.most_learnt && self.code.solver.settle() {
                self.code.solver.forget();
                self.most_learnt += self.most_learnt / 10;
            }
            if left == 0 || !work.has_more() {
                let sound = self.code.solver.settle();
                return if sound { End::Limit } else { End::None };
            }
        }
    }

    /// Makes all assumptions at once; how many levels that took, or none if they cannot hold.
    fn assume(&mut self, assumed: &[Lit]) -> Option<u32> {
        let solver = &mut self.code.solver;
        solver.back_to(0);
        if !solver.settle() {
            return None;
        }
        for &lit in assumed {
            if solver.store.fails(lit) {
                return None;
            }
            if !solver.store.holds(lit) {
                solver.decide(lit);
            }
        }
        Some(solver.store.level())
    }

    /// Searches until so many contradictions; none if that was not enough.
    fn run(
        &mut self,
        assumed: &[Lit],
        clashes: u64,
        left: &mut u64,
        work: &mut Work<'_>,
    ) -> Option<End> {
        let mut here = clashes.min(*left);
        let Some(mut ground) = self.assume(assumed) else {
            return Some(End::None);
        };
        loop {
            if let Err(clash) = self.code.solver.propagate() {
                if !self.code.solver.learn(clash) {
                    return Some(End::None);
                }
                here -= 1;
                *left -= 1;
                if !self.spend(1, work) || here == 0 {
                    return None;
                }
                if self.code.solver.store.level() < ground {
                    // All assumptions were made before anything followed from them, so what
                    // followed from the first ones has to be found again.
                    match self.assume(assumed) {
                        Some(level) => ground = level,
                        None => return Some(End::None),
                    }
                }
                continue;
            }
            match self.next() {
                Some(lit) => self.code.solver.decide(lit),
                None => return Some(End::Plan(self.read())),
            }
            if self.code.solver.passed > self.counted + 20 * PASSED_A_STEP && !self.spend(0, work) {
                return None;
            }
        }
    }

    fn spend(&mut self, steps: u64, work: &mut Work<'_>) -> bool {
        let passed = (self.code.solver.passed - self.counted) / PASSED_A_STEP;
        self.counted += passed * PASSED_A_STEP;
        work.spend(steps + passed)
    }

    /// What to try next; none if everything that matters is decided.
    fn next(&mut self) -> Option<Lit> {
        let code = &mut self.code;
        if let Some(lit) = code.solver.order.next(&code.solver.store) {
            let value = self.hint[lit.variable()];
            return Some(if value >= lit.bound { lit } else { lit.not() });
        }
        let store = &code.solver.store;
        let mut earliest: Option<(i32, usize)> = None;
        for i in (0..self.model.n).filter(|&i| code.roles[i] != Role::Out) {
            if let Some(done) = code.done[i] {
                if !store.is_fixed(done) {
                    let lit = Lit::yes(done);
                    return Some(if self.hint[done] == 0 { lit.not() } else { lit });
                }
                if store.max(done) == 0 {
                    continue;
                }
            }
            let open = !store.is_fixed(code.start[i])
                || code.helpers[i]
                    .iter()
                    .flat_map(|h| &h.lits)
                    .any(|lit| !store.is_fixed(lit.variable()));
            if open && earliest.is_none_or(|(start, _)| store.min(code.start[i]) < start) {
                earliest = Some((store.min(code.start[i]), i));
            }
        }
        let (start, i) = earliest?;
        for lit in code.helpers[i].iter().flat_map(|h| &h.lits) {
            if !store.is_fixed(lit.variable()) {
                return Some(if self.hint[lit.variable()] == 1 {
                    *lit
                } else {
                    lit.not()
                });
            }
        }
        Some(Lit::at_most(code.start[i], start))
    }

    /// The plan that all variables now say.
    fn read(&self) -> Plan {
        let (model, code) = (self.model, &self.code);
        let store = &code.solver.store;
        let on: Vec<bool> = (0..model.n)
            .map(|i| {
                code.roles[i] != Role::Out && code.done[i].is_none_or(|done| store.min(done) == 1)
            })
            .collect();
        let start: Vec<i32> = (0..model.n)
            .map(|i| if on[i] { store.min(code.start[i]) } else { 0 })
            .collect();
        let mut crew = vec![Vec::new(); model.n];
        let mut free = vec![i32::MIN; model.away.len()];
        let mut by_start: Vec<usize> = (0..model.n).filter(|&i| on[i]).collect();
        by_start.sort_by_key(|&i| (start[i], i));
        for i in by_start {
            let mut taken: Vec<usize> = Vec::new();
            // Slots where everybody able is needed come first.
            let mut filled: Vec<Vec<usize>> = vec![Vec::new(); model.slots[i].len()];
            for (slot, asked) in model.slots[i].iter().enumerate() {
                if asked.able.len() == asked.count {
                    filled[slot].clone_from(&asked.able);
                    taken.extend(&asked.able);
                }
            }
            for helper in &code.helpers[i] {
                let wanted = helper.lits.iter().filter(|&&lit| store.holds(lit)).count();
                let more = model.slots[i][helper.slot].count - filled[helper.slot].len();
                let mut found = 0;
                for &who in &code.kinds[helper.kind] {
                    if found < wanted.min(more) && free[who] <= start[i] && !taken.contains(&who) {
                        filled[helper.slot].push(who);
                        taken.push(who);
                        found += 1;
                    }
                }
            }
            for &who in &taken {
                free[who] = start[i] + model.dur[i];
            }
            crew[i] = filled.concat();
        }
        let finish = (0..model.n)
            .filter(|&i| on[i])
            .map(|i| start[i] + model.dur[i])
            .max()
            .unwrap_or(0);
        let overdue = (0..model.n)
            .filter(|&i| on[i])
            .map(|i| i64::from((start[i] + model.dur[i] - model.deadline[i]).max(0)))
            .sum();
        Plan {
            on,
            start,
            crew,
            finish,
            overdue,
        }
    }
}

/// The sequence 1 1 2 1 1 2 4 1 1 2 1 1 2 4 8 ...
fn luby(index: u64) -> u64 {
    let mut index = index;
    loop {
        let bits = 64 - index.leading_zeros();
        if index + 1 == 1 << bits {
            return 1 << (bits - 1);
        }
        index -= (1 << (bits - 1)) - 1;
    }
}
