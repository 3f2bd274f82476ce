//! The residual part of the reduced Helmholtz energy and its derivatives.
//!
//! Every derivative is kept multiplied by the powers of delta and tau that the thermodynamic
//! relations need anyway: `a_d` is `delta phi_delta`, `a_dd` is `delta^2 phi_delta_delta`, and so on.

use super::Equation;

/// A reduced Helmholtz energy and its scaled derivatives at one (delta, tau).
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Reduced {
    pub a: f64,
    pub a_d: f64,
    pub a_dd: f64,
    pub a_t: f64,
    pub a_tt: f64,
    pub a_dt: f64,
}

/// `n delta^d tau^t exp(-delta^l)`, without the exponential where `l` is 0.
#[derive(Debug)]
pub(super) struct Power {
    n: f64,
    d: usize,
    t: f64,
    l: usize,
}

/// A power term, in the order the papers print it.
pub(super) const fn power(n: f64, d: usize, t: f64, l: usize) -> Power {
    Power { n, d, t, l }
}

/// `n delta^d tau^t exp(-eta (delta - epsilon)^2 - beta (tau - gamma)^2)`.
#[derive(Debug)]
pub(super) struct Gauss {
    n: f64,
    d: usize,
    t: f64,
    eta: f64,
    beta: f64,
    gamma: f64,
    epsilon: f64,
}

/// A Gaussian term, in the order the papers print it.
pub(super) const fn gauss(
    n: f64,
    d: usize,
    t: f64,
    eta: f64,
    beta: f64,
    gamma: f64,
    epsilon: f64,
) -> Gauss {
    Gauss {
        n,
        d,
        t,
        eta,
        beta,
        gamma,
        epsilon,
    }
}

/// `n Delta^b delta psi`: what makes the neighbourhood of the critical point of CO2 right.
#[derive(Debug)]
pub(super) struct Critical {
    pub n: f64,
    pub a: f64,
    pub b: f64,
    pub big_a: f64,
    pub big_b: f64,
    pub c: f64,
    pub d: f64,
    pub beta: f64,
}

/// Powers of delta are tabled up to here; the highest of the three equations is 11 (air).
const POWERS: usize = 12;

/// Exponents below this leave a term smaller than the rounding of the sum.
const NEGLIGIBLE: f64 = -45.0;

/// The most power terms an equation has (CO2).
const TERMS: usize = 34;
/// Exponents of delta inside the exponentials go up to here.
const INNER: usize = 7;

/// One equation at one temperature, with everything computed that density does not change.
#[derive(Debug)]
pub(super) struct Isotherm {
    equation: &'static Equation,
    pub temperature: f64,
    pub tau: f64,
    log_tau: f64,
    /// `n tau^t` of each power term.
    weights: [f64; TERMS],
}

impl Isotherm {
    /// `equation` at `temperature` K.
    pub(super) fn at(equation: &'static Equation, temperature: f64) -> Self {
        let tau = equation.reducing_temperature() / temperature;
        let log_tau = tau.ln();
        let mut weights = [0.0; TERMS];
        for (weight, term) in weights.iter_mut().zip(equation.power) {
            *weight = term.n * (term.t * log_tau).exp();
        }
        Self {
            equation,
            temperature,
            tau,
            log_tau,
            weights,
        }
    }

    /// The residual part at reduced density `delta`.
    pub(super) fn residual(&self, delta: f64) -> Reduced {
        let mut deltas = [1.0; POWERS];
        for i in 1..POWERS {
            deltas[i] = deltas[i - 1] * delta;
        }
        let mut damping = [1.0; INNER];
        for l in 1..INNER {
            damping[l] = (-deltas[l]).exp();
        }
        let mut sum = Reduced::default();
        for (term, weight) in self.equation.power.iter().zip(&self.weights) {
            term.add(weight * damping[term.l], &deltas, &mut sum);
        }
        for term in self.equation.gauss {
            term.add(&deltas, delta, self, &mut sum);
        }
        for term in self.equation.critical {
            term.add(delta, self.tau, &mut sum);
        }
        sum
    }
}

impl Power {
    /// `weight` is `n tau^t exp(-delta^l)`.
    fn add(&self, weight: f64, deltas: &[f64; POWERS], sum: &mut Reduced) {
        let l = self.l as f64;
        // Where l is 0 its product with anything is 0, as it should be.
        let inner = deltas[self.l];
        let a = weight * deltas[self.d];
        let by_delta = self.d as f64 - l * inner;
        sum.a += a;
        sum.a_d += a * by_delta;
        sum.a_dd += a * (by_delta * (by_delta - 1.0) - l * l * inner);
        sum.a_t += a * self.t;
        sum.a_tt += a * self.t * (self.t - 1.0);
        sum.a_dt += a * by_delta * self.t;
    }
}

impl Gauss {
    fn add(&self, deltas: &[f64; POWERS], delta: f64, at: &Isotherm, sum: &mut Reduced) {
        let (tau, log_tau) = (at.tau, at.log_tau);
        let (x, y) = (delta - self.epsilon, tau - self.gamma);
        let exponent = -self.eta * x * x - self.beta * y * y;
        if exponent < NEGLIGIBLE {
            return;
        }
        let d = self.d as f64;
        let a = self.n * deltas[self.d] * (self.t * log_tau + exponent).exp();
        let by_delta = d - 2.0 * self.eta * delta * x;
        let by_tau = self.t - 2.0 * self.beta * tau * y;
        sum.a += a;
        sum.a_d += a * by_delta;
        sum.a_dd += a * (by_delta * by_delta - d - 2.0 * self.eta * delta * delta);
        sum.a_t += a * by_tau;
        sum.a_tt += a * (by_tau * by_tau - self.t - 2.0 * self.beta * tau * tau);
        sum.a_dt += a * by_delta * by_tau;
    }
}

impl Critical {
    /// **Source** Span and Wagner 1996, table 32.
    fn add(&self, delta: f64, tau: f64, sum: &mut Reduced) {
        let x = delta - 1.0;
        let y = tau - 1.0;
        // The derivatives divide by (delta - 1); exactly there they are taken a hair beside it.
        let x = if x.abs() < 1e-10 { 1e-10 } else { x };
        let exponent = -self.c * x * x - self.d * y * y;
        if exponent < NEGLIGIBLE {
            return;
        }
        let x2 = x * x;
        let (a, b, beta) = (self.a, self.b, self.beta);
        let p = 0.5 / beta;
        let log_x2 = x2.ln();
        let x_p1 = ((p - 1.0) * log_x2).exp();
        let x_a1 = ((a - 1.0) * log_x2).exp();
        let theta = -y + self.big_a * x_p1 * x2;
        let big = theta * theta + self.big_b * x_a1 * x2;
        let slope_over_x = self.big_a * theta * 2.0 / beta * x_p1 + 2.0 * self.big_b * a * x_a1;
        let big_d = x * slope_over_x;
        let big_dd = slope_over_x
            + 4.0 * self.big_b * a * (a - 1.0) * x_a1
            + 2.0 * (self.big_a / beta * x_p1).powi(2) * x2
            + self.big_a * theta * 4.0 / beta * (p - 1.0) * x_p1;
        let power = big.powf(b);
        let power_1 = power / big;
        let power_2 = power_1 / big;
        let f_d = b * power_1 * big_d;
        let f_dd = b * (power_1 * big_dd + (b - 1.0) * power_2 * big_d * big_d);
        let f_t = -2.0 * theta * b * power_1;
        let f_tt = 2.0 * b * power_1 + 4.0 * theta * theta * b * (b - 1.0) * power_2;
        let f_dt = -2.0 * self.big_a / beta * b * power_1 * x * x_p1
            - 2.0 * theta * b * (b - 1.0) * power_2 * big_d;

        let psi = exponent.exp();
        let psi_d = -2.0 * self.c * x * psi;
        let psi_dd = (2.0 * self.c * x2 - 1.0) * 2.0 * self.c * psi;
        let psi_t = -2.0 * self.d * y * psi;
        let psi_tt = (2.0 * self.d * y * y - 1.0) * 2.0 * self.d * psi;
        let psi_dt = 4.0 * self.c * self.d * x * y * psi;

        let n = self.n;
        let chi_d = psi + delta * psi_d;
        sum.a += n * power * delta * psi;
        sum.a_d += n * delta * (power * chi_d + f_d * delta * psi);
        sum.a_dd += n
            * delta
            * delta
            * (power * (2.0 * psi_d + delta * psi_dd) + 2.0 * f_d * chi_d + f_dd * delta * psi);
        sum.a_t += n * tau * delta * (f_t * psi + power * psi_t);
        sum.a_tt += n * tau * tau * delta * (f_tt * psi + 2.0 * f_t * psi_t + power * psi_tt);
        sum.a_dt += n
            * delta
            * tau
            * (power * (psi_t + delta * psi_dt)
                + delta * f_d * psi_t
                + f_t * chi_d
                + f_dt * delta * psi);
    }
}
