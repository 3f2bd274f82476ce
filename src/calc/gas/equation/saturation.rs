//! Liquid and vapour of CO2 side by side.

use super::State;
use super::co2::CO2;
use super::residual::Isotherm;

/// Below this there is no liquid CO2, only dry ice and vapour, K.
///
/// **Source** Span and Wagner 1996, section 2.
pub const TRIPLE_POINT_K: f64 = 216.592;

const CRITICAL_PRESSURE_PA: f64 = 7.3773e6;
const TRIES: usize = 40;
const CLOSE: f64 = 1e-12;
/// Newton doubles its digits: a relative step this small leaves nothing behind it.
const SETTLED: f64 = 1e-6;
/// Differences of pressure and Gibbs energy over RT below this are rounding: close to the critical
/// point they no longer say where the densities are.
const ROUNDING: f64 = 1e-13;

/// Saturated CO2 at one temperature.
///
/// **Units** K, Pa absolute.
#[derive(Debug, Clone, Copy)]
pub struct Saturation {
    /// Temperature, K.
    pub temperature: f64,
    /// Absolute vapour pressure, Pa.
    pub pressure: f64,
    /// The liquid.
    pub liquid: State,
    /// The vapour.
    pub vapour: State,
}

impl Saturation {
    /// The two phases at `temperature`, or `None` outside triple point to critical point.
    ///
    /// **Assumes** nothing; within a few microkelvin of the critical point, where the phases can no
    /// longer be told apart numerically, the ancillary equations answer alone.
    ///
    /// **Source** equal pressure and equal Gibbs energy of both phases from the full equation, by
    /// Newton on the two densities (the scheme of Akasaka, J. Thermal Sci. Technol. 3 (2008) 442,
    /// from memory), started from Span and Wagner 1996, equations 3.13 to 3.15.
    pub fn at_temperature(temperature: f64) -> Option<Self> {
        let critical = CO2.reducing_temperature();
        if !(TRIPLE_POINT_K..critical).contains(&temperature) {
            return None;
        }
        let isotherm = Isotherm::at(&CO2, temperature);
        let start = Pair::ancillary(temperature);
        let pair = start.balanced(&isotherm).unwrap_or(start);
        let unit = CO2.reducing_density();
        let vapour = CO2.state_on(&isotherm, pair.vapour * unit);
        Some(Self {
            temperature,
            pressure: vapour.pressure,
            liquid: CO2.state_on(&isotherm, pair.liquid * unit),
            vapour,
        })
    }

    /// The two phases at an absolute `pressure`, or `None` outside triple point to critical point.
    pub fn at_pressure(pressure: f64) -> Option<Self> {
        let critical = CO2.reducing_temperature();
        let lowest = Self::at_temperature(TRIPLE_POINT_K)?;
        if pressure < lowest.pressure || pressure >= CRITICAL_PRESSURE_PA {
            return None;
        }
        // The logarithm of the vapour pressure is nearly straight in 1/T: false position in those
        // coordinates, with the Illinois halving against a stuck end.
        let target = pressure.ln();
        let (mut low, mut high) = (1.0 / critical, 1.0 / TRIPLE_POINT_K);
        let mut at_low = CRITICAL_PRESSURE_PA.ln() - target;
        let mut at_high = lowest.pressure.ln() - target;
        let mut found = lowest;
        for _ in 0..TRIES {
            let inverse = (low * at_high - high * at_low) / (at_high - at_low);
            let Some(here) = Self::at_temperature(1.0 / inverse) else {
                break;
            };
            found = here;
            let off = here.pressure.ln() - target;
            if off.abs() < CLOSE {
                break;
            }
            if off > 0.0 {
                low = inverse;
                at_low = off;
                at_high *= 0.5;
            } else {
                high = inverse;
                at_high = off;
                at_low *= 0.5;
            }
        }
        Some(found)
    }
}

/// The reduced densities of both phases.
#[derive(Debug, Clone, Copy)]
struct Pair {
    liquid: f64,
    vapour: f64,
}

impl Pair {
    /// **Source** Span and Wagner 1996, equations 3.14 and 3.15.
    fn ancillary(temperature: f64) -> Self {
        let th = 1.0 - temperature / CO2.reducing_temperature();
        let log_th = th.ln();
        let to = |power: f64| (power * log_th).exp();
        let (root, half) = (to(0.34), th.sqrt());
        let liquid = 1.9245108 * root - 0.62385555 * half - 0.32731127 * to(10.0 / 6.0)
            + 0.39245142 * to(11.0 / 6.0);
        let vapour = -1.7074879 * root
            - 0.82274670 * half
            - 4.6008549 * th
            - 10.111178 * to(7.0 / 3.0)
            - 29.742252 * to(14.0 / 3.0);
        Self {
            liquid: liquid.exp(),
            vapour: vapour.exp(),
        }
    }

    /// Newton on both densities; `None` where the phases can no longer be told apart.
    fn balanced(self, isotherm: &Isotherm) -> Option<Self> {
        let Self {
            mut liquid,
            mut vapour,
        } = self;
        for _ in 0..TRIES {
            let l = Potential::at(isotherm, liquid);
            let v = Potential::at(isotherm, vapour);
            if l.slope <= 0.0 || v.slope <= 0.0 {
                return None;
            }
            // d(pressure) = slope d(delta) and d(gibbs) = slope / delta d(delta).
            let pressure = l.pressure - v.pressure;
            let gibbs = l.gibbs - v.gibbs;
            let spread = liquid - vapour;
            let step_liquid = liquid * (vapour * gibbs - pressure) / (l.slope * spread);
            let step_vapour = vapour * (liquid * gibbs - pressure) / (v.slope * spread);
            liquid += step_liquid;
            vapour += step_vapour;
            if !(vapour > 0.0 && liquid > vapour) {
                return None;
            }
            let settled =
                step_liquid.abs() < SETTLED * liquid && step_vapour.abs() < SETTLED * vapour;
            if settled || (pressure.abs() < ROUNDING && gibbs.abs() < ROUNDING) {
                return Some(Self { liquid, vapour });
            }
        }
        None
    }
}

/// Pressure and Gibbs energy over RT at one temperature, less what both phases share.
struct Potential {
    pressure: f64,
    slope: f64,
    gibbs: f64,
}

impl Potential {
    fn at(isotherm: &Isotherm, delta: f64) -> Self {
        let r = isotherm.residual(delta);
        Self {
            pressure: delta * (1.0 + r.a_d),
            slope: 1.0 + 2.0 * r.a_d + r.a_dd,
            gibbs: delta.ln() + r.a + r.a_d,
        }
    }
}
