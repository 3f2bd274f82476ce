//! Properties of a gas at a pressure and temperature (`gas-state`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::content::{Content, GasPhase};
use super::convert::{kelvin, pascal_of_absolute};
use super::equation::Gas;
use crate::calc::fault::{Fault, Faults};

/// What [`gas_state`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasStateInput::example()))]
pub struct GasStateInput {
    /// The gas.
    pub gas: Gas,
    /// Pressure, bar absolute; 0.01 to 1000.
    #[schema(minimum = 0.01, maximum = 1000.0)]
    pub pressure_bar_absolute: f64,
    /// Temperature, degC; -56 to 150.
    #[schema(minimum = -56.0, maximum = 150.0)]
    pub temperature_degc: f64,
}

impl GasStateInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            gas: Gas::Air,
            pressure_bar_absolute: 300.0,
            temperature_degc: 20.0,
        }
    }
}

/// What [`gas_state`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_state(&GasStateInput::example()).ok()))]
pub struct GasStateOutput {
    /// How the gas stands there; CO2 exactly at its vapour pressure is given as gas.
    pub phase: GasPhase,
    /// Density, kg/m3.
    pub density_kg_per_m3: f64,
    /// Compressibility factor: 1 for an ideal gas.
    pub compressibility: f64,
    /// Internal energy, kJ/kg, from the zero the equation of this gas is published with.
    pub energy_kj_per_kg: f64,
    /// Enthalpy, kJ/kg, from the same zero.
    pub enthalpy_kj_per_kg: f64,
    /// Entropy, kJ/kg/K, from the same zero.
    pub entropy_kj_per_kg_k: f64,
    /// Heat capacity at constant volume, kJ/kg/K.
    pub cv_kj_per_kg_k: f64,
    /// Heat capacity at constant pressure, kJ/kg/K.
    pub cp_kj_per_kg_k: f64,
}

/// Density and energies of CO2, nitrogen or air.
///
/// **Units** bar absolute, degC to kg/m3, kJ/kg.
///
/// **Assumes** the stable phase.
///
/// **Source** the full equations of state: Span and Wagner 1996; Span et al. 2000; Lemmon et al.
/// 2000.
///
/// # Errors
/// Every field out of range.
pub fn gas_state(input: &GasStateInput) -> Result<GasStateOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range(
        "/pressure_bar_absolute",
        input.pressure_bar_absolute,
        0.01,
        1000.0,
    );
    faults.range("/temperature_degc", input.temperature_degc, -56.0, 150.0);
    faults.check()?;
    let temperature = kelvin(input.temperature_degc);
    let density = input
        .gas
        .density(pascal_of_absolute(input.pressure_bar_absolute), temperature);
    let content = Content::of(input.gas, density, temperature);
    let state = content.upper();
    Ok(GasStateOutput {
        phase: content.phase,
        density_kg_per_m3: density,
        compressibility: state.compressibility(input.gas.equation()),
        energy_kj_per_kg: state.energy * 1e-3,
        enthalpy_kj_per_kg: state.enthalpy * 1e-3,
        entropy_kj_per_kg_k: state.entropy * 1e-3,
        cv_kj_per_kg_k: state.cv * 1e-3,
        cp_kj_per_kg_k: state.cp * 1e-3,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CoolProp 8.0.0: an ideal gas would err by 10.4 % for air at 300 bar and 20 degC.
    #[test]
    fn air_at_300_bar_is_a_tenth_from_ideal() {
        let out = gas_state(&GasStateInput::example()).unwrap();
        assert!((out.compressibility - 1.104).abs() < 0.001);
        assert_eq!(out.phase, GasPhase::Gas);
    }

    #[test]
    fn co2_is_told_gas_from_liquid_from_supercritical() {
        let phase = |pressure_bar_absolute, temperature_degc| {
            let input = GasStateInput {
                gas: Gas::Co2,
                pressure_bar_absolute,
                temperature_degc,
            };
            gas_state(&input).unwrap().phase
        };
        assert_eq!(phase(56.0, 20.0), GasPhase::Gas);
        assert_eq!(phase(58.0, 20.0), GasPhase::LiquidFull);
        assert_eq!(phase(80.0, 40.0), GasPhase::Supercritical);
    }
}
