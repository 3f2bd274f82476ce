//! Pressure of a closed CO2 bottle against temperature.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::GasBottleInput;
use crate::calc::gas::content::{Content, GasPhase};
use crate::calc::gas::convert::{bar_gauge, celsius, kelvin};
use crate::calc::gas::equation::{Gas, Saturation, TRIPLE_POINT_K};

/// A closed bottle at one temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasWarmthRow {
    /// Temperature of bottle and gas, degC.
    pub temperature_degc: f64,
    /// Pressure in it, bar gauge.
    pub pressure_bar_gauge: f64,
    /// How the gas fills it.
    pub phase: GasPhase,
    /// Pressure as a percentage of the test pressure; nothing if that is unknown.
    pub percent_of_test_pressure: Option<f64>,
    /// Whether the test pressure is passed; nothing if it is unknown.
    pub above_test_pressure: Option<bool>,
    /// Whether the disc may open; nothing if its band is unknown.
    pub disc_may_open: Option<bool>,
}

/// The temperatures every bottle is looked at, degC: just above critical, a warm hall, a car in the
/// sun, and the temperature of the fill rules.
const ALWAYS_DEGC: [f64; 4] = [31.0, 40.0, 50.0, 65.0];

/// A pressure that was set to the test pressure may come back a rounding above it.
const ROUNDING: f64 = 1e-9;

/// The bottle at every temperature asked for, in order.
pub(super) fn rows(input: &GasBottleInput, fill_kg_per_l: f64) -> Vec<GasWarmthRow> {
    let mut temperatures = input.temperatures_degc.clone();
    temperatures.extend(ALWAYS_DEGC);
    temperatures.sort_by(f64::total_cmp);
    temperatures.dedup();
    temperatures
        .into_iter()
        .map(|degc| row(input, fill_kg_per_l, degc))
        .collect()
}

fn row(input: &GasBottleInput, fill_kg_per_l: f64, degc: f64) -> GasWarmthRow {
    let content = Content::of(Gas::Co2, fill_kg_per_l * 1e3, kelvin(degc));
    let pressure = bar_gauge(content.pressure);
    GasWarmthRow {
        temperature_degc: degc,
        pressure_bar_gauge: pressure,
        phase: content.phase,
        percent_of_test_pressure: input
            .test_pressure_bar_gauge
            .map(|test| 100.0 * pressure / test),
        above_test_pressure: input
            .test_pressure_bar_gauge
            .map(|test| pressure > test * (1.0 + ROUNDING)),
        disc_may_open: input.disc_opens_from_bar_gauge.map(|disc| pressure >= disc),
    }
}

const HALVINGS: usize = 50;

/// Where the liquid of a fill reaches the brim, degC; nothing for a fill below the critical
/// density, whose liquid boils away instead.
pub(super) fn liquid_full_degc(fill_kg_per_l: f64) -> Option<f64> {
    let equation = Gas::Co2.equation();
    let density = fill_kg_per_l * 1e3;
    if density <= equation.reducing_density() {
        return None;
    }
    let (mut low, mut high) = (TRIPLE_POINT_K, equation.reducing_temperature());
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        match Saturation::at_temperature(middle) {
            Some(s) if s.liquid.density > density => low = middle,
            _ => high = middle,
        }
    }
    Some(celsius(high))
}
