//! Prices on the limits, and with them a bound that no box can beat.

use super::problem::{MOST_LIMITS, Problem};

/// Halvings in the search for a common price.
const HALVINGS: usize = 80;

/// Cuts in the search for separate prices.
const CUTS: usize = 160;

/// The prices found, the bound they prove, and the choices that are best at them.
pub(super) struct Prices {
    /// Per limit: gain that a unit of the limited quantity must bring.
    pub(super) per: [f64; MOST_LIMITS],
    /// No pick that fits gains more than this.
    pub(super) bound: f64,
    /// Best choice of every item at these prices, whether or not they fit together.
    pub(super) choices: Vec<usize>,
    /// What those choices take.
    takes: [f64; MOST_LIMITS],
}

/// Finds the prices that prove the lowest bound.
///
/// **Source**: Lagrangian relaxation, Fisher 1981; the ellipsoid method for the few prices, as in
/// Bland, Goldfarb and Todd 1981 (both from memory). Any prices prove a valid bound.
pub(super) fn prices(problem: &Problem) -> Prices {
    let common = common_price(problem);
    if problem.resources == 1 || common.per.iter().all(|price| *price == 0.0) {
        return common;
    }
    separate_prices(problem, common)
}

/// Best choice of every item at these prices; the sum is the bound.
fn at(problem: &Problem, per: [f64; MOST_LIMITS]) -> Prices {
    let mut bound = cost(&per, &problem.limits);
    let mut takes = [0.0; MOST_LIMITS];
    let mut choices = Vec::with_capacity(problem.items.len());
    for item in &problem.items {
        let mut best = (f64::NEG_INFINITY, 0);
        for (index, choice) in item.iter().enumerate() {
            let net = choice.gain - cost(&per, &choice.takes);
            if net > best.0 {
                best = (net, index);
            }
        }
        bound += best.0;
        takes = super::problem::plus(&takes, &item[best.1].takes);
        choices.push(best.1);
    }
    Prices {
        per,
        bound,
        choices,
        takes,
    }
}

/// What takings cost at these prices.
pub(super) fn cost(per: &[f64; MOST_LIMITS], takes: &[f64; MOST_LIMITS]) -> f64 {
    per[0] * takes[0] + per[1] * takes[1] + per[2] * takes[2]
}

/// One price for all limits, each measured by its scale.
fn common_price(problem: &Problem) -> Prices {
    let with = |price: f64| {
        let mut per = [0.0; MOST_LIMITS];
        for (kind, per) in per.iter_mut().enumerate().take(problem.resources) {
            *per = price / problem.scale(kind);
        }
        at(problem, per)
    };
    // The bound as a function of the price is convex; its slope is the room left.
    let room = |found: &Prices| -> f64 {
        let left =
            (0..problem.resources).map(|k| (problem.limits[k] - found.takes[k]) / problem.scale(k));
        left.sum()
    };
    let free = with(0.0);
    if room(&free) >= 0.0 && problem.fits(&free.takes) {
        return free;
    }
    let mut low = 0.0;
    let mut high = 1.0e-6;
    let mut best = free;
    for _ in 0..HALVINGS {
        let found = with(high);
        let enough = room(&found) >= 0.0;
        best = lower(best, found);
        if enough {
            break;
        }
        low = high;
        high *= 4.0;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        let found = with(middle);
        if room(&found) >= 0.0 {
            high = middle;
        } else {
            low = middle;
        }
        best = lower(best, found);
    }
    best
}

fn lower(a: Prices, b: Prices) -> Prices {
    if b.bound < a.bound { b } else { a }
}

/// Separate prices, by cutting down an ellipsoid around the common one.
fn separate_prices(problem: &Problem, start: Prices) -> Prices {
    let n = problem.resources;
    let size = n as f64;
    // In the coordinates price x scale all limits look alike.
    let mut centre = [0.0; MOST_LIMITS];
    let mut reach: f64 = 0.0;
    for (k, centre) in centre.iter_mut().enumerate().take(n) {
        *centre = start.per[k] * problem.scale(k);
        reach = reach.max(*centre);
    }
    let mut shape = [[0.0; MOST_LIMITS]; MOST_LIMITS];
    for (k, row) in shape.iter_mut().enumerate().take(n) {
        row[k] = (2.0 * size * reach).powi(2);
    }
    let mut best = start;
    for _ in 0..CUTS {
        let mut slope = [0.0; MOST_LIMITS];
        if let Some(below) = (0..n).find(|k| centre[*k] < 0.0) {
            slope[below] = -1.0;
        } else {
            let mut per = [0.0; MOST_LIMITS];
            for k in 0..n {
                per[k] = centre[k] / problem.scale(k);
            }
            let found = at(problem, per);
            for (k, slope) in slope.iter_mut().enumerate().take(n) {
                *slope = (problem.limits[k] - found.takes[k]) / problem.scale(k);
            }
            best = lower(best, found);
        }
        let mut along = [0.0; MOST_LIMITS];
        for (along, row) in along.iter_mut().zip(&shape) {
            *along = cost(row, &slope);
        }
        let length = cost(&slope, &along).sqrt();
        if length.is_nan() || length <= 1.0e-14 {
            break;
        }
        for k in 0..n {
            along[k] /= length;
            centre[k] -= along[k] / (size + 1.0);
        }
        let grow = size * size / (size * size - 1.0);
        for j in 0..n {
            for k in 0..n {
                shape[j][k] = grow * (shape[j][k] - 2.0 / (size + 1.0) * along[j] * along[k]);
            }
        }
    }
    best
}
