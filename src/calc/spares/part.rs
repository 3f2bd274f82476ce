//! A part type: where it is fitted, what is in the box, how much of it the day may take.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::day::{DayAhead, Outlook};
use super::demand;
use super::rate::PartRate;
use crate::calc::fault::Faults;
use crate::calc::names;

/// Most part types in one box.
pub(super) const MOST_PARTS: usize = 500;

/// Most spares of one type.
pub(super) const MOST_UNITS: u32 = 100;

/// A part type and the spares of it at hand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StockedPart {
    /// Name of the part type.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// How often it fails.
    pub rate: PartRate,
    /// On which robots it sits, and how many of it.
    #[schema(min_items = 1, max_items = 6)]
    pub fitted: Vec<FittedUnits>,
    /// Spares in the box (0 to 100).
    #[schema(minimum = 0, maximum = 100)]
    pub stock_units: u32,
    /// Damaged units on the machines that will take a spare now (0 to 100).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 100)]
    pub pending_units: u32,
}

/// Units of a part on a robot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FittedUnits {
    /// Name of the robot.
    #[schema(min_length = 1, max_length = 80)]
    pub robot: String,
    /// Units fitted on it (1 to 24).
    #[schema(minimum = 1, maximum = 24)]
    pub units: u32,
}

impl StockedPart {
    /// The example's parts: wheels on both robots, a gearbox on one.
    pub(super) fn examples() -> Vec<Self> {
        use super::rate::LearnedRate;
        let part = |name: &str, shape, unit_bouts, fitted: &[(&str, u32)], stock_units| Self {
            name: name.to_owned(),
            rate: PartRate::Learned(LearnedRate { shape, unit_bouts }),
            fitted: fitted_on(fitted),
            stock_units,
            pending_units: 0,
        };
        vec![
            part("wheel", 4.0, 50.0, &[("Thistle", 4), ("Bramble", 2)], 3),
            part("gearbox", 2.0, 40.0, &[("Thistle", 2)], 1),
            part("valve", 1.0, 25.0, &[("Bramble", 1)], 0),
        ]
    }

    /// Notes what is wrong, below `at`.
    pub(super) fn check(&self, faults: &mut Faults, at: &str, robots: &[&str]) {
        self.rate.check(faults, &format!("{at}/rate"));
        check_fitted(faults, &format!("{at}/fitted"), robots, &self.fitted);
        check_units(faults, &format!("{at}/stock_units"), self.stock_units);
        check_units(faults, &format!("{at}/pending_units"), self.pending_units);
    }
}

pub(super) fn fitted_on(fitted: &[(&str, u32)]) -> Vec<FittedUnits> {
    let one = |(robot, units): &(&str, u32)| FittedUnits {
        robot: (*robot).to_owned(),
        units: *units,
    };
    fitted.iter().map(one).collect()
}

/// Notes what is wrong with the day and a list of stocked parts.
pub(super) fn check_stock(faults: &mut Faults, day: &DayAhead, parts: &[StockedPart]) {
    day.check(faults, "/day");
    names::count(faults, "/parts", parts.len(), 1, MOST_PARTS, "part types");
    let part_names = parts.iter().map(|part| part.name.as_str());
    names::distinct(faults, part_names, |index| format!("/parts/{index}/name"));
    let robots: Vec<&str> = day.robots.iter().map(|robot| robot.name.as_str()).collect();
    for (index, part) in parts.iter().enumerate() {
        part.check(faults, &format!("/parts/{index}"), &robots);
    }
}

pub(super) fn check_units(faults: &mut Faults, pointer: &str, units: u32) {
    faults.range(pointer, f64::from(units), 0.0, f64::from(MOST_UNITS));
}

pub(super) fn check_fitted(faults: &mut Faults, at: &str, robots: &[&str], fitted: &[FittedUnits]) {
    if fitted.is_empty() {
        faults.add(at, "Name at least one robot the part is fitted on.");
    }
    for (index, on) in fitted.iter().enumerate() {
        names::place(faults, format!("{at}/{index}/robot"), robots, &on.robot);
        faults.range(
            format!("{at}/{index}/units"),
            f64::from(on.units),
            1.0,
            24.0,
        );
        if fitted[..index].iter().any(|other| other.robot == on.robot) {
            faults.add(
                format!("{at}/{index}/robot"),
                format!("\"{}\" is named twice for this part.", on.robot),
            );
        }
    }
}

/// What the day may take of one part type.
pub(super) struct Need {
    /// How often it fails.
    pub(super) rate: PartRate,
    /// Units on each robot, in the order of the robots.
    pub(super) fitted: Vec<u32>,
    /// Units that are needed at once.
    pub(super) pending: usize,
    exposure: Vec<(u32, f64)>,
}

impl Need {
    /// The need for a part, once checked.
    pub(super) fn new(
        rate: PartRate,
        fitted: &[FittedUnits],
        pending_units: u32,
        day: &DayAhead,
        outlook: &Outlook,
    ) -> Self {
        let units_on = |name: &str| {
            let on = fitted.iter().find(|on| on.robot == name);
            on.map_or(0, |on| on.units)
        };
        let robots = day.robots.iter();
        let fitted: Vec<u32> = robots.map(|robot| units_on(&robot.name)).collect();
        Self {
            rate,
            pending: pending_units as usize,
            exposure: outlook.exposure(&fitted),
            fitted,
        }
    }

    /// The need for a stocked part.
    pub(super) fn of(part: &StockedPart, day: &DayAhead, outlook: &Outlook) -> Self {
        Self::new(part.rate, &part.fitted, part.pending_units, day, outlook)
    }

    /// Mean number of units the day takes, those needed at once included.
    pub(super) fn mean_units(&self) -> f64 {
        let use_mean: f64 = self.exposure.iter().map(|(x, p)| f64::from(*x) * p).sum();
        self.pending as f64 + self.rate.mean() * use_mean
    }

    /// P(`s` spares are enough) for s from 0 to `most`.
    pub(super) fn enough(&self, most: usize) -> Vec<f64> {
        let mut chances = vec![0.0; most + 1];
        if let Some(free) = chances.get_mut(self.pending..) {
            for (unit_bouts, chance) in &self.exposure {
                demand::add_at_most(&self.rate, f64::from(*unit_bouts), *chance, free);
            }
        }
        for chance in &mut chances {
            *chance = chance.min(1.0);
        }
        chances
    }

    /// P(`units` spares are enough) at each use from 0 to `most_unit_bouts`, where it may occur.
    pub(super) fn enough_by_use(&self, units: usize, uses: impl Iterator<Item = u32>) -> Vec<f64> {
        let mut chances: Vec<f64> = Vec::new();
        for unit_bouts in uses.map(|unit_bouts| unit_bouts as usize) {
            if chances.len() <= unit_bouts {
                chances.resize(unit_bouts + 1, f64::NAN);
            }
            if chances[unit_bouts].is_nan() {
                chances[unit_bouts] = match units.checked_sub(self.pending) {
                    None => 0.0,
                    Some(free) => demand::at_most(&self.rate, unit_bouts as f64, free)[free],
                };
            }
        }
        chances
    }

    /// Units short on average with `units` in the box; `enough` as [`Self::enough`] gives it.
    pub(super) fn shortage(&self, enough: &[f64], units: usize) -> f64 {
        demand::shortage(self.mean_units(), enough, units)
    }
}
