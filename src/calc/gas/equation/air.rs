//! Coefficients of the equation of state of air, taken as one pseudo-pure gas.
//!
//! **Source** Lemmon, Jacobsen, Penoncello and Friend, J. Phys. Chem. Ref. Data 29 (2000) 331, as
//! carried by CoolProp 8.0.0.

use super::Equation;
use super::ideal::{Ideal, Planck, planck};
use super::residual::{Power, power};

/// Air, above its boiling range to 2000 K, up to 2000 MPa.
pub(super) static AIR: Equation = Equation {
    molar_mass_kg_per_mol: 0.02896546,
    gas_constant_j_per_mol_k: 8.31451,
    reducing_temperature_k: 132.6312,
    reducing_density_mol_per_m3: 10447.7,
    power: &POWER,
    gauss: &[],
    critical: &[],
    ideal: Ideal {
        constant: 10.3753039487406,
        linear: 3.31112445645577,
        log: 2.490888032,
        power: &[
            (6.057194e-08, -3.0),
            (-2.10274769e-05, -2.0),
            (-0.000158860716, -1.0),
            (-13.841928076, 0.0),
            (17.275266575, 1.0),
            (-0.00019536342, 1.5),
        ],
        planck: &[
            planck(0.791309509, 25.36365),
            planck(0.212236768, 16.90741),
            Planck {
                n: -0.197938904,
                c: 2.0 / 3.0,
                d: 1.0,
                s: 87.31279,
            },
        ],
    },
};

static POWER: [Power; 19] = [
    power(0.118160747229, 1, 0.0, 0),
    power(0.713116392079, 1, 0.33, 0),
    power(-1.61824192067, 1, 1.01, 0),
    power(0.0714140178971, 2, 0.0, 0),
    power(-0.0865421396646, 3, 0.0, 0),
    power(0.134211176704, 3, 0.15, 0),
    power(0.0112626704218, 4, 0.0, 0),
    power(-0.0420533228842, 4, 0.2, 0),
    power(0.0349008431982, 4, 0.35, 0),
    power(0.000164957183186, 6, 1.35, 0),
    power(-0.101365037912, 1, 1.6, 1),
    power(-0.17381369097, 3, 0.8, 1),
    power(-0.0472103183731, 5, 0.95, 1),
    power(-0.0122523554253, 6, 1.25, 1),
    power(-0.146629609713, 1, 3.6, 2),
    power(-0.0316055879821, 3, 6.0, 2),
    power(0.000233594806142, 11, 3.25, 2),
    power(0.0148287891978, 1, 3.5, 3),
    power(-0.00938782884667, 3, 15.0, 3),
];
