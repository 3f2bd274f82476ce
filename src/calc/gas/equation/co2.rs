//! Coefficients of the equation of state of carbon dioxide.
//!
//! **Source** Span and Wagner, J. Phys. Chem. Ref. Data 25 (1996) 1509, as carried by CoolProp 8.0.0;
//! reference state IIR (liquid at 0 degC: 200 kJ/kg, 1 kJ/kg/K).

use super::Equation;
use super::ideal::{Ideal, planck};
use super::residual::{Critical, Gauss, Power, gauss, power};

/// Carbon dioxide, 216.592 K to 1100 K, up to 800 MPa.
pub(super) static CO2: Equation = Equation {
    molar_mass_kg_per_mol: 0.0440098,
    gas_constant_j_per_mol_k: 8.31451,
    reducing_temperature_k: 304.1282,
    reducing_density_mol_per_m3: 10624.9063,
    power: &POWER,
    gauss: &GAUSS,
    critical: &CRITICAL,
    ideal: Ideal {
        constant: 8.37304456 - 14.4979156224319,
        linear: -3.70454304 + 8.82013935801453,
        log: 2.5,
        power: &[],
        planck: &[
            planck(1.99427042, 3.15163),
            planck(0.62105248, 6.1119),
            planck(0.41195293, 6.77708),
            planck(1.04028922, 11.32384),
            planck(0.08327678, 27.08792),
        ],
    },
};

static POWER: [Power; 34] = [
    power(0.388568232032, 1, 0.0, 0),
    power(2.93854759427, 1, 0.75, 0),
    power(-5.5867188535, 1, 1.0, 0),
    power(-0.767531995925, 1, 2.0, 0),
    power(0.317290055804, 2, 0.75, 0),
    power(0.548033158978, 2, 2.0, 0),
    power(0.122794112203, 3, 0.75, 0),
    power(2.16589615432, 1, 1.5, 1),
    power(1.58417351097, 2, 1.5, 1),
    power(-0.231327054055, 4, 2.5, 1),
    power(0.0581169164314, 5, 0.0, 1),
    power(-0.553691372054, 5, 1.5, 1),
    power(0.489466159094, 5, 2.0, 1),
    power(-0.0242757398435, 6, 0.0, 1),
    power(0.0624947905017, 6, 1.0, 1),
    power(-0.121758602252, 6, 2.0, 1),
    power(-0.370556852701, 1, 3.0, 2),
    power(-0.0167758797004, 1, 6.0, 2),
    power(-0.11960736638, 4, 3.0, 2),
    power(-0.0456193625088, 4, 6.0, 2),
    power(0.0356127892703, 4, 8.0, 2),
    power(-0.00744277271321, 7, 6.0, 2),
    power(-0.00173957049024, 8, 0.0, 2),
    power(-0.0218101212895, 2, 7.0, 3),
    power(0.0243321665592, 3, 12.0, 3),
    power(-0.0374401334235, 3, 16.0, 3),
    power(0.143387157569, 5, 22.0, 4),
    power(-0.134919690833, 5, 24.0, 4),
    power(-0.0231512250535, 6, 16.0, 4),
    power(0.0123631254929, 7, 24.0, 4),
    power(0.00210583219729, 8, 8.0, 4),
    power(-0.000339585190264, 10, 2.0, 4),
    power(0.00559936517716, 4, 28.0, 5),
    power(-0.000303351180556, 8, 14.0, 6),
];

static GAUSS: [Gauss; 5] = [
    gauss(-213.654886883, 2, 1.0, 25.0, 325.0, 1.16, 1.0),
    gauss(26641.5691493, 2, 0.0, 25.0, 300.0, 1.19, 1.0),
    gauss(-24027.2122046, 2, 1.0, 25.0, 300.0, 1.19, 1.0),
    gauss(-283.41603424, 3, 3.0, 15.0, 275.0, 1.25, 1.0),
    gauss(212.472844002, 3, 3.0, 20.0, 275.0, 1.22, 1.0),
];

static CRITICAL: [Critical; 3] = [
    Critical {
        n: -0.666422765408,
        a: 3.5,
        b: 0.875,
        big_b: 0.3,
        c: 10.0,
        ..SHARED
    },
    Critical {
        n: 0.726086323499,
        a: 3.5,
        b: 0.925,
        big_b: 0.3,
        c: 10.0,
        ..SHARED
    },
    Critical {
        n: 0.0550686686128,
        a: 3.0,
        b: 0.875,
        big_b: 1.0,
        c: 12.5,
        ..SHARED
    },
];

/// What the three critical terms have in common.
const SHARED: Critical = Critical {
    n: 0.0,
    a: 0.0,
    b: 0.0,
    big_a: 0.7,
    big_b: 0.0,
    c: 0.0,
    d: 275.0,
    beta: 0.3,
};
