//! Density from pressure and temperature.

use super::residual::Isotherm;
use super::{Equation, Gas, Saturation};

/// Densities are searched up to this many reducing densities: beyond any liquid a bottle can hold.
const DENSEST: f64 = 3.2;
const TRIES: usize = 100;
const CLOSE: f64 = 1e-13;

impl Gas {
    /// The density of the stable phase at an absolute pressure and a temperature, kg/m3.
    ///
    /// **Units** Pa absolute, K.
    ///
    /// **Assumptions** above 150 K for nitrogen and air, which are always one phase there; above
    /// the triple point for CO2.
    pub(in crate::calc::gas) fn density(self, pressure: f64, temperature: f64) -> f64 {
        let equation = self.equation();
        let densest = DENSEST * equation.reducing_density();
        let saturation = match self {
            Self::Co2 => Saturation::at_temperature(temperature),
            Self::Nitrogen | Self::Air => None,
        };
        let (low, high) = match saturation {
            Some(s) if pressure > s.pressure => (s.liquid.density, densest),
            Some(s) => (0.0, s.vapour.density),
            None => (0.0, densest),
        };
        equation.density_between(pressure, temperature, low, high)
    }
}

impl Equation {
    /// The density of `pressure` at `temperature` between `low` and `high`, where pressure rises
    /// with density: Newton, halving the bracket whenever a step would leave it.
    fn density_between(&'static self, pressure: f64, temperature: f64, low: f64, high: f64) -> f64 {
        let (mut low, mut high) = (low, high);
        let isotherm = Isotherm::at(self, temperature);
        let unit = self.reducing_density();
        let rt = self.gas_constant() * temperature;
        let ideal = pressure / rt;
        let mut density = if ideal > low && ideal < high {
            ideal
        } else if low > 0.0 {
            low
        } else {
            high
        };
        for _ in 0..TRIES {
            let r = isotherm.residual(density / unit);
            let excess = density * rt * (1.0 + r.a_d) - pressure;
            let slope = rt * (1.0 + 2.0 * r.a_d + r.a_dd);
            if excess > 0.0 {
                high = density;
            } else {
                low = density;
            }
            let step = excess / slope;
            let newton = density - step;
            let next = if slope > 0.0 && newton >= low && newton <= high {
                newton
            } else {
                0.5 * (low + high)
            };
            if (next - density).abs() <= CLOSE * density {
                return next;
            }
            density = next;
        }
        density
    }
}
