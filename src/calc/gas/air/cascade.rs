//! Filling from a cascade of banks (`gas-air-cascade`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::CompressedGas;
use crate::calc::fault::{Fault, Faults};
use crate::calc::gas::content::Content;
use crate::calc::gas::convert::{bar_gauge, cubic_metres, kelvin, pascal_of_gauge};
use crate::calc::gas::equation::Gas;

/// One bank of a cascade.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasAirBank {
    /// Water capacity, litres; 1 to 5000.
    #[schema(minimum = 1.0, maximum = 5000.0)]
    pub water_capacity_l: f64,
    /// Pressure, bar gauge; 0 to 500.
    #[schema(minimum = 0.0, maximum = 500.0)]
    pub pressure_bar_gauge: f64,
}

/// What [`gas_air_cascade`] is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasAirCascadeInput::example()))]
pub struct GasAirCascadeInput {
    /// The gas.
    pub gas: CompressedGas,
    /// The banks, in any order; 1 to 20 of them.
    #[schema(min_items = 1, max_items = 20)]
    pub banks: Vec<GasAirBank>,
    /// Water capacity of the bottle, litres; 0.05 to 1000.
    #[schema(minimum = 0.05, maximum = 1000.0)]
    pub water_capacity_l: f64,
    /// Pressure in the bottle before, bar gauge; 0 to 400.
    #[schema(minimum = 0.0, maximum = 400.0)]
    pub start_pressure_bar_gauge: f64,
    /// Pressure wanted in the settled bottle, bar gauge; 1 to 400.
    #[schema(minimum = 1.0, maximum = 400.0)]
    pub target_pressure_bar_gauge: f64,
    /// Temperature of everything, degC; -20 to 50.
    #[schema(minimum = -20.0, maximum = 50.0)]
    pub temperature_degc: f64,
}

impl GasAirCascadeInput {
    /// The published example.
    pub fn example() -> Self {
        let bank = |pressure_bar_gauge| GasAirBank {
            water_capacity_l: 50.0,
            pressure_bar_gauge,
        };
        Self {
            gas: CompressedGas::Air,
            banks: vec![bank(140.0), bank(200.0), bank(230.0)],
            water_capacity_l: 6.8,
            start_pressure_bar_gauge: 30.0,
            target_pressure_bar_gauge: 225.0,
            temperature_degc: 18.0,
        }
    }
}

/// One bank opened and shut again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasAirCascadeStep {
    /// Which bank, counted from 0 as given.
    pub bank: usize,
    /// Pressure in the bottle after it, bar gauge.
    pub bottle_pressure_bar_gauge: f64,
    /// Pressure in the bank after it, bar gauge.
    pub bank_pressure_bar_gauge: f64,
}

/// What [`gas_air_cascade`] answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_air_cascade(&GasAirCascadeInput::example()).ok()))]
pub struct GasAirCascadeOutput {
    /// The banks to open, in order.
    pub steps: Vec<GasAirCascadeStep>,
    /// Whether the target is reached.
    pub reached: bool,
    /// Pressure in the settled bottle, bar gauge.
    pub final_pressure_bar_gauge: f64,
    /// Gas in the bottle, kg.
    pub mass_kg: f64,
    /// Pressure in each bank afterwards, bar gauge, in the order given.
    pub bank_pressures_bar_gauge: Vec<f64>,
}

/// Which banks to open in which order, and what is left in them.
///
/// **Units** litres, bar gauge, degC, kg.
///
/// **Assumes** time to settle at each bank, everything at one temperature. The lowest bank above the
/// bottle comes first, which keeps the high ones high.
///
/// **Source** equal density at equal temperature, `rho = (m_bottle + m_bank)/(V_bottle + V_bank)`,
/// with the full equation of state.
///
/// # Errors
/// Every field out of range.
pub fn gas_air_cascade(input: &GasAirCascadeInput) -> Result<GasAirCascadeOutput, Vec<Fault>> {
    check(input)?;
    let gas = Gas::from(input.gas);
    let temperature = kelvin(input.temperature_degc);
    let density = |bar: f64| gas.density(pascal_of_gauge(bar), temperature);
    let gauge = |density: f64| bar_gauge(Content::of(gas, density, temperature).pressure);
    let bottle_volume = cubic_metres(input.water_capacity_l);
    let mut bottle = density(input.start_pressure_bar_gauge);
    let target = density(input.target_pressure_bar_gauge);
    let mut banks: Vec<f64> = input
        .banks
        .iter()
        .map(|bank| density(bank.pressure_bar_gauge))
        .collect();
    let mut order: Vec<usize> = (0..banks.len()).collect();
    order.sort_by(|&a, &b| banks[a].total_cmp(&banks[b]));
    let mut steps = Vec::new();
    for bank in order {
        if bottle >= target {
            break;
        }
        if banks[bank] <= bottle {
            continue;
        }
        let bank_volume = cubic_metres(input.banks[bank].water_capacity_l);
        let together = bottle * bottle_volume + banks[bank] * bank_volume;
        let even = together / (bottle_volume + bank_volume);
        bottle = even.min(target);
        banks[bank] = (together - bottle * bottle_volume) / bank_volume;
        steps.push(GasAirCascadeStep {
            bank,
            bottle_pressure_bar_gauge: gauge(bottle),
            bank_pressure_bar_gauge: gauge(banks[bank]),
        });
    }
    Ok(GasAirCascadeOutput {
        steps,
        reached: bottle >= target,
        final_pressure_bar_gauge: gauge(bottle),
        mass_kg: bottle * bottle_volume,
        bank_pressures_bar_gauge: banks.into_iter().map(gauge).collect(),
    })
}

fn check(input: &GasAirCascadeInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    if !(1..=20).contains(&input.banks.len()) {
        faults.add(
            "/banks",
            format!("{} is not from 1 to 20 banks.", input.banks.len()),
        );
    }
    for (i, bank) in input.banks.iter().enumerate() {
        faults.range(
            format!("/banks/{i}/water_capacity_l"),
            bank.water_capacity_l,
            1.0,
            5000.0,
        );
        faults.range(
            format!("/banks/{i}/pressure_bar_gauge"),
            bank.pressure_bar_gauge,
            0.0,
            500.0,
        );
    }
    faults.range("/water_capacity_l", input.water_capacity_l, 0.05, 1000.0);
    faults.range(
        "/start_pressure_bar_gauge",
        input.start_pressure_bar_gauge,
        0.0,
        400.0,
    );
    faults.range(
        "/target_pressure_bar_gauge",
        input.target_pressure_bar_gauge,
        1.0,
        400.0,
    );
    faults.range("/temperature_degc", input.temperature_degc, -20.0, 50.0);
    faults.check()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_order_of_the_banks_as_given_does_not_matter() {
        let given = GasAirCascadeInput::example();
        let mut turned = given.clone();
        turned.banks.reverse();
        let (given, turned) = (
            gas_air_cascade(&given).unwrap(),
            gas_air_cascade(&turned).unwrap(),
        );
        assert_eq!(given.mass_kg, turned.mass_kg);
        let banks: Vec<_> = turned.steps.iter().map(|step| step.bank).collect();
        assert_eq!(banks, [2, 1, 0]);
    }

    #[test]
    fn banks_too_low_say_that_the_target_is_not_reached() {
        let out = gas_air_cascade(&GasAirCascadeInput {
            target_pressure_bar_gauge: 300.0,
            ..GasAirCascadeInput::example()
        })
        .unwrap();
        assert!(!out.reached);
        assert!(out.final_pressure_bar_gauge < 230.0);
    }

    #[test]
    fn a_bank_below_the_bottle_is_left_shut() {
        let out = gas_air_cascade(&GasAirCascadeInput {
            start_pressure_bar_gauge: 150.0,
            ..GasAirCascadeInput::example()
        })
        .unwrap();
        assert!(out.steps.iter().all(|step| step.bank != 0));
        assert!((out.bank_pressures_bar_gauge[0] - 140.0).abs() < 1e-9);
    }
}
