//! Equations of state: the full reduced Helmholtz form for CO2, nitrogen and air.

mod air;
#[cfg(test)]
mod check;
mod co2;
mod density;
mod ideal;
mod nitrogen;
mod residual;
mod saturation;
mod state;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

pub(super) use saturation::{Saturation, TRIPLE_POINT_K};
pub(super) use state::State;

/// A gas that throws a ram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Gas {
    /// Carbon dioxide, stored as a liquid.
    Co2,
    /// Nitrogen, stored compressed.
    Nitrogen,
    /// Air, stored compressed.
    Air,
}

impl Gas {
    /// The equation of state of this gas.
    pub(super) fn equation(self) -> &'static Equation {
        match self {
            Self::Co2 => &co2::CO2,
            Self::Nitrogen => &nitrogen::NITROGEN,
            Self::Air => &air::AIR,
        }
    }
}

/// One gas as a reduced Helmholtz energy: every other property is a derivative of it.
///
/// **Units** K, kg/m3, Pa, J/kg; pressures are absolute.
///
/// **Source** `a/(RT) = phi0(tau, delta) + phir(tau, delta)`, `delta = rho/rho_r`, `tau = T_r/T`;
/// the works are named at the coefficients.
#[derive(Debug)]
pub(super) struct Equation {
    molar_mass_kg_per_mol: f64,
    gas_constant_j_per_mol_k: f64,
    reducing_temperature_k: f64,
    reducing_density_mol_per_m3: f64,
    power: &'static [residual::Power],
    gauss: &'static [residual::Gauss],
    critical: &'static [residual::Critical],
    ideal: ideal::Ideal,
}

impl Equation {
    /// The gas constant per mass, J/kg/K.
    pub fn gas_constant(&self) -> f64 {
        self.gas_constant_j_per_mol_k / self.molar_mass_kg_per_mol
    }

    /// The temperature of `tau = 1`, K: the critical one for CO2 and nitrogen.
    pub fn reducing_temperature(&self) -> f64 {
        self.reducing_temperature_k
    }

    /// The density of `delta = 1`, kg/m3.
    pub fn reducing_density(&self) -> f64 {
        self.reducing_density_mol_per_m3 * self.molar_mass_kg_per_mol
    }
}
