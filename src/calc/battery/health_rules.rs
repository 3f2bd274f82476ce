//! The rules of a health verdict, one function each.

use super::health_capacity::CapacityEstimate;
use super::pack::{highest, lowest, median};
use super::pack_health::{HealthReason, HealthVerdict, PackHealthInput, PackSigns};

fn note(reasons: &mut Vec<HealthReason>, verdict: HealthVerdict, detail: impl Into<String>) {
    reasons.push(HealthReason {
        verdict,
        detail: detail.into(),
    });
}

/// What a person sees, feels or knows.
pub(super) fn judge_signs(signs: &PackSigns, reasons: &mut Vec<HealthReason>) {
    for (seen, detail) in [
        (signs.puffed, "It is puffed."),
        (signs.dented, "It is dented, cut or pierced."),
        (signs.hot, "It is hot without having been used."),
        (signs.smells, "It smells."),
        (
            signs.crashed,
            "It was in a heavy hit, fell, or was shorted.",
        ),
    ] {
        if seen {
            note(reasons, HealthVerdict::Quarantine, detail);
        }
    }
}

/// Spread of the cells at rest, mV, and what it means.
pub(super) fn judge_cells(input: &PackHealthInput, reasons: &mut Vec<HealthReason>) -> Option<f64> {
    let chemistry = input.pack.chemistry;
    let cells = &input.rest_cells_v;
    let Some((low_v, high_v)) = lowest(cells).zip(highest(cells)) else {
        note(
            reasons,
            HealthVerdict::Unproved,
            "Nobody has read its cells at rest.",
        );
        return None;
    };
    if low_v < chemistry.quarantine_below_v() {
        note(
            reasons,
            HealthVerdict::Quarantine,
            format!(
                "A cell is at {low_v} V, below {} V.",
                chemistry.quarantine_below_v()
            ),
        );
    }
    if high_v > chemistry.overcharged_v() {
        note(
            reasons,
            HealthVerdict::Quarantine,
            format!(
                "A cell is at {high_v} V, above {} V: overcharged.",
                chemistry.overcharged_v()
            ),
        );
    }
    // A reading has whole millivolts; what lies beyond is left over from subtraction.
    let spread_mv = (1e6 * (high_v - low_v)).round() / 1e3;
    // On the flat of LFP unlike cells look alike, and a good pack at its knee looks unlike.
    if chemistry.is_flat() && high_v <= 3.40 && low_v >= 3.15 {
        note(
            reasons,
            HealthVerdict::Unproved,
            "The balance of LFP shows only above 3.40 or below 3.15 V.",
        );
        return Some(spread_mv);
    }
    let judged = if spread_mv > 50.0 {
        Some((HealthVerdict::Hold, "more than 50"))
    } else if spread_mv > 30.0 {
        Some((HealthVerdict::BalanceFirst, "30 to 50"))
    } else if spread_mv > 10.0 {
        Some((HealthVerdict::Watch, "10 to 30"))
    } else {
        None
    };
    if let Some((verdict, band)) = judged {
        note(
            reasons,
            verdict,
            format!("The cells differ by {spread_mv:.0} mV at rest ({band})."),
        );
    }
    Some(spread_mv)
}

/// A spread that grows at rest is a cell that discharges itself.
pub(super) fn judge_growth(
    input: &PackHealthInput,
    now_mv: Option<f64>,
    reasons: &mut Vec<HealthReason>,
) {
    const GROWTH_MV: f64 = 20.0;
    let Some((earlier, now_mv)) = input.earlier_rest.as_ref().zip(now_mv) else {
        return;
    };
    let cells = &earlier.rest_cells_v;
    let then_mv = match lowest(cells).zip(highest(cells)) {
        Some((low_v, high_v)) => 1000.0 * (high_v - low_v),
        None => return,
    };
    let growth_mv = now_mv - then_mv;
    if growth_mv <= GROWTH_MV {
        return;
    }
    if earlier.hours_between >= 1.0 {
        note(
            reasons,
            HealthVerdict::Quarantine,
            format!(
                "At rest the cells drifted {growth_mv:.0} mV apart in {} h: one discharges itself.",
                earlier.hours_between
            ),
        );
    } else {
        note(
            reasons,
            HealthVerdict::Hold,
            format!(
                "The cells drifted {growth_mv:.0} mV apart in less than an hour: read them again \
                 after a whole hour at rest."
            ),
        );
    }
}

/// One cell that stands out of the pack.
pub(super) fn judge_cell_resistances(cells_mohm: &[f64], reasons: &mut Vec<HealthReason>) {
    let (Some(middle), Some(worst)) = (median(cells_mohm), highest(cells_mohm)) else {
        return;
    };
    if worst >= 1.5 * middle {
        note(
            reasons,
            HealthVerdict::Quarantine,
            format!(
                "One cell has {worst} mohm, {:.1} times the pack's median of {middle} mohm.",
                worst / middle
            ),
        );
    }
}

/// Resistance against what it was.
pub(super) fn judge_ratio(ratio: Option<f64>, reasons: &mut Vec<HealthReason>) {
    let Some(ratio) = ratio else {
        return;
    };
    let verdict = if ratio >= 2.0 {
        HealthVerdict::Quarantine
    } else if ratio >= 1.5 {
        HealthVerdict::Retire
    } else if ratio >= 1.3 {
        HealthVerdict::Watch
    } else {
        return;
    };
    note(
        reasons,
        verdict,
        format!("Its resistance is {ratio:.2} times what it was (1.3, 1.5, 2)."),
    );
}

/// Capacity against the label.
pub(super) fn judge_capacity(capacity: Option<&CapacityEstimate>, reasons: &mut Vec<HealthReason>) {
    let Some(capacity) = capacity else {
        return;
    };
    let health = capacity.health_fraction;
    let verdict = if health <= 0.80 {
        HealthVerdict::Retire
    } else if health <= 0.85 {
        HealthVerdict::Watch
    } else {
        return;
    };
    note(
        reasons,
        verdict,
        format!(
            "It holds {:.0} % of its label (85, 80), give or take {:.0}.",
            100.0 * health,
            100.0 * health * capacity.sigma_ah / capacity.capacity_ah
        ),
    );
}
