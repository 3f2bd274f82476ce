//! How long a charge takes.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::charge_curve::CellOnCharge;
use super::charge_gate::{Gate, PackTemperature, StartAdvice, gate};
use super::charge_plan::{ChargeForecast, ChargeJob, forecast};
use super::charge_resistance::{LoggedCharge, ResistanceBasis, check_charges, learn};
use super::pack::{PackBuild, check_soc, highest, mean};
use super::rest_voltage::{SocInterval, soc_interval};
use crate::calc::fault::{Fault, Faults};

/// A pack about to be charged, and its charger.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "pack": {"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5.0},
    "cell_ir_mohm": 20.3,
    "charges": [{"start_soc_fraction": 0.2, "charger_a": 5.0, "to_c10_min": 62.552}],
    "start_soc_fraction": 0.15,
    "charger_a": 5.0, "charger_w": 180.0,
    "temperature": {"pack_c": 41.0, "ambient_c": 22.0},
    "top_spread_mv": 8.0, "balance_a": 0.3
}))]
pub struct ChargeTimeInput {
    /// The pack.
    pub pack: PackBuild,
    /// Resistance of one cell as the charger reads it, mohm.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_ir_mohm: f64,
    /// Earlier charges of this pack, oldest first; they teach its effective resistance.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub charges: Vec<LoggedCharge>,
    /// State of charge from a count of ampere-hours, 0 to 1; goes before the voltages.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub start_soc_fraction: Option<f64>,
    /// Rest voltage of every cell, V; may be left out when the state of charge is given.
    #[serde(default)]
    #[schema(max_items = 24)]
    pub rest_cells_v: Vec<f64>,
    /// Minutes at rest before those voltages; unknown if left out, and then trusted less.
    #[serde(default)]
    #[schema(minimum = 0.0)]
    pub rested_min: Option<f64>,
    /// Charger current, A.
    #[schema(minimum = 0.05, maximum = 200.0)]
    pub charger_a: f64,
    /// Charger power limit, W; none if left out.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 10000.0)]
    pub charger_w: Option<f64>,
    /// Most charge current the pack's label allows, as a multiple of its capacity.
    #[serde(default)]
    #[schema(minimum = 0.05, maximum = 10.0)]
    pub most_charge_rate_c: Option<f64>,
    /// Voltage the charger holds each cell at, V; that of the chemistry if left out.
    #[serde(default)]
    pub hold_cell_v: Option<f64>,
    /// Temperature of pack and air; not knowing it does not make it a good one.
    #[serde(default)]
    pub temperature: Option<PackTemperature>,
    /// Highest less lowest cell near the end of the last charge, mV.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 500.0)]
    pub top_spread_mv: Option<f64>,
    /// Balance current of the charger, A.
    #[serde(default)]
    #[schema(minimum = 0.01, maximum = 10.0)]
    pub balance_a: Option<f64>,
    /// Minutes after which the charger ends the hold phase by itself.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 600.0)]
    pub hold_timeout_min: Option<f64>,
}

/// What the charge will be like.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "advice": "cool_first", "wait_min": 11.385,
    "start_soc": {"low_fraction": 0.15, "likely_fraction": 0.15, "high_fraction": 0.15},
    "resistance_mohm": 41.822, "resistance_basis": "learned",
    "forecast": {
        "charge_a": 5.0, "to_hold_min": 38.778, "to_80_min": 39.002, "to_90_min": 47.135,
        "to_95_min": 54.555, "to_c10_min": 65.552, "to_c20_min": 72.565, "charged_ah": 4.2078,
        "charged_wh": 102.36, "peak_w": 126.0, "balance_min": 7.1429, "ready_plan_min": 80.87,
        "full_plan_min": 88.304, "timeout": null
    },
    "notes": ["The pack is at 41 degC: 11 min to cool to 35 degC."]
}))]
pub struct ChargeTimeOutput {
    /// What to do first.
    pub advice: StartAdvice,
    /// Minutes before the charge may start; `null` if no end can be foreseen.
    pub wait_min: Option<f64>,
    /// State of charge at the start.
    pub start_soc: SocInterval,
    /// Effective resistance of one cell used, mohm.
    pub resistance_mohm: f64,
    /// Where the resistance comes from.
    pub resistance_basis: ResistanceBasis,
    /// The charge itself; `null` for a pack that must not be charged.
    pub forecast: Option<ChargeForecast>,
    /// What a person should know about these numbers.
    pub notes: Vec<String>,
}

/// Time a charge takes, with cooling before it and balancing at its end.
///
/// **Units** minutes; A, W, V, Ah, mohm; degC.
///
/// **Assumptions** at most 2C, 4.2 V cells; an LFP charge is planned as if from 0.40 or below and
/// not at all to C/20. Planning times carry 6 % with a learned resistance, 15 % (C/10) and 20 %
/// (C/20) without, and start from the low end of the state of charge.
///
/// **Source** constant current, constant power, constant voltage with one learned resistance:
/// `I = min(I_A, I_P, I_CV)`, `t = 3600 Q integral ds / I`; within 1.8 % (mean) to C/10 of PyBaMM
/// 26.10.1.1 and 0.8 % of logged hobby charges.
///
/// # Errors
/// No start given; values out of range; cell count against voltages; ohms where milliohms are
/// meant.
///
/// ```
/// # use linkout::calc::battery::{ChargeTimeInput, charge_time};
/// let input: ChargeTimeInput = serde_json::from_str(r#"{
///     "pack": {"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5},
///     "cell_ir_mohm": 16.6667, "start_soc_fraction": 0.2, "charger_a": 5
/// }"#).unwrap();
/// let forecast = charge_time(&input).unwrap().forecast.unwrap();
/// // 20 mohm, 1C from 0.2: 42.72 min of constant current, 57.77 in all to C/20.
/// assert!((forecast.to_hold_min - 42.72).abs() < 0.01);
/// assert!((forecast.to_c20_min.unwrap() - 57.77).abs() < 0.01);
/// ```
pub fn charge_time(input: &ChargeTimeInput) -> Result<ChargeTimeOutput, Vec<Fault>> {
    check(input)?;
    let pack = &input.pack;
    let chemistry = pack.chemistry;
    let resistance = learn(
        pack,
        input.cell_ir_mohm,
        &input.charges,
        input.temperature.map(|temperature| temperature.pack_c),
    );
    let Gate {
        advice,
        wait_min,
        most_rate,
        mut notes,
    } = gate(pack, &input.rest_cells_v, input.temperature.as_ref());
    let (start_soc, highest_soc) = start(input);

    let most_rate = most_rate.min(input.most_charge_rate_c.unwrap_or(f64::INFINITY));
    let charge_a = input.charger_a.min(most_rate * pack.capacity_ah());
    let mut cell = CellOnCharge::of(pack, resistance.resistance_mohm, charge_a, input.charger_w);
    cell.hold_v = input.hold_cell_v.unwrap_or(chemistry.full_v());
    note_rate(input, charge_a / pack.capacity_ah(), &mut notes);

    let forecast = (advice != StartAdvice::Quarantine).then(|| {
        forecast(
            &ChargeJob {
                chemistry,
                cell,
                parallel_cells: pack.parallel(),
                pack_cells: pack.parallel() * pack.series(),
                start_soc,
                highest_soc,
                balance_ah: balance_ah(input),
                balance_a: input.balance_a,
                basis: resistance.basis,
                wait_min,
                hold_timeout_min: input.hold_timeout_min,
            },
            &mut notes,
        )
    });
    Ok(ChargeTimeOutput {
        advice,
        wait_min,
        start_soc,
        resistance_mohm: resistance.resistance_mohm,
        resistance_basis: resistance.basis,
        forecast,
        notes,
    })
}

/// Notes everything that is wrong with the input.
fn check(input: &ChargeTimeInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    let chemistry = input.pack.chemistry;
    input.pack.check("/pack", &mut faults);
    input
        .pack
        .check_resistance(input.cell_ir_mohm, "/cell_ir_mohm", &mut faults);
    check_charges(&input.charges, "/charges", &mut faults);
    if let Some(soc) = input.start_soc_fraction {
        check_soc(soc, "/start_soc_fraction", &mut faults);
    }
    if !input.rest_cells_v.is_empty() {
        input
            .pack
            .check_cells(&input.rest_cells_v, "/rest_cells_v", &mut faults);
    } else if input.start_soc_fraction.is_none() {
        faults.add(
            "",
            "Give start_soc_fraction, or rest_cells_v with one voltage for each cell in series.",
        );
    }
    faults.range("/charger_a", input.charger_a, 0.05, 200.0);
    let optional = [
        ("/rested_min", input.rested_min, 0.0, 1e6),
        ("/charger_w", input.charger_w, 1.0, 10_000.0),
        ("/most_charge_rate_c", input.most_charge_rate_c, 0.05, 10.0),
        (
            "/hold_cell_v",
            input.hold_cell_v,
            chemistry.lowest_hold_v(),
            chemistry.highest_hold_v(),
        ),
        ("/top_spread_mv", input.top_spread_mv, 0.0, 500.0),
        ("/balance_a", input.balance_a, 0.01, 10.0),
        ("/hold_timeout_min", input.hold_timeout_min, 1.0, 600.0),
    ];
    for (pointer, value, min, max) in optional {
        if let Some(value) = value {
            faults.range(pointer, value, min, max);
        }
    }
    if let Some(temperature) = &input.temperature {
        temperature.check("/temperature", &mut faults);
    }
    faults.check()
}

/// State of charge of the mean cell, and of the highest.
fn start(input: &ChargeTimeInput) -> (SocInterval, f64) {
    let chemistry = input.pack.chemistry;
    let cells = &input.rest_cells_v;
    let by_volts = mean(cells).zip(highest(cells)).map(|(mean_v, high_v)| {
        let rested = input.rested_min.is_some_and(|minutes| minutes >= 30.0);
        let ahead = chemistry.ocv().soc_at(high_v) - chemistry.ocv().soc_at(mean_v);
        (soc_interval(chemistry, mean_v, rested), ahead)
    });
    let ahead = by_volts.map_or(0.0, |(_, ahead)| ahead);
    let mean_soc = match (input.start_soc_fraction, by_volts) {
        (Some(counted), _) => SocInterval {
            low_fraction: counted,
            likely_fraction: counted,
            high_fraction: counted,
        },
        (None, Some((interval, _))) => interval,
        // `check` lets nothing through that has neither; empty is the careful answer.
        (None, None) => SocInterval {
            low_fraction: 0.0,
            likely_fraction: 0.0,
            high_fraction: 1.0,
        },
    };
    (mean_soc, (mean_soc.likely_fraction + ahead).min(1.0))
}

/// Charge by which the lowest cell lags the highest at the top, Ah of one parallel group.
///
/// `dQ = Q dV / m` with the slope m of the last tenth of the table.
fn balance_ah(input: &ChargeTimeInput) -> Option<f64> {
    // Lower down a few millivolts are many points of charge, and say nothing about balance.
    const NEAR_TOP_V: f64 = 4.10;
    let chemistry = input.pack.chemistry;
    if chemistry.is_flat() {
        return None;
    }
    let cells = &input.rest_cells_v;
    let seen_v = highest(cells)
        .filter(|&high_v| high_v >= NEAR_TOP_V)
        .and_then(|high_v| {
            cells
                .iter()
                .copied()
                .reduce(f64::min)
                .map(|low_v| high_v - low_v)
        });
    let spread_v = input
        .top_spread_mv
        .map(|spread| spread / 1000.0)
        .or(seen_v)?;
    Some(lag_ah(
        input.pack.capacity_ah(),
        spread_v,
        chemistry.ocv().top_slope(),
    ))
}

/// Charge that a difference of voltage near the top stands for, Ah.
fn lag_ah(capacity_ah: f64, spread_v: f64, slope_v: f64) -> f64 {
    capacity_ah * spread_v / slope_v
}

/// Says what is unusual about the charge rate.
fn note_rate(input: &ChargeTimeInput, rate: f64, notes: &mut Vec<String>) {
    if rate > 2.0 {
        notes.push(format!("{rate:.1}C: the model was not checked above 2C."));
    }
    if rate > 1.0 && input.most_charge_rate_c.is_none() {
        notes.push(format!(
            "{rate:.1}C: above 1C only if the pack's label says so."
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::super::chemistry::Chemistry;
    use super::*;

    #[test]
    fn the_worked_lag_is_found() {
        // Worked case w11: 40 mV, 5 Ah, 1.12 V for the whole state of charge.
        let slope = Chemistry::Lipo.ocv().top_slope();
        assert!((slope - 1.12).abs() < 1e-9);
        assert!((lag_ah(5.0, 0.040, slope) - 0.1786).abs() < 1e-4);
    }
}
