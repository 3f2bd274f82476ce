//! Filling a CO2 bottle from a supply cylinder (`gas-fill`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::convert::{bar_gauge, celsius, kelvin};
use super::equation::{Gas, Saturation};
use super::saturation::saturated;
use super::vessel::{GasShell, GasWall, Guess, Held, Vessel};
use crate::calc::fault::{Fault, Faults};

/// What [`gas_fill`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasFillInput::example()))]
pub struct GasFillInput {
    /// The bottle to be filled.
    pub bottle: GasShell,
    /// CO2 already in it, kg; 0.001 to 0.8 for each litre.
    #[schema(minimum = 0.001, maximum = 80.0)]
    pub gas_before_kg: f64,
    /// Temperature of bottle and gas before, degC; -40 to 60.
    #[schema(minimum = -40.0, maximum = 60.0)]
    pub bottle_temperature_degc: f64,
    /// Temperature of the supply cylinder, which gives liquid, degC; -20 to 30.
    #[schema(minimum = -20.0, maximum = 30.0)]
    pub supply_temperature_degc: f64,
    /// The most the bottle may hold, kg, from `gas-bottle`; 0.001 to 0.8 for each litre.
    #[schema(minimum = 0.001, maximum = 80.0)]
    pub permitted_kg: f64,
    /// Tare and everything else that stands on the scale during the filling, kg; 0 to 300.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 300.0)]
    pub on_the_scale_kg: f64,
}

impl GasFillInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            bottle: GasShell {
                water_capacity_l: 3.4,
                wall: GasWall::Aluminium,
                wall_mass_kg: 5.0,
            },
            gas_before_kg: 0.2,
            bottle_temperature_degc: -5.0,
            supply_temperature_degc: 18.0,
            permitted_kg: 2.2678,
            on_the_scale_kg: 5.55,
        }
    }
}

/// What ends a filling.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasFillEnd {
    /// Somebody at the scale: the bottle would take more than it may.
    Scale,
    /// The pressures have met: the bottle is too warm to take its full mass.
    PressureBalance,
    /// It holds what it may already.
    AlreadyFull,
}

/// What [`gas_fill`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_fill(&GasFillInput::example()).ok()))]
pub struct GasFillOutput {
    /// What ends the filling.
    pub ends_by: GasFillEnd,
    /// Gas in the bottle then, kg.
    pub gas_after_kg: f64,
    /// Gas taken from the supply, kg.
    pub taken_kg: f64,
    /// What the scale shows then, kg.
    pub stop_at_scale_kg: f64,
    /// What the bottle would hold if nobody stopped it, kg.
    pub unattended_kg: f64,
    /// Whether it would then be liquid to the brim, which bursts bottles as they warm.
    pub unattended_liquid_full: bool,
    /// Temperature of the bottle at the end, degC.
    pub temperature_after_degc: f64,
    /// Pressure in the bottle at the end, bar gauge.
    pub pressure_after_bar_gauge: f64,
    /// Gas missing to the permitted mass, kg.
    pub short_kg: f64,
    /// To take the permitted mass the bottle would have to start as cold as this, degC; nothing if
    /// it takes it anyway, or would have to be below -40.
    pub start_at_degc: Option<f64>,
}

/// Filling a bottle with liquid from a supply cylinder, by their difference in temperature.
///
/// **Units** kg, litres, degC, bar gauge.
///
/// **Assumes** no venting, no heat from outside, wall and gas at one temperature, a supply that
/// stays at its temperature and gives liquid. Stop by the scale: a chilled bottle takes more than it
/// may hold.
///
/// **Source** first law, `m1 u1 + Cw T1 = m0 u0 + Cw T0 + (m1 - m0) h_liquid`, to equal pressure,
/// with the full equation of state.
///
/// # Errors
/// Every field out of range.
pub fn gas_fill(input: &GasFillInput) -> Result<GasFillOutput, Vec<Fault>> {
    check(input)?;
    let supply = saturated("/supply_temperature_degc", input.supply_temperature_degc)?;
    let filling = Filling {
        vessel: input.bottle.vessel(Gas::Co2),
        supply,
    };
    let before = Held {
        mass: input.gas_before_kg,
        temperature: kelvin(input.bottle_temperature_degc),
    };
    let unattended = filling.unattended(before);
    let (ends_by, mass) = if before.mass >= input.permitted_kg {
        (GasFillEnd::AlreadyFull, before.mass)
    } else if unattended > input.permitted_kg {
        (GasFillEnd::Scale, input.permitted_kg)
    } else {
        (GasFillEnd::PressureBalance, unattended)
    };
    let after = filling.with(before, mass).ok_or_else(|| {
        vec![Fault::new(
            "/gas_before_kg",
            "This filling leaves the range of the equation of state.",
        )]
    })?;
    let content = filling.vessel.content(after);
    let brim = supply.liquid.density * filling.vessel.volume;
    Ok(GasFillOutput {
        ends_by,
        gas_after_kg: mass,
        taken_kg: mass - before.mass,
        stop_at_scale_kg: input.on_the_scale_kg + mass,
        unattended_kg: unattended,
        unattended_liquid_full: unattended >= brim,
        temperature_after_degc: celsius(after.temperature),
        pressure_after_bar_gauge: bar_gauge(content.pressure),
        short_kg: (input.permitted_kg - mass).max(0.0),
        start_at_degc: (ends_by == GasFillEnd::PressureBalance)
            .then(|| filling.colder_start(before, input.permitted_kg))
            .flatten(),
    })
}

fn check(input: &GasFillInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    input.bottle.check("/bottle", &mut faults);
    let most = 0.8 * input.bottle.water_capacity_l;
    faults.range("/gas_before_kg", input.gas_before_kg, 0.001, most);
    faults.range("/permitted_kg", input.permitted_kg, 0.001, most);
    faults.range(
        "/bottle_temperature_degc",
        input.bottle_temperature_degc,
        COLDEST_DEGC,
        60.0,
    );
    faults.range(
        "/supply_temperature_degc",
        input.supply_temperature_degc,
        -20.0,
        30.0,
    );
    faults.range("/on_the_scale_kg", input.on_the_scale_kg, 0.0, 300.0);
    faults.check()
}

const COLDEST_DEGC: f64 = -40.0;
const HALVINGS: usize = 50;

struct Filling {
    vessel: Vessel,
    supply: Saturation,
}

impl Filling {
    /// The mass at which the flow stops by itself, kg.
    fn unattended(&self, before: Held) -> f64 {
        let (vessel, supply) = (&self.vessel, &self.supply);
        if vessel.content(before).pressure >= supply.pressure {
            return before.mass;
        }
        // Liquid and vapour at the supply's temperature: energy is linear in mass.
        let (liquid, vapour) = (&supply.liquid, &supply.vapour);
        let (by_liquid, by_vapour) = (1.0 / liquid.density, 1.0 / vapour.density);
        let slope = (vapour.energy - liquid.energy) / (by_vapour - by_liquid);
        let inlet = liquid.enthalpy;
        let cold = vessel.wall_heat * supply.temperature - vessel.energy(before);
        let mass = (vessel.volume * slope + cold + before.mass * inlet)
            / (inlet - liquid.energy + by_liquid * slope);
        let (dry, brim) = (
            vapour.density * vessel.volume,
            liquid.density * vessel.volume,
        );
        if mass > brim {
            brim
        } else if mass >= dry {
            mass.max(before.mass)
        } else {
            self.dry(before)
        }
    }

    /// A bottle so warm that all the liquid boils: it ends with gas at the supply's pressure, above
    /// the supply's temperature.
    fn dry(&self, before: Held) -> f64 {
        let (mut low, mut high) = (self.supply.temperature, self.supply.temperature + 200.0);
        let mass_at = |temperature: f64| {
            self.vessel.volume * Gas::Co2.density(self.supply.pressure, temperature)
        };
        for _ in 0..HALVINGS {
            let temperature = 0.5 * (low + high);
            let mass = mass_at(temperature);
            let gained =
                self.vessel.energy(Held { mass, temperature }) - self.vessel.energy(before);
            if gained < (mass - before.mass) * self.supply.liquid.enthalpy {
                low = temperature;
            } else {
                high = temperature;
            }
        }
        mass_at(high).max(before.mass)
    }

    /// The bottle once it holds `mass`.
    fn with(&self, before: Held, mass: f64) -> Option<Held> {
        let energy =
            self.vessel.energy(before) + (mass - before.mass) * self.supply.liquid.enthalpy;
        let guess = Guess {
            temperature: before.temperature,
            heat_capacity: self.vessel.heat_capacity(before),
        };
        let temperature = self.vessel.temperature_of(mass, energy, guess)?;
        Some(Held { mass, temperature })
    }

    /// The start temperature at which the flow would reach `mass` by itself, degC.
    fn colder_start(&self, before: Held, mass: f64) -> Option<f64> {
        let reaches = |temperature: f64| {
            self.unattended(Held {
                temperature,
                ..before
            }) >= mass
        };
        let (mut low, mut high) = (kelvin(COLDEST_DEGC), before.temperature);
        if !reaches(low) {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if reaches(middle) {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(celsius(low))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chilled_bottle_must_be_stopped_by_the_scale() {
        let out = gas_fill(&GasFillInput::example()).unwrap();
        assert_eq!(out.ends_by, GasFillEnd::Scale);
        assert!(out.unattended_liquid_full);
        assert!((out.stop_at_scale_kg - (5.55 + 2.2678)).abs() < 1e-12);
        assert!(out.temperature_after_degc > -5.0 && out.temperature_after_degc < 18.0);
    }

    #[test]
    fn a_bottle_started_as_cold_as_advised_just_takes_its_mass() {
        let warm = GasFillInput {
            bottle_temperature_degc: 30.0,
            gas_before_kg: 0.05,
            supply_temperature_degc: 15.0,
            ..GasFillInput::example()
        };
        let out = gas_fill(&warm).unwrap();
        assert_eq!(out.ends_by, GasFillEnd::PressureBalance);
        let advised = out.start_at_degc.unwrap();
        let cold = gas_fill(&GasFillInput {
            bottle_temperature_degc: advised,
            ..warm
        })
        .unwrap();
        assert!((cold.unattended_kg - warm.permitted_kg).abs() < 1e-6);
        // Where the pressures meet the bottle is as warm as the supply.
        assert!((out.temperature_after_degc - 15.0).abs() < 1e-3);
    }

    #[test]
    fn a_hot_bottle_takes_only_gas() {
        let hot = GasFillInput {
            bottle_temperature_degc: 60.0,
            gas_before_kg: 0.02,
            supply_temperature_degc: 5.0,
            ..GasFillInput::example()
        };
        let out = gas_fill(&hot).unwrap();
        assert!(out.temperature_after_degc > 5.0);
        let supply = Saturation::at_temperature(kelvin(5.0)).unwrap();
        assert!((out.pressure_after_bar_gauge - bar_gauge(supply.pressure)).abs() < 1e-3);
        assert!(out.gas_after_kg < supply.vapour.density * 0.0034);
    }

    #[test]
    fn nothing_flows_into_a_bottle_of_higher_pressure() {
        let out = gas_fill(&GasFillInput {
            bottle_temperature_degc: 28.0,
            gas_before_kg: 1.5,
            ..GasFillInput::example()
        })
        .unwrap();
        assert_eq!(out.taken_kg, 0.0);
        assert_eq!(out.ends_by, GasFillEnd::PressureBalance);
    }
}
