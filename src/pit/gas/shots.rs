//! The shots a bottle has in a robot, as a range, and whether they are enough for a bout.

use super::LIQUID_TO_DEGC;
use super::learned::LearnedShot;
use super::limits::{bar, litres, pressure_at};
use crate::calc::gas::{
    CompressedGas, Gas, GasAirShotsInput, GasDraw, GasFeed, GasRam, GasShell, GasShotInput,
    GasShotsInput, GasSystem as System, GasWall, gas_air_shots, gas_shot, gas_shots,
};
use crate::pit::logbook::register::{Bottle, GasOf, GasSystem};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Whether a bottle has the shots a bout may take.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum EnoughGas {
    /// Even the fewest are enough.
    Yes,
    /// The most would be, the fewest would not.
    Perhaps,
    /// Not even the most.
    No,
}

/// The shots a bottle has in its robot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct BottleShots {
    /// Plan with these: fired at once, with gas as cold as dry gas can be unless the robot's use
    /// was learned by weighing.
    pub fewest: u32,
    /// Fired slowly, everything as warm as the hall.
    pub most: u32,
    /// Gas one shot takes at the hall's temperature, or at least by what was learned.
    pub shot_g: f64,
    /// Gas one shot takes at worst, or at most by what was learned.
    pub cold_shot_g: f64,
    /// Pressure in the bottle now, if it is as warm as the hall.
    pub pressure_now_bar_gauge: f64,
    /// What the regulator needs in front of it, or the least at which the ram does its work.
    pub need_bar_gauge: f64,
    /// Shots that a bout may take, as registered.
    pub shots_a_bout: Option<u32>,
    /// Pressure just after those shots at worst; nothing if it does not last so long.
    pub after_bout_bar_gauge: Option<f64>,
    /// How cold the bottle is just then; nothing for air and nitrogen.
    pub after_bout_degc: Option<f64>,
    /// Minutes in still air until nine tenths of that cold are gone, and with it the fall of pressure.
    pub warm_again_min: Option<f64>,
    /// The shot of the coming bout that leaves it below the need, at worst.
    pub first_below_need: Option<u32>,
    /// Whether it is enough for the bout; nothing if nobody said how many shots a bout takes.
    pub enough: Option<EnoughGas>,
}

impl BottleShots {
    /// The shots of `bottle` with `gas_g` in it, through `system`, in a hall of `hall_degc`, with what
    /// was `learned` by weighing.
    ///
    /// **Units** g, bar gauge, degC.
    ///
    /// **Assumptions** the bottle as warm as the hall before, no heat from outside during the bout,
    /// steel where the wall is unknown (it holds less heat), its tare as the mass of the wall; a
    /// dip tube gives liquid. Until something usable was learned, the fewest take the gas as cold as
    /// dry gas can be; mist takes more.
    ///
    /// # Errors
    /// What has to be known or mended first, in words.
    pub(super) fn of(
        bottle: &Bottle,
        gas_g: i32,
        system: &GasSystem,
        hall_degc: f64,
        learned: Option<&LearnedShot>,
    ) -> Result<Self, Vec<String>> {
        let need = system
            .need_pressure_mbar_gauge
            .or(match system.feed {
                GasFeed::Regulated => system.extend_pressure_mbar_gauge,
                GasFeed::FullPressure => None,
            })
            .map(bar)
            .ok_or_else(|| {
                vec!["The least pressure the ram does its work at is not registered.".to_owned()]
            })?;
        if bottle.gas != system.gas {
            return Err(vec![
                "The robot runs on another gas than this bottle holds.".to_owned(),
            ]);
        }
        let asked = Asked {
            bottle,
            gas_g,
            system,
            need,
            hall_degc,
            learned: learned
                .filter(|learned| learned.used)
                .map(|learned| (learned.factor_low, learned.factor_high)),
        };
        let worked_out = match bottle.gas {
            GasOf::Co2 => asked.co2(),
            GasOf::Nitrogen => asked.compressed(CompressedGas::Nitrogen),
            GasOf::Air => asked.compressed(CompressedGas::Air),
        };
        let mut shots = worked_out.map_err(|faults| {
            let words = faults.into_iter();
            words.map(|fault| fault.detail).collect::<Vec<_>>()
        })?;
        shots.enough = shots.shots_a_bout.map(|bout| {
            if shots.fewest >= bout {
                EnoughGas::Yes
            } else if shots.most >= bout {
                EnoughGas::Perhaps
            } else {
                EnoughGas::No
            }
        });
        Ok(shots)
    }

    /// The same for a bottle that was used since it was weighed: it may have none.
    pub(super) fn at_most(self) -> Self {
        Self {
            fewest: 0,
            after_bout_bar_gauge: None,
            after_bout_degc: None,
            warm_again_min: None,
            first_below_need: None,
            enough: self.enough.map(|enough| match enough {
                EnoughGas::No => EnoughGas::No,
                EnoughGas::Yes | EnoughGas::Perhaps => EnoughGas::Perhaps,
            }),
            ..self
        }
    }
}

type Faults = Vec<crate::calc::fault::Fault>;

/// The gas as the calculators call it.
pub fn gas_of(gas: GasOf) -> Gas {
    match gas {
        GasOf::Co2 => Gas::Co2,
        GasOf::Nitrogen => Gas::Nitrogen,
        GasOf::Air => Gas::Air,
    }
}

/// What stands under pressure behind the bottle of a regulated feed, litres; nothing if none of it is
/// registered.
///
/// **Assumptions** the ram is retracted, so its cylinder holds nothing.
pub fn system_volume_l(system: &GasSystem) -> Option<f64> {
    let volumes = [
        system.buffer_ml,
        system.dead_extend_ml,
        system.dead_retract_ml,
    ];
    let known: Vec<f64> = volumes.into_iter().flatten().map(litres).collect();
    (!known.is_empty()).then(|| known.iter().sum())
}

/// The system as the calculators take it.
pub(super) fn calculated(system: &GasSystem, factor: f64) -> System {
    let mm = |length: crate::calc::units::Length| f64::from(length.get()) / 1000.0;
    System {
        ram: GasRam {
            bore_mm: mm(system.bore_um),
            stroke_mm: mm(system.stroke_um),
            rod_mm: mm(system.rod_um),
            dead_extend_l: system.dead_extend_ml.map_or(0.0, litres),
            dead_retract_l: system.dead_retract_ml.map_or(0.0, litres),
        },
        feed: system.feed,
        extend_pressure_bar_gauge: match system.feed {
            GasFeed::Regulated => system.extend_pressure_mbar_gauge.map(bar),
            GasFeed::FullPressure => None,
        },
        retract_pressure_bar_gauge: system.retract_pressure_mbar_gauge.map(bar),
        buffer_l: system.buffer_ml.map_or(0.0, litres),
        ram_gas_temperature_degc: None,
        factor,
    }
}

fn of_a_bout(system: &GasSystem) -> Option<u32> {
    system
        .shots_a_bout
        .and_then(|shots| u32::try_from(shots.get()).ok())
        .filter(|shots| *shots > 0)
}

/// What the calculators take as a factor.
const LEAST_FACTOR: f64 = 0.2;
const MOST_FACTOR: f64 = 5.0;
/// Shots followed one by one, at most.
const MOST_FOLLOWED: u32 = 200;

/// Heat a bottle out of the machine takes in from still air, W/K.
///
/// **Units** litres.
///
/// **Assumptions** 1.5 W/K for 4 l, which has about 0.19 m2, and the same for each square metre of
/// others of its shape.
/// **Source** engineering values for still air, 8 W/m2 K; no source.
fn still_air_w_per_k(litres: f64) -> f64 {
    1.5 * (litres / 4.0).powf(2.0 / 3.0)
}

/// A bottle in its robot, in its hall.
struct Asked<'a> {
    bottle: &'a Bottle,
    gas_g: i32,
    system: &'a GasSystem,
    need: f64,
    hall_degc: f64,
    /// The factors that were learned, the least and the most.
    learned: Option<(f64, f64)>,
}

impl Asked<'_> {
    /// Gas of a warm shot without a factor, and the factors at best and at worst.
    fn factors(&self, gas: Gas) -> Result<(f64, f64, f64), Faults> {
        let out = gas_shot(&GasShotInput {
            gas,
            system: calculated(self.system, 1.0),
            ambient_temperature_degc: self.hall_degc,
            bottle_temperature_degc: match (self.system.feed, gas) {
                (GasFeed::FullPressure, Gas::Co2) => Some(self.hall_degc.min(LIQUID_TO_DEGC)),
                _ => None,
            },
        })?;
        let cold = out.coldest_dry_shot_g.unwrap_or(out.shot_g).max(out.shot_g);
        let (low, high) = self.learned.unwrap_or((1.0, cold / out.shot_g));
        Ok((
            out.shot_g,
            low.clamp(LEAST_FACTOR, MOST_FACTOR),
            high.clamp(LEAST_FACTOR, MOST_FACTOR),
        ))
    }

    fn co2(&self) -> Result<BottleShots, Faults> {
        let (shot_g, low, high) = self.factors(Gas::Co2)?;
        let (bottle, hall_degc) = (self.bottle, self.hall_degc);
        let shots_a_bout = of_a_bout(self.system);
        let input = |factor: f64| GasShotsInput {
            bottle: GasShell {
                water_capacity_l: litres(bottle.volume_ml),
                wall: bottle.wall.unwrap_or(GasWall::Steel),
                wall_mass_kg: f64::from(bottle.tare_g.get()) / 1000.0,
            },
            gas_mass_kg: f64::from(self.gas_g) / 1000.0,
            bottle_temperature_degc: hall_degc,
            draw: if bottle.dip_tube {
                GasDraw::Liquid
            } else {
                GasDraw::Gas
            },
            system: calculated(self.system, factor),
            need_pressure_bar_gauge: self.need,
            shots: shots_a_bout.unwrap_or(1).min(MOST_FOLLOWED),
            interval_s: 0.0,
            ambient_temperature_degc: hall_degc,
            heat_gain_shooting_w_per_k: 0.0,
            heat_gain_resting_w_per_k: still_air_w_per_k(litres(bottle.volume_ml)),
            recovery_at_min: Vec::new(),
        };
        let at_best = gas_shots(&input(low))?;
        let at_worst = gas_shots(&input(high))?;
        let after = shots_a_bout.and_then(|bout| at_worst.rows.iter().find(|row| row.shot == bout));
        Ok(BottleShots {
            fewest: at_worst.shots_left.fewest,
            most: at_best.shots_left.most.max(at_worst.shots_left.fewest),
            shot_g: shot_g * low,
            cold_shot_g: shot_g * high,
            pressure_now_bar_gauge: at_best
                .rows
                .first()
                .map_or(0.0, |row| row.pressure_bar_gauge),
            need_bar_gauge: self.need,
            shots_a_bout,
            after_bout_bar_gauge: after
                .map(|row| row.pressure_bar_gauge)
                .filter(|bar| *bar >= 0.0), // the atmosphere takes no gas from a bottle below it
            after_bout_degc: after.map(|row| row.temperature_degc),
            warm_again_min: after.and(at_worst.recovery.ninety_percent_min),
            first_below_need: at_worst.first_shot_below_need,
            enough: None,
        })
    }

    fn compressed(&self, gas: CompressedGas) -> Result<BottleShots, Faults> {
        let volume = litres(self.bottle.volume_ml);
        let held = f64::from(self.gas_g) / 1000.0;
        let pressure_of = |kg: f64| pressure_at(gas, volume, kg, self.hall_degc);
        let pressure = pressure_of(held).ok_or_else(|| {
            vec![crate::calc::fault::Fault::new(
                "/gas_mass_kg",
                "This much gas would stand above 400 bar: is the tare right?",
            )]
        })?;
        let asked = |factor: f64| {
            gas_air_shots(&GasAirShotsInput {
                gas,
                water_capacity_l: volume,
                pressure_bar_gauge: pressure,
                ambient_temperature_degc: self.hall_degc,
                system: calculated(self.system, factor),
                need_pressure_bar_gauge: self.need,
            })
        };
        let (low, high) = self.learned.unwrap_or((1.0, 1.0));
        let (at_best, at_worst) = (asked(low)?, asked(high)?);
        let shots_a_bout = of_a_bout(self.system);
        let fewest = at_worst
            .shots_without_warming
            .min(at_worst.shots_fully_warmed);
        // Warm again: what the gauge shows when the bottle comes back, not the cold moment.
        let after = shots_a_bout.and_then(|bout| {
            let taken_g = at_worst.buffer_charge_g + f64::from(bout) * at_worst.shot_g;
            let left = held - taken_g / 1000.0;
            pressure_of(left).filter(|_| left > 0.0)
        });
        Ok(BottleShots {
            fewest,
            most: at_best.shots_fully_warmed.max(fewest),
            shot_g: at_best.shot_g,
            cold_shot_g: at_worst.shot_g,
            pressure_now_bar_gauge: pressure,
            need_bar_gauge: self.need,
            shots_a_bout,
            after_bout_bar_gauge: after,
            after_bout_degc: None,
            warm_again_min: None,
            first_below_need: shots_a_bout
                .filter(|bout| fewest < *bout)
                .map(|_| fewest + 1),
            enough: None,
        })
    }
}
