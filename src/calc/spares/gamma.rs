//! The gamma distribution of a failure rate.

use statrs::function::gamma::{gamma_lr, ln_gamma};

/// Probability that a gamma variable of `shape` and rate 1 is at most `x`.
///
/// **Source**: regularised lower incomplete gamma function, statrs 0.19.1.
pub(super) fn at_most(shape: f64, x: f64) -> f64 {
    if x <= 0.0 { 0.0 } else { gamma_lr(shape, x) }
}

/// The value that a gamma variable of `shape` and rate 1 stays below with `probability`.
///
/// Bisection on the logarithm: the inverse of statrs is good to 3e-10 only.
///
/// **Assumptions**: 0 < `probability` < 1, `shape` > 0.
pub(super) fn quantile(shape: f64, probability: f64) -> f64 {
    // For small shapes P(X <= x) is nearly x^shape / (shape gamma(shape)): a safe lower start.
    let mut low = (probability.ln() + ln_gamma(shape + 1.0)) / shape - 1.0;
    let mut high = (shape + 10.0 * shape.sqrt() + 40.0).ln();
    low = low.max(-700.0).min(high);
    for _ in 0..90 {
        let middle = 0.5 * (low + high);
        if at_most(shape, middle.exp()) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    (0.5 * (low + high)).exp()
}

/// The shape at which the 95 % point is `ratio` times the mean.
///
/// Below a shape of one half the ratio no longer falls with the shape, so the root above one half is
/// the one taken.
///
/// **Assumptions**: `ratio` from [`LEAST_RATIO`] to [`MOST_RATIO`].
pub(super) fn shape_for_ratio(ratio: f64) -> f64 {
    let (mut low, mut high) = (0.5_f64.ln(), 1.0e5_f64.ln());
    for _ in 0..90 {
        let middle = 0.5 * (low + high);
        let shape = middle.exp();
        // The probability below ratio x mean rises with the shape.
        if at_most(shape, ratio * shape) < 0.95 {
            low = middle;
        } else {
            high = middle;
        }
    }
    (0.5 * (low + high)).exp()
}

/// Least ratio of the 95 % point to the mean that is taken.
pub(super) const LEAST_RATIO: f64 = 1.05;

/// Greatest ratio of the 95 % point to the mean that is taken (shape one half gives 3.8415).
pub(super) const MOST_RATIO: f64 = 3.84;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_quantile_undoes_the_distribution() {
        for shape in [0.5, 0.9, 1.5, 3.0, 21.0, 400.0, 9000.0] {
            for p in [0.001, 0.05, 0.5, 0.95, 0.999] {
                assert!((at_most(shape, quantile(shape, p)) - p).abs() < 1e-11);
            }
        }
    }

    #[test]
    fn one_half_is_the_chi_squared_of_one_degree() {
        // Source: chi-squared table, one degree of freedom, 95 %: 3.841459.
        assert!((2.0 * quantile(0.5, 0.95) - 3.841459).abs() < 1e-6);
    }

    #[test]
    fn the_ratio_falls_with_the_shape_above_one_half() {
        let ratios: Vec<f64> = (0..200)
            .map(|i| 0.5 * 1.06_f64.powi(i))
            .map(|shape| quantile(shape, 0.95) / shape)
            .collect();
        assert!(ratios.windows(2).all(|pair| pair[1] < pair[0]));
        assert!(ratios[0] > MOST_RATIO);
        assert!(ratios[199] < LEAST_RATIO);
    }
}
