//! What holds for every bottle, not only for the reference ones.

use proptest::prelude::*;

use super::content::Content;
use super::convert::kelvin;
use super::vessel::{Held, Vessel};
use super::warming::Surroundings;
use super::*;

fn gases() -> impl Strategy<Value = Gas> {
    prop_oneof![Just(Gas::Co2), Just(Gas::Nitrogen), Just(Gas::Air)]
}

prop_compose! {
    /// A CO2 bottle with something in it.
    fn bottles()(
        litres in 0.5..10.0_f64,
        fill in 0.08..0.75_f64,
        degc in -25.0..35.0_f64,
        wall_kg in 0.3..2.0_f64,
    ) -> (Vessel, Held) {
        let shell = GasShell {
            water_capacity_l: litres,
            wall: GasWall::Aluminium,
            wall_mass_kg: wall_kg * litres,
        };
        let held = Held { mass: fill * litres, temperature: kelvin(degc) };
        (shell.vessel(Gas::Co2), held)
    }
}

prop_compose! {
    /// A series of shots somebody might fire.
    fn series()(
        (vessel, held) in bottles(),
        bore in 30.0..120.0_f64,
        stroke in 60.0..300.0_f64,
        bar in 2.0..14.0_f64,
        buffer_share in 0.0..0.1_f64,
        liquid in any::<bool>(),
        shots in 1..15_u32,
    ) -> GasShotsInput {
        let litres = vessel.volume * 1e3;
        GasShotsInput {
            bottle: GasShell {
                water_capacity_l: litres,
                wall: GasWall::Aluminium,
                wall_mass_kg: vessel.wall_heat / 900.0,
            },
            gas_mass_kg: held.mass,
            bottle_temperature_degc: held.temperature - 273.15,
            draw: if liquid { GasDraw::Liquid } else { GasDraw::Gas },
            system: GasSystem {
                ram: GasRam {
                    bore_mm: bore,
                    stroke_mm: stroke,
                    rod_mm: 0.3 * bore,
                    dead_extend_l: 0.05,
                    dead_retract_l: 0.05,
                },
                extend_pressure_bar_gauge: Some(bar),
                buffer_l: buffer_share * litres,
                ..GasSystem::example()
            },
            shots,
            ..GasShotsInput::example()
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn a_closed_bottle_never_loses_pressure_by_warming(
        gas in gases(),
        fill in 2.0..900.0_f64,
        degc in -40.0..70.0_f64,
        warmer in 0.01..5.0_f64,
    ) {
        let cool = Content::of(gas, fill, kelvin(degc));
        let warm = Content::of(gas, fill, kelvin(degc + warmer));
        prop_assert!(warm.pressure > cool.pressure);
        prop_assert!(warm.energy > cool.energy);
    }

    #[test]
    fn more_gas_never_means_less_pressure(
        gas in gases(),
        fill in 2.0..900.0_f64,
        more in 1.0001..1.05_f64,
        degc in -40.0..70.0_f64,
    ) {
        let less = Content::of(gas, fill, kelvin(degc)).pressure;
        let full = Content::of(gas, fill * more, kelvin(degc)).pressure;
        prop_assert!(full >= less * (1.0 - 1e-9), "{full} {less}");
    }

    #[test]
    fn density_and_pressure_are_each_others_inverse(
        gas in gases(),
        bar in 0.1..350.0_f64,
        degc in -40.0..70.0_f64,
    ) {
        let density = gas.density(bar * 1e5, kelvin(degc));
        let pressure = Content::of(gas, density, kelvin(degc)).pressure;
        prop_assert!((pressure / (bar * 1e5) - 1.0).abs() < 1e-8, "{pressure}");
    }

    #[test]
    fn energy_closes_when_gas_is_drawn((vessel, held) in bottles(), share in 0.001..0.2_f64) {
        let drawn = share * held.mass;
        if let Some((left, gone)) = vessel.draw(held, drawn, GasDraw::Gas) {
            let before = vessel.energy(held);
            let after = vessel.energy(left);
            prop_assert!((held.mass - drawn - left.mass).abs() < 1e-12);
            prop_assert!((before - gone - after).abs() < 0.02, "{}", before - gone - after);
            prop_assert!(left.temperature < held.temperature);
        }
    }

    /// The midpoint steps are fine enough: ten small draws end where one does.
    #[test]
    fn drawing_in_parts_changes_little((vessel, held) in bottles(), share in 0.01..0.1_f64) {
        // A bottle full of one dense phase that starts to boil within a step is followed less finely.
        let phase = vessel.content(held).phase;
        prop_assume!(matches!(phase, GasPhase::Gas | GasPhase::LiquidAndGas));
        let drawn = share * held.mass;
        let whole = vessel.draw(held, drawn, GasDraw::Gas);
        let mut parts = Some(held);
        for _ in 0..10 {
            parts = parts.and_then(|held| vessel.draw(held, drawn / 10.0, GasDraw::Gas)).map(|d| d.0);
        }
        if let (Some((whole, _)), Some(parts)) = (whole, parts) {
            prop_assert!((whole.temperature - parts.temperature).abs() < 0.02);
        }
    }

    #[test]
    fn standing_takes_in_no_more_heat_than_is_offered(
        (vessel, held) in bottles(),
        colder in 1.0..30.0_f64,
        heat_gain in 0.2..60.0_f64,
        constants in 0.01..4.0_f64,
    ) {
        let around = Surroundings {
            temperature: held.temperature + colder,
            heat_gain,
        };
        let seconds = constants * vessel.heat_capacity(held) / heat_gain;
        let after = vessel.stand(held, around, seconds);
        let taken = vessel.energy(after) - vessel.energy(held);
        prop_assert!(taken > 0.0 && taken <= heat_gain * colder * seconds * (1.0 + 1e-6));
        prop_assert!(after.temperature > held.temperature);
        prop_assert!(after.temperature < around.temperature);
        // How long it took, asked the other way round.
        let back = vessel.seconds_to(held, around, after.temperature).unwrap();
        prop_assert!((back / seconds - 1.0).abs() < 0.02, "{back} for {seconds}");
    }

    #[test]
    fn shots_conserve_mass_and_never_warm_the_bottle(input in series()) {
        let out = gas_shots(&input).unwrap();
        let start = input.gas_mass_kg - out.buffer_charge_g * 1e-3;
        prop_assert!((out.rows[0].gas_mass_kg - start).abs() < 1e-9);
        for pair in out.rows.windows(2) {
            let lost = pair[0].gas_mass_kg - pair[1].gas_mass_kg;
            prop_assert!((lost - pair[0].next_shot_g * 1e-3).abs() < 1e-9);
            prop_assert!(pair[1].temperature_degc < pair[0].temperature_degc);
            prop_assert!(pair[1].pressure_bar_gauge <= pair[0].pressure_bar_gauge);
        }
        let left = out.shots_left;
        prop_assert!(left.fewest <= left.most);
        if out.ended != GasShotsEnd::AllFollowed {
            prop_assert!(out.rows.len() <= input.shots as usize);
        }
    }

    #[test]
    fn more_shots_never_leave_a_warmer_bottle(input in series()) {
        let fewer = gas_shots(&input).unwrap();
        let more = gas_shots(&GasShotsInput { shots: input.shots + 3, ..input }).unwrap();
        let last = |out: &GasShotsOutput| out.rows[out.rows.len() - 1];
        prop_assert!(last(&more).temperature_degc <= last(&fewer).temperature_degc);
        prop_assert!(last(&more).gas_mass_kg <= last(&fewer).gas_mass_kg);
    }

    #[test]
    fn a_cascade_conserves_gas(
        pressures in prop::collection::vec(20.0..300.0_f64, 1..6),
        start in 0.0..150.0_f64,
        target in 150.0..300.0_f64,
    ) {
        let input = GasAirCascadeInput {
            banks: pressures
                .iter()
                .map(|&pressure_bar_gauge| GasAirBank { water_capacity_l: 50.0, pressure_bar_gauge })
                .collect(),
            start_pressure_bar_gauge: start,
            target_pressure_bar_gauge: target,
            ..GasAirCascadeInput::example()
        };
        let out = gas_air_cascade(&input).unwrap();
        let mass = |water_capacity_l, pressure_bar_gauge| {
            gas_air_mass(&GasAirMassInput {
                gas: input.gas,
                water_capacity_l,
                pressure_bar_gauge,
                temperature_degc: input.temperature_degc,
            })
            .unwrap()
            .mass_kg
        };
        let banks = |bars: &[f64]| bars.iter().map(|&bar| mass(50.0, bar)).sum::<f64>();
        let before = banks(&pressures) + mass(input.water_capacity_l, start);
        let after = banks(&out.bank_pressures_bar_gauge) + out.mass_kg;
        prop_assert!((before - after).abs() < 1e-6 * before);
        prop_assert!(out.final_pressure_bar_gauge >= start - 1e-9);
        prop_assert!(out.final_pressure_bar_gauge <= target + 1e-9);
    }

    /// The filling's own balance: what came in brought its enthalpy, nothing else.
    #[test]
    fn a_filling_never_passes_what_is_permitted(
        bottle in -30.0..50.0_f64,
        supply in -10.0..29.0_f64,
        before in 0.02..1.0_f64,
        permitted in 1.1..2.5_f64,
    ) {
        let out = gas_fill(&GasFillInput {
            gas_before_kg: before,
            bottle_temperature_degc: bottle,
            supply_temperature_degc: supply,
            permitted_kg: permitted,
            ..GasFillInput::example()
        })
        .unwrap();
        prop_assert!(out.gas_after_kg <= permitted);
        prop_assert!((out.gas_after_kg - before - out.taken_kg).abs() < 1e-12);
        prop_assert!(out.taken_kg >= 0.0 && out.short_kg >= 0.0);
        if let Some(start) = out.start_at_degc {
            prop_assert!(start < bottle);
        }
    }

    /// Whatever is asked, the answer is a fault or numbers.
    #[test]
    fn nothing_asked_breaks_the_forecast(
        input in series(),
        degc in prop_oneof![Just(f64::NAN), Just(f64::INFINITY), -80.0..90.0_f64],
        mass in prop_oneof![Just(0.0), Just(-1.0), 0.0..9.0_f64],
        heat_gain in prop_oneof![Just(0.0), 0.0..250.0_f64],
    ) {
        let asked = GasShotsInput {
            bottle_temperature_degc: degc,
            gas_mass_kg: mass,
            heat_gain_resting_w_per_k: heat_gain,
            ..input
        };
        match gas_shots(&asked) {
            Ok(out) => {
                let finite = |row: &GasShotRow| {
                    row.temperature_degc.is_finite() && row.pressure_bar_gauge.is_finite()
                };
                prop_assert!(out.rows.iter().all(finite));
                prop_assert!(out.recovery.heat_capacity_j_per_k > 0.0);
            }
            Err(faults) => prop_assert!(!faults.is_empty()),
        }
    }
}
