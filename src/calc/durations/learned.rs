//! What a time is learned to be from what it took before.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::LogNormal;

/// Knowledge of the logarithm of a time whose mean and variance are both unknown.
///
/// The next time is log-Student: its mean does not exist, so medians and quantiles are shown.
///
/// **Source** normal-inverse-gamma conjugate updating (DeGroot 1970; Murphy 2007).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    centre: f64,
    /// How many observations the centre is worth.
    weight: f64,
    shape: f64,
    scale: f64,
}

impl Learned {
    /// From the four parameters of a normal-inverse-gamma; none unless the last three are above 0.
    pub fn new(centre: f64, weight: f64, shape: f64, scale: f64) -> Option<Self> {
        let sound = centre.is_finite()
            && [weight, shape, scale]
                .iter()
                .all(|p| p.is_finite() && *p > 0.0);
        sound.then_some(Self {
            centre,
            weight,
            shape,
            scale,
        })
    }

    /// A first guess by the times that are not passed in a tenth and in nine tenths of all cases,
    /// worth two observations.
    pub fn from_p10_p90(p10: f64, p90: f64) -> Option<Self> {
        let guess = LogNormal::from_p10_p90(p10, p90)?;
        let shape = 2.0;
        Self::new(
            guess.mean_of_log(),
            2.0,
            shape,
            (shape - 1.0) * guess.deviation_of_log().powi(2),
        )
    }

    /// What is known after further times; those not above 0 teach nothing.
    #[must_use]
    pub fn after(self, times: &[f64]) -> Self {
        let logs: Vec<f64> = times
            .iter()
            .filter(|t| **t > 0.0 && t.is_finite())
            .map(|t| t.ln())
            .collect();
        if logs.is_empty() {
            return self;
        }
        let n = logs.len() as f64;
        let mean = logs.iter().sum::<f64>() / n;
        let spread: f64 = logs.iter().map(|log| (log - mean).powi(2)).sum();
        let weight = self.weight + n;
        Self {
            centre: (self.weight * self.centre + n * mean) / weight,
            weight,
            shape: self.shape + n / 2.0,
            scale: self.scale
                + spread / 2.0
                + self.weight * n * (mean - self.centre).powi(2) / (2.0 * weight),
        }
    }

    /// The same knowledge in another unit, of which `factor` make one; `None` unless `factor > 0`.
    pub fn times(self, factor: f64) -> Option<Self> {
        let shift = factor.ln();
        Self::new(self.centre + shift, self.weight, self.shape, self.scale)
    }

    /// Centre, weight, shape and scale.
    pub fn parameters(&self) -> (f64, f64, f64, f64) {
        (self.centre, self.weight, self.shape, self.scale)
    }

    fn spread(&self) -> f64 {
        (self.scale * (self.weight + 1.0) / (self.shape * self.weight)).sqrt()
    }

    fn student(&self) -> Option<StudentsT> {
        StudentsT::new(0.0, 1.0, 2.0 * self.shape).ok()
    }

    /// The time that is passed in half of all cases.
    pub fn median(&self) -> f64 {
        self.centre.exp()
    }

    /// The time that is not passed with chance `p`, strictly between 0 and 1.
    pub fn quantile(&self, p: f64) -> f64 {
        let p = p.clamp(1e-9, 1.0 - 1e-9);
        let deviate = self.student().map_or(0.0, |t| t.inverse_cdf(p));
        (self.centre + self.spread() * deviate).exp()
    }

    /// The chance that the next one takes no longer than `time`.
    pub fn chance_within(&self, time: f64) -> f64 {
        if time <= 0.0 {
            return 0.0;
        }
        self.student()
            .map_or(0.0, |t| t.cdf((time.ln() - self.centre) / self.spread()))
    }
}
