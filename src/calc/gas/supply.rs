//! Fillings left in a supply cylinder (`gas-supply`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::convert::{bar_gauge, cubic_metres};
use super::saturation::saturated;
use crate::calc::fault::{Fault, Faults};

/// What [`gas_supply`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasSupplyInput::example()))]
pub struct GasSupplyInput {
    /// Water capacity of the supply cylinder, litres; 1 to 1000.
    #[schema(minimum = 1.0, maximum = 1000.0)]
    pub water_capacity_l: f64,
    /// CO2 left in it by weighing, kg; 0 to 0.8 for each litre.
    #[schema(minimum = 0.0, maximum = 800.0)]
    pub gas_mass_kg: f64,
    /// Its temperature, degC; -20 to 30.
    #[schema(minimum = -20.0, maximum = 30.0)]
    pub temperature_degc: f64,
    /// Liquid the dip tube does not reach, kg; 0 to 10.
    #[schema(minimum = 0.0, maximum = 10.0)]
    pub heel_kg: f64,
    /// Gas one filling puts into a bottle, kg; 0.01 to 50.
    #[schema(minimum = 0.01, maximum = 50.0)]
    pub per_fill_kg: f64,
    /// Gas lost at each filling (hose, purge), kg; 0 to 10.
    #[schema(minimum = 0.0, maximum = 10.0)]
    pub loss_per_fill_kg: f64,
}

impl GasSupplyInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            water_capacity_l: 50.0,
            gas_mass_kg: 34.0,
            temperature_degc: 15.0,
            heel_kg: 0.5,
            per_fill_kg: 2.2,
            loss_per_fill_kg: 0.15,
        }
    }
}

/// What [`gas_supply`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_supply(&GasSupplyInput::example()).ok()))]
pub struct GasSupplyOutput {
    /// What stays in the cylinder when the liquid is gone, kg.
    pub residual_kg: f64,
    /// What can still be filled or lost as liquid, kg.
    pub usable_kg: f64,
    /// Whole fillings left.
    pub fills: u32,
    /// Pressure in the cylinder while it has liquid, bar gauge.
    pub pressure_bar_gauge: f64,
}

/// How many fillings a supply cylinder still has.
///
/// **Units** kg, litres, degC, bar gauge.
///
/// **Assumes** a cylinder that stays at its temperature and gives liquid until only vapour and the
/// heel are left.
///
/// **Source** residual is `V rho_vapour(T)` and the heel, with the full equation of state.
///
/// # Errors
/// Every field out of range.
pub fn gas_supply(input: &GasSupplyInput) -> Result<GasSupplyOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    let litres = input.water_capacity_l;
    faults.range("/water_capacity_l", litres, 1.0, 1000.0);
    faults.range("/gas_mass_kg", input.gas_mass_kg, 0.0, 0.8 * litres);
    faults.range("/temperature_degc", input.temperature_degc, -20.0, 30.0);
    faults.range("/heel_kg", input.heel_kg, 0.0, 10.0);
    faults.range("/per_fill_kg", input.per_fill_kg, 0.01, 50.0);
    faults.range("/loss_per_fill_kg", input.loss_per_fill_kg, 0.0, 10.0);
    faults.check()?;
    let saturation = saturated("/temperature_degc", input.temperature_degc)?;
    let residual = cubic_metres(litres) * saturation.vapour.density + input.heel_kg;
    let usable = (input.gas_mass_kg - residual).max(0.0);
    Ok(GasSupplyOutput {
        residual_kg: residual,
        usable_kg: usable,
        fills: (usable / (input.per_fill_kg + input.loss_per_fill_kg)).floor() as u32,
        pressure_bar_gauge: bar_gauge(saturation.pressure),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 50 l cylinder at 15 degC keeps 8.0 kg as vapour, CoolProp 8.0.0.
    #[test]
    fn a_cylinder_without_liquid_fills_nothing() {
        let out = gas_supply(&GasSupplyInput {
            gas_mass_kg: 8.0,
            heel_kg: 0.0,
            ..GasSupplyInput::example()
        })
        .unwrap();
        assert!((out.residual_kg - 8.0).abs() < 0.05);
        assert_eq!((out.usable_kg, out.fills), (0.0, 0));
    }
}
