//! All properties of a gas at one density and temperature.

use super::Equation;
use super::residual::Isotherm;

/// One homogeneous phase at a density and temperature.
///
/// **Units** K, kg/m3, Pa absolute, J/kg, J/kg/K.
#[derive(Debug, Clone, Copy)]
pub struct State {
    /// Temperature, K.
    pub temperature: f64,
    /// Density, kg/m3.
    pub density: f64,
    /// Absolute pressure, Pa.
    pub pressure: f64,
    /// Internal energy, J/kg.
    pub energy: f64,
    /// Enthalpy, J/kg.
    pub enthalpy: f64,
    /// Entropy, J/kg/K.
    pub entropy: f64,
    /// Heat capacity at constant volume, J/kg/K.
    pub cv: f64,
    /// Heat capacity at constant pressure, J/kg/K.
    pub cp: f64,
}

impl State {
    /// How far the gas is from ideal: 1 for an ideal gas.
    pub fn compressibility(&self, equation: &Equation) -> f64 {
        self.pressure / (self.density * equation.gas_constant() * self.temperature)
    }
}

impl Equation {
    /// Everything at density `density` and temperature `temperature`.
    ///
    /// **Units** kg/m3 and K.
    pub fn state(&'static self, density: f64, temperature: f64) -> State {
        self.state_on(&Isotherm::at(self, temperature), density)
    }

    /// Everything at `density` on an isotherm of this equation.
    ///
    /// **Source** the usual relations between the Helmholtz energy and the other properties, e.g.
    /// Span and Wagner 1996, table 3.
    pub(super) fn state_on(&self, isotherm: &Isotherm, density: f64) -> State {
        let delta = density / self.reducing_density();
        let temperature = isotherm.temperature;
        let r = isotherm.residual(delta);
        let ideal = self.ideal.at(delta, isotherm.tau);
        let gas_constant = self.gas_constant();
        let rt = gas_constant * temperature;
        let z = 1.0 + r.a_d;
        let stiffness = 1.0 + 2.0 * r.a_d + r.a_dd;
        let energy = rt * (ideal.a_t + r.a_t);
        let cv = -gas_constant * (ideal.a_tt + r.a_tt);
        let thermal = 1.0 + r.a_d - r.a_dt;
        State {
            temperature,
            density,
            pressure: density * rt * z,
            energy,
            enthalpy: energy + rt * z,
            entropy: gas_constant * (ideal.a_t + r.a_t - ideal.a - r.a),
            cv,
            cp: cv + gas_constant * thermal * thermal / stiffness,
        }
    }
}
