//! The bounds of all variables, how each came about, and the way back.

use super::literal::{Lit, View};

/// No earlier step.
pub(super) const NONE: u32 = u32::MAX;

/// Why a bound holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reason {
    /// It was tried, or it holds from the outset.
    Choice,
    /// All other literals of the clause are false.
    Clause(u32),
    /// The arc passes a bound on.
    Arc(u32),
    /// The literals at this place of the list of reasons hold.
    Listed(u32),
}

/// One tightened bound.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    pub view: u32,
    pub old: i32,
    pub new: i32,
    pub before: u32,
    pub level: u32,
    pub reason: Reason,
}

/// A contradiction: literals that all hold but cannot hold together.
pub(super) type Clash = Vec<Lit>;

/// Bounds and their history.
#[derive(Debug, Default)]
pub(super) struct Store {
    low: Vec<i32>,
    last: Vec<u32>,
    pub trail: Vec<Step>,
    levels: Vec<(u32, u32)>,
    listed: Vec<Lit>,
}

impl Store {
    /// A new variable from `min` to `max`.
    pub fn variable(&mut self, min: i32, max: i32) -> usize {
        self.low.extend([min, -max]);
        self.last.extend([NONE, NONE]);
        self.low.len() / 2 - 1
    }

    pub fn variables(&self) -> usize {
        self.low.len() / 2
    }

    pub fn low(&self, view: View) -> i32 {
        self.low[view]
    }

    pub fn min(&self, variable: usize) -> i32 {
        self.low[2 * variable]
    }

    pub fn max(&self, variable: usize) -> i32 {
        -self.low[2 * variable + 1]
    }

    pub fn is_fixed(&self, variable: usize) -> bool {
        self.min(variable) == self.max(variable)
    }

    pub fn holds(&self, lit: Lit) -> bool {
        self.low[lit.side()] >= lit.bound
    }

    pub fn fails(&self, lit: Lit) -> bool {
        self.holds(lit.not())
    }

    pub fn level(&self) -> u32 {
        self.levels.len() as u32
    }

    pub fn open_level(&mut self) {
        self.levels
            .push((self.trail.len() as u32, self.listed.len() as u32));
    }

    /// Takes everything back that came after `level`.
    pub fn back_to(&mut self, level: u32) {
        if level >= self.level() {
            return;
        }
        let (trail, listed) = self.levels[level as usize];
        for step in self.trail.drain(trail as usize..).rev() {
            self.low[step.view as usize] = step.old;
            self.last[step.view as usize] = step.before;
        }
        self.listed.truncate(listed as usize);
        self.levels.truncate(level as usize);
    }

    /// Notes literals that together are a reason.
    pub fn list(&mut self, lits: &[Lit]) -> Reason {
        let at = self.listed.len() as u32;
        self.listed.push(Lit {
            view: 0,
            bound: lits.len() as i32,
        });
        self.listed.extend_from_slice(lits);
        Reason::Listed(at)
    }

    /// The literals of a listed reason.
    pub fn listed(&self, at: u32) -> &[Lit] {
        let first = at as usize + 1;
        &self.listed[first..first + self.listed[at as usize].bound as usize]
    }

    /// Makes `lit` hold; whether its variable still has a value left. If not, nothing is changed.
    pub fn tighten(&mut self, lit: Lit, reason: Reason) -> bool {
        let view = lit.side();
        if self.low[view] >= lit.bound {
            return true;
        }
        if -self.low[view ^ 1] < lit.bound {
            return false;
        }
        self.trail.push(Step {
            view: lit.view,
            old: self.low[view],
            new: lit.bound,
            before: self.last[view],
            level: self.level(),
            reason,
        });
        self.last[view] = self.trail.len() as u32 - 1;
        self.low[view] = lit.bound;
        true
    }

    /// The step with which `lit` began to hold; none if it held from the outset.
    pub fn step_of(&self, lit: Lit) -> Option<usize> {
        let mut at = self.last[lit.side()];
        if at == NONE {
            return None;
        }
        loop {
            let step = &self.trail[at as usize];
            if step.old < lit.bound {
                return Some(at as usize);
            }
            if step.before == NONE {
                return None;
            }
            at = step.before;
        }
    }
}
