//! The cold bottle coming back.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::Series;
use crate::calc::gas::convert::celsius;
use crate::calc::gas::system::gauge;
use crate::calc::gas::vessel::Held;
use crate::calc::gas::warming::Surroundings;

/// How a bottle warms after the last shot; the clock starts one interval after it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasRecovery {
    /// Heat capacity of gas and wall at the start of the recovery, J/K.
    pub heat_capacity_j_per_k: f64,
    /// Minutes to lose 63 % of the cold at that capacity; nothing without heat from outside.
    pub time_constant_min: Option<f64>,
    /// Minutes until nine tenths of the cold are gone; nothing without heat from outside.
    pub ninety_percent_min: Option<f64>,
    /// Minutes until the bottle stands at the need: 0 if it does already, nothing if it never will.
    pub need_reached_min: Option<f64>,
    /// The bottle when the recovery starts.
    pub start: GasRecoveryRow,
    /// The bottle at the minutes asked for.
    pub rows: Vec<GasRecoveryRow>,
}

/// The bottle some time into its recovery.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasRecoveryRow {
    /// Minutes since the recovery started.
    pub after_min: f64,
    /// Temperature of bottle and gas, degC.
    pub temperature_degc: f64,
    /// Pressure in the bottle, bar gauge.
    pub pressure_bar_gauge: f64,
}

/// Share of the cold that is left when the bottle counts as recovered.
const COLD_LEFT: f64 = 0.1;
const HALVINGS: usize = 40;

impl Series {
    /// The recovery from `start` with `heat_gain` W/K.
    pub(super) fn recovery(
        &self,
        start: Held,
        heat_gain: f64,
        need: f64,
        at_min: &[f64],
    ) -> GasRecovery {
        let around = Surroundings {
            heat_gain,
            ..self.around
        };
        let capacity = self.vessel.heat_capacity(start);
        let cold = around.temperature - start.temperature;
        let recovered = around.temperature - COLD_LEFT * cold;
        let minutes_to = |temperature: f64| {
            self.vessel
                .seconds_to(start, around, temperature)
                .map(|seconds| seconds / 60.0)
        };
        GasRecovery {
            heat_capacity_j_per_k: capacity,
            time_constant_min: (heat_gain > 0.0).then(|| capacity / heat_gain / 60.0),
            ninety_percent_min: minutes_to(recovered),
            need_reached_min: if gauge(&self.vessel.content(start)) >= need {
                Some(0.0)
            } else {
                self.temperature_at(start, around.temperature, need)
                    .and_then(minutes_to)
            },
            start: self.recovery_row(0.0, start),
            rows: at_min
                .iter()
                .map(|&minutes| {
                    let held = self.vessel.stand(start, around, minutes * 60.0);
                    self.recovery_row(minutes, held)
                })
                .collect(),
        }
    }

    /// The temperature between `start` and `end` at which the bottle reaches `need` bar gauge.
    fn temperature_at(&self, start: Held, end: f64, need: f64) -> Option<f64> {
        let reached = |temperature: f64| {
            let held = Held {
                temperature,
                ..start
            };
            gauge(&self.vessel.content(held)) >= need
        };
        if end <= start.temperature || !reached(end) {
            return None;
        }
        let (mut low, mut high) = (start.temperature, end);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if reached(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some(high)
    }

    fn recovery_row(&self, after_min: f64, held: Held) -> GasRecoveryRow {
        GasRecoveryRow {
            after_min,
            temperature_degc: celsius(held.temperature),
            pressure_bar_gauge: gauge(&self.vessel.content(held)),
        }
    }
}
