//! How long work takes: from three points, from two quantiles, or learned from what it took before.

mod learned;
mod quantiles;
mod three_point;

pub use learned::Learned;
pub use quantiles::Quantiles;
pub use three_point::{PertBeta, Triangular};

use statrs::distribution::{ContinuousCDF, Normal};

/// The standard normal 90 % quantile times two: from the 10 % to the 90 % point.
const TEN_TO_NINETY: f64 = 2.563_103_131_089_201;

/// A time whose logarithm is normal.
///
/// **Source** closed forms; from two quantiles: mean of their logarithms, and their ratio.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogNormal {
    mean_of_log: f64,
    deviation_of_log: f64,
}

impl LogNormal {
    /// The one that is below `p10` in a tenth of all cases and above `p90` in another tenth; none
    /// unless `0 < p10 < p90`.
    pub fn from_p10_p90(p10: f64, p90: f64) -> Option<Self> {
        (p10 > 0.0 && p90 > p10 && p90.is_finite()).then(|| Self {
            mean_of_log: p10.ln().midpoint(p90.ln()),
            deviation_of_log: (p90 / p10).ln() / TEN_TO_NINETY,
        })
    }

    /// Mean of the logarithm.
    pub fn mean_of_log(&self) -> f64 {
        self.mean_of_log
    }

    /// Standard deviation of the logarithm.
    pub fn deviation_of_log(&self) -> f64 {
        self.deviation_of_log
    }

    /// The time that is passed in half of all cases.
    pub fn median(&self) -> f64 {
        self.mean_of_log.exp()
    }

    /// The mean time.
    pub fn mean(&self) -> f64 {
        (self.mean_of_log + self.deviation_of_log.powi(2) / 2.0).exp()
    }

    /// The time that is not passed with chance `p`, strictly between 0 and 1.
    pub fn quantile(&self, p: f64) -> f64 {
        (self.mean_of_log + self.deviation_of_log * Normal::standard().inverse_cdf(p)).exp()
    }

    /// The chance that it takes no longer than `time`.
    pub fn chance_within(&self, time: f64) -> f64 {
        if time <= 0.0 {
            return 0.0;
        }
        Normal::standard().cdf((time.ln() - self.mean_of_log) / self.deviation_of_log)
    }
}

#[cfg(test)]
mod tests;
