//! Whether a set of packs serves the next bout.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::bout_load::{PastBout, check_past, planned_ah};
use super::pack::{PackBuild, check_soc, check_strings, highest, lowest, mean};
use super::rest_voltage::{is_blind, soc_interval};
use super::serving::{Serving, ServingLimits, ServingPack, ServingVerdict};
use crate::calc::fault::{Fault, Faults};

/// Most difference of the mean cell between packs of one set.
///
/// **Units** V. **Source** own policy; hobby guidelines call a pack balanced within 0.05.
const PACKS_DIFFER_V: f64 = 0.05;

/// Minutes after a bout before a voltage is trusted. **Source** own policy.
const RESTED_MIN: f64 = 30.0;

/// One pack of a set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetPack {
    /// What people call it.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// How it is built.
    pub pack: PackBuild,
    /// State of charge from a count of ampere-hours, 0 to 1; goes before the voltages.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub soc_fraction: Option<f64>,
    /// Rest voltage of every cell, V; without them the pack is unproved.
    #[serde(default)]
    #[schema(max_items = 24)]
    pub rest_cells_v: Vec<f64>,
    /// Minutes at rest before those voltages; unknown if left out.
    #[serde(default)]
    #[schema(minimum = 0.0)]
    pub rested_min: Option<f64>,
    /// Resistance of one cell as the charger reads it, mohm.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_ir_mohm: f64,
    /// An earlier bout of this pack, which teaches its resistance under load.
    #[serde(default)]
    pub past_bout: Option<PastBout>,
    /// Whether it is in quarantine or under observation.
    #[serde(default)]
    pub suspect: bool,
}

/// A set of packs and the bout it is meant for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "strings": [[{
        "name": "A1",
        "pack": {
            "chemistry": "lipo", "series_cells": 4, "parallel_cells": 1, "cell_capacity_ah": 5.0
        },
        "soc_fraction": 0.97, "rest_cells_v": [4.16, 4.16, 4.15, 4.16], "rested_min": 45.0,
        "cell_ir_mohm": 3.0
    }]],
    "past_bouts_ah": [1.4, 1.6], "peak_a": 120.0
}))]
pub struct NextBoutInput {
    /// Packs wired in series, and such strings side by side.
    #[schema(min_items = 1, max_items = 24)]
    pub strings: Vec<Vec<SetPack>>,
    /// Ampere-hours the whole set gave in earlier bouts, oldest first.
    #[schema(min_items = 1, max_items = 500)]
    pub past_bouts_ah: Vec<f64>,
    /// Highest current of the whole set, A.
    #[schema(minimum = 0.1, maximum = 5000.0)]
    pub peak_a: f64,
    /// Limits of this event; the usual ones if left out.
    #[serde(default)]
    pub limits: ServingLimits,
}

/// What one pack says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetPackOutput {
    /// What people call it.
    pub name: String,
    /// Whether it serves.
    pub verdict: ServingVerdict,
    /// Least state of charge of its lowest cell after the bout.
    pub end_soc_low_fraction: f64,
    /// Likely state of charge of its lowest cell after the bout.
    pub end_soc_likely_fraction: f64,
    /// Lowest cell under the peak at the careful end, V.
    pub lowest_cell_v: f64,
    /// Why it does not serve, or is unproved.
    pub reasons: Vec<String>,
}

/// Whether the set serves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "verdict": "serves", "planned_ah": 2.0,
    "packs": [
        {
            "name": "A1", "verdict": "serves", "end_soc_low_fraction": 0.56395,
            "end_soc_likely_fraction": 0.56395, "lowest_cell_v": 3.4534, "reasons": []
        }
    ],
    "reasons": []
}))]
pub struct NextBoutOutput {
    /// The worst of its packs and of the set as a whole.
    pub verdict: ServingVerdict,
    /// Ampere-hours planned for the whole set.
    pub planned_ah: f64,
    /// Each pack, string by string.
    pub packs: Vec<SetPackOutput>,
    /// What is wrong with the set as a whole.
    pub reasons: Vec<String>,
}

/// Whether a set of packs serves the next bout, from the lowest cell of each pack.
///
/// A pack that serves only if its charge is better than the careful end of what is known is
/// unproved, not serving.
///
/// **Units** Ah and A of the whole set, V, mohm of one cell.
///
/// **Assumptions** strings share the current evenly; use as planned from earlier bouts (a quarter
/// more than the worst of the last three); packs of a set differ by at most 0.05 V in the mean
/// cell.
///
/// **Source** as `bout_use`; limits are own policy.
///
/// # Errors
/// No packs, no earlier bout, strings of different length or build, values out of range.
pub fn next_bout(input: &NextBoutInput) -> Result<NextBoutOutput, Vec<Fault>> {
    check(input)?;
    let planned = planned_ah(&input.past_bouts_ah);
    let strings = input.strings.len() as f64;
    let packs: Vec<SetPackOutput> = input
        .strings
        .iter()
        .flatten()
        .map(|pack| {
            pack_verdict(
                pack,
                planned / strings,
                input.peak_a / strings,
                &input.limits,
            )
        })
        .collect();
    let reasons = set_reasons(input);
    let whole = if reasons.is_empty() {
        ServingVerdict::Serves
    } else {
        ServingVerdict::DoesNotServe
    };
    let verdict = packs
        .iter()
        .map(|pack| pack.verdict)
        .fold(whole, ServingVerdict::max);
    Ok(NextBoutOutput {
        verdict,
        planned_ah: planned,
        packs,
        reasons,
    })
}

fn check(input: &NextBoutInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    let series_cells: Vec<u64> = input
        .strings
        .iter()
        .map(|string| {
            string
                .iter()
                .map(|told| u64::from(told.pack.series_cells))
                .sum()
        })
        .collect();
    check_strings(&series_cells, &mut faults);
    for (row, string) in input.strings.iter().enumerate() {
        for (column, pack) in string.iter().enumerate() {
            check_pack(pack, &format!("/strings/{row}/{column}"), &mut faults);
        }
    }
    if input.past_bouts_ah.is_empty() {
        faults.add(
            "/past_bouts_ah",
            "Give what at least one bout took, in Ah of the whole set, or an estimate of it.",
        );
    }
    check_past(&input.past_bouts_ah, "/past_bouts_ah", &mut faults);
    faults.range("/peak_a", input.peak_a, 0.1, 5000.0);
    input.limits.check("/limits", &mut faults);
    faults.check()
}

fn check_pack(told: &SetPack, at: &str, faults: &mut Faults) {
    let pack = &told.pack;
    pack.check(&format!("{at}/pack"), faults);
    if let Some(soc) = told.soc_fraction {
        check_soc(soc, &format!("{at}/soc_fraction"), faults);
    }
    if !told.rest_cells_v.is_empty() {
        pack.check_cells(&told.rest_cells_v, &format!("{at}/rest_cells_v"), faults);
    }
    if let Some(rested_min) = told.rested_min {
        faults.range(format!("{at}/rested_min"), rested_min, 0.0, 1e6);
    }
    pack.check_resistance(told.cell_ir_mohm, &format!("{at}/cell_ir_mohm"), faults);
    if let Some(past) = &told.past_bout {
        past.check(pack.chemistry, &format!("{at}/past_bout"), faults);
    }
}

/// The lowest cell of a pack: state of charge at least, and likely.
///
/// None if nobody counted and nobody measured.
fn lowest_soc(told: &SetPack) -> Option<(f64, f64)> {
    let chemistry = told.pack.chemistry;
    let cells = &told.rest_cells_v;
    let volts = lowest(cells).zip(mean(cells));
    match (told.soc_fraction, volts) {
        (Some(counted), Some((low_v, mean_v))) => {
            let ocv = chemistry.ocv();
            let behind = ocv.soc_at(mean_v) - ocv.soc_at(low_v);
            let soc = (counted - behind).max(0.0);
            Some((soc, soc))
        }
        (Some(counted), None) => Some((counted, counted)),
        (None, Some((low_v, _))) => {
            let rested = told.rested_min.is_some_and(|minutes| minutes >= RESTED_MIN);
            let told = soc_interval(chemistry, low_v, rested);
            Some((told.low_fraction, told.likely_fraction))
        }
        (None, None) => None,
    }
}

fn pack_verdict(
    told: &SetPack,
    used_ah: f64,
    peak_a: f64,
    limits: &ServingLimits,
) -> SetPackOutput {
    let chemistry = told.pack.chemistry;
    let (low, likely) = lowest_soc(told).unwrap_or((0.0, 1.0));
    let load_resistance_mohm = told.past_bout.as_ref().map_or(told.cell_ir_mohm, |past| {
        past.load_resistance_mohm(told.pack.parallel())
    });
    let serving = |soc: f64| {
        Serving::of(
            &ServingPack {
                pack: told.pack,
                soc,
                lowest_soc: soc,
                lowest_rest_v: told.soc_fraction.and(lowest(&told.rest_cells_v)),
                load_resistance_mohm,
            },
            used_ah,
            peak_a,
        )
    };
    let (careful, hopeful) = (serving(low), serving(likely));
    let mut reasons = Vec::new();
    let mut verdict = ServingVerdict::Serves;
    let mut find = |worse: ServingVerdict, reason: String| {
        verdict = verdict.max(worse);
        reasons.push(reason);
    };
    let worst = if hopeful.holds(chemistry, limits) {
        ServingVerdict::Unproved
    } else {
        ServingVerdict::DoesNotServe
    };
    for reason in careful.reasons(chemistry, limits, None) {
        find(worst, reason);
    }
    if told.rest_cells_v.is_empty() {
        find(
            ServingVerdict::Unproved,
            "Nobody has read its cells: the lowest one decides.".to_owned(),
        );
    } else if told.soc_fraction.is_none()
        && told
            .rest_cells_v
            .iter()
            .any(|&volts| is_blind(chemistry, volts))
    {
        find(
            ServingVerdict::Unproved,
            "On the flat of LFP voltage does not tell the charge: count ampere-hours.".to_owned(),
        );
    }
    for (bad, reason) in [
        (
            lowest(&told.rest_cells_v).is_some_and(|low_v| low_v < chemistry.quarantine_below_v()),
            format!(
                "A cell is below {} V: quarantine.",
                chemistry.quarantine_below_v()
            ),
        ),
        (
            highest(&told.rest_cells_v).is_some_and(|high_v| high_v > chemistry.overcharged_v()),
            format!(
                "A cell is above {} V: overcharged, quarantine.",
                chemistry.overcharged_v()
            ),
        ),
        (
            told.suspect,
            "It is in quarantine or under observation.".to_owned(),
        ),
    ] {
        if bad {
            find(ServingVerdict::DoesNotServe, reason);
        }
    }
    SetPackOutput {
        name: told.name.clone(),
        verdict,
        end_soc_low_fraction: careful.lowest_end_soc,
        end_soc_likely_fraction: hopeful.lowest_end_soc,
        lowest_cell_v: careful.lowest_cell_v,
        reasons,
    }
}

/// What speaks against these packs together.
fn set_reasons(input: &NextBoutInput) -> Vec<String> {
    let packs: Vec<&SetPack> = input.strings.iter().flatten().collect();
    let mut reasons = Vec::new();
    let first = packs.first().map(|told| told.pack);
    if packs
        .iter()
        .any(|told| Some(told.pack.chemistry) != first.map(|pack| pack.chemistry))
    {
        reasons.push("The packs are of different chemistries.".to_owned());
    }
    let unlike = input.strings.iter().any(|string| {
        string
            .iter()
            .any(|told| told.pack.capacity_ah() != string[0].pack.capacity_ah())
    });
    if unlike {
        reasons.push("Packs of different capacity stand in one string.".to_owned());
    }
    let means: Vec<f64> = packs
        .iter()
        .filter_map(|told| mean(&told.rest_cells_v))
        .collect();
    if let (Some(low_v), Some(high_v)) = (lowest(&means), highest(&means))
        && high_v - low_v > PACKS_DIFFER_V
    {
        reasons.push(format!(
            "The packs differ by {:.0} mV a cell, more than {:.0}: use a matched set.",
            1000.0 * (high_v - low_v),
            1000.0 * PACKS_DIFFER_V
        ));
    }
    reasons
}
