//! The equations of state against CoolProp 8.0.0, every row of `tests/data/gas`.

use super::*;

const SATURATION: &str = include_str!("../../../../tests/data/gas/co2_sat.csv");
const VAPOUR: &str = include_str!("../../../../tests/data/gas/co2_vapour.csv");
const BOTTLE: &str = include_str!("../../../../tests/data/gas/co2_fixed_density.csv");
const NITROGEN: &str = include_str!("../../../../tests/data/gas/n2_gas.csv");
const AIR: &str = include_str!("../../../../tests/data/gas/air_gas.csv");

/// Nine digits are printed, so this is what agreement can mean.
const RELATIVE: f64 = 1e-8;
/// Energies are printed to 1e-6 kJ/kg and lose digits to their zero.
const KJ_PER_KG: f64 = 5e-6;

fn kelvin(degc: f64) -> f64 {
    degc + 273.15
}

/// Rows of numbers; a column of words reads as NaN.
fn rows(text: &str) -> Vec<Vec<f64>> {
    let rows: Vec<Vec<f64>> = text
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| {
            line.split(',')
                .map(|x| x.parse().unwrap_or(f64::NAN))
                .collect()
        })
        .collect();
    assert!(rows.len() > 50);
    rows
}

fn assert_relative(what: &str, got: f64, want: f64, within: f64) {
    let off = (got / want - 1.0).abs();
    assert!(off < within, "{what}: {got} is off {want} by {off:e}");
}

fn assert_energy(what: &str, got_j: f64, want_kj: f64) {
    let off = (got_j * 1e-3 - want_kj).abs();
    assert!(
        off < KJ_PER_KG,
        "{what}: {got_j} J/kg is off by {off:e} kJ/kg"
    );
}

#[test]
fn saturation_agrees_up_to_the_critical_point() {
    for row in rows(SATURATION) {
        let s = Saturation::at_temperature(row[1]).unwrap();
        let at = format!("{} degC", row[0]);
        assert_relative(&at, s.pressure, row[2] * 1e5, RELATIVE);
        assert_relative(&at, s.liquid.density, row[3], RELATIVE);
        assert_relative(&at, s.vapour.density, row[4], RELATIVE);
        assert_energy(&at, s.liquid.enthalpy, row[5]);
        assert_energy(&at, s.vapour.enthalpy, row[6]);
        assert_energy(&at, s.liquid.energy, row[8]);
        assert_energy(&at, s.vapour.energy, row[9]);
        assert_energy(&at, s.liquid.entropy, row[10]);
        assert_energy(&at, s.vapour.entropy, row[11]);
        let back = Saturation::at_pressure(row[2] * 1e5).unwrap();
        assert!((back.temperature - row[1]).abs() < 1e-6, "{at}");
    }
}

/// The condition itself, also between and beyond the rows: up to 1 mK below the critical point.
#[test]
fn both_phases_have_one_pressure_and_one_gibbs_energy() {
    let gibbs = |s: &State| s.enthalpy - s.temperature * s.entropy;
    let critical = Gas::Co2.equation().reducing_temperature();
    let steps = (0..400).map(|i| TRIPLE_POINT_K + f64::from(i) * 0.218);
    for temperature in steps.chain([0.1, 0.03, 0.01, 0.003, 0.001].map(|below| critical - below)) {
        let s = Saturation::at_temperature(temperature).unwrap();
        assert_relative("pressure", s.liquid.pressure, s.vapour.pressure, 1e-9);
        assert!(
            (gibbs(&s.liquid) - gibbs(&s.vapour)).abs() < 1e-4,
            "{temperature}"
        );
        assert!(s.liquid.density > s.vapour.density);
    }
}

#[test]
fn co2_vapour_agrees() {
    for row in rows(VAPOUR) {
        let (degc, bar) = (row[0], row[1]);
        let at = format!("{degc} degC {bar} bar");
        let temperature = kelvin(degc);
        let density = Gas::Co2.density(bar * 1e5, temperature);
        assert_relative(&at, density, row[2], RELATIVE);
        let equation = Gas::Co2.equation();
        let state = equation.state(density, temperature);
        assert_relative(&at, state.compressibility(equation), row[3], RELATIVE);
        assert_energy(&at, state.enthalpy, row[4]);
        assert_relative(&at, state.cp, row[5] * 1e3, RELATIVE);
        let printed = equation.state(row[2], temperature).pressure;
        assert_relative(&at, printed, bar * 1e5, RELATIVE);
    }
}

/// Filling ratios of 0.6 to 0.75, 20 to 65 degC, straight through the critical region. Density from
/// the printed pressure loses there what the ninth digit of the pressure holds: 4e-8 at worst.
#[test]
fn the_pressure_of_a_closed_bottle_agrees() {
    let equation = Gas::Co2.equation();
    for row in rows(BOTTLE) {
        let (density, temperature) = (row[0] * 1e3, kelvin(row[1]));
        let at = format!("{} kg/l {} degC", row[0], row[1]);
        let saturation = Saturation::at_temperature(temperature);
        match saturation.filter(|s| density < s.liquid.density) {
            Some(s) => {
                assert_relative(&at, s.pressure, row[2] * 1e5, RELATIVE);
                let (by_liquid, by_vapour) = (1.0 / s.liquid.density, 1.0 / s.vapour.density);
                let quality = (1.0 / density - by_liquid) / (by_vapour - by_liquid);
                assert!((quality - row[5]).abs() < 1e-8, "{at}: {quality}");
            }
            None => {
                let pressure = equation.state(density, temperature).pressure;
                assert_relative(&at, pressure, row[2] * 1e5, RELATIVE);
                let back = Gas::Co2.density(row[2] * 1e5, temperature);
                assert_relative(&at, back, density, 1e-7);
            }
        }
    }
}

#[test]
fn nitrogen_and_air_agree() {
    for (gas, text) in [(Gas::Nitrogen, NITROGEN), (Gas::Air, AIR)] {
        let equation = gas.equation();
        for row in rows(text) {
            let (temperature, pressure) = (kelvin(row[0]), row[1] * 1e5);
            let at = format!("{gas:?} {} degC {} bar", row[0], row[1]);
            let density = gas.density(pressure, temperature);
            assert_relative(&at, density, row[2], RELATIVE);
            let state = equation.state(density, temperature);
            assert_relative(&at, state.compressibility(equation), row[3], RELATIVE);
            assert_energy(&at, state.energy, row[4]);
            assert_energy(&at, state.enthalpy, row[5]);
            assert_relative(&at, state.cp, row[6] * 1e3, RELATIVE);
            assert_relative(&at, state.cv, row[7] * 1e3, RELATIVE);
            let printed = equation.state(row[2], temperature).pressure;
            assert_relative(&at, printed, pressure, RELATIVE);
        }
    }
}

/// Temperature and density exactly critical, where the third kind of terms divides by zero.
#[test]
fn the_critical_point_itself_is_finite() {
    let equation = Gas::Co2.equation();
    let state = equation.state(equation.reducing_density(), equation.reducing_temperature());
    assert_relative("critical pressure", state.pressure, 7.3773e6, 1e-5);
    assert!(state.energy.is_finite() && state.entropy.is_finite());
}
