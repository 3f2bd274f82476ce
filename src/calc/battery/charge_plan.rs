//! The phases of one charge, and the times to plan with.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::charge_curve::CellOnCharge;
use super::charge_resistance::ResistanceBasis;
use super::chemistry::Chemistry;
use super::rest_voltage::SocInterval;

/// Highest start from which an LFP charge can be foretold, 0 to 1.
///
/// **Source** measured 1.1 Ah LFP cell: from 0.82 the model is 11 to 17 % short.
const LFP_FORETOLD_FROM: f64 = 0.40;

/// A hold phase that the charger ends by its clock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldTimeout {
    /// When, minutes after the start of the charge.
    pub at_min: f64,
    /// State of charge then, 0 to 1.
    pub soc_fraction: f64,
}

/// The charge from its start.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargeForecast {
    /// Current at the start, A, of the whole pack; watts may lower it later.
    pub charge_a: f64,
    /// Until the hold voltage is reached, min.
    pub to_hold_min: f64,
    /// Until 80 % of the capacity, min; `null` if the charge begins above or ends below.
    pub to_80_min: Option<f64>,
    /// Until 90 %, min.
    pub to_90_min: Option<f64>,
    /// Until 95 %, min.
    pub to_95_min: Option<f64>,
    /// Until the current has tapered to a tenth of the capacity, min: ready for a bout.
    pub to_c10_min: f64,
    /// Until a twentieth, min: full; `null` for LFP, where it cannot be foretold.
    pub to_c20_min: Option<f64>,
    /// Charge put in until the last of these, Ah.
    pub charged_ah: f64,
    /// Energy put in until then, Wh at the pack.
    pub charged_wh: f64,
    /// Highest power at the pack, W.
    pub peak_w: f64,
    /// Balancing after the highest cell reaches the hold voltage, min; `null` if unknown.
    pub balance_min: Option<f64>,
    /// Ready for a bout, minutes from now, to plan with; `null` if the wait has no end in sight.
    pub ready_plan_min: Option<f64>,
    /// Full, minutes from now, to plan with.
    pub full_plan_min: Option<f64>,
    /// Where the charger's clock ends the hold phase before C/20.
    pub timeout: Option<HoldTimeout>,
}

/// Everything one charge depends on.
#[derive(Debug, Clone, Copy)]
pub(super) struct ChargeJob {
    pub(super) chemistry: Chemistry,
    pub(super) cell: CellOnCharge,
    pub(super) parallel_cells: f64,
    pub(super) pack_cells: f64,
    pub(super) start_soc: SocInterval,
    pub(super) highest_soc: f64,
    pub(super) balance_ah: Option<f64>,
    pub(super) balance_a: Option<f64>,
    pub(super) basis: ResistanceBasis,
    pub(super) wait_min: Option<f64>,
    pub(super) hold_timeout_min: Option<f64>,
}

/// Planning margin on a time, as a factor: to C/10 and to C/20.
///
/// **Source** own choice over the errors measured against PyBaMM and hobby-charger logs.
pub(super) fn margins(chemistry: Chemistry, basis: ResistanceBasis) -> (f64, f64) {
    let (ready, full) = match basis {
        ResistanceBasis::Learned => (1.06, 1.06),
        ResistanceBasis::Assumed => (1.15, 1.20),
    };
    if chemistry.is_flat() {
        (ready * 1.10, full)
    } else {
        (ready, full)
    }
}

/// State of charge to count a charge from: that of LFP is not trusted above 0.40.
pub(super) fn counted_from(chemistry: Chemistry, soc: f64) -> f64 {
    if chemistry.is_flat() {
        soc.min(LFP_FORETOLD_FROM)
    } else {
        soc
    }
}

/// The phases of a charge and its planning times.
pub(super) fn forecast(job: &ChargeJob, notes: &mut Vec<String>) -> ChargeForecast {
    let cell = &job.cell;
    let flat = job.chemistry.is_flat();
    if flat && job.start_soc.likely_fraction > LFP_FORETOLD_FROM {
        notes.push(format!(
            "An LFP charge from above {LFP_FORETOLD_FROM} cannot be foretold: counted from there, \
             so this is the longest it should take."
        ));
    }
    let from = counted_from(job.chemistry, job.start_soc.likely_fraction);
    let low = counted_from(job.chemistry, job.start_soc.low_fraction);
    let highest = counted_from(job.chemistry, job.highest_soc);
    let end = if flat { 0.1 } else { 0.05 };
    let end_soc = cell.soc_at_taper(end * cell.capacity_ah);
    let whole = cell.leg(from, end_soc);
    let to_min =
        |soc: f64| (from < soc && soc <= end_soc).then(|| cell.leg(from, soc).seconds / 60.0);
    let minutes_to = |share: f64, start: f64| cell.seconds_to_taper(start, share) / 60.0;

    let balance_min = job
        .balance_ah
        .zip(job.balance_a)
        .map(|(lag_ah, amps)| 60.0 * lag_ah / amps);
    if job.balance_ah.is_some_and(|lag_ah| lag_ah > 0.0) && job.balance_a.is_none() {
        notes.push("No balance current given: balancing is not in these times.".to_owned());
    }
    // The highest cell begins the balancing, the mean cell ends the charge.
    let balanced = balance_min.map_or(0.0, |tail| {
        cell.leg(highest, cell.soc_at_hold()).seconds / 60.0 + tail
    });
    let (ready_margin, full_margin) = margins(job.chemistry, job.basis);
    let plan = |share: f64, margin: f64| {
        job.wait_min
            .map(|wait| wait + margin * minutes_to(share, low).max(balanced))
    };
    ChargeForecast {
        charge_a: cell.limit_a * job.parallel_cells,
        to_hold_min: cell.leg(from, cell.soc_at_hold()).seconds / 60.0,
        to_80_min: to_min(0.80),
        to_90_min: to_min(0.90),
        to_95_min: to_min(0.95),
        to_c10_min: minutes_to(0.1, from),
        to_c20_min: (!flat).then(|| minutes_to(0.05, from)),
        charged_ah: whole.charged_ah * job.parallel_cells,
        charged_wh: whole.terminal_wh * job.pack_cells,
        peak_w: cell.peak_w(from, end_soc) * job.pack_cells,
        balance_min,
        ready_plan_min: plan(0.1, ready_margin),
        full_plan_min: if flat { None } else { plan(0.05, full_margin) },
        timeout: job
            .hold_timeout_min
            .and_then(|minutes| timeout(cell, from, end_soc, minutes)),
    }
}

/// Where a clock of `minutes` ends the hold phase, if it is before the taper does.
fn timeout(cell: &CellOnCharge, from: f64, end_soc: f64, minutes: f64) -> Option<HoldTimeout> {
    let hold_soc = cell.soc_at_hold().max(from);
    let held_min = |soc: f64| cell.leg(hold_soc, soc).seconds / 60.0;
    if held_min(end_soc) <= minutes {
        return None;
    }
    let (mut low, mut high) = (hold_soc, end_soc);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if held_min(middle) < minutes {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(HoldTimeout {
        at_min: cell.leg(from, hold_soc).seconds / 60.0 + minutes,
        soc_fraction: high,
    })
}
