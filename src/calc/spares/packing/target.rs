//! The cheapest box for a wanted confidence.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::contents::{BoxContents, PartToPack, Shelf, check_parts, units_of};
use super::greedy::{Units, greedy};
use super::labels;
use super::prices::prices;
use super::problem::{Choice, MOST_LIMITS, Problem};
use crate::calc::fault::{Fault, Faults};
use crate::calc::spares::day::DayAhead;

/// Steps of the exact search before it stops with a bound.
const WORK: u64 = 4_000_000;

/// Input of `pack-for-confidence`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(PackForConfidenceInput::example()))]
pub struct PackForConfidenceInput {
    /// The bouts ahead.
    pub day: DayAhead,
    /// The part types to choose from (1 to 500).
    #[schema(min_items = 1, max_items = 500)]
    pub parts: Vec<PartToPack>,
    /// Wanted chance that nothing runs out (0.01 to 0.9999), reached by the product of the parts'
    /// own chances: the true chance is not below it.
    #[schema(minimum = 0.01, maximum = 0.9999)]
    pub confidence: f64,
    /// What is to be as small as possible.
    pub minimise: MinimiseBox,
}

/// What of a box is to be as small as possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MinimiseBox {
    /// Its mass.
    Mass,
    /// Its price.
    Price,
    /// The room it takes.
    Volume,
}

impl MinimiseBox {
    fn place(self) -> usize {
        match self {
            Self::Mass => 0,
            Self::Price => 1,
            Self::Volume => 2,
        }
    }
}

impl PackForConfidenceInput {
    /// The cheapest box that lasts the day nineteen times in twenty.
    pub fn example() -> Self {
        Self {
            day: DayAhead::example(),
            parts: PartToPack::examples(),
            confidence: 0.95,
            minimise: MinimiseBox::Price,
        }
    }
}

/// Output of `pack-for-confidence`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(pack_for_confidence(&PackForConfidenceInput::example()).ok()))]
pub struct PackForConfidenceOutput {
    /// The best box found.
    pub best: BoxContents,
    /// Whether it is proved that no box with that confidence is smaller.
    pub proved_best: bool,
    /// No box with that confidence is below this, in the unit of what is minimised: grams,
    /// hundredths of the currency or millilitres.
    pub minimised_at_least: f64,
    /// The box that marginal analysis packs, for comparison: it tends to overshoot.
    pub by_marginal_analysis: BoxContents,
}

/// Packs the smallest box, by mass, price or volume, that lasts the day with a wanted confidence.
///
/// **Units**: grams, hundredths of the event's currency, millilitres, chances from 0 to 1.
/// **Assumptions**: as `pack-spares`.
/// **Source**: as `pack-spares`, with limit and aim exchanged.
///
/// # Errors
/// Every value out of its range, unknown robots, repeated names, a confidence that no box reaches.
pub fn pack_for_confidence(
    input: &PackForConfidenceInput,
) -> Result<PackForConfidenceOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    check_parts(&mut faults, &input.day, &input.parts);
    faults.range("/confidence", input.confidence, 0.01, 0.9999);
    faults.check()?;

    let shelf = Shelf::new(&input.day, &input.parts);
    let kind = input.minimise.place();
    let wanted = input.confidence.ln();
    let most: Vec<usize> = shelf.worth.iter().map(|worth| worth.len() - 1).collect();
    let reached = shelf.product(&most);
    if reached < input.confidence {
        return Err(vec![Fault::new(
            "/confidence",
            format!(
                "{} is out of reach: with all units allowed the chance is {reached:.4}. \
                 Allow more units (at_most_units) or ask for less.",
                input.confidence
            ),
        )]);
    }
    let units: Vec<Units<'_>> = input
        .parts
        .iter()
        .zip(&shelf.worth)
        .map(|(part, worth)| Units {
            worth,
            takes: [0.0; MOST_LIMITS],
            cost: part.takes()[kind],
        })
        .collect();
    let order = greedy(&units, &[f64::INFINITY; MOST_LIMITS], |worth| {
        worth >= wanted
    });
    let by_margin = units_of(&order, input.parts.len());

    let problem = problem(&shelf, kind, wanted);
    let prices = prices(&problem);
    // Rounding may leave either start a last digit short; all units allowed are enough for certain.
    let all = problem.pick(most);
    let starts = [by_margin.clone(), prices.choices.clone()];
    let repaired = starts
        .into_iter()
        .filter_map(|start| problem.repaired(start));
    let improved = repaired.map(|pick| problem.improved(pick));
    let start = improved.fold(
        all,
        |best, pick| {
            if pick.gain > best.gain { pick } else { best }
        },
    );
    let found = labels::best(&problem, &prices, start, WORK);
    Ok(PackForConfidenceOutput {
        proved_best: found.proved,
        minimised_at_least: (-found.bound).max(0.0),
        by_marginal_analysis: shelf.contents(&by_margin),
        best: shelf.contents(&found.pick.choices),
    })
}

/// Gains are costs saved; the one limit is on the logarithm of the chance of running out.
fn problem(shelf: &Shelf<'_>, kind: usize, wanted: f64) -> Problem {
    let items = shelf.parts.iter().zip(&shelf.worth).map(|(part, worth)| {
        let cost = part.takes()[kind];
        let choice = |(added, worth): (u32, &f64)| Choice {
            gain: -cost * f64::from(added),
            takes: [-worth, 0.0, 0.0],
        };
        (0..).zip(worth).map(choice).collect()
    });
    let costs = shelf.parts.iter().map(|part| part.takes()[kind] as u64);
    Problem {
        items: items.collect(),
        limits: [-wanted, 0.0, 0.0],
        resources: 1,
        step: costs.fold(0, greatest_common_divisor) as f64,
    }
}

fn greatest_common_divisor(a: u64, b: u64) -> u64 {
    if b == 0 {
        a
    } else {
        greatest_common_divisor(b, a % b)
    }
}
