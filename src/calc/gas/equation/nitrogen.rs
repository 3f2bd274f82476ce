//! Coefficients of the equation of state of nitrogen.
//!
//! **Source** Span, Lemmon, Jacobsen, Wagner and Yokozeki, J. Phys. Chem. Ref. Data 29 (2000) 1361,
//! as carried by CoolProp 8.0.0.

use super::Equation;
use super::ideal::{Ideal, planck};
use super::residual::{Gauss, Power, gauss, power};

/// Nitrogen, 63.151 K to 1000 K, up to 2200 MPa.
pub(super) static NITROGEN: Equation = Equation {
    molar_mass_kg_per_mol: 0.02801348,
    gas_constant_j_per_mol_k: 8.31451,
    reducing_temperature_k: 126.192,
    reducing_density_mol_per_m3: 11183.901464580624,
    power: &POWER,
    gauss: &GAUSS,
    critical: &[],
    ideal: Ideal {
        constant: -12.76952708,
        linear: -0.00784163,
        log: 2.5,
        power: &[
            (-0.0001934819, -1.0),
            (-1.247742e-05, -2.0),
            (6.678326e-08, -3.0),
        ],
        planck: &[planck(1.012941, 3364.011 / 126.192)],
    },
};

static POWER: [Power; 32] = [
    power(0.924803575275, 1, 0.25, 0),
    power(-0.492448489428, 1, 0.875, 0),
    power(0.661883336938, 2, 0.5, 0),
    power(-1.92902649201, 2, 0.875, 0),
    power(-0.0622469309629, 3, 0.375, 0),
    power(0.349943957581, 3, 0.75, 0),
    power(0.564857472498, 1, 0.5, 1),
    power(-1.61720005987, 1, 0.75, 1),
    power(-0.481395031883, 1, 2.0, 1),
    power(0.421150636384, 3, 1.25, 1),
    power(-0.0161962230825, 3, 3.5, 1),
    power(0.172100994165, 4, 1.0, 1),
    power(0.00735448924933, 6, 0.5, 1),
    power(0.0168077305479, 6, 3.0, 1),
    power(-0.00107626664179, 7, 0.0, 1),
    power(-0.0137318088513, 7, 2.75, 1),
    power(0.000635466899859, 8, 0.75, 1),
    power(0.00304432279419, 8, 2.5, 1),
    power(-0.0435762336045, 1, 4.0, 2),
    power(-0.0723174889316, 2, 6.0, 2),
    power(0.0389644315272, 3, 6.0, 2),
    power(-0.021220136391, 4, 3.0, 2),
    power(0.00408822981509, 5, 3.0, 2),
    power(-5.51990017984e-05, 8, 6.0, 2),
    power(-0.0462016716479, 4, 16.0, 3),
    power(-0.00300311716011, 5, 11.0, 3),
    power(0.0368825891208, 5, 15.0, 3),
    power(-0.0025585684622, 8, 12.0, 3),
    power(0.00896915264558, 3, 12.0, 4),
    power(-0.0044151337035, 5, 7.0, 4),
    power(0.00133722924858, 6, 4.0, 4),
    power(0.000264832491957, 9, 16.0, 4),
];

static GAUSS: [Gauss; 4] = [
    gauss(19.6688194015, 1, 0.0, 20.0, 325.0, 1.16, 1.0),
    gauss(-20.911560073, 1, 1.0, 20.0, 325.0, 1.16, 1.0),
    gauss(0.0167788306989, 3, 2.0, 15.0, 300.0, 1.13, 1.0),
    gauss(2627.67566274, 2, 3.0, 25.0, 275.0, 1.25, 1.0),
];
