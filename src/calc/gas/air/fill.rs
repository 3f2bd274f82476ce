//! Fast filling with compressed gas (`gas-air-fill`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::CompressedGas;
use crate::calc::fault::{Fault, Faults};
use crate::calc::gas::content::Content;
use crate::calc::gas::convert::{bar_gauge, celsius, cubic_metres, kelvin, pascal_of_gauge};
use crate::calc::gas::equation::Gas;
use crate::calc::gas::vessel::{Held, Vessel};

/// What [`gas_air_fill`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasAirFillInput::example()))]
pub struct GasAirFillInput {
    /// The gas.
    pub gas: CompressedGas,
    /// Water capacity, litres; 0.05 to 1000.
    #[schema(minimum = 0.05, maximum = 1000.0)]
    pub water_capacity_l: f64,
    /// Heat capacity of the part of the wall that warms with the gas during the filling, J/K; 0 to
    /// 100000: the liner of a wound bottle, some of a metal one.
    #[schema(minimum = 0.0, maximum = 100000.0)]
    pub wall_heat_j_per_k: f64,
    /// Pressure before, bar gauge; 0 to 400.
    #[schema(minimum = 0.0, maximum = 400.0)]
    pub start_pressure_bar_gauge: f64,
    /// Temperature of bottle and gas before, degC; -40 to 60.
    #[schema(minimum = -40.0, maximum = 60.0)]
    pub start_temperature_degc: f64,
    /// Pressure at which the filling is stopped, bar gauge; 1 to 400, above the start.
    #[schema(minimum = 1.0, maximum = 400.0)]
    pub stop_pressure_bar_gauge: f64,
    /// Pressure of the supply, bar gauge; 1 to 500, at least the stop.
    #[schema(minimum = 1.0, maximum = 500.0)]
    pub supply_pressure_bar_gauge: f64,
    /// Temperature of the supply, degC; -40 to 60.
    #[schema(minimum = -40.0, maximum = 60.0)]
    pub supply_temperature_degc: f64,
    /// Temperature at which the bottle settles, degC; -40 to 60.
    #[schema(minimum = -40.0, maximum = 60.0)]
    pub ambient_temperature_degc: f64,
}

impl GasAirFillInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            gas: CompressedGas::Air,
            water_capacity_l: 1.1,
            wall_heat_j_per_k: 650.0,
            start_pressure_bar_gauge: 20.0,
            start_temperature_degc: 20.0,
            stop_pressure_bar_gauge: 300.0,
            supply_pressure_bar_gauge: 300.0,
            supply_temperature_degc: 20.0,
            ambient_temperature_degc: 20.0,
        }
    }
}

/// One end of what the filling can come to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasAirFillBound {
    /// Temperature of the gas when the filling stops, degC.
    pub temperature_degc: f64,
    /// Gas in the bottle then, kg.
    pub mass_kg: f64,
    /// Pressure once the bottle has settled, bar gauge.
    pub settled_pressure_bar_gauge: f64,
    /// Gas as a percentage of a slow filling to the same pressure.
    pub percent_of_slow_fill: f64,
}

/// What [`gas_air_fill`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_air_fill(&GasAirFillInput::example()).ok()))]
pub struct GasAirFillOutput {
    /// Gas in the bottle before, kg.
    pub start_mass_kg: f64,
    /// Gas after a filling so slow that it stays at the temperature of the surroundings, kg.
    pub slow_fill_mass_kg: f64,
    /// If the wall takes no heat: the hottest, and the least gas.
    pub without_wall: GasAirFillBound,
    /// If the wall takes its share at once: the coolest, and the most gas.
    pub with_wall: GasAirFillBound,
}

/// How hot a bottle becomes in a fast filling, and what it settles to.
///
/// **Units** litres, J/K, bar gauge, degC, kg.
///
/// **Assumes** no heat to the outside; the truth lies between the two bounds.
///
/// **Source** first law, `m1 u1 + Cw T1 = m0 u0 + Cw T0 + (m1 - m0) h_supply`, to the stop pressure,
/// with the full equation of state.
///
/// # Errors
/// Every field out of range; a stop that is not above the start, a supply below the stop.
pub fn gas_air_fill(input: &GasAirFillInput) -> Result<GasAirFillOutput, Vec<Fault>> {
    check(input)?;
    let gas = Gas::from(input.gas);
    let volume = cubic_metres(input.water_capacity_l);
    let stop = pascal_of_gauge(input.stop_pressure_bar_gauge);
    let ambient = kelvin(input.ambient_temperature_degc);
    let start_temperature = kelvin(input.start_temperature_degc);
    let start = Held {
        mass: volume
            * gas.density(
                pascal_of_gauge(input.start_pressure_bar_gauge),
                start_temperature,
            ),
        temperature: start_temperature,
    };
    let supply_temperature = kelvin(input.supply_temperature_degc);
    let supply_density = gas.density(
        pascal_of_gauge(input.supply_pressure_bar_gauge),
        supply_temperature,
    );
    let inlet = gas
        .equation()
        .state(supply_density, supply_temperature)
        .enthalpy;
    let slow = volume * gas.density(stop, ambient);
    let bound = |wall_heat: f64| {
        let vessel = Vessel {
            gas,
            volume,
            wall_heat,
        };
        let end = filled(&vessel, start, stop, inlet);
        let settled = Content::of(gas, end.mass / volume, ambient);
        GasAirFillBound {
            temperature_degc: celsius(end.temperature),
            mass_kg: end.mass,
            settled_pressure_bar_gauge: bar_gauge(settled.pressure),
            percent_of_slow_fill: 100.0 * end.mass / slow,
        }
    };
    Ok(GasAirFillOutput {
        start_mass_kg: start.mass,
        slow_fill_mass_kg: slow,
        without_wall: bound(0.0),
        with_wall: bound(input.wall_heat_j_per_k),
    })
}

fn check(input: &GasAirFillInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/water_capacity_l", input.water_capacity_l, 0.05, 1000.0);
    faults.range("/wall_heat_j_per_k", input.wall_heat_j_per_k, 0.0, 1e5);
    let (start, stop, supply) = (
        input.start_pressure_bar_gauge,
        input.stop_pressure_bar_gauge,
        input.supply_pressure_bar_gauge,
    );
    faults.range("/start_pressure_bar_gauge", start, 0.0, 400.0);
    faults.range("/stop_pressure_bar_gauge", stop, 1.0, 400.0);
    faults.range("/supply_pressure_bar_gauge", supply, 1.0, 500.0);
    if stop <= start {
        faults.add(
            "/stop_pressure_bar_gauge",
            format!("{stop} is not above the start of {start}."),
        );
    }
    if supply < stop {
        faults.add(
            "/supply_pressure_bar_gauge",
            format!("{supply} is below the stop of {stop}."),
        );
    }
    let temperatures = [
        ("/start_temperature_degc", input.start_temperature_degc),
        ("/supply_temperature_degc", input.supply_temperature_degc),
        ("/ambient_temperature_degc", input.ambient_temperature_degc),
    ];
    for (pointer, degc) in temperatures {
        faults.range(pointer, degc, -40.0, 60.0);
    }
    faults.check()
}

const COLDEST_K: f64 = 200.0;
const HOTTEST_K: f64 = 900.0;
const HALVINGS: usize = 60;

/// The vessel when its pressure has come to `stop`: the hotter it is then, the less gas brought it
/// there, so energy held and energy brought meet once.
fn filled(vessel: &Vessel, start: Held, stop: f64, inlet: f64) -> Held {
    let at = |temperature: f64| Held {
        mass: vessel.volume * vessel.gas.density(stop, temperature),
        temperature,
    };
    let begun = vessel.energy(start);
    let (mut low, mut high) = (COLDEST_K, HOTTEST_K);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        let held = at(middle);
        let brought = (held.mass - start.mass) * inlet;
        if vessel.energy(held) - begun < brought {
            low = middle;
        } else {
            high = middle;
        }
    }
    at(0.5 * (low + high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_wall_that_takes_heat_lets_more_gas_in() {
        let out = gas_air_fill(&GasAirFillInput::example()).unwrap();
        assert!(out.without_wall.temperature_degc > out.with_wall.temperature_degc);
        assert!(out.without_wall.mass_kg < out.with_wall.mass_kg);
        assert!(out.with_wall.mass_kg < out.slow_fill_mass_kg);
        assert!(out.with_wall.settled_pressure_bar_gauge < 300.0);
    }

    #[test]
    fn pressures_must_rise_from_start_to_supply() {
        let faults = gas_air_fill(&GasAirFillInput {
            start_pressure_bar_gauge: 310.0,
            supply_pressure_bar_gauge: 250.0,
            ..GasAirFillInput::example()
        })
        .unwrap_err();
        let pointers: Vec<_> = faults.iter().map(|f| f.pointer.as_str()).collect();
        assert_eq!(
            pointers,
            ["/stop_pressure_bar_gauge", "/supply_pressure_bar_gauge"]
        );
    }
}
