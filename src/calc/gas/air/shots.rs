//! Shots from a bottle of compressed gas (`gas-air-shots`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::CompressedGas;
use crate::calc::fault::{Fault, Faults};
use crate::calc::gas::content::Content;
use crate::calc::gas::convert::{celsius, cubic_metres, kelvin, pascal_of_gauge};
use crate::calc::gas::equation::Gas;
use crate::calc::gas::system::{GasFeed, GasSystem, Shot, gauge};
use crate::calc::gas::vessel::{GasDraw, Held, Vessel};

/// What [`gas_air_shots`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasAirShotsInput::example()))]
pub struct GasAirShotsInput {
    /// The gas.
    pub gas: CompressedGas,
    /// Water capacity, litres; 0.05 to 200.
    #[schema(minimum = 0.05, maximum = 200.0)]
    pub water_capacity_l: f64,
    /// Pressure in the bottle, bar gauge; 1 to 400.
    #[schema(minimum = 1.0, maximum = 400.0)]
    pub pressure_bar_gauge: f64,
    /// Temperature of bottle, gas and surroundings, degC; -20 to 50.
    #[schema(minimum = -20.0, maximum = 50.0)]
    pub ambient_temperature_degc: f64,
    /// Ram and regulator.
    pub system: GasSystem,
    /// What the regulator needs in front of it, bar gauge; 1 to 100.
    #[schema(minimum = 1.0, maximum = 100.0)]
    pub need_pressure_bar_gauge: f64,
}

impl GasAirShotsInput {
    /// The published example.
    pub fn example() -> Self {
        let mut system = GasSystem::example();
        system.ram.dead_extend_l = 0.1;
        system.ram.dead_retract_l = 0.1;
        system.extend_pressure_bar_gauge = Some(12.0);
        Self {
            gas: CompressedGas::Air,
            water_capacity_l: 3.0,
            pressure_bar_gauge: 250.0,
            ambient_temperature_degc: 20.0,
            system,
            need_pressure_bar_gauge: 20.0,
        }
    }
}

/// What [`gas_air_shots`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_air_shots(&GasAirShotsInput::example()).ok()))]
pub struct GasAirShotsOutput {
    /// Gas in the bottle, kg.
    pub mass_kg: f64,
    /// Gas above the need, kg, once the buffer is charged.
    pub usable_kg: f64,
    /// Gas that charges the buffer before the first shot, g.
    pub buffer_charge_g: f64,
    /// Gas for one shot, g.
    pub shot_g: f64,
    /// Shots that end at or above the need in a bottle that stays warm; at most 1000.
    pub shots_fully_warmed: u32,
    /// Shots that end at or above the need if they follow at once and the wall gives no heat: plan
    /// with this one.
    pub shots_without_warming: u32,
    /// How cold the gas in the bottle is after those, degC.
    pub coldest_degc: f64,
}

/// Shots from compressed air or nitrogen, as a range.
///
/// **Units** litres, bar gauge, degC to kg, g.
///
/// **Assumes** a regulator; gas in the ram at one temperature. The upper end keeps the bottle at the
/// surroundings' temperature, the lower one gives it no heat at all.
///
/// **Source** `m = V rho(p, T)` and the first law for an open vessel, with the full equation of
/// state.
///
/// # Errors
/// Every field out of range, a feed without regulator, a buffer that takes the whole content.
pub fn gas_air_shots(input: &GasAirShotsInput) -> Result<GasAirShotsOutput, Vec<Fault>> {
    check(input)?;
    let gas = Gas::from(input.gas);
    let vessel = Vessel {
        gas,
        volume: cubic_metres(input.water_capacity_l),
        wall_heat: 0.0,
    };
    let temperature = kelvin(input.ambient_temperature_degc);
    let mass_at = |bar: f64| vessel.volume * gas.density(pascal_of_gauge(bar), temperature);
    let full = Held {
        mass: mass_at(input.pressure_bar_gauge),
        temperature,
    };
    let shot = input.system.shot(gas, input.ambient_temperature_degc);
    let content = vessel.content(full);
    let buffer = shot.buffer_mass(&content);
    let one = shot.total_mass(&content);
    let usable = (full.mass - buffer - mass_at(input.need_pressure_bar_gauge)).max(0.0);
    let start = draw_buffer(&vessel, full, buffer)?;
    let (cold, last) = without_warming(&vessel, &shot, start, input.need_pressure_bar_gauge);
    Ok(GasAirShotsOutput {
        mass_kg: full.mass,
        usable_kg: usable,
        buffer_charge_g: buffer * 1e3,
        shot_g: one * 1e3,
        shots_fully_warmed: (usable / one).floor().min(f64::from(MOST_SHOTS)) as u32,
        shots_without_warming: cold,
        coldest_degc: celsius(last.temperature),
    })
}

fn check(input: &GasAirShotsInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/water_capacity_l", input.water_capacity_l, 0.05, 200.0);
    faults.range("/pressure_bar_gauge", input.pressure_bar_gauge, 1.0, 400.0);
    faults.range(
        "/ambient_temperature_degc",
        input.ambient_temperature_degc,
        -20.0,
        50.0,
    );
    if input.system.feed == GasFeed::FullPressure {
        faults.add(
            "/system/feed",
            "Compressed nitrogen or air is computed behind a regulator only.",
        );
    }
    input.system.check(
        Gas::from(input.gas),
        input.ambient_temperature_degc,
        "/system",
        &mut faults,
    );
    let need = input.need_pressure_bar_gauge;
    faults.range("/need_pressure_bar_gauge", need, 1.0, 100.0);
    let highest = input
        .system
        .extend_pressure_bar_gauge
        .unwrap_or(0.0)
        .max(input.system.retract_pressure_bar_gauge.unwrap_or(0.0));
    if need < highest {
        faults.add(
            "/need_pressure_bar_gauge",
            format!("{need} is below the {highest} the regulator should give."),
        );
    }
    faults.check()
}

fn draw_buffer(vessel: &Vessel, full: Held, mass: f64) -> Result<Held, Vec<Fault>> {
    if mass == 0.0 {
        return Ok(full);
    }
    vessel
        .draw(full, mass, GasDraw::Gas)
        .map(|(held, _)| held)
        .ok_or_else(|| {
            vec![Fault::new(
                "/system/buffer_l",
                "Charging the buffer would take more gas than this bottle has.",
            )]
        })
}

/// Counting ends here.
const MOST_SHOTS: u32 = 1000;

fn without_warming(vessel: &Vessel, shot: &Shot, start: Held, need: f64) -> (u32, Held) {
    let mut here = start;
    for shots in 0..MOST_SHOTS {
        let content: Content = vessel.content(here);
        match vessel.draw(here, shot.total_mass(&content), GasDraw::Gas) {
            Some((after, _)) if gauge(&vessel.content(after)) >= need => here = after,
            _ => return (shots, here),
        }
    }
    (MOST_SHOTS, here)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cold_shots_are_fewer_than_warm_ones() {
        let out = gas_air_shots(&GasAirShotsInput::example()).unwrap();
        assert!(out.shots_without_warming < out.shots_fully_warmed);
        assert!(out.coldest_degc < 0.0);
    }

    #[test]
    fn a_buffer_costs_its_charge_once() {
        let mut input = GasAirShotsInput::example();
        let without = gas_air_shots(&input).unwrap();
        input.system.buffer_l = 2.0;
        let with = gas_air_shots(&input).unwrap();
        let cost = (without.usable_kg - with.usable_kg) * 1e3;
        assert!((cost - with.buffer_charge_g).abs() < 1e-9);
        assert_eq!(with.shot_g, without.shot_g);
    }

    #[test]
    fn a_need_below_the_regulated_pressure_is_a_fault() {
        let input = GasAirShotsInput {
            need_pressure_bar_gauge: 5.0,
            ..GasAirShotsInput::example()
        };
        let faults = gas_air_shots(&input).unwrap_err();
        assert_eq!(faults[0].pointer, "/need_pressure_bar_gauge");
    }
}
