//! The exact chance that repair keeps pace with failures for a whole day.

use std::collections::BTreeMap;

use super::demand;
use super::rate::{KnownRate, LearnedRate, PartRate};

/// Most multiplications spent on one sum; beyond, only bounds are given.
const MOST_WORK: u64 = 25_000_000;

/// Multiplications that finding the next place is worth.
const PLACE_WORK: u64 = 100;

/// A part of which some failed units come back repaired.
pub(super) struct Repairable {
    pub(super) rate: PartRate,
    pub(super) fitted_units: u32,
    pub(super) stock_units: usize,
    /// Share of failed units that can be repaired.
    pub(super) fraction: f64,
    /// Bouts until a repaired unit is back in the box.
    pub(super) lag_bouts: usize,
}

/// Chance of no stock-out within 0, 1, 2, ... bouts.
type ByBouts = Vec<f64>;

impl Repairable {
    /// As if nothing could be repaired: never above the true chance.
    pub(super) fn consumable(&self, bouts: usize) -> f64 {
        self.enough(&self.rate, self.unit_bouts(bouts))
    }

    /// As if repair took no time: never below the true chance.
    pub(super) fn instant(&self, bouts: usize) -> f64 {
        let scrapped = thinned(&self.rate, 1.0 - self.fraction);
        scrapped.map_or(1.0, |rate| self.enough(&rate, self.unit_bouts(bouts)))
    }

    /// Chance that at one instant of a long run no more units are in repair than there are spares.
    ///
    /// **Source**: Palm's theorem (Sherbrooke, Optimal Inventory Modeling of Systems, ch. 2, from
    /// memory). A whole day without a stock-out is less likely.
    pub(super) fn at_one_instant(&self) -> f64 {
        let repaired = thinned(&self.rate, self.fraction);
        repaired.map_or(1.0, |rate| {
            self.enough(&rate, self.unit_bouts(self.lag_bouts))
        })
    }

    /// Chance of no stock-out within 0, 1, ..., `most` bouts; nothing if it would take too long.
    pub(super) fn exact(&self, most: usize) -> Option<ByBouts> {
        if self.lag_bouts == 0 {
            return Some((0..=most).map(|bouts| self.instant(bouts)).collect());
        }
        let mut chances = vec![1.0];
        let mut walk = Walk::new(self);
        for bouts in 1..=most {
            if bouts <= self.lag_bouts {
                // Nothing is back before the last bout counted.
                chances.push(self.consumable(bouts));
            }
            if self.lag_bouts < most && !walk.one_bout(bouts) {
                return None;
            }
            if bouts > self.lag_bouts {
                chances.push(self.weigh(&walk.by_failures(), bouts));
            }
        }
        Some(chances)
    }

    /// Sum over the number of failures n: P(n failures) times P(no stock-out given n).
    fn weigh(&self, given_failures: &[f64], bouts: usize) -> f64 {
        let most = given_failures.len() - 1;
        let at_most = demand::at_most(&self.rate, self.unit_bouts(bouts), most);
        let mut before = 0.0;
        let mut sum = 0.0;
        for (chance, given) in at_most.iter().zip(given_failures) {
            sum += (chance - before) * given;
            before = *chance;
        }
        sum.clamp(0.0, 1.0)
    }

    fn enough(&self, rate: &PartRate, unit_bouts: f64) -> f64 {
        demand::at_most(rate, unit_bouts, self.stock_units)[self.stock_units]
    }

    fn unit_bouts(&self, bouts: usize) -> f64 {
        f64::from(self.fitted_units) * bouts as f64
    }
}

/// The rate of the failures of which only a `share` counts; nothing if none does.
fn thinned(rate: &PartRate, share: f64) -> Option<PartRate> {
    if share <= 0.0 {
        return None;
    }
    Some(match rate {
        PartRate::Learned(rate) | PartRate::OncePerBout(rate) => PartRate::Learned(LearnedRate {
            shape: rate.shape,
            unit_bouts: rate.unit_bouts / share,
        }),
        PartRate::Known(rate) => PartRate::Known(KnownRate {
            failures_per_unit_bout: rate.failures_per_unit_bout * share,
        }),
    })
}

/// Units scrapped so far, then the units sent to repair in each of the last lag - 1 bouts.
type Place = Vec<u8>;

/// Walks bout by bout; per place, entry n is the chance of being there without a stock-out given
/// that n failures fell at random into the bouts so far. It does not depend on the failure rate.
struct Walk<'a> {
    part: &'a Repairable,
    places: BTreeMap<Place, Vec<f64>>,
    work: u64,
}

impl<'a> Walk<'a> {
    fn new(part: &'a Repairable) -> Self {
        Self {
            part,
            places: BTreeMap::from([(vec![0], vec![1.0])]),
            work: 0,
        }
    }

    /// Adds bout number `bout`; false if there was too much to do.
    fn one_bout(&mut self, bout: usize) -> bool {
        let stock = self.part.stock_units;
        let longest = stock * bout + 1;
        let shares = shares_of_last(bout, stock, longest);
        let kinds = kinds_of(stock, self.part.fraction);
        let mut next: BTreeMap<Place, Vec<f64>> = BTreeMap::new();
        for (place, by_failures) in &self.places {
            let away: usize = place.iter().map(|units| usize::from(*units)).sum();
            let free = stock - away;
            for failures in 0..=free {
                for (repaired, kind) in kinds[failures].iter().enumerate() {
                    if *kind == 0.0 {
                        continue;
                    }
                    self.work += by_failures.len() as u64 + PLACE_WORK;
                    if self.work > MOST_WORK {
                        return false;
                    }
                    let to = self.moved(place, failures - repaired, repaired);
                    let into = next.entry(to).or_default();
                    if into.len() < by_failures.len() + failures {
                        into.resize(by_failures.len() + failures, 0.0);
                    }
                    for (earlier, chance) in by_failures.iter().enumerate() {
                        into[earlier + failures] += chance * kind * shares[failures][earlier];
                    }
                }
            }
        }
        self.places = next;
        true
    }

    fn moved(&self, place: &Place, scrapped: usize, repaired: usize) -> Place {
        let mut to = place.clone();
        // Units are at most the stock, which is at most 100.
        to[0] += scrapped as u8;
        to.push(repaired as u8);
        if to.len() > self.part.lag_bouts {
            to.remove(1);
        }
        to
    }

    fn by_failures(&self) -> Vec<f64> {
        let mut sum = vec![0.0];
        for by_failures in self.places.values() {
            if sum.len() < by_failures.len() {
                sum.resize(by_failures.len(), 0.0);
            }
            for (total, chance) in sum.iter_mut().zip(by_failures) {
                *total += chance;
            }
        }
        sum
    }
}

/// `[m][n]`: chance that of n + m failures spread evenly over `bout` bouts, m fall into the last.
fn shares_of_last(bout: usize, most_last: usize, most_before: usize) -> Vec<Vec<f64>> {
    let last = 1.0 / bout as f64;
    let before = 1.0 - last;
    let mut none = vec![1.0; most_before];
    for n in 1..most_before {
        none[n] = none[n - 1] * if bout == 1 { 0.0 } else { before };
    }
    let mut shares = vec![none];
    for m in 1..=most_last {
        let fewer = &shares[m - 1];
        let more = (0..most_before).map(|n| fewer[n] * last * (n + m) as f64 / m as f64);
        shares.push(more.collect());
    }
    shares
}

/// `[m][r]`: chance that r of m failed units can be repaired.
fn kinds_of(most: usize, fraction: f64) -> Vec<Vec<f64>> {
    let mut kinds = vec![vec![1.0]];
    for m in 1..=most {
        let fewer = &kinds[m - 1];
        let one_more = (0..=m).map(|r| {
            let repaired = if r > 0 { fewer[r - 1] * fraction } else { 0.0 };
            let scrapped = if r < m {
                fewer[r] * (1.0 - fraction)
            } else {
                0.0
            };
            repaired + scrapped
        });
        kinds.push(one_more.collect());
    }
    kinds
}
