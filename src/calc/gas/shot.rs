//! Gas taken by one shot (`gas-shot`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::content::Content;
use super::convert::{celsius, kelvin, pascal_of_gauge};
use super::equation::{Gas, Saturation};
use super::saturation::saturated;
use super::system::{GasFeed, GasSystem};
use crate::calc::fault::{Fault, Faults};

/// What [`gas_shot`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasShotInput::example()))]
pub struct GasShotInput {
    /// The gas.
    pub gas: Gas,
    /// Ram and feed.
    pub system: GasSystem,
    /// Temperature of the surroundings, degC; -20 to 50.
    #[schema(minimum = -20.0, maximum = 50.0)]
    pub ambient_temperature_degc: f64,
    /// Temperature of the CO2 bottle, degC; -50 to 30. Needed at full pressure only.
    #[serde(default)]
    #[schema(minimum = -50.0, maximum = 30.0)]
    pub bottle_temperature_degc: Option<f64>,
}

impl GasShotInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            gas: Gas::Co2,
            system: GasSystem::example(),
            ambient_temperature_degc: 20.0,
            bottle_temperature_degc: None,
        }
    }
}

/// What [`gas_shot`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_shot(&GasShotInput::example()).ok()))]
pub struct GasShotOutput {
    /// Gas for the extension, g.
    pub extend_g: f64,
    /// Gas for the retraction, g.
    pub retract_g: f64,
    /// Gas for one shot, out and back, g.
    pub shot_g: f64,
    /// Gas to charge the empty buffer once, g.
    pub buffer_charge_g: f64,
    /// The same shot if regulated CO2 reaches the ram as cold as dry gas can be, g. Mist takes
    /// still more. Nothing where the question does not arise.
    pub coldest_dry_shot_g: Option<f64>,
}

/// The gas taken by one shot of a ram.
///
/// **Units** mm, litres, bar gauge, degC to g.
///
/// **Assumes** every side vents to the atmosphere each cycle; the gas in the ram has one
/// temperature, which is the largest doubt: weigh before and after some shots and give the factor.
///
/// **Source** `m = V (rho(p, T) - rho(p_atm, T))` with the full equation of state.
///
/// # Errors
/// Every field out of range, a feed without its pressure, gas that would be liquid in the ram.
pub fn gas_shot(input: &GasShotInput) -> Result<GasShotOutput, Vec<Fault>> {
    let bottle = checked_bottle(
        input.gas,
        &input.system,
        input.ambient_temperature_degc,
        input.bottle_temperature_degc,
        Faults::none(),
    )?;
    let shot = input.system.shot(input.gas, input.ambient_temperature_degc);
    Ok(GasShotOutput {
        extend_g: shot.extend_mass(&bottle) * 1e3,
        retract_g: shot.retract_mass(&bottle) * 1e3,
        shot_g: shot.total_mass(&bottle) * 1e3,
        buffer_charge_g: shot.buffer_mass(&bottle) * 1e3,
        coldest_dry_shot_g: coldest(input, &bottle),
    })
}

/// The content of a bottle that can feed `system`, once everything has been checked.
///
/// # Errors
/// `faults` and every further one.
pub(super) fn checked_bottle(
    gas: Gas,
    system: &GasSystem,
    ambient_degc: f64,
    bottle_degc: Option<f64>,
    mut faults: Faults,
) -> Result<Content, Vec<Fault>> {
    faults.range("/ambient_temperature_degc", ambient_degc, -20.0, 50.0);
    system.check(gas, ambient_degc, "/system", &mut faults);
    let pointer = "/bottle_temperature_degc";
    match (system.feed, gas, bottle_degc) {
        (GasFeed::Regulated, _, None) => {}
        (GasFeed::Regulated, _, Some(_)) => faults.add(
            pointer,
            "A regulated shot does not depend on the bottle; leave this out.",
        ),
        (GasFeed::FullPressure, Gas::Co2, Some(degc)) => faults.range(pointer, degc, -50.0, 30.0),
        (GasFeed::FullPressure, Gas::Co2, None) => faults.add(
            pointer,
            "A full-pressure shot needs the bottle's temperature, from -50 to 30.",
        ),
        (GasFeed::FullPressure, Gas::Nitrogen | Gas::Air, _) => faults.add(
            "/system/feed",
            "Compressed nitrogen or air is computed behind a regulator only.",
        ),
    }
    faults.check()?;
    let (density, temperature) = match bottle_degc {
        // Any share of liquid gives the same vapour.
        Some(degc) => {
            let s = saturated(pointer, degc)?;
            (0.5 * (s.liquid.density + s.vapour.density), s.temperature)
        }
        // A regulated shot asks only that the bottle stands above it.
        None => {
            let temperature = kelvin(REFERENCE_DEGC);
            let pressure = pascal_of_gauge(REFERENCE_BAR_GAUGE);
            (gas.density(pressure, temperature), temperature)
        }
    };
    Ok(Content::of(gas, density, temperature))
}

/// A bottle above every regulated pressure that is accepted.
const REFERENCE_DEGC: f64 = 40.0;
const REFERENCE_BAR_GAUGE: f64 = 100.0;

fn coldest(input: &GasShotInput, bottle: &Content) -> Option<f64> {
    if input.gas != Gas::Co2 {
        return None;
    }
    let highest = input
        .system
        .extend_pressure_bar_gauge?
        .max(input.system.retract_pressure_bar_gauge.unwrap_or(0.0));
    let saturation = Saturation::at_pressure(pascal_of_gauge(highest))?;
    let system = GasSystem {
        // A hair above saturation, so that the density is the vapour's.
        ram_gas_temperature_degc: Some(celsius(saturation.temperature) + 1e-6),
        ..input.system
    };
    let shot = system.shot(input.gas, input.ambient_temperature_degc);
    Some(shot.total_mass(bottle) * 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 72.0 g at 20 degC and 88 g at -20 degC for the published ram, CoolProp 8.0.0.
    #[test]
    fn colder_gas_takes_more() {
        let warm = gas_shot(&GasShotInput::example()).unwrap();
        assert!((warm.shot_g - 72.0).abs() < 0.05, "{}", warm.shot_g);
        let mut input = GasShotInput::example();
        input.system.ram_gas_temperature_degc = Some(-20.0);
        let cold = gas_shot(&input).unwrap();
        assert!((cold.shot_g - 88.0).abs() < 0.5, "{}", cold.shot_g);
        assert!(cold.coldest_dry_shot_g.unwrap() > cold.shot_g);
        assert_eq!(cold.coldest_dry_shot_g, warm.coldest_dry_shot_g);
    }

    #[test]
    fn a_spring_return_takes_nothing_back() {
        let mut input = GasShotInput::example();
        input.system.retract_pressure_bar_gauge = Some(0.0);
        let out = gas_shot(&input).unwrap();
        assert_eq!(out.retract_g, 0.0);
        assert_eq!(out.shot_g, out.extend_g);
    }

    #[test]
    fn gas_that_would_be_liquid_in_the_ram_is_refused() {
        let mut input = GasShotInput::example();
        input.system.ram_gas_temperature_degc = Some(-45.0);
        let faults = gas_shot(&input).unwrap_err();
        assert_eq!(faults[0].pointer, "/system/ram_gas_temperature_degc");
        assert!(faults[0].detail.contains("-37."), "{}", faults[0].detail);
    }

    #[test]
    fn feed_and_pressure_belong_together() {
        let mut input = GasShotInput::example();
        input.system.extend_pressure_bar_gauge = None;
        let faults = gas_shot(&input).unwrap_err();
        assert_eq!(faults[0].pointer, "/system/extend_pressure_bar_gauge");
        input.system.feed = GasFeed::FullPressure;
        let faults = gas_shot(&input).unwrap_err();
        assert_eq!(faults[0].pointer, "/bottle_temperature_degc");
        input.bottle_temperature_degc = Some(20.0);
        assert!(gas_shot(&input).unwrap().shot_g > 400.0);
    }
}
