//! Whether anything at all runs out: parts are independent only given how many bouts there are.

use super::day::Case;
use super::part::Need;

/// The chance that no part of a set runs out, built part by part.
///
/// **Source**: conditioning on the number of bouts. The product of the parts' own chances is a lower
/// bound, because every one of them falls with the number of bouts (Chebyshev's association
/// inequality, from memory).
#[derive(Clone)]
pub(super) struct Joint<'a> {
    cases: Option<&'a [Case]>,
    /// Per case: product of the chances above 0.
    product: Vec<f64>,
    /// Per case: chances that are 0.
    zeros: Vec<u32>,
}

impl<'a> Joint<'a> {
    /// No part yet. Without `cases` the product of the parts' own chances is built, the lower bound.
    pub(super) fn new(cases: Option<&'a [Case]>) -> Self {
        let len = cases.map_or(1, <[Case]>::len);
        Self {
            cases,
            product: vec![1.0; len],
            zeros: vec![0; len],
        }
    }

    /// Per case: chance that `units` of a part are enough.
    pub(super) fn factors(&self, need: &Need, units: usize) -> Vec<f64> {
        match self.cases {
            None => vec![need.enough(units)[units]],
            Some(cases) => {
                let uses = || cases.iter().map(|case| case.unit_bouts(&need.fitted));
                let by_use = need.enough_by_use(units, uses());
                uses()
                    .map(|unit_bouts| by_use[unit_bouts as usize])
                    .collect()
            }
        }
    }

    /// Adds a part with these chances.
    pub(super) fn add(&mut self, factors: &[f64]) {
        for ((product, zeros), factor) in self.product.iter_mut().zip(&mut self.zeros).zip(factors)
        {
            if *factor > 0.0 {
                *product *= factor;
            } else {
                *zeros += 1;
            }
        }
    }

    /// Chance that nothing runs out.
    pub(super) fn probability(&self) -> f64 {
        self.sum(|index| {
            if self.zeros[index] == 0 {
                self.product[index]
            } else {
                0.0
            }
        })
    }

    /// Chance that nothing runs out if one part's chances were `new` instead of `old`.
    pub(super) fn with_replaced(&self, old: &[f64], new: &[f64]) -> f64 {
        self.sum(|index| {
            let (rest, zeros) = if old[index] > 0.0 {
                (self.product[index] / old[index], self.zeros[index])
            } else {
                (self.product[index], self.zeros[index] - 1)
            };
            if zeros == 0 { rest * new[index] } else { 0.0 }
        })
    }

    fn sum(&self, value: impl Fn(usize) -> f64) -> f64 {
        let sum = match self.cases {
            None => value(0),
            Some(cases) => cases
                .iter()
                .enumerate()
                .map(|(index, case)| case.chance * value(index))
                .sum(),
        };
        sum.min(1.0)
    }
}
