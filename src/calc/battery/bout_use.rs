//! What a bout takes out of a pack, and how low its lowest cell is pulled.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::bout_load::{BoutLoad, CurrentPoint, LoadPattern, PastBout, check_load, load};
use super::pack::{PackBuild, check_cell, check_soc};
use super::serving::{Serving, ServingLimits, ServingPack, ServingVerdict};
use crate::calc::fault::{Fault, Faults};

/// A pack and a bout.
///
/// The load is given in exactly one way: `pattern`, `current_log` or `past_bouts_ah`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "pack": {"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5.0},
    "start_soc_fraction": 0.95,
    "past_bouts_ah": [0.9, 1.2, 1.1], "peak_a": 60.0,
    "cell_ir_mohm": 5.0, "pack_kg": 0.8, "pack_c": 24.0
}))]
pub struct BoutUseInput {
    /// The pack.
    pub pack: PackBuild,
    /// State of charge of the mean cell at the start, 0 to 1.
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub start_soc_fraction: f64,
    /// State of charge of the lowest cell, if it is known apart, 0 to 1.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub lowest_cell_soc_fraction: Option<f64>,
    /// Rest voltage of the lowest cell at the start, V, if it was read.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 4.4)]
    pub lowest_rest_cell_v: Option<f64>,
    /// A repeated pattern of current.
    #[serde(default)]
    pub pattern: Option<LoadPattern>,
    /// Logged discharge current, earliest first.
    #[serde(default)]
    #[schema(min_items = 2, max_items = 20000)]
    pub current_log: Vec<CurrentPoint>,
    /// Ampere-hours this pack gave in earlier bouts, oldest first.
    #[serde(default)]
    #[schema(max_items = 500)]
    pub past_bouts_ah: Vec<f64>,
    /// Highest current of the pack, A; needed with `past_bouts_ah`, otherwise taken from the load.
    #[serde(default)]
    #[schema(minimum = 0.1, maximum = 3000.0)]
    pub peak_a: Option<f64>,
    /// Resistance of one cell as the charger reads it, mohm: careful unless a bout taught better.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_ir_mohm: f64,
    /// An earlier bout of this pack, from which its resistance under load is learned.
    #[serde(default)]
    pub past_bout: Option<PastBout>,
    /// Mass of the pack, kg; needed for its warming.
    #[serde(default)]
    #[schema(minimum = 0.01, maximum = 60.0)]
    pub pack_kg: Option<f64>,
    /// Temperature at the start, degC.
    #[serde(default)]
    #[schema(minimum = -30.0, maximum = 90.0)]
    pub pack_c: Option<f64>,
    /// Limits of this event; the usual ones if left out.
    #[serde(default)]
    pub limits: ServingLimits,
}

/// What the bout does to the pack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "used_ah": 1.5, "end_soc_fraction": 0.65, "lowest_cell_v": 3.568,
    "load_resistance_mohm": 5.0, "warming_c": null, "end_c": null, "verdict": "serves",
    "reasons": []
}))]
pub struct BoutUseOutput {
    /// Charge the bout takes, Ah of the pack.
    pub used_ah: f64,
    /// State of charge of the mean cell after it; below 0 the pack is empty before the end.
    pub end_soc_fraction: f64,
    /// Lowest voltage of the lowest cell under the peak, V.
    pub lowest_cell_v: f64,
    /// Resistance under load used, mohm of one cell.
    pub load_resistance_mohm: f64,
    /// Warming at most, degC; `null` without mass or a current over time.
    pub warming_c: Option<f64>,
    /// Temperature after the bout at most, degC.
    pub end_c: Option<f64>,
    /// Whether the pack serves this bout.
    pub verdict: ServingVerdict,
    /// Why it does not.
    pub reasons: Vec<String>,
}

/// Ampere-hours, state of charge after the bout, lowest cell under load and warming.
///
/// `s_end = s_0 - Ah / (Q N_p)`; `U_min = U(s_end) - I_peak / N_p R`, where a rest voltage that was
/// read takes the place of `U(s_0)` if it is lower; `dT <= sum(I^2 R dt) / (m c_p)`.
///
/// **Units** Ah, V, A, mohm, kg, degC.
///
/// **Assumptions** the peak may come last; resistance is a quarter higher below 0.30; from past
/// bouts: a quarter more than the worst of the last three, from five bouts on the mean and two
/// standard deviations if that is less, never below the worst of the last three; no heat leaves
/// the pack during the bout, 1000 J/(kg K).
///
/// **Source** Coulomb count and Ohm's law; checked against PyBaMM 26.10.1.1: within 0.05 V.
///
/// # Errors
/// No load or more than one; values out of range.
///
/// ```
/// # use linkout::calc::battery::{BoutUseInput, bout_use};
/// let input: BoutUseInput = serde_json::from_str(r#"{
///     "pack": {"chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5},
///     "start_soc_fraction": 0.95, "past_bouts_ah": [1.2], "peak_a": 60, "cell_ir_mohm": 5
/// }"#).unwrap();
/// let output = bout_use(&input).unwrap();
/// assert!((output.end_soc_fraction - 0.65).abs() < 1e-9);
/// assert!((output.lowest_cell_v - 3.568).abs() < 1e-9);
/// ```
pub fn bout_use(input: &BoutUseInput) -> Result<BoutUseOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    let pack = &input.pack;
    pack.check("/pack", &mut faults);
    check_soc(input.start_soc_fraction, "/start_soc_fraction", &mut faults);
    if let Some(soc) = input.lowest_cell_soc_fraction {
        check_soc(soc, "/lowest_cell_soc_fraction", &mut faults);
    }
    if let Some(volts) = input.lowest_rest_cell_v {
        check_cell(pack.chemistry, volts, "/lowest_rest_cell_v", &mut faults);
    }
    pack.check_resistance(input.cell_ir_mohm, "/cell_ir_mohm", &mut faults);
    if let Some(past) = &input.past_bout {
        past.check(pack.chemistry, "/past_bout", &mut faults);
    }
    for (pointer, value, min, max) in [
        ("/peak_a", input.peak_a, 0.1, 3000.0),
        ("/pack_kg", input.pack_kg, 0.01, 60.0),
        ("/pack_c", input.pack_c, -30.0, 90.0),
    ] {
        if let Some(value) = value {
            faults.range(pointer, value, min, max);
        }
    }
    input.limits.check("/limits", &mut faults);
    check_load(
        input.pattern.as_ref(),
        &input.current_log,
        &input.past_bouts_ah,
        input.peak_a,
        &mut faults,
    );
    faults.check()?;

    let BoutLoad {
        used_ah,
        peak_a,
        square_a2s,
    } = load(
        input.pattern.as_ref(),
        &input.current_log,
        &input.past_bouts_ah,
        input.peak_a,
    );
    let resistance_mohm = input.past_bout.as_ref().map_or(input.cell_ir_mohm, |past| {
        past.load_resistance_mohm(pack.parallel())
    });
    let serving = Serving::of(
        &ServingPack {
            pack: *pack,
            soc: input.start_soc_fraction,
            lowest_soc: input
                .lowest_cell_soc_fraction
                .unwrap_or(input.start_soc_fraction),
            lowest_rest_v: input.lowest_rest_cell_v,
            load_resistance_mohm: resistance_mohm,
        },
        used_ah,
        peak_a,
    );
    let warming_c = square_a2s.zip(input.pack_kg).map(|(square, mass_kg)| {
        warming_c(
            square,
            serving.resistance_mohm * pack.series() / pack.parallel(),
            mass_kg,
        )
    });
    let end_c = warming_c.zip(input.pack_c).map(|(by, from)| from + by);
    let reasons = serving.reasons(pack.chemistry, &input.limits, end_c);
    Ok(BoutUseOutput {
        used_ah,
        end_soc_fraction: serving.end_soc,
        lowest_cell_v: serving.lowest_cell_v,
        load_resistance_mohm: serving.resistance_mohm,
        warming_c,
        end_c,
        verdict: if reasons.is_empty() {
            ServingVerdict::Serves
        } else {
            ServingVerdict::DoesNotServe
        },
        reasons,
    })
}

/// Warming of a pack that loses no heat.
///
/// **Units** A^2 s, mohm of the pack, kg to degC. **Assumptions** 1000 J/(kg K).
fn warming_c(square_a2s: f64, pack_mohm: f64, mass_kg: f64) -> f64 {
    const HEAT_CAPACITY_J_PER_KG_K: f64 = 1000.0;
    square_a2s * pack_mohm / 1000.0 / (mass_kg * HEAT_CAPACITY_J_PER_KG_K)
}
