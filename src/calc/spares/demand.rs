//! How many units a given use will take.

use statrs::function::gamma::ln_gamma;

use super::rate::PartRate;

/// Below this logarithm the chance of no failure is carried scaled, so that it does not vanish.
const SCALED_BELOW: f64 = -600.0;

/// Up to so many unit-bouts a product is taken term by term, which is the more exact way.
const TERM_BY_TERM: f64 = 400.0;

/// Chances of 0, 1, 2, ... failures, one after the other.
struct Counts {
    chance: f64,
    log_scale: f64,
    count: f64,
    law: Law,
}

enum Law {
    Poisson { mean: f64 },
    NegativeBinomial { shape: f64, fail: f64 },
    BetaBinomial { trials: f64, fail: f64, hold: f64 },
}

impl Counts {
    fn new(rate: &PartRate, unit_bouts: f64) -> Self {
        let (log_none, law) = match rate {
            PartRate::Known(rate) => {
                let mean = rate.failures_per_unit_bout * unit_bouts;
                (-mean, Law::Poisson { mean })
            }
            PartRate::Learned(rate) => {
                let use_ratio = unit_bouts / rate.unit_bouts;
                let law = Law::NegativeBinomial {
                    shape: rate.shape,
                    fail: use_ratio / (1.0 + use_ratio),
                };
                (-rate.shape * use_ratio.ln_1p(), law)
            }
            PartRate::OncePerBout(rate) => {
                let law = Law::BetaBinomial {
                    trials: unit_bouts,
                    fail: rate.shape,
                    hold: rate.unit_bouts - rate.shape,
                };
                (log_no_failure(rate.shape, rate.unit_bouts, unit_bouts), law)
            }
        };
        let (chance, log_scale) = if log_none < SCALED_BELOW {
            (1.0, log_none)
        } else {
            (log_none.exp(), 0.0)
        };
        Self {
            chance,
            log_scale,
            count: 0.0,
            law,
        }
    }

    /// Moves on to one failure more; says by what the chances so far must be multiplied.
    fn step(&mut self) -> f64 {
        let k = self.count;
        self.count += 1.0;
        self.chance *= match self.law {
            Law::Poisson { mean } => mean / (k + 1.0),
            Law::NegativeBinomial { shape, fail } => (k + shape) / (k + 1.0) * fail,
            Law::BetaBinomial { trials, .. } if k >= trials => 0.0,
            Law::BetaBinomial { trials, fail, hold } => {
                (trials - k) / (k + 1.0) * (fail + k) / (hold + trials - k - 1.0)
            }
        };
        if self.chance > 1.0e250 {
            self.chance *= 1.0e-250;
            self.log_scale += 250.0 * std::f64::consts::LN_10;
            1.0e-250
        } else {
            1.0
        }
    }
}

/// Logarithm of the chance that none of `trials` unit-bouts fails, if a share with a beta
/// distribution of parameters `fail` and `all` - `fail` does.
fn log_no_failure(fail: f64, all: f64, trials: f64) -> f64 {
    if trials > TERM_BY_TERM {
        let hold = all - fail;
        return ln_gamma(hold + trials) - ln_gamma(hold) - ln_gamma(all + trials) + ln_gamma(all);
    }
    (0..trials as u32)
        .map(|before| (-fail / (all + f64::from(before))).ln_1p())
        .sum()
}

/// Adds `weight` times P(at most s failures in `unit_bouts`) to `into[s]`, for every s it holds.
///
/// **Units**: use in fitted units times bouts.
/// **Assumptions**: failures are Poisson given the rate, the rate is gamma distributed or known; once
/// per bout: each unit-bout fails or not, with a beta distributed chance of the same mean, and the
/// use is a whole number.
/// **Source**: the negative binomial as a gamma mixture of Poisson counts and the beta-binomial
/// (Johnson, Kemp and Kotz, Univariate Discrete Distributions, ch. 5 and 6, from memory), by their
/// two-term recurrences.
pub(super) fn add_at_most(rate: &PartRate, unit_bouts: f64, weight: f64, into: &mut [f64]) {
    let mut counts = Counts::new(rate, unit_bouts);
    let mut sum = 0.0;
    let mut index = 0;
    while index < into.len() {
        sum += counts.chance;
        let scale = if counts.log_scale == 0.0 {
            1.0
        } else {
            counts.log_scale.exp()
        };
        let at_most = (sum * scale).min(1.0);
        into[index] += weight * at_most;
        index += 1;
        // Past the mean a chance below the last digit of the sum changes nothing any more.
        if counts.chance < 1.0e-18 * sum && at_most > 0.5 {
            break;
        }
        sum *= counts.step();
    }
    for later in into.iter_mut().skip(index) {
        *later += weight * (sum * counts.log_scale.exp()).min(1.0);
    }
}

/// P(at most s failures in `unit_bouts`) for s from 0 to `most`.
pub(super) fn at_most(rate: &PartRate, unit_bouts: f64, most: usize) -> Vec<f64> {
    let mut chances = vec![0.0; most + 1];
    add_at_most(rate, unit_bouts, 1.0, &mut chances);
    chances
}

/// Units short on average with `units` to hand: the mean of (failures - units) above 0.
///
/// `at_most[s]` is P(at most s failures), for every s below `units` at least.
///
/// **Source**: mean less the sum of tail chances; Sherbrooke, Optimal Inventory Modeling of Systems,
/// ch. 2 (from memory).
pub(super) fn shortage(mean_units: f64, at_most: &[f64], units: usize) -> f64 {
    let met: f64 = at_most[..units].iter().map(|chance| 1.0 - chance).sum();
    (mean_units - met).max(0.0)
}
