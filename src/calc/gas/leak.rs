//! Leak test by falling pressure (`gas-leak`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::content::{Content, GasPhase};
use super::convert::{ATMOSPHERE_PA, bar_gauge, cubic_metres, kelvin, pascal_of_gauge};
use super::equation::Gas;
use crate::calc::fault::{Fault, Faults};

/// What [`gas_leak`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasLeakInput::example()))]
pub struct GasLeakInput {
    /// The gas in the system.
    pub gas: Gas,
    /// Volume under pressure, litres; 0.01 to 500.
    #[schema(minimum = 0.01, maximum = 500.0)]
    pub volume_l: f64,
    /// First reading, bar gauge; 0.5 to 400, as gas.
    #[schema(minimum = 0.5, maximum = 400.0)]
    pub first_pressure_bar_gauge: f64,
    /// Temperature of the gas at the first reading, degC; -20 to 60.
    #[schema(minimum = -20.0, maximum = 60.0)]
    pub first_temperature_degc: f64,
    /// Second reading, bar gauge; 0 to 400, as gas.
    #[schema(minimum = 0.0, maximum = 400.0)]
    pub second_pressure_bar_gauge: f64,
    /// Temperature of the gas at the second reading, degC; -20 to 60.
    #[schema(minimum = -20.0, maximum = 60.0)]
    pub second_temperature_degc: f64,
    /// Minutes between the readings; 0.5 to 1440.
    #[schema(minimum = 0.5, maximum = 1440.0)]
    pub minutes: f64,
    /// What one reading of the gauge may be off, bar; 0.001 to 10.
    #[schema(minimum = 0.001, maximum = 10.0)]
    pub gauge_uncertainty_bar: f64,
    /// What one reading of the temperature may be off, K; 0.1 to 10. The gas itself is meant, not
    /// the wall.
    #[schema(minimum = 0.1, maximum = 10.0)]
    pub temperature_uncertainty_k: f64,
}

impl GasLeakInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            gas: Gas::Co2,
            volume_l: 4.5,
            first_pressure_bar_gauge: 10.0,
            first_temperature_degc: 21.0,
            second_pressure_bar_gauge: 9.62,
            second_temperature_degc: 18.5,
            minutes: 10.0,
            gauge_uncertainty_bar: 0.05,
            temperature_uncertainty_k: 0.5,
        }
    }
}

/// What two readings say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasLeakVerdict {
    /// More gas is gone than the readings can be off.
    Leaks,
    /// The change is inside uncertainty: a leak is neither shown nor ruled out.
    InsideUncertainty,
    /// More gas came than the readings can be off: read again, or look for what feeds the system.
    Gained,
}

/// What [`gas_leak`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_leak(&GasLeakInput::example()).ok()))]
pub struct GasLeakOutput {
    /// What the readings say.
    pub verdict: GasLeakVerdict,
    /// Gas at the first reading, g.
    pub first_mass_g: f64,
    /// Gas at the second reading, g.
    pub second_mass_g: f64,
    /// Gas lost, g; negative if it gained.
    pub lost_g: f64,
    /// What the loss may be off, g: gauge and temperature of both readings, added.
    pub uncertainty_g: f64,
    /// Gas lost each minute, g.
    pub lost_g_per_min: f64,
    /// The largest leak these readings leave possible, g each minute.
    pub at_most_g_per_min: f64,
    /// Gas lost each minute, litres at 0 degC and one atmosphere.
    pub lost_normal_l_per_min: f64,
    /// The second reading brought to the first one's temperature, bar gauge.
    pub second_corrected_bar_gauge: f64,
    /// Fall of pressure at the first one's temperature, bar each minute.
    pub corrected_fall_bar_per_min: f64,
    /// Minutes after which a leak of this size would stand out of the uncertainty; nothing if
    /// nothing was lost.
    pub conclusive_after_min: Option<f64>,
}

/// A leak from two readings of pressure and temperature.
///
/// **Units** litres, bar gauge, degC, min to g.
///
/// **Assumes** a closed volume of gas without liquid at one temperature; errors of all four readings
/// at their worst and adding up, so that "leaks" is not said lightly.
///
/// **Source** `m = V rho(p, T)` at both readings, with the full equation of state.
///
/// # Errors
/// Every field out of range; readings at which CO2 is not gas.
pub fn gas_leak(input: &GasLeakInput) -> Result<GasLeakOutput, Vec<Fault>> {
    check(input)?;
    let test = Test {
        gas: input.gas,
        volume: cubic_metres(input.volume_l),
        gauge: input.gauge_uncertainty_bar * 1e5,
        thermometer: input.temperature_uncertainty_k,
    };
    let first_pressure = pascal_of_gauge(input.first_pressure_bar_gauge);
    let first_temperature = kelvin(input.first_temperature_degc);
    let first = test.read(first_pressure, first_temperature);
    let second = test.read(
        pascal_of_gauge(input.second_pressure_bar_gauge),
        kelvin(input.second_temperature_degc),
    );
    let lost = first.mass - second.mass;
    let uncertainty = first.uncertainty + second.uncertainty;
    let corrected = Content::of(input.gas, second.mass / test.volume, first_temperature).pressure;
    let rate = lost / input.minutes;
    let normal_density = input.gas.density(ATMOSPHERE_PA, kelvin(0.0));
    Ok(GasLeakOutput {
        verdict: if lost > uncertainty {
            GasLeakVerdict::Leaks
        } else if lost < -uncertainty {
            GasLeakVerdict::Gained
        } else {
            GasLeakVerdict::InsideUncertainty
        },
        first_mass_g: first.mass * 1e3,
        second_mass_g: second.mass * 1e3,
        lost_g: lost * 1e3,
        uncertainty_g: uncertainty * 1e3,
        lost_g_per_min: rate * 1e3,
        at_most_g_per_min: ((lost + uncertainty) / input.minutes * 1e3).max(0.0),
        lost_normal_l_per_min: rate / normal_density * 1e3,
        second_corrected_bar_gauge: bar_gauge(corrected),
        corrected_fall_bar_per_min: (first_pressure - corrected) / 1e5 / input.minutes,
        conclusive_after_min: (lost > 0.0).then(|| uncertainty / rate),
    })
}

fn check(input: &GasLeakInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/volume_l", input.volume_l, 0.01, 500.0);
    let (p1, p2) = (
        input.first_pressure_bar_gauge,
        input.second_pressure_bar_gauge,
    );
    let (t1, t2) = (input.first_temperature_degc, input.second_temperature_degc);
    faults.range("/first_pressure_bar_gauge", p1, 0.5, 400.0);
    faults.range("/first_temperature_degc", t1, -20.0, 60.0);
    faults.range("/second_pressure_bar_gauge", p2, 0.0, 400.0);
    faults.range("/second_temperature_degc", t2, -20.0, 60.0);
    faults.range("/minutes", input.minutes, 0.5, 1440.0);
    faults.range(
        "/gauge_uncertainty_bar",
        input.gauge_uncertainty_bar,
        0.001,
        10.0,
    );
    faults.range(
        "/temperature_uncertainty_k",
        input.temperature_uncertainty_k,
        0.1,
        10.0,
    );
    if faults.is_empty() {
        let readings = [
            ("/first_pressure_bar_gauge", p1, t1),
            ("/second_pressure_bar_gauge", p2, t2),
        ];
        for (pointer, bar, degc) in readings {
            if is_dense(input.gas, bar, degc) {
                faults.add(
                    pointer,
                    format!("At {bar} bar gauge and {degc} degC CO2 is too close to its liquid to show a leak: weigh instead."),
                );
            }
        }
    }
    faults.check()
}

/// Close to saturation or above the critical point, density hangs too steeply on temperature.
fn is_dense(gas: Gas, bar_gauge: f64, degc: f64) -> bool {
    if gas != Gas::Co2 {
        return false;
    }
    let pressure = pascal_of_gauge(bar_gauge);
    let temperature = kelvin(degc);
    let density = gas.density(pressure * MARGIN, temperature);
    let phase = Content::of(gas, density, temperature).phase;
    phase == GasPhase::LiquidFull || density > DENSE_SHARE * gas.equation().reducing_density()
}

/// Share of the critical density above which CO2 counts as dense.
const DENSE_SHARE: f64 = 0.5;
/// Room kept to the vapour pressure.
const MARGIN: f64 = 1.05;

/// A volume read with given instruments, in SI units.
struct Test {
    gas: Gas,
    volume: f64,
    gauge: f64,
    thermometer: f64,
}

/// Gas by one reading and what it may be off, kg.
struct Reading {
    mass: f64,
    uncertainty: f64,
}

impl Test {
    fn read(&self, pressure: f64, temperature: f64) -> Reading {
        let mass = |p: f64, t: f64| self.volume * self.gas.density(p, t);
        let here = mass(pressure, temperature);
        // Downwards in pressure and upwards in temperature: away from the liquid.
        let by_gauge = here - mass((pressure - self.gauge).max(1.0), temperature);
        let by_thermometer = here - mass(pressure, temperature + self.thermometer);
        Reading {
            mass: here,
            uncertainty: by_gauge.abs() + by_thermometer.abs(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_coarse_gauge_leaves_the_leak_inside_uncertainty() {
        let fine = GasLeakInput {
            gauge_uncertainty_bar: 0.02,
            temperature_uncertainty_k: 0.2,
            ..GasLeakInput::example()
        };
        let shown = gas_leak(&fine).unwrap();
        assert_eq!(shown.verdict, GasLeakVerdict::Leaks);
        let coarse = GasLeakInput {
            gauge_uncertainty_bar: 0.25,
            ..fine
        };
        let unshown = gas_leak(&coarse).unwrap();
        assert_eq!(unshown.verdict, GasLeakVerdict::InsideUncertainty);
        assert_eq!(unshown.lost_g, shown.lost_g);
        assert!(unshown.at_most_g_per_min > shown.at_most_g_per_min);
        assert!(unshown.conclusive_after_min.unwrap() > 10.0);
    }

    #[test]
    fn a_system_that_only_cooled_has_not_lost() {
        let cooled = GasLeakInput {
            second_pressure_bar_gauge: 9.89,
            ..GasLeakInput::example()
        };
        let out = gas_leak(&cooled).unwrap();
        assert_eq!(out.verdict, GasLeakVerdict::InsideUncertainty);
        assert!(out.lost_g.abs() < 0.2, "{}", out.lost_g);
    }

    /// 1 K at 10 bar gauge of CO2 is 0.043 bar, CoolProp 8.0.0.
    #[test]
    fn one_kelvin_looks_like_four_hundredths_of_a_bar() {
        let colder = GasLeakInput {
            second_pressure_bar_gauge: 10.0,
            second_temperature_degc: 20.0,
            ..GasLeakInput::example()
        };
        let out = gas_leak(&colder).unwrap();
        assert!((out.second_corrected_bar_gauge - 10.043).abs() < 0.001);
    }

    #[test]
    fn a_bottle_with_liquid_is_to_be_weighed() {
        let bottle = GasLeakInput {
            first_pressure_bar_gauge: 56.0,
            first_temperature_degc: 20.0,
            ..GasLeakInput::example()
        };
        let faults = gas_leak(&bottle).unwrap_err();
        assert_eq!(faults[0].pointer, "/first_pressure_bar_gauge");
    }
}
