//! How healthy a pack is, and why.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::health_capacity::{CapacityCharge, CapacityEstimate, capacity_estimate, check_capacity};
use super::health_resistance::{IrReading, check_readings, ir_ratio};
use super::health_rules::{
    judge_capacity, judge_cell_resistances, judge_cells, judge_growth, judge_ratio, judge_signs,
};
use super::pack::{PackBuild, check_soc};
use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// What a person sees, feels or knows of a pack.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct PackSigns {
    /// It is swollen.
    pub puffed: bool,
    /// It is dented, cut or pierced.
    pub dented: bool,
    /// It is hot without having been used.
    pub hot: bool,
    /// It smells sweet or of solvent.
    pub smells: bool,
    /// It was in a heavy hit, fell, or was shorted.
    pub crashed: bool,
}

/// Cell voltages of an earlier moment of the same rest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EarlierRest {
    /// Voltage of every cell then, V.
    #[schema(max_items = 24)]
    pub rest_cells_v: Vec<f64>,
    /// Hours between the two readings, at rest all the time.
    #[schema(minimum = 0.0, maximum = 10000.0)]
    pub hours_between: f64,
}

/// Everything known about a pack.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "pack": {"chemistry": "lipo", "series_cells": 4, "parallel_cells": 1, "cell_capacity_ah": 5.0},
    "signs": {"puffed": false},
    "rest_cells_v": [4.15, 4.15, 4.13, 4.15],
    "cell_irs_mohm": [3.1, 3.0, 3.2, 3.1],
    "ir_readings": [
        {"cell_mohm": 2.4, "cell_c": 24.0, "soc_fraction": 0.6},
        {"cell_mohm": 3.1, "cell_c": 25.0, "soc_fraction": 0.6}
    ],
    "discharges_ah": [1.7, 2.1, 0.9],
    "charges": [{
        "charged_ah": 3.3, "start_soc_fraction": 0.28, "end_soc_fraction": 1.0,
        "start_sigma_fraction": 0.03, "end_sigma_fraction": 0.01,
        "ended_at_c20": true, "start_rested": true
    }]
}))]
pub struct PackHealthInput {
    /// The pack as its label names it.
    pub pack: PackBuild,
    /// What a person sees, feels or knows.
    #[serde(default)]
    pub signs: PackSigns,
    /// Rest voltage of every cell, V; without them the pack is unproved.
    #[serde(default)]
    #[schema(max_items = 24)]
    pub rest_cells_v: Vec<f64>,
    /// The same pack earlier in the same rest.
    #[serde(default)]
    pub earlier_rest: Option<EarlierRest>,
    /// Latest resistance of every cell, mohm, read one after another by one charger.
    #[serde(default)]
    #[schema(max_items = 24)]
    pub cell_irs_mohm: Vec<f64>,
    /// Resistance over the pack's life, oldest first, all by the same charger.
    #[serde(default)]
    #[schema(max_items = 5000)]
    pub ir_readings: Vec<IrReading>,
    /// Activation energy of the resistance, kJ/mol; 20 if left out.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 60.0)]
    pub activation_kj_per_mol: Option<f64>,
    /// Every discharge, Ah of the pack.
    #[serde(default)]
    #[schema(max_items = 5000)]
    pub discharges_ah: Vec<f64>,
    /// Charges that may tell the capacity, oldest first.
    #[serde(default)]
    #[schema(max_items = 5000)]
    pub charges: Vec<CapacityCharge>,
}

/// What to do with a pack; later is worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum HealthVerdict {
    /// Nothing stands against it.
    Fit,
    /// Nobody has measured what it takes to say.
    Unproved,
    /// Use it, and look again soon.
    Watch,
    /// Balance it before it is used.
    BalanceFirst,
    /// Do not use it until somebody has looked.
    Hold,
    /// No more bouts.
    Retire,
    /// Away from everything else, at once.
    Quarantine,
}

/// One reason for a verdict.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HealthReason {
    /// The verdict this reason alone would give.
    pub verdict: HealthVerdict,
    /// The rule and its numbers.
    pub detail: String,
}

/// How healthy the pack is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "verdict": "watch",
    "reasons": [
        {"verdict": "watch", "detail": "The cells differ by 20 mV at rest (10 to 30)."},
        {
            "verdict": "watch",
            "detail": "Its resistance is 1.33 times what it was (1.3, 1.5, 2)."
        }
    ],
    "equivalent_full_cycles": 0.94, "spread_mv": 20.0, "ir_ratio": 1.3272,
    "capacity": {
        "capacity_ah": 4.5833, "sigma_ah": 0.2013, "health_fraction": 0.91667, "charges_used": 1
    }
}))]
pub struct PackHealthOutput {
    /// The worst of the reasons.
    pub verdict: HealthVerdict,
    /// Why; worst first.
    pub reasons: Vec<HealthReason>,
    /// Discharged ampere-hours over the label's capacity.
    pub equivalent_full_cycles: f64,
    /// Highest less lowest cell at rest, mV.
    pub spread_mv: Option<f64>,
    /// Resistance now over resistance when the pack was new.
    pub ir_ratio: Option<f64>,
    /// Capacity from its charges.
    pub capacity: Option<CapacityEstimate>,
}

/// Verdict on a pack from signs, imbalance, resistance and capacity.
///
/// **Units** V, mohm, degC, Ah.
///
/// **Assumptions** resistances by one charger, compared within 5 degC and from 0.40 to 0.80 of the
/// charge; cycles from discharges only; LFP imbalance judged only above 3.40 or below 3.15 V.
///
/// **Source** bands of 10, 30 and 50 mV and factors of 1.3, 1.5 and 2: own policy; 80 % capacity
/// and 150 to 200 % resistance as the end: a pack vendor's page (weak).
///
/// # Errors
/// Cell count against voltages or resistances; values out of range.
pub fn pack_health(input: &PackHealthInput) -> Result<PackHealthOutput, Vec<Fault>> {
    check(input)?;
    let mut reasons = Vec::new();
    judge_signs(&input.signs, &mut reasons);
    let spread_mv = judge_cells(input, &mut reasons);
    judge_growth(input, spread_mv, &mut reasons);
    judge_cell_resistances(&input.cell_irs_mohm, &mut reasons);
    let ratio = ir_ratio(&input.ir_readings, input.activation_kj_per_mol);
    judge_ratio(ratio, &mut reasons);
    let capacity = capacity_estimate(&input.charges, input.pack.capacity_ah());
    judge_capacity(capacity.as_ref(), &mut reasons);

    reasons.sort_by_key(|reason| std::cmp::Reverse(reason.verdict));
    Ok(PackHealthOutput {
        verdict: reasons
            .first()
            .map_or(HealthVerdict::Fit, |reason| reason.verdict),
        reasons,
        equivalent_full_cycles: input.discharges_ah.iter().sum::<f64>() / input.pack.capacity_ah(),
        spread_mv,
        ir_ratio: ratio,
        capacity,
    })
}

fn check(input: &PackHealthInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    let pack = &input.pack;
    pack.check("/pack", &mut faults);
    if !input.rest_cells_v.is_empty() {
        pack.check_cells(&input.rest_cells_v, "/rest_cells_v", &mut faults);
    }
    if let Some(earlier) = &input.earlier_rest {
        pack.check_cells(
            &earlier.rest_cells_v,
            "/earlier_rest/rest_cells_v",
            &mut faults,
        );
        faults.range(
            "/earlier_rest/hours_between",
            earlier.hours_between,
            0.0,
            10_000.0,
        );
    }
    let resistances = input.cell_irs_mohm.len();
    if resistances != 0 && resistances != pack.series_cells as usize {
        faults.add(
            "/cell_irs_mohm",
            format!(
                "{resistances} resistances for a pack of {} cells in series.",
                pack.series_cells
            ),
        );
    }
    for (index, &mohm) in input.cell_irs_mohm.iter().enumerate() {
        pack.check_resistance(mohm, &format!("/cell_irs_mohm/{index}"), &mut faults);
    }
    check_readings(&input.ir_readings, pack, &mut faults);
    if let Some(activation) = input.activation_kj_per_mol {
        faults.range("/activation_kj_per_mol", activation, 0.0, 60.0);
    }
    for (list, len) in [
        ("ir_readings", input.ir_readings.len()),
        ("discharges_ah", input.discharges_ah.len()),
        ("charges", input.charges.len()),
    ] {
        names::count(&mut faults, &format!("/{list}"), len, 0, 5000, "entries");
    }
    for (index, &ah) in input.discharges_ah.iter().enumerate() {
        faults.range(
            format!("/discharges_ah/{index}"),
            ah,
            0.0,
            1.5 * pack.capacity_ah(),
        );
    }
    for (index, charge) in input.charges.iter().enumerate() {
        let at = format!("/charges/{index}");
        check_soc(
            charge.start_soc_fraction,
            &format!("{at}/start_soc_fraction"),
            &mut faults,
        );
        check_soc(
            charge.end_soc_fraction,
            &format!("{at}/end_soc_fraction"),
            &mut faults,
        );
        check_capacity(charge, pack.capacity_ah(), &at, &mut faults);
    }
    faults.check()
}
