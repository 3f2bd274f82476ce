//! Compressed air and nitrogen: mass, filling, cascade, shots.

mod cascade;
mod fill;
mod mass;
mod shots;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::equation::Gas;

pub use cascade::{
    GasAirBank, GasAirCascadeInput, GasAirCascadeOutput, GasAirCascadeStep, gas_air_cascade,
};
pub use fill::{GasAirFillBound, GasAirFillInput, GasAirFillOutput, gas_air_fill};
pub use mass::{GasAirMassInput, GasAirMassOutput, gas_air_mass};
pub use shots::{GasAirShotsInput, GasAirShotsOutput, gas_air_shots};

/// A gas that stays a gas in its bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CompressedGas {
    /// Nitrogen.
    Nitrogen,
    /// Air.
    Air,
}

impl From<CompressedGas> for Gas {
    fn from(gas: CompressedGas) -> Self {
        match gas {
            CompressedGas::Nitrogen => Self::Nitrogen,
            CompressedGas::Air => Self::Air,
        }
    }
}
