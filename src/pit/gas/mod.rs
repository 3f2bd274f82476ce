//! Gas as it stands: what each bottle holds and may hold, the shots it has, what supplies still fill.
//!
//! Everything here is advice: the event's rules, the gas bay's steward, local law and licensed
//! people come first. Nothing refuses a filling that was made.

use crate::pit::state::Pit;

mod bottle;
mod history;
mod learned;
mod limits;
mod regulator;
mod room;
mod shots;
mod supply;
#[cfg(test)]
mod tests;

pub use bottle::{BottleNow, bottle, bottle_as_weighed, bottles_for, bottles_of};
pub use history::{BottlePlace, BottleStep, BottleWeighing};
pub use learned::LearnedShot;
pub use limits::{ALWAYS_DEGC, BottleLimits, BottlePressure};
pub use regulator::{RegulatorReading, regulator_readings};
pub use room::if_let_go;
pub use shots::{BottleShots, EnoughGas, gas_of, system_volume_l};
pub use supply::{SupplyNow, SupplyWeighing, supplies_for, supplies_of_gas};

/// The warmest at which CO2 is taken to have liquid under its vapour, degC: the bound of the
/// calculators, just below its critical 31 degC.
const LIQUID_TO_DEGC: f64 = 30.0;

/// The temperature a bottle is taken to have, as nobody measures it: the hall's, degC.
///
/// **Assumptions** a bottle that stood in the hall for an hour; common practice, no source.
fn hall_degc(pit: &Pit) -> f64 {
    f64::from(pit.settings().hall_c.get())
}
