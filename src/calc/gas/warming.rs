//! A cold bottle drawing heat from the air around it.

use super::vessel::{Held, Vessel};

/// The surroundings: their temperature, K, and the heat they give for each kelvin, W/K.
#[derive(Debug, Clone, Copy)]
pub(super) struct Surroundings {
    pub temperature: f64,
    pub heat_gain: f64,
}

/// The heat capacity is taken anew at least this often in one time constant.
const STEPS_A_CONSTANT: f64 = 8.0;
const MOST_STEPS: f64 = 400.0;
/// Intervals of temperature in a time to reach something.
const INTERVALS: usize = 40;
/// Width of the difference that gives the heat capacity, K.
const WIDTH_K: f64 = 0.02;
const TURNS: usize = 3;

impl Vessel {
    /// Heat capacity of gas and wall at constant volume, evaporation included, J/K.
    pub(super) fn heat_capacity(&self, held: Held) -> f64 {
        self.mean_heat_capacity(held, held.temperature + WIDTH_K)
    }

    /// Heat to bring `held` to `temperature`, for each kelvin, J/K.
    fn mean_heat_capacity(&self, held: Held, temperature: f64) -> f64 {
        let there = Held {
            temperature,
            ..held
        };
        (self.energy(there) - self.energy(held)) / (temperature - held.temperature)
    }

    /// `held` after standing for `seconds`.
    ///
    /// **Source** `C dT/dt = UA (Ta - T)`, exact for a constant C; C is the mean over each step, so
    /// that the heat taken in and the energy gained agree.
    pub(super) fn stand(&self, held: Held, around: Surroundings, seconds: f64) -> Held {
        if around.heat_gain <= 0.0 || seconds <= 0.0 {
            return held;
        }
        let constant = self.heat_capacity(held) / around.heat_gain;
        let steps = (STEPS_A_CONSTANT * seconds / constant)
            .ceil()
            .clamp(1.0, MOST_STEPS);
        let step = seconds / steps;
        let mut here = held;
        let mut capacity = self.heat_capacity(held);
        for _ in 0..steps as usize {
            let away = here.temperature - around.temperature;
            let after = |capacity: f64| {
                around.temperature + away * (-around.heat_gain * step / capacity).exp()
            };
            let mut temperature = after(capacity);
            for _ in 0..TURNS {
                if (temperature - here.temperature).abs() < 1e-6 {
                    break;
                }
                capacity = self.mean_heat_capacity(here, temperature);
                temperature = after(capacity);
            }
            here = Held {
                temperature,
                ..here
            };
        }
        here
    }

    /// Seconds until `held` has come to `temperature`, or `None` if the surroundings never bring
    /// it there. Nothing if it is there already.
    ///
    /// **Source** `t = integral of C dT / (UA (Ta - T))` over intervals of constant mean C.
    pub(super) fn seconds_to(
        &self,
        held: Held,
        around: Surroundings,
        temperature: f64,
    ) -> Option<f64> {
        let start = around.temperature - held.temperature;
        let end = around.temperature - temperature;
        if end == start {
            return Some(0.0);
        }
        let nearer = start * end > 0.0 && end.abs() < start.abs();
        if around.heat_gain <= 0.0 || !nearer {
            return None;
        }
        let ratio = (end / start).powf(1.0 / INTERVALS as f64);
        let each = -ratio.ln() / around.heat_gain;
        let mut here = held;
        let mut away = start;
        let mut seconds = 0.0;
        for _ in 0..INTERVALS {
            away *= ratio;
            let next = around.temperature - away;
            seconds += each * self.mean_heat_capacity(here, next);
            here.temperature = next;
        }
        Some(seconds)
    }
}
