//! What a closed vessel holds: gas, liquid, or both.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::equation::{Gas, Saturation, State};

/// How a gas fills its bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasPhase {
    /// All gas; of CO2, below its critical temperature.
    Gas,
    /// Liquid CO2 with its vapour above it: the pressure depends on temperature alone.
    LiquidAndGas,
    /// Liquid to the brim: the pressure climbs by several bar for each kelvin.
    LiquidFull,
    /// Above the critical temperature of CO2: one dense phase.
    Supercritical,
}

/// One gas at a mean density and a temperature.
///
/// **Units** K, kg/m3, Pa absolute, J/kg.
///
/// **Assumes** one temperature throughout, and liquid and vapour in balance.
#[derive(Debug, Clone, Copy)]
pub(super) struct Content {
    pub phase: GasPhase,
    pub pressure: f64,
    pub energy: f64,
    /// Share of the mass that is liquid.
    pub liquid_mass_fraction: f64,
    /// Share of the volume that is liquid.
    pub liquid_volume_fraction: f64,
    upper: State,
    lower: State,
}

impl Content {
    /// `density` kg/m3 of `gas` at `temperature` K.
    pub(super) fn of(gas: Gas, density: f64, temperature: f64) -> Self {
        let equation = gas.equation();
        let saturation = match gas {
            Gas::Co2 => Saturation::at_temperature(temperature),
            Gas::Nitrogen | Gas::Air => None,
        };
        if let Some(s) = saturation
            && density > s.vapour.density
            && density < s.liquid.density
        {
            return Self::two_phase(&s, density);
        }
        let state = equation.state(density, temperature);
        let (phase, liquid) = match (gas, saturation) {
            (Gas::Co2, Some(s)) if density >= s.liquid.density => (GasPhase::LiquidFull, 1.0),
            (Gas::Co2, None) if temperature >= equation.reducing_temperature() => {
                (GasPhase::Supercritical, 0.0)
            }
            _ => (GasPhase::Gas, 0.0),
        };
        Self {
            phase,
            pressure: state.pressure,
            energy: state.energy,
            liquid_mass_fraction: liquid,
            liquid_volume_fraction: liquid,
            upper: state,
            lower: state,
        }
    }

    /// **Source** the lever rule on specific volume.
    fn two_phase(saturation: &Saturation, density: f64) -> Self {
        let (liquid, vapour) = (saturation.liquid, saturation.vapour);
        let by_liquid = 1.0 / liquid.density;
        let by_vapour = 1.0 / vapour.density;
        let quality = (1.0 / density - by_liquid) / (by_vapour - by_liquid);
        Self {
            phase: GasPhase::LiquidAndGas,
            pressure: saturation.pressure,
            energy: (1.0 - quality) * liquid.energy + quality * vapour.energy,
            liquid_mass_fraction: 1.0 - quality,
            liquid_volume_fraction: (1.0 - quality) * density * by_liquid,
            upper: vapour,
            lower: liquid,
        }
    }

    /// What stands at the top of the vessel: the vapour where there is one.
    pub(super) fn upper(&self) -> &State {
        &self.upper
    }

    /// What stands at the bottom of the vessel: the liquid where there is one.
    pub(super) fn lower(&self) -> &State {
        &self.lower
    }
}
