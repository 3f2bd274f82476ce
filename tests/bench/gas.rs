//! Measures gas against its goals: a state, a shot, and the forecast of a bottle, beside the powers
//! and exponentials that one evaluation of the equation of CO2 cannot do without.
//!
//! A state is found from pressure and temperature, so that it takes several evaluations.

use chrono::NaiveDate;
use linkout::calc::gas::{
    Gas, GasBottleInput, GasShotsInput, GasStateInput, gas_bottle, gas_shots, gas_state,
};
use std::hint::black_box;
use std::time::{Duration, Instant};

/// Terms of the equation of CO2 (Span and Wagner 1996): each a power and most an exponential.
const TERMS: u32 = 42;
const SHOTS: u32 = 60;
const BOUT: u32 = 12;

fn main() {
    let powers = each(20_000, || {
        let sum: f64 = (1..=TERMS)
            .map(|n| {
                let x = black_box(1.0 + f64::from(n) * 1e-3);
                x.powf(black_box(2.75)) * (-x).exp()
            })
            .sum();
        black_box(sum) > 0.0
    });
    println!(
        "{:<52} {:>12} {:>9}  goal",
        "measured", "microseconds", "ratio"
    );
    let told = |name: &str, took: Duration, goal: &str| {
        let ratio = took.as_secs_f64() / powers.as_secs_f64();
        println!(
            "{name:<52} {:>12.2} {ratio:>9.1}  {goal}",
            took.as_secs_f64() * 1e6
        );
    };
    told("42 powers and exponentials, beside it", powers, "");
    for (name, gas, bar, degc) in [
        ("state of CO2 vapour", Gas::Co2, 11.0, 20.0),
        ("state of liquid CO2", Gas::Co2, 80.0, 20.0),
        ("state of nitrogen", Gas::Nitrogen, 200.0, 20.0),
        ("state of air", Gas::Air, 300.0, 20.0),
    ] {
        let input = GasStateInput {
            gas,
            pressure_bar_absolute: bar,
            temperature_degc: degc,
        };
        let took = each(2_000, || black_box(gas_state(black_box(&input))).is_ok());
        told(name, took, "< 3 microseconds an evaluation");
    }
    let many = follow(SHOTS);
    let few = follow(1);
    told(
        "a shot of a CO2 bottle",
        many.saturating_sub(few) / (SHOTS - 1),
        "< 1 ms",
    );
    let bottle = GasBottleInput {
        today: NaiveDate::from_ymd_opt(2027, 3, 14).expect("a day"),
        temperatures_degc: (-2..=14).map(|step| f64::from(step) * 5.0).collect(),
        ..GasBottleInput::example()
    };
    let forecast = each(20, || {
        let limits = gas_bottle(black_box(&bottle)).is_ok();
        let shots = [1.0, 1.3].iter().all(|factor| bout(BOUT, *factor));
        black_box(limits && shots)
    });
    told(
        "a bottle: limits, curve, two bouts, shots left",
        forecast,
        "< 10 ms",
    );
}

fn bout(shots: u32, factor: f64) -> bool {
    let mut input = GasShotsInput::example();
    input.shots = shots;
    input.need_pressure_bar_gauge = 5.0;
    input.gas_mass_kg = 2.8;
    input.bottle.water_capacity_l = 4.0;
    input.system.factor = factor;
    black_box(gas_shots(black_box(&input))).is_ok()
}

fn follow(shots: u32) -> Duration {
    each(10, || bout(shots, 0.4))
}

/// The time of one, the best of seven runs of `times`.
fn each(times: u32, work: impl Fn() -> bool) -> Duration {
    (0..7)
        .map(|_| {
            let begun = Instant::now();
            for _ in 0..times {
                assert!(work());
            }
            begun.elapsed() / times
        })
        .min()
        .unwrap_or_default()
}
