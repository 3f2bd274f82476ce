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
/// Units that gain more together than the first of them alone are added together: the chance of a
/// part that fails in every bout stays flat until there are spares enough for one. What does not fit
/// is passed over, and the next best tried: to stop there would leave room unused. Stops when
/// `enough(worth)` holds or nothing more fits.
///
/// **Source**: marginal analysis, Sherbrooke, Optimal Inventory Modeling of Systems, ch. 2 (from
/// memory). It gives the efficient frontier, but not the best box for a given limit.
pub(super) fn greedy(
    parts: &[Units<'_>],
    limits: &[f64; MOST_LIMITS],
    enough: impl Fn(f64) -> bool,
) -> Vec<usize> {
    let corners: Vec<Vec<usize>> = parts.iter().map(|part| corners(part.worth)).collect();
    let mut reached = vec![0; parts.len()];
    let mut taken = [0.0; MOST_LIMITS];
    let mut worth: f64 = parts.iter().map(|part| part.worth[0]).sum();
    let mut order = Vec::new();
    while !enough(worth) {
        let mut best: Option<(f64, usize)> = None;
        for (index, part) in parts.iter().enumerate() {
            let Some((units, gain)) = next(part, &corners[index], reached[index]) else {
                continue;
            };
            let after = after(&taken, part, units);
            let ratio = gain / (units as f64 * part.cost).max(1.0e-12);
            if gain > 0.0
                && best.is_none_or(|(most, _)| ratio > most)
                && (0..MOST_LIMITS).all(|k| after[k] <= limits[k])
            {
                best = Some((ratio, index));
            }
        }
        let Some((_, index)) = best else {
            break;
        };
        let Some((units, gain)) = next(&parts[index], &corners[index], reached[index]) else {
            break;
        };
        worth += gain;
        taken = after(&taken, &parts[index], units);
        reached[index] += 1;
        order.extend(std::iter::repeat_n(index, units));
    }
    order
}

/// Units to the next corner of a part's worth, and what they gain.
fn next(part: &Units<'_>, corners: &[usize], reached: usize) -> Option<(usize, f64)> {
    let (now, to) = (corners[reached], *corners.get(reached + 1)?);
    Some((to - now, part.worth[to] - part.worth[now]))
}

fn after(taken: &[f64; MOST_LIMITS], part: &Units<'_>, units: usize) -> [f64; MOST_LIMITS] {
    plus(taken, &part.takes.map(|takes| takes * units as f64))
}

/// Numbers of units at which the least concave function above `worth` touches it.
fn corners(worth: &[f64]) -> Vec<usize> {
    let slope = |from: usize, to: usize| (worth[to] - worth[from]) / (to - from) as f64;
    let mut corners: Vec<usize> = vec![0];
    for units in 1..worth.len() {
        while let [.., before, last] = corners[..]
            && slope(before, last) < slope(last, units)
        {
            corners.pop();
        }
        corners.push(units);
    }
    corners
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_worth_more_together_are_added_together() {
        assert_eq!(corners(&[0.0, 3.0, 5.0, 6.0]), [0, 1, 2, 3]);
        assert_eq!(corners(&[0.0, 0.0, 0.0, 6.0, 7.0]), [0, 3, 4]);
        assert_eq!(corners(&[0.0, 1.0, 1.5, 4.5]), [0, 3]);
        let flat = [-9.0, -9.0, -9.0, 0.0];
        let even = [-3.0, -2.0, -1.0, 0.0];
        let part = |worth| Units {
            worth,
            takes: [1.0, 0.0, 0.0],
            cost: 1.0,
        };
        let order = |room: f64| greedy(&[part(&flat), part(&even)], &[room, 0.0, 0.0], |_| false);
        assert_eq!(order(5.0), [0, 0, 0, 1, 1]);
        // Three together do not fit into two: what fits is taken.
        assert_eq!(order(2.0), [1, 1]);
    }
}
