//! Measures 1,000 forecasts of charges, and 60 packs shared out on 12 channels for 30 bouts, beside
//! reading the same questions from JSON.

use linkout::calc::battery::{ChargeTimeInput, PackAllocationInput, charge_time, pack_allocation};
use serde_json::{Value, json};
use std::hint::black_box;
use std::time::{Duration, Instant};

const FORECASTS: u32 = 1_000;
const PACKS: u32 = 60;
const CHANNELS: u32 = 12;
const BOUTS: u32 = 30;

fn main() {
    let (charges, table) = (charges(), table());
    let text = serde_json::to_string(&(charges.clone(), table.clone())).expect("values as text");
    let forecasts: Vec<ChargeTimeInput> = charges.into_iter().map(read).collect();
    let input: PackAllocationInput = read(table);
    let late = pack_allocation(&input)
        .expect("a sound question")
        .late
        .len();
    let beside = best_of(20, || {
        serde_json::from_str::<Value>(black_box(&text)).is_ok()
    });
    let forecast = best_of(20, || {
        forecasts
            .iter()
            .all(|input| charge_time(black_box(input)).is_ok())
    });
    let shared_out = best_of(20, || pack_allocation(black_box(&input)).is_ok());
    println!("{:<44} {:>10} {:>8}  goal", "measured", "ms", "ratio");
    let told = |name: &str, took: Duration, goal: &str| {
        let ratio = took.as_secs_f64() / beside.as_secs_f64();
        let ms = took.as_secs_f64() * 1e3;
        println!("{name:<44} {ms:>10.2} {ratio:>8.2}  {goal}");
    };
    told("reading the questions from JSON, beside it", beside, "");
    told("1,000 forecasts of charges", forecast, "");
    told("60 packs, 12 channels, 30 bouts", shared_out, "< 50 ms");
    println!("{late} of {BOUTS} bouts late");
}

fn best_of(times: u32, work: impl Fn() -> bool) -> Duration {
    (0..times)
        .map(|_| {
            let begun = Instant::now();
            assert!(work());
            begun.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn read<T: serde::de::DeserializeOwned>(value: Value) -> T {
    serde_json::from_value(value).expect("a question in the published form")
}

fn build() -> Value {
    json!({"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5.0})
}

/// Charges from every state, on chargers of every size.
fn charges() -> Vec<Value> {
    (0..FORECASTS)
        .map(|n| {
            json!({"pack": build(), "cell_ir_mohm": 2.0 + f64::from(n % 7),
                "start_soc_fraction": 0.1 + 0.7 * f64::from(n) / f64::from(FORECASTS),
                "charger_a": 2.0 + f64::from(n % 9), "charger_w": 60.0 + 10.0 * f64::from(n % 30)})
        })
        .collect()
}

/// Two packs for each of thirty bouts of an afternoon, and one circuit for all of the table.
fn table() -> Value {
    let packs: Vec<Value> = (0..PACKS)
        .map(|n| {
            json!({"name": format!("P{n}"), "pack": build(), "cell_ir_mohm": 3.0,
                "soc_fraction": 0.25 + 0.01 * f64::from(n % 30), "released_min": f64::from(n % 20)})
        })
        .collect();
    let channels: Vec<Value> = (0..CHANNELS)
        .map(|n| {
            json!({"name": format!("C{n}"), "charger_a": 10.0, "charger_w": 300.0,
                "power_factor": 0.95, "feeds": ["bay"]})
        })
        .collect();
    let bouts: Vec<Value> = (0..BOUTS)
        .map(|n| {
            let call = 60.0 + 8.0 * f64::from(n);
            let fit: Vec<String> = (0..6)
                .map(|k| format!("P{}", (2 * n + k) % PACKS))
                .collect();
            json!({"name": format!("bout {n}"), "call_min": call, "fitting_min": 5.0,
                "ends_min": call + 7.0, "inspection_min": 10.0, "cool_down_min": 21.0,
                "packs": fit, "packs_needed": 2, "used_ah": 2.4, "peak_a": 90.0})
        })
        .collect();
    json!({"packs": packs, "channels": channels, "bouts": bouts,
        "feeds": [{"name": "bay", "volts_v": 230.0, "rating_a": 32.0}]})
}
