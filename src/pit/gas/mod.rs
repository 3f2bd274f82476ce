//! Gas as it stands: what each bottle holds and may hold, the shots it has, what supplies still fill.
//!
//! Everything here is advice: the event's rules, the gas bay's steward, local law and licensed
//! people come first. Nothing refuses a filling that was made.

mod bottle;
mod history;
mod limits;
mod shots;
mod supply;
#[cfg(test)]
mod tests;

pub use bottle::{BottleNow, bottle, bottles_of};
pub use history::{BottlePlace, BottleStep, BottleWeighing};
pub use limits::{BottleLimits, BottlePressure};
pub use shots::{BottleShots, EnoughGas};
pub use supply::{SupplyNow, supplies_for};

/// The temperature a bottle is taken to have, as nobody measures it, degC.
///
/// **Assumptions** a bottle that stood in a hall for an hour; common practice, no source.
pub const HALL_DEGC: f64 = 20.0;
