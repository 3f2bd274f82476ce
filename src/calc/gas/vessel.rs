//! A bottle as one lump: its gas and its wall share one temperature.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::content::Content;
use super::convert::cubic_metres;
use super::equation::{Gas, TRIPLE_POINT_K};
use crate::calc::fault::Faults;

/// What a bottle's wall is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasWall {
    /// Aluminium, 900 J/kg/K.
    Aluminium,
    /// Steel, 470 J/kg/K.
    Steel,
}

impl GasWall {
    /// **Source** handbook values near 20 degC, from memory.
    fn heat_j_per_kg_k(self) -> f64 {
        match self {
            Self::Aluminium => 900.0,
            Self::Steel => 470.0,
        }
    }
}

/// The bottle itself, as stamped and weighed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasShell { water_capacity_l: 3.4, wall: GasWall::Aluminium, wall_mass_kg: 5.0 }))]
pub struct GasShell {
    /// Water capacity as stamped, litres; 0.05 to 100.
    #[schema(minimum = 0.05, maximum = 100.0)]
    pub water_capacity_l: f64,
    /// What the wall is made of.
    pub wall: GasWall,
    /// Mass of the empty bottle that warms and cools with the gas, kg; 0 to 200.
    #[schema(minimum = 0.0, maximum = 200.0)]
    pub wall_mass_kg: f64,
}

impl GasShell {
    /// Notes what is out of range, under `pointer`.
    pub(super) fn check(&self, pointer: &str, faults: &mut Faults) {
        let at = |field: &str| format!("{pointer}/{field}");
        faults.range(at("water_capacity_l"), self.water_capacity_l, 0.05, 100.0);
        faults.range(at("wall_mass_kg"), self.wall_mass_kg, 0.0, 200.0);
    }

    /// This bottle holding `gas`.
    pub(super) fn vessel(&self, gas: Gas) -> Vessel {
        Vessel {
            gas,
            volume: cubic_metres(self.water_capacity_l),
            wall_heat: self.wall_mass_kg * self.wall.heat_j_per_kg_k(),
        }
    }
}

/// Which end of the contents leaves first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasDraw {
    /// Gas from the top: an upright bottle.
    Gas,
    /// Liquid from the bottom: a dip tube, or an inverted bottle.
    Liquid,
}

/// A closed volume with a wall that follows the temperature of its gas.
///
/// **Units** m3, J/K.
#[derive(Debug, Clone, Copy)]
pub(super) struct Vessel {
    pub gas: Gas,
    pub volume: f64,
    pub wall_heat: f64,
}

/// The vessel's mass and temperature at one moment.
///
/// **Units** kg, K.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Held {
    pub mass: f64,
    pub temperature: f64,
}

/// Where to look for a temperature: one nearby, and the heat capacity there, J/K.
#[derive(Debug, Clone, Copy)]
pub(super) struct Guess {
    pub temperature: f64,
    pub heat_capacity: f64,
}

/// Nitrogen and air are not followed below this, K; it is colder than any draw makes them here.
const COLDEST_K: f64 = 150.0;
const HOTTEST_K: f64 = 900.0;
const TRIES: usize = 80;
/// Temperatures are solved to this, K.
const CLOSE_K: f64 = 1e-7;
/// One step draws at most this share of what is left.
const STEP_SHARE: f64 = 0.02;
const MOST_STEPS: f64 = 16.0;

impl Vessel {
    /// What is inside at `held`.
    pub(super) fn content(&self, held: Held) -> Content {
        Content::of(self.gas, held.mass / self.volume, held.temperature)
    }

    /// Internal energy of gas and wall, J.
    pub(super) fn energy(&self, held: Held) -> f64 {
        held.mass * self.content(held).energy + self.wall_heat * held.temperature
    }

    /// The coldest temperature this vessel is followed to, K.
    pub(super) fn coldest(&self) -> f64 {
        match self.gas {
            Gas::Co2 => TRIPLE_POINT_K,
            Gas::Nitrogen | Gas::Air => COLDEST_K,
        }
    }

    /// The temperature at which `mass` has `energy`; `None` if it would be colder or hotter than the
    /// equations are followed. `guess` is a state near it with its slope.
    ///
    /// Energy rises with temperature at constant volume, so there is one root: secant steps, kept
    /// between the ends known to enclose it.
    pub(super) fn temperature_of(&self, mass: f64, energy: f64, guess: Guess) -> Option<f64> {
        let excess = |temperature: f64| self.energy(Held { mass, temperature }) - energy;
        let (mut low, mut high) = (self.coldest(), HOTTEST_K);
        let mut here = guess.temperature.clamp(low, high);
        let mut slope = guess.heat_capacity;
        let mut before: Option<(f64, f64)> = None;
        for _ in 0..TRIES {
            let off = excess(here);
            if off > 0.0 {
                high = here;
            } else {
                low = here;
            }
            if let Some((there, then)) = before {
                slope = (off - then) / (here - there);
            }
            let mut next = here - off / slope;
            if !(next > low && next < high) {
                next = 0.5 * (low + high);
            }
            if (next - here).abs() < CLOSE_K {
                let inside = next > self.coldest() + CLOSE_K && next < HOTTEST_K - CLOSE_K;
                return inside.then_some(next);
            }
            before = Some((here, off));
            here = next;
        }
        None
    }

    /// Draws `mass` out without heat from outside: what is left, and the enthalpy that went, J.
    /// `None` if nothing would be left, or it would be colder than the equations are followed.
    ///
    /// **Source** `d(m u + Cw T) = -h dm`, midpoint rule.
    pub(super) fn draw(&self, held: Held, mass: f64, draw: GasDraw) -> Option<(Held, f64)> {
        if mass >= held.mass {
            return None;
        }
        let steps = (mass / (STEP_SHARE * held.mass))
            .ceil()
            .clamp(1.0, MOST_STEPS);
        let step = mass / steps;
        let mut here = held;
        let mut energy = self.energy(held);
        let mut gone = 0.0;
        let mut fall = 0.0;
        for _ in 0..steps as usize {
            let half = 0.5 * step;
            let first = self.enthalpy_out(here, draw, half);
            let near = here.temperature - fall;
            let middle = self.solved(near, here.mass - half, energy - half * first)?;
            fall = here.temperature - middle.temperature;
            let out = step * self.enthalpy_out(middle, draw, step);
            energy -= out;
            gone += out;
            let near = middle.temperature - fall;
            here = self.solved(near, here.mass - step, energy)?;
        }
        Some((here, gone))
    }

    fn solved(&self, near: f64, mass: f64, energy: f64) -> Option<Held> {
        let near = Held {
            mass,
            temperature: near.max(self.coldest()),
        };
        let guess = Guess {
            temperature: near.temperature,
            heat_capacity: self.heat_capacity(near),
        };
        let temperature = self.temperature_of(mass, energy, guess)?;
        Some(Held { mass, temperature })
    }

    /// Enthalpy of the next `mass` that leaves, J/kg. A dip tube that runs out of liquid gives gas.
    fn enthalpy_out(&self, held: Held, draw: GasDraw, mass: f64) -> f64 {
        let content = self.content(held);
        let (gas, liquid) = (content.upper().enthalpy, content.lower().enthalpy);
        let share = match draw {
            GasDraw::Gas => 0.0,
            GasDraw::Liquid => (content.liquid_mass_fraction * held.mass / mass).min(1.0),
        };
        gas + share * (liquid - gas)
    }
}
