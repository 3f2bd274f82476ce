//! Shortest, most likely and longest time.

use statrs::distribution::{Beta, ContinuousCDF};

/// The beta distribution of the programme evaluation and review technique, shape 4.
///
/// Its variance is `(mean - shortest)(longest - mean) / 7`; a sixth of the range squared is an
/// approximation of 1959 and not the variance of this distribution.
///
/// **Source** Malcolm et al. 1959; parameters as usual since Clark 1962.
#[derive(Debug, Clone, Copy)]
pub struct PertBeta {
    shortest: f64,
    longest: f64,
    /// Both shapes of the beta distribution on 0 to 1.
    shapes: (f64, f64),
    beta: Beta,
}

impl PertBeta {
    /// From shortest, most likely and longest; none unless they rise and differ.
    pub fn new([shortest, likely, longest]: [f64; 3]) -> Option<Self> {
        let rises = shortest <= likely && likely <= longest && shortest < longest;
        if !rises || !shortest.is_finite() || !longest.is_finite() {
            return None;
        }
        let mode = (likely - shortest) / (longest - shortest);
        let shapes = (1.0 + 4.0 * mode, 1.0 + 4.0 * (1.0 - mode));
        Some(Self {
            shortest,
            longest,
            shapes,
            beta: Beta::new(shapes.0, shapes.1).ok()?,
        })
    }

    /// Both shapes of the beta distribution on 0 to 1.
    pub fn shapes(&self) -> (f64, f64) {
        self.shapes
    }

    /// Shortest and longest time.
    pub fn range(&self) -> (f64, f64) {
        (self.shortest, self.longest)
    }

    /// The mean time.
    pub fn mean(&self) -> f64 {
        self.shortest + (self.longest - self.shortest) * self.shapes.0 / 6.0
    }

    /// The variance.
    pub fn variance(&self) -> f64 {
        let mean = self.mean();
        (mean - self.shortest) * (self.longest - mean) / 7.0
    }

    /// The time that is not passed with chance `p`, from 0 to 1.
    pub fn quantile(&self, p: f64) -> f64 {
        self.shortest + (self.longest - self.shortest) * self.beta.inverse_cdf(p.clamp(0.0, 1.0))
    }

    /// The chance that it takes no longer than `time`.
    pub fn chance_within(&self, time: f64) -> f64 {
        let part = (time - self.shortest) / (self.longest - self.shortest);
        self.beta.cdf(part.clamp(0.0, 1.0))
    }
}

/// The triangular distribution.
///
/// **Source** closed forms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Triangular {
    shortest: f64,
    likely: f64,
    longest: f64,
}

impl Triangular {
    /// From shortest, most likely and longest; none unless they rise and differ.
    pub fn new([shortest, likely, longest]: [f64; 3]) -> Option<Self> {
        let rises = shortest <= likely && likely <= longest && shortest < longest;
        (rises && shortest.is_finite() && longest.is_finite()).then_some(Self {
            shortest,
            likely,
            longest,
        })
    }

    /// The mean time.
    pub fn mean(&self) -> f64 {
        (self.shortest + self.likely + self.longest) / 3.0
    }

    /// The variance.
    pub fn variance(&self) -> f64 {
        let (a, m, b) = (self.shortest, self.likely, self.longest);
        (a * a + m * m + b * b - a * b - a * m - m * b) / 18.0
    }

    /// The time that is not passed with chance `p`, from 0 to 1.
    pub fn quantile(&self, p: f64) -> f64 {
        let (a, m, b) = (self.shortest, self.likely, self.longest);
        let p = p.clamp(0.0, 1.0);
        if p < (m - a) / (b - a) {
            a + (p * (b - a) * (m - a)).sqrt()
        } else {
            b - ((1.0 - p) * (b - a) * (b - m)).sqrt()
        }
    }
}
