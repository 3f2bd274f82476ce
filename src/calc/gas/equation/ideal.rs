//! The ideal-gas part of the reduced Helmholtz energy.

/// `ln delta + constant + linear tau + log ln tau + sum n tau^k + sum n ln(c + d exp(s tau))`.
///
/// Constant and linear hold the choice of the zero of entropy and energy as well.
#[derive(Debug)]
pub(super) struct Ideal {
    pub constant: f64,
    pub linear: f64,
    pub log: f64,
    /// `(n, k)` of each `n tau^k`.
    pub power: &'static [(f64, f64)],
    pub planck: &'static [Planck],
}

/// `n ln(c + d exp(s tau))`: one vibration of the molecule.
#[derive(Debug)]
pub(super) struct Planck {
    pub n: f64,
    pub c: f64,
    pub d: f64,
    pub s: f64,
}

/// The usual Planck-Einstein term `n ln(1 - exp(-theta tau))`.
pub(super) const fn planck(n: f64, theta: f64) -> Planck {
    Planck {
        n,
        c: 1.0,
        d: -1.0,
        s: -theta,
    }
}

/// The ideal part and its tau derivatives, multiplied by tau and tau squared.
#[derive(Debug, Clone, Copy)]
pub(super) struct IdealValue {
    pub a: f64,
    pub a_t: f64,
    pub a_tt: f64,
}

impl Ideal {
    /// The ideal part at reduced density `delta` and inverse reduced temperature `tau`.
    pub(super) fn at(&self, delta: f64, tau: f64) -> IdealValue {
        let mut a = delta.ln() + self.constant + self.linear * tau + self.log * tau.ln();
        let mut a_t = self.linear * tau + self.log;
        let mut a_tt = -self.log;
        for &(n, k) in self.power {
            let term = n * tau.powf(k);
            a += term;
            a_t += k * term;
            a_tt += k * (k - 1.0) * term;
        }
        for term in self.planck {
            let e = term.d * (term.s * tau).exp();
            let inner = term.c + e;
            let x = term.s * tau;
            a += term.n * inner.ln();
            a_t += term.n * x * e / inner;
            a_tt += term.n * x * x * term.c * e / (inner * inner);
        }
        IdealValue { a, a_t, a_tt }
    }
}
