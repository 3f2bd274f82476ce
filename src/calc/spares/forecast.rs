//! Whether the box lasts the day: part by part, robot by robot, and all at once.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::day::DayAhead;
use super::joint::Joint;
use super::part::{Need, StockedPart, check_stock};
use crate::calc::fault::{Fault, Faults};

/// Confidences for which the number of spares needed is told.
const CONFIDENCES: [f64; 3] = [0.90, 0.95, 0.99];

/// Most spares that are tried to reach a confidence.
const TRIED: usize = 200;

/// Input of `spares-forecast`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(SparesForecastInput::example()))]
pub struct SparesForecastInput {
    /// The bouts still ahead.
    pub day: DayAhead,
    /// The part types and the spares of each (1 to 500).
    #[schema(min_items = 1, max_items = 500)]
    pub parts: Vec<StockedPart>,
}

impl SparesForecastInput {
    /// Two robots that share a box.
    pub fn example() -> Self {
        Self {
            day: DayAhead::example(),
            parts: StockedPart::examples(),
        }
    }
}

/// Output of `spares-forecast`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(spares_forecast(&SparesForecastInput::example()).ok()))]
pub struct SparesForecastOutput {
    /// The part types, in the order given.
    pub parts: Vec<PartForecast>,
    /// The robots, in the order given.
    pub robots: Vec<RobotForecast>,
    /// Chance that nothing runs out on any robot.
    pub nothing_runs_out_probability: f64,
    /// Whether the chances over several parts are exact; if not they are lower bounds, because the
    /// day may go in too many ways to go through them all.
    pub exact: bool,
    /// Product of the parts' own chances: what one would say without seeing that a short day spares
    /// all parts at once. Never above the true chance.
    pub product_of_parts_probability: f64,
    /// Units short on average, all part types together.
    pub expected_shortage_units: f64,
    /// The part type most likely to run out.
    pub weakest_part: String,
}

/// What the day may take of one part type.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct PartForecast {
    /// Name of the part type.
    pub name: String,
    /// Mean units the day takes, those needed at once included.
    pub expected_demand_units: f64,
    /// Chance that the spares at hand are enough.
    pub enough_probability: f64,
    /// Units short on average.
    pub expected_shortage_units: f64,
    /// Chance that 0, 1, 2, ... spares are enough, to three more than there are.
    pub enough_probability_by_units: Vec<f64>,
    /// Spares needed for a confidence.
    pub needed: Vec<UnitsFor>,
}

/// Spares needed for a confidence.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct UnitsFor {
    /// Chance that they are enough.
    pub confidence: f64,
    /// Fewest spares that reach it; nothing if more than 200.
    pub units: Option<u32>,
}

/// What the day may do to one robot.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RobotForecast {
    /// Name of the robot.
    pub name: String,
    /// Chance that no part fitted on it runs out, with the other robots drawing on the same box.
    pub nothing_runs_out_probability: f64,
    /// Mean bouts after which it needs replacements.
    pub expected_demand_bouts: f64,
}

/// Forecasts whether the spares last the day.
///
/// **Units**: units of a part, bouts, chances from 0 to 1.
/// **Assumptions**: part types fail independently of each other, at constant rates; what a spare
/// replaces is not repaired (see `repairable-spares`); all robots may draw on the whole box.
/// **Source**: negative binomial demand mixed over the remaining bouts; expected shortage as
/// Sherbrooke, Optimal Inventory Modeling of Systems, ch. 2 (from memory).
///
/// # Errors
/// Every value out of its range, unknown robots, repeated names.
pub fn spares_forecast(input: &SparesForecastInput) -> Result<SparesForecastOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    check_stock(&mut faults, &input.day, &input.parts);
    faults.check()?;
    let outlook = input.day.outlook();
    let cases = outlook.cases();
    let mut all = Joint::new(cases.as_deref());
    let mut by_robot = vec![all.clone(); input.day.robots.len()];
    let mut parts = Vec::with_capacity(input.parts.len());
    for part in &input.parts {
        let need = Need::of(part, &input.day, &outlook);
        let factors = all.factors(&need, part.stock_units as usize);
        all.add(&factors);
        for (robot, units) in by_robot.iter_mut().zip(&need.fitted) {
            if *units > 0 {
                robot.add(&factors);
            }
        }
        parts.push(part_forecast(part, &need));
    }
    let robots = input.day.robots.iter().enumerate();
    let robots = robots.map(|(index, robot)| RobotForecast {
        name: robot.name.clone(),
        nothing_runs_out_probability: by_robot[index].probability(),
        expected_demand_bouts: {
            let mut alone = vec![0; input.day.robots.len()];
            alone[index] = 1;
            let exposure = outlook.exposure(&alone);
            exposure.iter().map(|(x, p)| f64::from(*x) * p).sum()
        },
    });
    let weakest = parts
        .iter()
        .min_by(|a, b| a.enough_probability.total_cmp(&b.enough_probability));
    Ok(SparesForecastOutput {
        robots: robots.collect(),
        nothing_runs_out_probability: all.probability(),
        exact: cases.is_some(),
        product_of_parts_probability: parts.iter().map(|part| part.enough_probability).product(),
        expected_shortage_units: parts.iter().map(|part| part.expected_shortage_units).sum(),
        weakest_part: weakest.map_or_else(String::new, |part| part.name.clone()),
        parts,
    })
}

fn part_forecast(part: &StockedPart, need: &Need) -> PartForecast {
    let stock = part.stock_units as usize;
    let mut enough = need.enough(stock + 3);
    let shortage = need.shortage(&enough, stock);
    let most_wanted = CONFIDENCES[CONFIDENCES.len() - 1];
    let mut longer = Vec::new();
    if enough[stock + 3] < most_wanted {
        longer = need.enough(TRIED);
    }
    let known = if longer.len() > enough.len() {
        &longer
    } else {
        &enough
    };
    let needed = CONFIDENCES.map(|confidence| UnitsFor {
        confidence,
        units: (0..)
            .zip(known)
            .find(|(_, chance)| **chance >= confidence)
            .map(|(units, _)| units),
    });
    let needed = needed.to_vec();
    enough.truncate(stock + 4);
    PartForecast {
        name: part.name.clone(),
        expected_demand_units: need.mean_units(),
        enough_probability: enough[stock],
        expected_shortage_units: shortage,
        enough_probability_by_units: enough,
        needed,
    }
}
