//! Sums of yes-or-no statements, with at most one number among them, that must not exceed a limit.

use super::literal::{Lit, View};
use super::store::{Clash, Store};

/// `sum of weights of the literals that hold + factor * view <= limit`.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    pub terms: Vec<(Lit, i64)>,
    /// A view and its positive factor.
    pub number: Option<(View, i64)>,
    pub limit: i64,
}

impl Linear {
    /// Passes on what follows.
    pub fn propagate(&self, store: &mut Store) -> Result<(), Clash> {
        let sum: i64 = self
            .terms
            .iter()
            .filter(|t| store.holds(t.0))
            .map(|t| t.1)
            .sum();
        let number = self
            .number
            .map_or(0, |(view, factor)| factor * i64::from(store.low(view)));
        if sum + number > self.limit {
            let mut excess = sum + number - self.limit - 1;
            return Err(self.holding(store, &mut excess, true));
        }
        if let Some((view, factor)) = self.number {
            let most = (self.limit - sum).div_euclid(factor);
            let lit = Lit {
                view: view as u32 ^ 1,
                bound: i32::try_from(-most).unwrap_or(i32::MIN / 2),
            };
            if !store.holds(lit) {
                let mut spare = sum + factor * (most + 1) - self.limit - 1;
                let lits = self.holding(store, &mut spare, false);
                let reason = store.list(&lits);
                store.tighten(lit, reason);
            }
        }
        for &(lit, weight) in &self.terms {
            if !store.holds(lit) && !store.fails(lit) && sum + number + weight > self.limit {
                let mut spare = sum + number + weight - self.limit - 1;
                let lits = self.holding(store, &mut spare, true);
                let reason = store.list(&lits);
                store.tighten(lit.not(), reason);
            }
        }
        Ok(())
    }

    /// The literals that hold, less those that `spare` lets go.
    fn holding(&self, store: &Store, spare: &mut i64, with_number: bool) -> Vec<Lit> {
        let mut lits = Vec::new();
        for &(lit, weight) in &self.terms {
            if !store.holds(lit) {
                continue;
            }
            if weight <= *spare {
                *spare -= weight;
            } else {
                lits.push(lit);
            }
        }
        if let Some((view, factor)) = self.number.filter(|_| with_number) {
            lits.push(Lit {
                view: view as u32,
                bound: store.low(view) - (*spare / factor) as i32,
            });
        }
        lits
    }
}
