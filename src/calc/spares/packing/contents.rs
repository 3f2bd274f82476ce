//! Part types that may go into the box, and what a box is worth.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::Faults;
use crate::calc::names;
use crate::calc::spares::day::{Case, DayAhead};
use crate::calc::spares::joint::Joint;
use crate::calc::spares::part::{
    FittedUnits, MOST_PARTS, Need, check_fitted, check_units, fitted_on,
};
use crate::calc::spares::rate::{LearnedRate, PartRate};

/// Most units of one part type that may be added to the box.
const MOST_ADDED: u32 = 60;

/// Logarithm of a chance for each unit that is missing for certain: below every true chance.
const CERTAINLY_SHORT: f64 = -1000.0;

/// A part type that may go into the box.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PartToPack {
    /// Name of the part type.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// How often it fails.
    pub rate: PartRate,
    /// On which robots it sits, and how many of it.
    #[schema(min_items = 1, max_items = 6)]
    pub fitted: Vec<FittedUnits>,
    /// Spares that come along in any case and count against no limit (0 to 100).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 100)]
    pub held_units: u32,
    /// Damaged units on the machines that will take a spare now (0 to 100).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 100)]
    pub pending_units: u32,
    /// Most units that may be added (0 to 60; 12 unless told).
    #[serde(default = "dozen")]
    #[schema(minimum = 0, maximum = 60)]
    pub at_most_units: u32,
    /// Mass of one unit in grams (0 to 100,000).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 100_000)]
    pub mass_g: u32,
    /// Price of one unit in hundredths of the event's currency (0 to 100,000,000).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 100_000_000)]
    pub price_cents: u32,
    /// Room one unit takes in millilitres (0 to 1,000,000).
    #[serde(default)]
    #[schema(minimum = 0, maximum = 1_000_000)]
    pub volume_ml: u32,
}

fn dozen() -> u32 {
    12
}

impl PartToPack {
    /// The example's parts.
    pub(super) fn examples() -> Vec<Self> {
        let part = |name: &str, shape, unit_bouts, robots: &[(&str, u32)], cost: [u32; 3]| Self {
            name: name.to_owned(),
            rate: PartRate::Learned(LearnedRate { shape, unit_bouts }),
            fitted: fitted_on(robots),
            held_units: 0,
            pending_units: 0,
            at_most_units: 6,
            mass_g: cost[0],
            price_cents: cost[1],
            volume_ml: cost[2],
        };
        let both: &[(&str, u32)] = &[("Thistle", 4), ("Bramble", 2)];
        vec![
            part("wheel", 4.0, 50.0, both, [420, 1800, 900]),
            part("gearbox", 2.0, 40.0, &[("Thistle", 2)], [1250, 9500, 1100]),
            part("valve", 1.0, 25.0, &[("Bramble", 1)], [310, 4200, 250]),
        ]
    }

    /// What one unit takes: mass, price, volume.
    pub(super) fn takes(&self) -> [f64; 3] {
        [self.mass_g, self.price_cents, self.volume_ml].map(f64::from)
    }

    fn check(&self, faults: &mut Faults, at: &str, robots: &[&str]) {
        self.rate.check(faults, &format!("{at}/rate"));
        check_fitted(faults, &format!("{at}/fitted"), robots, &self.fitted);
        check_units(faults, &format!("{at}/held_units"), self.held_units);
        check_units(faults, &format!("{at}/pending_units"), self.pending_units);
        let mut up_to = |field: &str, value: u32, most: u32| {
            let pointer = format!("{at}/{field}");
            faults.range(pointer, f64::from(value), 0.0, f64::from(most));
        };
        up_to("at_most_units", self.at_most_units, MOST_ADDED);
        up_to("mass_g", self.mass_g, 100_000);
        up_to("price_cents", self.price_cents, 100_000_000);
        up_to("volume_ml", self.volume_ml, 1_000_000);
    }
}

/// Notes what is wrong with the day and a list of parts to pack.
pub(super) fn check_parts(faults: &mut Faults, day: &DayAhead, parts: &[PartToPack]) {
    day.check(faults, "/day");
    names::count(faults, "/parts", parts.len(), 1, MOST_PARTS, "part types");
    let part_names = parts.iter().map(|part| part.name.as_str());
    names::distinct(faults, part_names, |index| format!("/parts/{index}/name"));
    let robots: Vec<&str> = day.robots.iter().map(|robot| robot.name.as_str()).collect();
    for (index, part) in parts.iter().enumerate() {
        part.check(faults, &format!("/parts/{index}"), &robots);
    }
}

/// What is in a box, and what it is worth.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct BoxContents {
    /// The part types, in the order given.
    pub parts: Vec<PackedPart>,
    /// Mass of what is added, in grams.
    pub mass_g: u64,
    /// Price of what is added, in hundredths of the event's currency.
    pub price_cents: u64,
    /// Room of what is added, in millilitres.
    pub volume_ml: u64,
    /// Product of the parts' own chances: what the search makes as large as it can.
    pub product_of_parts_probability: f64,
    /// Chance that nothing runs out on any robot.
    pub nothing_runs_out_probability: f64,
    /// Whether that chance is exact; if not it is the product.
    pub exact: bool,
    /// Units short on average, all part types together.
    pub expected_shortage_units: f64,
}

/// A part type in a box.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct PackedPart {
    /// Name of the part type.
    pub name: String,
    /// Units to add.
    pub add_units: u32,
    /// Units in the box then, those held included.
    pub total_units: u32,
    /// Chance that they are enough.
    pub enough_probability: f64,
}

/// The parts with what any number of units is worth.
pub(super) struct Shelf<'a> {
    pub(super) parts: &'a [PartToPack],
    /// Per part: logarithm of the chance that 0, 1, 2, ... added units are enough.
    pub(super) worth: Vec<Vec<f64>>,
    needs: Vec<Need>,
    /// Per part: chance that 0, 1, 2, ... units in all are enough.
    enough: Vec<Vec<f64>>,
    cases: Option<Vec<Case>>,
}

impl<'a> Shelf<'a> {
    /// Works out the worth of every number of units, once checked.
    pub(super) fn new(day: &DayAhead, parts: &'a [PartToPack]) -> Self {
        let outlook = day.outlook();
        let need = |part: &PartToPack| {
            Need::new(part.rate, &part.fitted, part.pending_units, day, &outlook)
        };
        let needs: Vec<Need> = parts.iter().map(need).collect();
        let most = |part: &PartToPack| (part.held_units + part.at_most_units) as usize;
        let each = parts.iter().zip(&needs);
        let enough: Vec<Vec<f64>> = each.map(|(part, need)| need.enough(most(part))).collect();
        let worth = parts.iter().zip(&needs).zip(&enough);
        let worth = worth.map(|((part, need), enough)| {
            let held = part.held_units as usize;
            let totals = held..=most(part);
            // Units that are missing for certain weigh more than any chance, and alike.
            let log = |total: usize| {
                let short = need.pending.saturating_sub(total);
                let chance = enough.get(total + short).copied().unwrap_or(0.0);
                chance.ln().max(CERTAINLY_SHORT) + CERTAINLY_SHORT * short as f64
            };
            totals.map(log).collect()
        });
        Self {
            parts,
            worth: worth.collect(),
            needs,
            enough,
            cases: outlook.cases(),
        }
    }

    /// Product of the parts' own chances with these units added.
    pub(super) fn product(&self, units: &[usize]) -> f64 {
        let parts = self.parts.iter().zip(units).zip(&self.enough);
        parts
            .map(|((part, added), enough)| enough[part.held_units as usize + added])
            .product()
    }

    /// The box with these units added.
    pub(super) fn contents(&self, units: &[usize]) -> BoxContents {
        let mut joint = Joint::new(self.cases.as_deref());
        let mut sums = [0_u64; 3];
        let mut shortage = 0.0;
        let mut parts = Vec::with_capacity(units.len());
        for (index, (part, added)) in self.parts.iter().zip(units).enumerate() {
            let total = part.held_units as usize + added;
            joint.add(&joint.factors(&self.needs[index], total));
            shortage += self.needs[index].shortage(&self.enough[index], total);
            let takes = [part.mass_g, part.price_cents, part.volume_ml];
            for (sum, takes) in sums.iter_mut().zip(takes) {
                *sum += u64::from(takes) * *added as u64;
            }
            parts.push(PackedPart {
                name: part.name.clone(),
                add_units: *added as u32,
                total_units: total as u32,
                enough_probability: self.enough[index][total],
            });
        }
        BoxContents {
            parts,
            mass_g: sums[0],
            price_cents: sums[1],
            volume_ml: sums[2],
            product_of_parts_probability: self.product(units),
            nothing_runs_out_probability: joint.probability(),
            exact: self.cases.is_some(),
            expected_shortage_units: shortage,
        }
    }
}

/// How many units of each of `parts` part types an order of additions adds.
pub(super) fn units_of(order: &[usize], parts: usize) -> Vec<usize> {
    let mut units = vec![0; parts];
    for part in order {
        units[*part] += 1;
    }
    units
}
