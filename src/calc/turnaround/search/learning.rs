//! Learning from a contradiction: the clause that would have prevented it.
//!
//! **Source** the first unique implication point (Marques-Silva and Sakallah 1999, Zhang et al.
//! 2001); of a bound only what is needed is asked for (Schutt, Feydy, Stuckey and Wallace 2011).

use super::literal::Lit;
use super::solver::Solver;
use super::store::{Clash, Reason};

/// Nothing is needed of a step.
const UNMARKED: i32 = i32::MIN;

impl Solver {
    /// Learns from a contradiction and goes back; false if there is none to go back to.
    pub fn learn(&mut self, clash: Clash) -> bool {
        let level = clash
            .iter()
            .filter_map(|&lit| self.level_of(lit))
            .max()
            .unwrap_or(0);
        if level == 0 {
            self.back_to(0);
            self.contradictory = true;
            return false;
        }
        self.back_to(level);
        let (mut lits, places) = self.explain(&clash, level);
        self.shorten(&mut lits, &places);
        self.order.decay();
        self.clauses.decay();
        let mut back = 0;
        for at in 1..lits.len() {
            let level = self.level_of(lits[at]).unwrap_or(0);
            if level > back {
                back = level;
                lits.swap(1, at);
            }
        }
        let mut levels: Vec<u32> = lits.iter().filter_map(|&lit| self.level_of(lit)).collect();
        levels.sort_unstable();
        levels.dedup();
        let clause: Vec<Lit> = lits.iter().map(|lit| lit.not()).collect();
        self.back_to(back);
        let reason = if clause.len() == 1 {
            Reason::Choice
        } else {
            Reason::Clause(self.clauses.add(&clause, true, levels.len() as u32))
        };
        if !self.store.tighten(clause[0], reason) {
            self.contradictory = back == 0;
            debug_assert!(
                back == 0,
                "a learnt clause must leave its first literal open"
            );
        }
        !self.contradictory
    }

    fn level_of(&self, lit: Lit) -> Option<u32> {
        self.store.step_of(lit).map(|at| self.store.trail[at].level)
    }

    /// The literals that led to the contradiction: first the one of `level` through which all of
    /// it went, then those of lower levels, each with the step with which it began to hold.
    fn explain(&mut self, clash: &[Lit], level: u32) -> (Vec<Lit>, Vec<usize>) {
        self.marks.clear();
        self.marks.resize(self.store.trail.len(), UNMARKED);
        let mut open = 0usize;
        let mut lower: Vec<usize> = Vec::new();
        let mut premises: Vec<Lit> = clash.to_vec();
        let mut at = self.store.trail.len();
        loop {
            for lit in premises.drain(..) {
                let Some(place) = self.store.step_of(lit) else {
                    continue;
                };
                let step_level = self.store.trail[place].level;
                if step_level == 0 {
                    continue;
                }
                if self.marks[place] == UNMARKED {
                    self.order.bump(lit);
                    if step_level == level {
                        open += 1;
                    } else {
                        lower.push(place);
                    }
                }
                self.marks[place] = self.marks[place].max(lit.bound);
            }
            loop {
                at -= 1;
                if self.marks[at] != UNMARKED && self.store.trail[at].level == level {
                    break;
                }
            }
            let step = self.store.trail[at];
            let lit = Lit {
                view: step.view,
                bound: self.marks[at],
            };
            if open == 1 {
                let mut lits = vec![lit];
                let mut places = vec![at];
                for place in lower {
                    lits.push(Lit {
                        view: self.store.trail[place].view,
                        bound: self.marks[place],
                    });
                    places.push(place);
                }
                return (lits, places);
            }
            open -= 1;
            if let Reason::Clause(clause) = step.reason {
                self.clauses.bump(clause);
            }
            self.premises(lit, step.reason, &mut premises);
        }
    }

    /// The literals from which `lit` followed.
    fn premises(&self, lit: Lit, reason: Reason, into: &mut Vec<Lit>) {
        match reason {
            Reason::Choice => {}
            // A clause speaks of each view once, so this leaves out what it passed on.
            Reason::Clause(clause) => into.extend(
                self.clauses
                    .literals(clause)
                    .iter()
                    .filter(|other| other.view != lit.view)
                    .map(|other| other.not()),
            ),
            Reason::Arc(arc) => self.arcs.premises(arc, lit, into),
            Reason::Listed(at) => into.extend_from_slice(self.store.listed(at)),
        }
    }

    /// Drops literals that follow from others: weaker ones of the same view, and those whose whole
    /// reason is among the rest (Sörensson and Biere 2009, one step).
    fn shorten(&mut self, lits: &mut Vec<Lit>, places: &[usize]) {
        let weaker: Vec<bool> = (0..lits.len())
            .map(|at| {
                (0..lits.len()).any(|k| lits[k].view == lits[at].view && places[k] > places[at])
            })
            .collect();
        for at in 1..lits.len() {
            if weaker[at] {
                // Nothing may lean on it: the stronger one could in turn lean on what does.
                self.marks[places[at]] = UNMARKED;
            }
        }
        let mut kept = vec![lits[0]];
        let mut premises = Vec::new();
        for at in (1..lits.len()).filter(|&at| !weaker[at]) {
            let reason = self.store.trail[places[at]].reason;
            premises.clear();
            self.premises(lits[at], reason, &mut premises);
            let follows = reason != Reason::Choice
                && premises
                    .iter()
                    .all(|&p| self.stands(p, lits[at], places[at]));
            if !follows {
                kept.push(lits[at]);
            }
        }
        *lits = kept;
    }

    /// Whether `premise` of `lit` follows from literals marked before `lit` began to hold.
    fn stands(&self, premise: Lit, lit: Lit, place: usize) -> bool {
        match self.store.step_of(premise) {
            None => true,
            Some(at) => {
                self.store.trail[at].level == 0
                    || (premise.view != lit.view && at < place && self.marks[at] >= premise.bound)
            }
        }
    }
}
