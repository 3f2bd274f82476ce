//! Liquid and vapour of CO2 in balance (`gas-saturation`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::convert::{bar_absolute, bar_gauge, celsius, kelvin, pascal_of_absolute};
use super::equation::Saturation;
use crate::calc::fault::{Fault, Faults};

/// What [`gas_saturation`] is asked: one of the two.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasSaturationInput::example()))]
pub struct GasSaturationInput {
    /// Temperature, degC; -56.5 to 30.95.
    #[serde(default)]
    #[schema(minimum = -56.5, maximum = 30.95)]
    pub temperature_degc: Option<f64>,
    /// Pressure, bar absolute; 5.2 to 73.7.
    #[serde(default)]
    #[schema(minimum = 5.2, maximum = 73.7)]
    pub pressure_bar_absolute: Option<f64>,
}

impl GasSaturationInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            temperature_degc: None,
            pressure_bar_absolute: Some(70.0),
        }
    }
}

/// What [`gas_saturation`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_saturation(&GasSaturationInput::example()).ok()))]
pub struct GasSaturationOutput {
    /// Temperature, degC.
    pub temperature_degc: f64,
    /// Vapour pressure, bar absolute.
    pub pressure_bar_absolute: f64,
    /// Vapour pressure, bar gauge.
    pub pressure_bar_gauge: f64,
    /// Density of the liquid, kg/m3.
    pub liquid_density_kg_per_m3: f64,
    /// Density of the vapour, kg/m3.
    pub vapour_density_kg_per_m3: f64,
    /// Heat of evaporation, kJ/kg.
    pub latent_heat_kj_per_kg: f64,
}

/// Temperature, pressure and densities of CO2 while liquid and vapour stand together.
///
/// **Units** degC, bar absolute, kg/m3, kJ/kg.
///
/// **Source** equal pressure and equal Gibbs energy of both phases from the full equation of state
/// (Span and Wagner 1996).
///
/// # Errors
/// Neither or both given, or the one given out of range.
pub fn gas_saturation(input: &GasSaturationInput) -> Result<GasSaturationOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    if let Some(degc) = input.temperature_degc {
        faults.range("/temperature_degc", degc, -56.5, 30.95);
    }
    if let Some(bar) = input.pressure_bar_absolute {
        faults.range("/pressure_bar_absolute", bar, 5.2, 73.7);
    }
    if input.temperature_degc.is_some() == input.pressure_bar_absolute.is_some() {
        faults.add("", "Give either temperature_degc or pressure_bar_absolute.");
    }
    faults.check()?;
    let found = match (input.temperature_degc, input.pressure_bar_absolute) {
        (Some(degc), _) => Saturation::at_temperature(kelvin(degc)),
        (None, Some(bar)) => Saturation::at_pressure(pascal_of_absolute(bar)),
        (None, None) => None,
    };
    let found = found.ok_or_else(|| no_liquid(""))?;
    Ok(GasSaturationOutput {
        temperature_degc: celsius(found.temperature),
        pressure_bar_absolute: bar_absolute(found.pressure),
        pressure_bar_gauge: bar_gauge(found.pressure),
        liquid_density_kg_per_m3: found.liquid.density,
        vapour_density_kg_per_m3: found.vapour.density,
        latent_heat_kj_per_kg: (found.vapour.enthalpy - found.liquid.enthalpy) * 1e-3,
    })
}

/// Saturated CO2 at a temperature given under `pointer`.
///
/// # Errors
/// A temperature without liquid CO2.
pub(super) fn saturated(pointer: &str, degc: f64) -> Result<Saturation, Vec<Fault>> {
    Saturation::at_temperature(kelvin(degc)).ok_or_else(|| no_liquid(pointer))
}

fn no_liquid(pointer: &str) -> Vec<Fault> {
    vec![Fault::new(pointer, "There is no liquid CO2 here.")]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CoolProp 8.0.0: 70 bar absolute is saturated at about 28.7 degC.
    #[test]
    fn seventy_bar_absolute_is_twenty_nine_degrees() {
        let out = gas_saturation(&GasSaturationInput::example()).unwrap();
        assert!((out.temperature_degc - 28.7).abs() < 0.05);
        let back = gas_saturation(&GasSaturationInput {
            temperature_degc: Some(out.temperature_degc),
            pressure_bar_absolute: None,
        })
        .unwrap();
        assert!((back.pressure_bar_absolute - 70.0).abs() < 1e-8);
    }

    #[test]
    fn one_of_the_two_is_asked_for() {
        for (temperature_degc, pressure_bar_absolute) in [(None, None), (Some(20.0), Some(57.0))] {
            let input = GasSaturationInput {
                temperature_degc,
                pressure_bar_absolute,
            };
            assert_eq!(gas_saturation(&input).unwrap_err()[0].pointer, "");
        }
        let input = GasSaturationInput {
            temperature_degc: Some(40.0),
            pressure_bar_absolute: None,
        };
        assert_eq!(
            gas_saturation(&input).unwrap_err()[0].pointer,
            "/temperature_degc"
        );
    }
}
