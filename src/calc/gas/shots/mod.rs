//! A CO2 bottle over many shots (`gas-shots`): how it cools, what is left, how it recovers.

mod forecast;
mod left;
mod recovery;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::equation::Gas;
use super::system::GasSystem;
use super::vessel::{GasDraw, GasShell, GasWall, Held, Vessel};
use super::warming::Surroundings;
use super::{convert::kelvin, system::Shot};
use crate::calc::fault::{Fault, Faults};

pub use forecast::{GasShotRow, GasShotsEnd};
pub use left::GasShotsLeft;
pub use recovery::{GasRecovery, GasRecoveryRow};

/// What [`gas_shots`] is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasShotsInput::example()))]
pub struct GasShotsInput {
    /// The bottle.
    pub bottle: GasShell,
    /// CO2 in it, kg; from 0.01 to 0.9 for each litre.
    #[schema(minimum = 0.0005, maximum = 90.0)]
    pub gas_mass_kg: f64,
    /// Temperature of bottle and gas at the start, degC; -40 to 60.
    #[schema(minimum = -40.0, maximum = 60.0)]
    pub bottle_temperature_degc: f64,
    /// Gas from the top, or liquid by a dip tube or an inverted bottle.
    pub draw: GasDraw,
    /// Ram and feed.
    pub system: GasSystem,
    /// What the regulator needs in front of it, or the lowest pressure at which an unregulated ram
    /// still does its work, bar gauge; 1 to 60.
    #[schema(minimum = 1.0, maximum = 60.0)]
    pub need_pressure_bar_gauge: f64,
    /// Shots to follow; 1 to 200.
    #[schema(minimum = 1, maximum = 200)]
    pub shots: u32,
    /// Seconds from one shot to the next; 0 to 3600.
    #[schema(minimum = 0.0, maximum = 3600.0)]
    pub interval_s: f64,
    /// Temperature of the surroundings, degC; -20 to 50.
    #[schema(minimum = -20.0, maximum = 50.0)]
    pub ambient_temperature_degc: f64,
    /// Heat the bottle takes in between the shots for each kelvin, W/K; 0 to 200. 0 is the safe
    /// guess for a bottle inside a machine.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 200.0)]
    pub heat_gain_shooting_w_per_k: f64,
    /// Heat the bottle takes in at rest for each kelvin, W/K; 0 to 200. For a bottle of 0.19 m2
    /// about 1.5 to 2 in still air, 4 to 6 with a fan, 40 to 80 in a tepid bath (engineering
    /// values, no source).
    #[schema(minimum = 0.0, maximum = 200.0)]
    pub heat_gain_resting_w_per_k: f64,
    /// At which minutes after the last shot the recovery is wanted; up to 20 of them, 0 to 1440.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub recovery_at_min: Vec<f64>,
}

impl GasShotsInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            bottle: GasShell {
                water_capacity_l: 3.4,
                wall: GasWall::Aluminium,
                wall_mass_kg: 5.0,
            },
            gas_mass_kg: 2.2,
            bottle_temperature_degc: 20.0,
            draw: GasDraw::Gas,
            system: GasSystem::example(),
            need_pressure_bar_gauge: 15.0,
            shots: 6,
            interval_s: 10.0,
            ambient_temperature_degc: 20.0,
            heat_gain_shooting_w_per_k: 0.0,
            heat_gain_resting_w_per_k: 2.0,
            recovery_at_min: vec![5.0, 20.0],
        }
    }
}

/// What [`gas_shots`] answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_shots(&GasShotsInput::example()).ok()))]
pub struct GasShotsOutput {
    /// Volume filled by one extension, dead volume included, litres.
    pub extend_filled_l: f64,
    /// Volume filled by one retraction, dead volume included, litres.
    pub retract_filled_l: f64,
    /// Gas for the first shot, g.
    pub first_shot_g: f64,
    /// Gas that charged the buffer before the first shot, g.
    pub buffer_charge_g: f64,
    /// The bottle before the first shot (row 0, buffer charged) and just after each one.
    pub rows: Vec<GasShotRow>,
    /// Why the rows end.
    pub ended: GasShotsEnd,
    /// The shot that leaves the bottle below the need; 0 if it is below before the first.
    pub first_shot_below_need: Option<u32>,
    /// Shots the full bottle has, as a range.
    pub shots_left: GasShotsLeft,
    /// How the bottle comes back after the last shot.
    pub recovery: GasRecovery,
}

/// How a CO2 bottle cools over a series of shots, and how it recovers.
///
/// **Units** kg, g, litres, bar gauge, degC, s, min.
///
/// **Assumes** liquid, vapour and wall at one temperature (a hard-shaken bottle; a still one has
/// colder vapour and warmer liquid); a standard atmosphere; nothing below the triple point at
/// -56.6 degC, where dry ice forms.
///
/// **Source** first law for an open vessel, `d(m u + Cw T) = -h dm + UA (Ta - T) dt`, with the full
/// equation of state.
///
/// # Errors
/// Every field out of range, a feed without its pressure, gas that would be liquid in the ram, a
/// mass the bottle cannot hold, a buffer that takes the whole content.
pub fn gas_shots(input: &GasShotsInput) -> Result<GasShotsOutput, Vec<Fault>> {
    check(input)?;
    let series = Series::of(input);
    let (start, buffer) = series.charge().ok_or_else(|| {
        vec![Fault::new(
            "/gas_mass_kg",
            "Charging the buffer would take more gas than this bottle has, or freeze it.",
        )]
    })?;
    let forecast = series.follow(start, input.shots, input.interval_s);
    let first = series.shot.total_mass(&series.vessel.content(start));
    Ok(GasShotsOutput {
        extend_filled_l: input.system.ram.extend_volume() * 1e3,
        retract_filled_l: input.system.ram.retract_volume() * 1e3,
        first_shot_g: first * 1e3,
        buffer_charge_g: buffer * 1e3,
        first_shot_below_need: forecast
            .rows
            .iter()
            .find(|row| row.pressure_bar_gauge < input.need_pressure_bar_gauge)
            .map(|row| row.shot),
        shots_left: series.left(start, input.need_pressure_bar_gauge),
        recovery: series.recovery(
            forecast.end,
            input.heat_gain_resting_w_per_k,
            input.need_pressure_bar_gauge,
            &input.recovery_at_min,
        ),
        ended: forecast.ended,
        rows: forecast.rows,
    })
}

/// One bottle, one ram, one place.
struct Series {
    vessel: Vessel,
    shot: Shot,
    draw: GasDraw,
    around: Surroundings,
    filled: Held,
}

impl Series {
    fn of(input: &GasShotsInput) -> Self {
        Self {
            vessel: input.bottle.vessel(Gas::Co2),
            shot: input.system.shot(Gas::Co2, input.ambient_temperature_degc),
            draw: input.draw,
            around: Surroundings {
                temperature: kelvin(input.ambient_temperature_degc),
                heat_gain: input.heat_gain_shooting_w_per_k,
            },
            filled: Held {
                mass: input.gas_mass_kg,
                temperature: kelvin(input.bottle_temperature_degc),
            },
        }
    }

    /// The bottle once the buffer is charged, and the gas that took, kg.
    fn charge(&self) -> Option<(Held, f64)> {
        let mass = self.shot.buffer_mass(&self.vessel.content(self.filled));
        if mass == 0.0 {
            return Some((self.filled, 0.0));
        }
        let (held, _) = self.vessel.draw(self.filled, mass, self.draw)?;
        Some((held, mass))
    }
}

fn check(input: &GasShotsInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    input.bottle.check("/bottle", &mut faults);
    let litres = input.bottle.water_capacity_l;
    faults.range(
        "/gas_mass_kg",
        input.gas_mass_kg,
        0.01 * litres,
        0.9 * litres,
    );
    faults.range(
        "/bottle_temperature_degc",
        input.bottle_temperature_degc,
        -40.0,
        60.0,
    );
    faults.range(
        "/ambient_temperature_degc",
        input.ambient_temperature_degc,
        -20.0,
        50.0,
    );
    input.system.check(
        Gas::Co2,
        input.ambient_temperature_degc,
        "/system",
        &mut faults,
    );
    faults.range(
        "/need_pressure_bar_gauge",
        input.need_pressure_bar_gauge,
        1.0,
        60.0,
    );
    faults.range("/shots", f64::from(input.shots), 1.0, 200.0);
    faults.range("/interval_s", input.interval_s, 0.0, 3600.0);
    let gains = [
        (
            "/heat_gain_shooting_w_per_k",
            input.heat_gain_shooting_w_per_k,
        ),
        (
            "/heat_gain_resting_w_per_k",
            input.heat_gain_resting_w_per_k,
        ),
    ];
    for (pointer, gain) in gains {
        faults.range(pointer, gain, 0.0, 200.0);
    }
    if input.recovery_at_min.len() > 20 {
        faults.add("/recovery_at_min", "More than 20 times were asked for.");
    }
    for (i, &minutes) in input.recovery_at_min.iter().enumerate() {
        faults.range(format!("/recovery_at_min/{i}"), minutes, 0.0, 1440.0);
    }
    faults.check()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Liquid leaves with little heat, gas takes its heat of evaporation along.
    #[test]
    fn a_dip_tube_cools_the_bottle_far_less() {
        let upright = GasShotsInput::example();
        let inverted = GasShotsInput {
            draw: GasDraw::Liquid,
            ..upright.clone()
        };
        let fall = |input: &GasShotsInput| {
            let out = gas_shots(input).unwrap();
            20.0 - out.rows[6].temperature_degc
        };
        assert!(fall(&inverted) > 0.0);
        assert!(fall(&inverted) < 0.3 * fall(&upright));
    }

    #[test]
    fn a_light_bottle_ends_before_dry_ice_forms() {
        let mut input = GasShotsInput::example();
        input.bottle.wall_mass_kg = 0.5;
        input.bottle_temperature_degc = -30.0;
        input.shots = 40;
        let out = gas_shots(&input).unwrap();
        assert_eq!(out.ended, GasShotsEnd::TooCold);
        assert_eq!(out.first_shot_below_need, Some(0));
        assert_eq!(out.shots_left.without_warming, 0);
        let last = out.rows[out.rows.len() - 1];
        assert!(last.temperature_degc > -56.6 && out.rows.len() < 41);
    }

    #[test]
    fn the_need_is_reached_again_at_its_own_temperature() {
        let mut input = GasShotsInput::example();
        input.need_pressure_bar_gauge = 50.0;
        let out = gas_shots(&input).unwrap();
        let minutes = out.recovery.need_reached_min.unwrap();
        assert!(minutes > 0.0);
        input.recovery_at_min = vec![minutes];
        let row = gas_shots(&input).unwrap().recovery.rows[0];
        assert!((row.pressure_bar_gauge - 50.0).abs() < 0.05);
    }

    #[test]
    fn a_learned_factor_scales_what_is_drawn() {
        let mut input = GasShotsInput::example();
        let plain = gas_shots(&input).unwrap();
        input.system.factor = 1.25;
        let learned = gas_shots(&input).unwrap();
        assert!((learned.first_shot_g - 1.25 * plain.first_shot_g).abs() < 1e-9);
        assert!(learned.shots_left.fewest < plain.shots_left.fewest);
    }

    #[test]
    fn a_buffer_that_takes_everything_is_a_fault() {
        let mut input = GasShotsInput::example();
        input.gas_mass_kg = 0.05;
        input.system.buffer_l = 50.0;
        let faults = gas_shots(&input).unwrap_err();
        assert_eq!(faults[0].pointer, "/gas_mass_kg");
    }
}
