//! Marginal analysis: always the unit that gains most for what it takes.

use super::problem::{MOST_LIMITS, plus};

/// What the units of one part type are worth and take.
pub(super) struct Units<'a> {
    /// Worth of 0, 1, 2, ... units.
    pub(super) worth: &'a [f64],
    /// What one unit takes of each limited quantity.
    pub(super) takes: [f64; MOST_LIMITS],
    /// What one unit costs, as one number.
    pub(super) cost: f64,
}

/// Part types in the order in which their units are added, each time the greatest gain for its cost.
///
/// A unit that does not fit is passed over, and the next best tried: to stop there would leave room
/// unused. Stops when `enough(worth)` holds or nothing more fits.
///
/// **Source**: marginal analysis, Sherbrooke, Optimal Inventory Modeling of Systems, ch. 2 (from
/// memory). It gives the efficient frontier, but not the best box for a given limit.
pub(super) fn greedy(
    parts: &[Units<'_>],
    limits: &[f64; MOST_LIMITS],
    enough: impl Fn(f64) -> bool,
) -> Vec<usize> {
    let mut units = vec![0; parts.len()];
    let mut taken = [0.0; MOST_LIMITS];
    let mut worth: f64 = parts.iter().map(|part| part.worth[0]).sum();
    let mut order = Vec::new();
    while !enough(worth) {
        let fits = |part: &Units<'_>| {
            let after = plus(&taken, &part.takes);
            (0..MOST_LIMITS).all(|k| after[k] <= limits[k])
        };
        let mut best: Option<(f64, usize)> = None;
        for (index, part) in parts.iter().enumerate() {
            let now = units[index];
            if now + 1 >= part.worth.len() || !fits(part) {
                continue;
            }
            let gain = part.worth[now + 1] - part.worth[now];
            let ratio = gain / part.cost.max(1.0e-12);
            if gain > 0.0 && best.is_none_or(|(most, _)| ratio > most) {
                best = Some((ratio, index));
            }
        }
        let Some((_, index)) = best else {
            break;
        };
        let part = &parts[index];
        worth += part.worth[units[index] + 1] - part.worth[units[index]];
        units[index] += 1;
        taken = plus(&taken, &part.takes);
        order.push(index);
    }
    order
}
