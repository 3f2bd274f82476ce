//! Spares of a part that can be repaired between bouts.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::bouts::{BoutsAhead, CertainBouts, whole};
use super::part::check_units;
use super::rate::{LearnedRate, PartRate};
use super::repair_sum::Repairable;
use crate::calc::fault::{Fault, Faults};

/// Input of `repairable-spares`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(RepairableSparesInput::example()))]
pub struct RepairableSparesInput {
    /// How often the part fails; once_per_bout counts here as learned, which errs to more spares.
    pub rate: PartRate,
    /// Units fitted on the robot (1 to 24).
    #[schema(minimum = 1, maximum = 24)]
    pub fitted_units: u32,
    /// Spares in the box (0 to 100).
    #[schema(minimum = 0, maximum = 100)]
    pub stock_units: u32,
    /// The bouts still ahead of the robot.
    pub bouts_ahead: BoutsAhead,
    /// Whether what fails in the last bout needs replacing too (no, unless told).
    #[serde(default)]
    pub count_last: bool,
    /// Share of failed units that can be repaired (0 to 1); the rest is scrap.
    #[schema(minimum = 0, maximum = 1)]
    pub repairable_fraction: f64,
    /// Time one repair takes, in minutes (0 to 10,000).
    #[schema(minimum = 0, maximum = 10_000)]
    pub repair_min: f64,
    /// Time a failed unit waits before its repair starts, in minutes (0 to 10,000).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 10_000)]
    pub queue_min: f64,
    /// Time from one bout of the robot to its next, in minutes (1 to 10,000).
    #[schema(minimum = 1, maximum = 10_000)]
    pub gap_between_bouts_min: f64,
}

impl RepairableSparesInput {
    /// Two drive motors that take longer to rewind than the gap between bouts.
    pub fn example() -> Self {
        Self {
            rate: PartRate::Learned(LearnedRate {
                shape: 2.5,
                unit_bouts: 10.0,
            }),
            fitted_units: 2,
            stock_units: 1,
            bouts_ahead: BoutsAhead::Certain(CertainBouts { bouts: 5 }),
            count_last: false,
            repairable_fraction: 0.8,
            repair_min: 45.0,
            queue_min: 10.0,
            gap_between_bouts_min: 60.0,
        }
    }
}

/// Output of `repairable-spares`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(repairable_spares(&RepairableSparesInput::example()).ok()))]
pub struct RepairableSparesOutput {
    /// Gaps between bouts until a repaired unit is back in the box.
    pub repair_lag_bouts: u32,
    /// Chance that no spare is missing all day; nothing if the exact sum would take too long.
    pub enough_probability: Option<f64>,
    /// The same as if nothing could be repaired: the true chance is not below it.
    pub enough_probability_at_least: f64,
    /// The same as if repair took no time: the true chance is not above it.
    pub enough_probability_at_most: f64,
    /// Chance that at one instant of a long run no more units are in repair than there are spares.
    /// The chance for a whole day is lower: never take this one for it.
    pub one_instant_probability: f64,
}

/// Works out whether repair between bouts keeps up with failures.
///
/// **Units**: minutes, bouts, units of the part.
/// **Assumptions**: every repair takes the same time and none waits for another beyond the queue
/// given; a unit repaired within n gaps is back before the bout after them.
/// **Source**: conditioning on the number of failures, which given it fall evenly into the bouts
/// (order statistics of a mixed Poisson process); bounds by thinning.
///
/// # Errors
/// Every value out of its range.
pub fn repairable_spares(
    input: &RepairableSparesInput,
) -> Result<RepairableSparesOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    input.rate.check(&mut faults, "/rate");
    whole(
        &mut faults,
        "/fitted_units".to_owned(),
        input.fitted_units,
        1,
        24,
    );
    check_units(&mut faults, "/stock_units", input.stock_units);
    input.bouts_ahead.check(&mut faults, "/bouts_ahead");
    faults.range("/repairable_fraction", input.repairable_fraction, 0.0, 1.0);
    faults.range("/repair_min", input.repair_min, 0.0, 1.0e4);
    faults.range("/queue_min", input.queue_min, 0.0, 1.0e4);
    faults.range(
        "/gap_between_bouts_min",
        input.gap_between_bouts_min,
        1.0,
        1.0e4,
    );
    faults.check()?;

    let lag = ((input.repair_min + input.queue_min) / input.gap_between_bouts_min).ceil();
    let part = Repairable {
        rate: match input.rate {
            PartRate::OncePerBout(rate) => PartRate::Learned(rate),
            PartRate::Learned(_) | PartRate::Known(_) => input.rate,
        },
        fitted_units: input.fitted_units,
        stock_units: input.stock_units as usize,
        fraction: input.repairable_fraction,
        lag_bouts: lag as usize,
    };
    let by_bouts = input.bouts_ahead.chances();
    let after = |bouts: usize| {
        if input.count_last {
            bouts
        } else {
            bouts.saturating_sub(1)
        }
    };
    let mixed = |chance_at: &dyn Fn(usize) -> f64| -> f64 {
        let terms = by_bouts.iter().enumerate().filter(|(_, p)| **p > 0.0);
        terms.map(|(bouts, p)| p * chance_at(after(bouts))).sum()
    };
    let exact = part.exact(after(by_bouts.len() - 1));
    Ok(RepairableSparesOutput {
        repair_lag_bouts: lag as u32,
        enough_probability: exact.map(|by_bouts| mixed(&|bouts| by_bouts[bouts])),
        enough_probability_at_least: mixed(&|bouts| part.consumable(bouts)),
        enough_probability_at_most: mixed(&|bouts| part.instant(bouts)),
        one_instant_probability: part.at_one_instant(),
    })
}
