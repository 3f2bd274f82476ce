//! Gas: what is in a bottle, what a shot takes, how it cools, fills, leaks and spreads.
//!
//! CO2, nitrogen and air follow their full reference equations of state; a bottle is
//! one lump of gas and wall. Pressures say gauge or absolute in their names; gauge is above a
//! standard atmosphere of 101325 Pa. Every calculator is advice: the event's rules, the gas bay and
//! local law come first.
//!
//! A calculator's published name is its function's name with dashes: `gas_air_fill` is
//! `gas-air-fill` and lives in `air/fill.rs`.

mod air;
mod bottle;
#[cfg(test)]
mod cases;
mod content;
mod convert;
mod equation;
mod fill;
mod leak;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod published;
mod ram;
mod room;
mod saturation;
mod shot;
mod shot_factor;
mod shots;
mod state;
mod supply;
mod system;
mod vessel;
mod warming;

pub use air::{
    CompressedGas, GasAirBank, GasAirCascadeInput, GasAirCascadeOutput, GasAirCascadeStep,
    GasAirFillBound, GasAirFillInput, GasAirFillOutput, GasAirMassInput, GasAirMassOutput,
    GasAirShotsInput, GasAirShotsOutput, gas_air_cascade, gas_air_fill, gas_air_mass,
    gas_air_shots,
};
pub use bottle::{GasBottleInput, GasBottleOutput, GasFillAdvice, GasWarmthRow, gas_bottle};
pub use content::GasPhase;
pub use equation::Gas;
pub use fill::{GasFillEnd, GasFillInput, GasFillOutput, gas_fill};
pub use leak::{GasLeakInput, GasLeakOutput, GasLeakVerdict, gas_leak};
pub use ram::{GasRam, GasRamInput, GasRamOutput, gas_ram};
pub use room::{GasRoomInput, GasRoomLimit, GasRoomOutput, gas_room};
pub use saturation::{GasSaturationInput, GasSaturationOutput, gas_saturation};
pub use shot::{GasShotInput, GasShotOutput, gas_shot};
pub use shot_factor::{GasShotFactorInput, GasShotFactorOutput, gas_shot_factor};
pub use shots::{
    GasRecovery, GasRecoveryRow, GasShotRow, GasShotsEnd, GasShotsInput, GasShotsLeft,
    GasShotsOutput, gas_shots,
};
pub use state::{GasStateInput, GasStateOutput, gas_state};
pub use supply::{GasSupplyInput, GasSupplyOutput, gas_supply};
pub use system::{GasFeed, GasSystem};
pub use vessel::{GasDraw, GasShell, GasWall};
