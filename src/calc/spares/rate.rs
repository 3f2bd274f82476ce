//! How often a part fails: a belief, and what the bouts so far taught.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::gamma;
use crate::calc::fault::{Fault, Faults};

/// Mean rate above which counting a unit's failures as if it could fail several times a bout shows.
const OFTEN: f64 = 0.2;

/// What is held about a failure rate, in failures per fitted unit and bout.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PartRate {
    /// An uncertain rate, as `failure-rate` gives it.
    Learned(LearnedRate),
    /// An uncertain rate of a unit that fails at most once in a bout: for parts that fail often,
    /// where counting several failures of one unit in one bout would ask for too many spares.
    OncePerBout(LearnedRate),
    /// A rate taken as exactly known.
    Known(KnownRate),
}

/// A gamma distribution of the rate: its mean is `shape / unit_bouts`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LearnedRate {
    /// Shape: about the number of failures the belief is worth (0.01 to 10,000).
    #[schema(minimum = 0.01, maximum = 10_000)]
    pub shape: f64,
    /// Fitted units times bouts the belief is worth (0.001 to 1,000,000).
    #[schema(minimum = 0.001, maximum = 1_000_000)]
    pub unit_bouts: f64,
}

/// A rate without doubt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KnownRate {
    /// Failures per fitted unit and bout (0 to 20).
    #[schema(minimum = 0, maximum = 20)]
    pub failures_per_unit_bout: f64,
}

impl PartRate {
    /// Notes what is out of range, below `pointer`.
    pub(super) fn check(&self, faults: &mut Faults, pointer: &str) {
        match self {
            Self::Learned(rate) => rate.check(faults, &format!("{pointer}/learned"), 20.0),
            Self::OncePerBout(rate) => {
                rate.check(faults, &format!("{pointer}/once_per_bout"), 0.99);
            }
            Self::Known(rate) => faults.range(
                format!("{pointer}/known/failures_per_unit_bout"),
                rate.failures_per_unit_bout,
                0.0,
                20.0,
            ),
        }
    }

    /// Mean, in failures per fitted unit and bout.
    pub(super) fn mean(&self) -> f64 {
        match self {
            Self::Learned(rate) | Self::OncePerBout(rate) => rate.shape / rate.unit_bouts,
            Self::Known(rate) => rate.failures_per_unit_bout,
        }
    }
}

impl LearnedRate {
    /// Notes what is out of range, below `at`; the mean is at most `most_mean`.
    fn check(&self, faults: &mut Faults, at: &str, most_mean: f64) {
        faults.range(format!("{at}/shape"), self.shape, 0.01, 1.0e4);
        faults.range(format!("{at}/unit_bouts"), self.unit_bouts, 1.0e-3, 1.0e6);
        if self.shape / self.unit_bouts > most_mean {
            faults.add(
                format!("{at}/shape"),
                format!("shape / unit_bouts is above {most_mean} failures per unit and bout."),
            );
        }
    }
}

/// Input of `failure-rate`: what was believed before, and what was seen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(FailureRateInput::example()))]
pub struct FailureRateInput {
    /// What was believed before this machine was watched.
    pub prior: RatePrior,
    /// What this machine showed.
    #[serde(default)]
    pub seen: FailuresSeen,
    /// What another machine, weapon or season showed, counted at a discount.
    #[serde(default)]
    pub carried_over: Option<FailuresSeenElsewhere>,
}

impl FailureRateInput {
    /// A wheel thought to fail once in twenty unit-bouts, watched for six bouts on four corners.
    pub fn example() -> Self {
        Self {
            prior: RatePrior::MeanAndWorst(MeanAndWorst {
                mean_failures_per_unit_bout: 0.05,
                worst_failures_per_unit_bout: 0.12,
            }),
            seen: FailuresSeen {
                failures: 2,
                unit_bouts: 24.0,
            },
            carried_over: Some(FailuresSeenElsewhere {
                failures: 3,
                unit_bouts: 40.0,
                weight: 0.5,
            }),
        }
    }
}

/// What was believed before.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RatePrior {
    /// A mean, and a rate that would be surprising (95 % sure to be below it).
    MeanAndWorst(MeanAndWorst),
    /// A mean and its coefficient of variation.
    MeanAndSpread(MeanAndSpread),
    /// A belief worked out before.
    Learned(LearnedRate),
    /// Nothing: only what was seen counts (Jeffreys: shape one half, no unit-bouts).
    Unknown,
}

/// A mean and a plausible worst.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeanAndWorst {
    /// Mean failures per fitted unit and bout (0.00001 to 20).
    #[schema(minimum = 0.00001, maximum = 20)]
    pub mean_failures_per_unit_bout: f64,
    /// 95 % sure to be below this (1.05 to 3.84 times the mean).
    pub worst_failures_per_unit_bout: f64,
}

/// A mean and a spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MeanAndSpread {
    /// Mean failures per fitted unit and bout (0.00001 to 20).
    #[schema(minimum = 0.00001, maximum = 20)]
    pub mean_failures_per_unit_bout: f64,
    /// Standard deviation divided by the mean, no unit (0.05 to 3).
    #[schema(minimum = 0.05, maximum = 3)]
    pub coefficient_of_variation: f64,
}

/// Failures seen, and over how much use.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FailuresSeen {
    /// Failures seen (0 to 10,000).
    #[schema(minimum = 0, maximum = 10_000)]
    pub failures: u32,
    /// Fitted units times bouts watched (0 to 1,000,000).
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub unit_bouts: f64,
}

/// Failures seen elsewhere.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FailuresSeenElsewhere {
    /// Failures seen there (0 to 10,000).
    #[schema(minimum = 0, maximum = 10_000)]
    pub failures: u32,
    /// Fitted units times bouts watched there (0 to 1,000,000).
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub unit_bouts: f64,
    /// What one bout there is worth here (0 to 1; one half unless told).
    #[serde(default = "half")]
    #[schema(minimum = 0, maximum = 1)]
    pub weight: f64,
}

fn half() -> f64 {
    0.5
}

/// Output of `failure-rate`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(failure_rate(&FailureRateInput::example()).ok()))]
pub struct FailureRateOutput {
    /// The belief now: goes as it is into every other spares calculator.
    pub rate: LearnedRate,
    /// Mean, failures per fitted unit and bout.
    pub mean_failures_per_unit_bout: f64,
    /// Standard deviation, failures per fitted unit and bout.
    pub sd_failures_per_unit_bout: f64,
    /// 5 % sure to be below this, failures per fitted unit and bout.
    pub low_failures_per_unit_bout: f64,
    /// 95 % sure to be below this, failures per fitted unit and bout.
    pub high_failures_per_unit_bout: f64,
    /// Failures the prior alone was worth.
    pub prior_shape: f64,
    /// Unit-bouts the prior alone was worth.
    pub prior_unit_bouts: f64,
    /// Above 0.2 failures per unit and bout: give the rate to the forecasts as once_per_bout if a
    /// unit that failed is out for the bout, or they ask for too many spares.
    pub fails_often: bool,
}

/// Learns a failure rate from a prior belief and from failures counted over use.
///
/// **Units**: failures per fitted unit and bout; use in fitted units times bouts.
/// **Assumptions**: failures come as a Poisson stream of one constant rate; use elsewhere counts with
/// a fixed weight.
/// **Source**: gamma-Poisson conjugacy, Gelman et al., Bayesian Data Analysis, 3rd ed., 2.6; power
/// prior, Ibrahim and Chen 2000; Jeffreys prior for a Poisson rate, NUREG/CR-6823 (all from memory).
///
/// # Errors
/// Every value out of its range, and no belief together with no use watched.
pub fn failure_rate(input: &FailureRateInput) -> Result<FailureRateOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    check_prior(&mut faults, &input.prior);
    check_evidence(&mut faults, "/seen", &input.seen);
    if let Some(past) = &input.carried_over {
        let evidence = FailuresSeen {
            failures: past.failures,
            unit_bouts: past.unit_bouts,
        };
        check_evidence(&mut faults, "/carried_over", &evidence);
        faults.range("/carried_over/weight", past.weight, 0.0, 1.0);
    }
    faults.check()?;
    let prior = prior_rate(&input.prior);
    let mut shape = prior.shape + f64::from(input.seen.failures);
    let mut unit_bouts = prior.unit_bouts + input.seen.unit_bouts;
    if let Some(past) = &input.carried_over {
        shape += past.weight * f64::from(past.failures);
        unit_bouts += past.weight * past.unit_bouts;
    }
    if unit_bouts < 1.0e-3 {
        return Err(vec![Fault::new(
            "/seen/unit_bouts",
            "Nothing was believed and no use was watched: a rate needs at least one of the two.",
        )]);
    }
    let mean = shape / unit_bouts;
    Ok(FailureRateOutput {
        rate: LearnedRate { shape, unit_bouts },
        mean_failures_per_unit_bout: mean,
        sd_failures_per_unit_bout: shape.sqrt() / unit_bouts,
        low_failures_per_unit_bout: gamma::quantile(shape, 0.05) / unit_bouts,
        high_failures_per_unit_bout: gamma::quantile(shape, 0.95) / unit_bouts,
        prior_shape: prior.shape,
        prior_unit_bouts: prior.unit_bouts,
        fails_often: mean > OFTEN,
    })
}

fn prior_rate(prior: &RatePrior) -> LearnedRate {
    let of = |shape: f64, mean: f64| LearnedRate {
        shape,
        unit_bouts: shape / mean,
    };
    match prior {
        RatePrior::MeanAndWorst(belief) => {
            let mean = belief.mean_failures_per_unit_bout;
            let ratio = belief.worst_failures_per_unit_bout / mean;
            of(gamma::shape_for_ratio(ratio), mean)
        }
        RatePrior::MeanAndSpread(belief) => of(
            belief.coefficient_of_variation.powi(-2),
            belief.mean_failures_per_unit_bout,
        ),
        RatePrior::Learned(rate) => *rate,
        RatePrior::Unknown => LearnedRate {
            shape: 0.5,
            unit_bouts: 0.0,
        },
    }
}

fn check_prior(faults: &mut Faults, prior: &RatePrior) {
    match prior {
        RatePrior::MeanAndWorst(belief) => {
            let mean = belief.mean_failures_per_unit_bout;
            let worst = belief.worst_failures_per_unit_bout;
            let at = "/prior/mean_and_worst";
            faults.range(
                format!("{at}/mean_failures_per_unit_bout"),
                mean,
                1.0e-5,
                20.0,
            );
            let (least, most) = (gamma::LEAST_RATIO * mean, gamma::MOST_RATIO * mean);
            if !(worst >= least && worst <= most) {
                faults.add(
                    format!("{at}/worst_failures_per_unit_bout"),
                    format!(
                        "{worst} is not from {least} to {most} (1.05 to 3.84 times the mean); \
                         for a wider doubt give mean_and_spread."
                    ),
                );
            }
        }
        RatePrior::MeanAndSpread(belief) => {
            let at = "/prior/mean_and_spread";
            faults.range(
                format!("{at}/mean_failures_per_unit_bout"),
                belief.mean_failures_per_unit_bout,
                1.0e-5,
                20.0,
            );
            faults.range(
                format!("{at}/coefficient_of_variation"),
                belief.coefficient_of_variation,
                0.05,
                3.0,
            );
        }
        RatePrior::Learned(rate) => PartRate::Learned(*rate).check(faults, "/prior"),
        RatePrior::Unknown => {}
    }
}

fn check_evidence(faults: &mut Faults, at: &str, seen: &FailuresSeen) {
    faults.range(
        format!("{at}/failures"),
        f64::from(seen.failures),
        0.0,
        1.0e4,
    );
    faults.range(format!("{at}/unit_bouts"), seen.unit_bouts, 0.0, 1.0e6);
    if seen.failures > 0 && seen.unit_bouts == 0.0 {
        faults.add(
            format!("{at}/unit_bouts"),
            "Failures were seen, so the use they were seen over cannot be 0.",
        );
    }
}
