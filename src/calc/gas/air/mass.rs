//! Mass of compressed gas in a bottle (`gas-air-mass`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::CompressedGas;
use crate::calc::fault::{Fault, Faults};
use crate::calc::gas::convert::{cubic_metres, kelvin, pascal_of_gauge};
use crate::calc::gas::equation::Gas;

/// What [`gas_air_mass`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasAirMassInput::example()))]
pub struct GasAirMassInput {
    /// The gas.
    pub gas: CompressedGas,
    /// Water capacity, litres; 0.05 to 1000.
    #[schema(minimum = 0.05, maximum = 1000.0)]
    pub water_capacity_l: f64,
    /// Pressure, bar gauge; 0 to 400.
    #[schema(minimum = 0.0, maximum = 400.0)]
    pub pressure_bar_gauge: f64,
    /// Temperature of the gas, degC; -40 to 100.
    #[schema(minimum = -40.0, maximum = 100.0)]
    pub temperature_degc: f64,
}

impl GasAirMassInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            gas: CompressedGas::Air,
            water_capacity_l: 6.8,
            pressure_bar_gauge: 200.0,
            temperature_degc: 15.0,
        }
    }
}

/// What [`gas_air_mass`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_air_mass(&GasAirMassInput::example()).ok()))]
pub struct GasAirMassOutput {
    /// Mass of the gas, kg.
    pub mass_kg: f64,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// By how many percent an ideal gas would have more.
    pub ideal_gas_error_percent: f64,
}

/// Mass of air or nitrogen in a bottle.
///
/// **Units** litres, bar gauge, degC to kg.
///
/// **Assumes** a standard atmosphere around the gauge.
///
/// **Source** `m = V rho(p, T)` with the full equation of state.
///
/// # Errors
/// Every field out of range.
pub fn gas_air_mass(input: &GasAirMassInput) -> Result<GasAirMassOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/water_capacity_l", input.water_capacity_l, 0.05, 1000.0);
    faults.range("/pressure_bar_gauge", input.pressure_bar_gauge, 0.0, 400.0);
    faults.range("/temperature_degc", input.temperature_degc, -40.0, 100.0);
    faults.check()?;
    let gas = Gas::from(input.gas);
    let temperature = kelvin(input.temperature_degc);
    let density = gas.density(pascal_of_gauge(input.pressure_bar_gauge), temperature);
    let state = gas.equation().state(density, temperature);
    Ok(GasAirMassOutput {
        mass_kg: cubic_metres(input.water_capacity_l) * density,
        density_kg_per_m3: density,
        ideal_gas_error_percent: 100.0 * (state.compressibility(gas.equation()) - 1.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An ideal gas errs by +2.6 % at 200 bar and +10.4 % at 300 bar absolute, 20 degC, air
    /// (CoolProp 8.0.0).
    #[test]
    fn an_ideal_gas_would_hold_more() {
        for (bar_absolute, percent) in [(200.0, 2.6), (300.0, 10.4)] {
            let input = GasAirMassInput {
                pressure_bar_gauge: bar_absolute - 1.01325,
                temperature_degc: 20.0,
                ..GasAirMassInput::example()
            };
            let out = gas_air_mass(&input).unwrap();
            assert!((out.ideal_gas_error_percent - percent).abs() < 0.06);
        }
    }
}
