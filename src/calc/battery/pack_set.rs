//! What packs give together, and whether a machine's parts accept it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::pack::{PackBuild, check_strings, mean};
use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// How far a measured set voltage may be from the expected one.
///
/// **Units** fraction. **Source** own policy.
const MEASURED_WITHIN: f64 = 0.03;

/// One pack in a set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WiredPack {
    /// What people call it.
    pub name: String,
    /// How it is built.
    pub pack: PackBuild,
    /// Resistance of one cell, mohm.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_mohm: f64,
    /// Rest voltage of every cell, V, if it was read.
    #[serde(default)]
    #[schema(max_items = 24)]
    pub rest_cells_v: Vec<f64>,
}

/// A part the set feeds, with whatever its maker says about voltage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"name": "drive controller", "limit_v": 50.0}))]
pub struct RatedPart {
    /// What people call it.
    pub name: String,
    /// Voltage it must never see, V; judged against the full set.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 500.0)]
    pub limit_v: Option<f64>,
    /// Voltage it is rated at, V; judged against the nominal set.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 500.0)]
    pub rated_v: Option<f64>,
    /// Voltage below which it stops, V; judged against the set pulled down to its floor.
    #[serde(default)]
    #[schema(minimum = 0.5, maximum = 500.0)]
    pub least_v: Option<f64>,
}

/// A set of packs and the parts it feeds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "strings": [[{
        "name": "A1", "cell_mohm": 3.0, "pack": {
            "chemistry": "lipo", "series_cells": 4, "parallel_cells": 1, "cell_capacity_ah": 5.0
        }
    }, {
        "name": "A2", "cell_mohm": 3.0, "pack": {
            "chemistry": "lipo", "series_cells": 4, "parallel_cells": 1, "cell_capacity_ah": 5.0
        }
    }]],
    "nominal_cell_v": 3.6,
    "parts": [{"name": "drive controller", "limit_v": 50.0}, {"name": "valves", "rated_v": 24.0}]
}))]
pub struct PackSetInput {
    /// Packs wired in series, and such strings side by side.
    #[schema(min_items = 1, max_items = 24)]
    pub strings: Vec<Vec<WiredPack>>,
    /// Nominal voltage of one cell, V; 3.7 LiPo, 3.6 NMC, 3.2 LFP if left out.
    #[serde(default)]
    #[schema(minimum = 3.0, maximum = 3.85)]
    pub nominal_cell_v: Option<f64>,
    /// Voltage measured at the set's plug, V, if somebody measured it.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 500.0)]
    pub measured_v: Option<f64>,
    /// The parts it feeds.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub parts: Vec<RatedPart>,
}

/// Whether a part accepts the set; later is worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum SetPartVerdict {
    /// Within everything its maker says.
    Accepted,
    /// Nothing is known about it.
    Unproved,
    /// Runs above its rating: many do, at the cost of life and heat.
    AboveRating,
    /// Stops before the set is empty.
    StopsEarly,
    /// Above what it must never see.
    AboveLimit,
}

/// One part against the set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SetPartOutput {
    /// What people call it.
    pub name: String,
    /// Whether it accepts the set.
    pub verdict: SetPartVerdict,
    /// The numbers behind it.
    pub detail: String,
}

/// One pack by its resistance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WiredPackOutput {
    /// What people call it.
    pub name: String,
    /// Resistance of the whole pack, mohm, without leads and plugs.
    pub pack_mohm: f64,
}

/// What a voltage at the plug says about the wiring.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WiringCheck {
    /// Voltage to expect from the cells, or the range from empty to full, V.
    pub expected_low_v: f64,
    /// Upper end of it, V.
    pub expected_high_v: f64,
    /// Whether the measured voltage fits.
    pub fits: bool,
    /// What to look for if it does not.
    pub detail: String,
}

/// What the set gives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "series_cells": 8, "nominal_v": 28.8, "full_v": 33.6, "floor_v": 25.6, "capacity_ah": 5.0,
    "energy_wh": 144.0, "set_mohm": 24.0,
    "packs": [{"name": "A1", "pack_mohm": 12.0}, {"name": "A2", "pack_mohm": 12.0}],
    "parts": [
        {
            "name": "drive controller", "verdict": "accepted",
            "detail": "33.6 V when full leaves 16.4 V to its limit."
        },
        {
            "name": "valves", "verdict": "above_rating",
            "detail": "28.8 V nominal is 1.20 times its rating of 24 V."
        }
    ],
    "wiring": null
}))]
pub struct PackSetOutput {
    /// Cells in series in all.
    pub series_cells: u32,
    /// Nominal voltage, V.
    pub nominal_v: f64,
    /// Voltage when full, V.
    pub full_v: f64,
    /// Voltage with every cell at its floor under load, V.
    pub floor_v: f64,
    /// Capacity, Ah: the least pack of each string, strings added.
    pub capacity_ah: f64,
    /// Energy at nominal voltage, Wh.
    pub energy_wh: f64,
    /// Resistance of the set, mohm, without leads and plugs.
    pub set_mohm: f64,
    /// Each pack, string by string.
    pub packs: Vec<WiredPackOutput>,
    /// Each part.
    pub parts: Vec<SetPartOutput>,
    /// The measured voltage against the expected one, if it was measured.
    pub wiring: Option<WiringCheck>,
}

/// Voltage, capacity, energy and resistance of a set, and what its parts say to it.
///
/// **Units** V, Ah, Wh, mohm.
///
/// **Assumptions** one chemistry; every string the same number of cells; a string is as good as
/// its least pack. A motor braking hard can lift the voltage above that of a full set.
///
/// **Source** series and parallel connection; wiring check after packs once wired side by side by
/// mistake, own policy.
///
/// # Errors
/// No packs, unlike strings or chemistries, values out of range.
pub fn pack_set(input: &PackSetInput) -> Result<PackSetOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    let series_cells: Vec<u64> = input
        .strings
        .iter()
        .map(|string| cells_of(string))
        .collect();
    check(input, &series_cells, &mut faults);
    let (Some(first), Some(&cells)) = (input.strings.iter().flatten().next(), series_cells.first())
    else {
        return Err(faults.check().err().unwrap_or_default());
    };
    faults.check()?;

    let chemistry = first.pack.chemistry;
    let series = cells as f64;
    let nominal_v = series * input.nominal_cell_v.unwrap_or(chemistry.nominal_v());
    let full_v = series * chemistry.full_v();
    let floor_v = series * chemistry.floor_under_load_v();
    let capacity_ah = input
        .strings
        .iter()
        .filter_map(|string| {
            string
                .iter()
                .map(|told| told.pack.capacity_ah())
                .reduce(f64::min)
        })
        .sum();
    let conductance: f64 = input
        .strings
        .iter()
        .map(|string| string.iter().map(pack_mohm).sum::<f64>().recip())
        .sum();
    Ok(PackSetOutput {
        series_cells: cells as u32,
        nominal_v,
        full_v,
        floor_v,
        capacity_ah,
        energy_wh: nominal_v * capacity_ah,
        set_mohm: conductance.recip(),
        packs: input
            .strings
            .iter()
            .flatten()
            .map(|told| WiredPackOutput {
                name: told.name.clone(),
                pack_mohm: pack_mohm(told),
            })
            .collect(),
        parts: input
            .parts
            .iter()
            .map(|part| judge_part(part, nominal_v, full_v, floor_v))
            .collect(),
        wiring: input
            .measured_v
            .map(|measured_v| judge_wiring(input, series, measured_v)),
    })
}

fn cells_of(string: &[WiredPack]) -> u64 {
    string
        .iter()
        .map(|told| u64::from(told.pack.series_cells))
        .sum()
}

fn pack_mohm(told: &WiredPack) -> f64 {
    told.cell_mohm * told.pack.series() / told.pack.parallel()
}

fn check(input: &PackSetInput, series_cells: &[u64], faults: &mut Faults) {
    check_strings(series_cells, faults);
    let chemistry = input
        .strings
        .iter()
        .flatten()
        .next()
        .map(|told| told.pack.chemistry);
    for (row, string) in input.strings.iter().enumerate() {
        for (column, told) in string.iter().enumerate() {
            let at = format!("/strings/{row}/{column}");
            told.pack.check(&format!("{at}/pack"), faults);
            told.pack
                .check_resistance(told.cell_mohm, &format!("{at}/cell_mohm"), faults);
            if !told.rest_cells_v.is_empty() {
                told.pack
                    .check_cells(&told.rest_cells_v, &format!("{at}/rest_cells_v"), faults);
            }
            if Some(told.pack.chemistry) != chemistry {
                faults.add(
                    format!("{at}/pack/chemistry"),
                    "Packs of different chemistries do not make a set.",
                );
            }
        }
    }
    if let Some(nominal_v) = input.nominal_cell_v {
        faults.range("/nominal_cell_v", nominal_v, 3.0, 3.85);
    }
    if let Some(measured_v) = input.measured_v {
        faults.range("/measured_v", measured_v, 0.0, 500.0);
    }
    names::count(faults, "/parts", input.parts.len(), 0, 200, "parts");
    for (index, part) in input.parts.iter().enumerate() {
        for (name, value, min) in [
            ("limit_v", part.limit_v, 1.0),
            ("rated_v", part.rated_v, 1.0),
            ("least_v", part.least_v, 0.5),
        ] {
            if let Some(value) = value {
                faults.range(format!("/parts/{index}/{name}"), value, min, 500.0);
            }
        }
    }
}

fn judge_part(part: &RatedPart, nominal_v: f64, full_v: f64, floor_v: f64) -> SetPartOutput {
    let (verdict, detail) = match (part.limit_v, part.rated_v, part.least_v) {
        (Some(limit_v), _, _) if full_v > limit_v => (
            SetPartVerdict::AboveLimit,
            format!("{full_v:.1} V when full is above its limit of {limit_v} V."),
        ),
        (_, _, Some(least_v)) if floor_v < least_v => (
            SetPartVerdict::StopsEarly,
            format!("{floor_v:.1} V under load is below the {least_v} V it needs."),
        ),
        (_, Some(rated_v), _) if nominal_v > rated_v => (
            SetPartVerdict::AboveRating,
            format!(
                "{nominal_v:.1} V nominal is {:.2} times its rating of {rated_v} V.",
                nominal_v / rated_v
            ),
        ),
        (None, None, None) => (
            SetPartVerdict::Unproved,
            "Nothing is known about the voltage it accepts.".to_owned(),
        ),
        (Some(limit_v), _, _) => (
            SetPartVerdict::Accepted,
            format!(
                "{full_v:.1} V when full leaves {:.1} V to its limit.",
                limit_v - full_v
            ),
        ),
        (None, _, _) => (
            SetPartVerdict::Accepted,
            format!("{nominal_v:.1} V nominal is within what it accepts."),
        ),
    };
    SetPartOutput {
        name: part.name.clone(),
        verdict,
        detail,
    }
}

/// What a voltage at the plug says: fewer cells in series than meant is packs side by side.
fn judge_wiring(input: &PackSetInput, series: f64, measured_v: f64) -> WiringCheck {
    let strings: Vec<f64> = input
        .strings
        .iter()
        .filter_map(|string| read_v(string))
        .collect();
    let chemistry_v = |told: &WiredPack| {
        let chemistry = told.pack.chemistry;
        (chemistry.quarantine_below_v(), chemistry.full_v())
    };
    let (low_v, high_v) = match mean(&strings) {
        Some(read_v) if strings.len() == input.strings.len() => (
            read_v * (1.0 - MEASURED_WITHIN),
            read_v * (1.0 + MEASURED_WITHIN),
        ),
        Some(_) | None => input
            .strings
            .iter()
            .flatten()
            .next()
            .map(chemistry_v)
            .map_or((0.0, 0.0), |(least, most)| (series * least, series * most)),
    };
    let fits = (low_v..=high_v).contains(&measured_v);
    let cell_v = f64::midpoint(low_v, high_v) / series;
    let detail = if fits {
        "The voltage fits the wiring.".to_owned()
    } else {
        format!(
            "{measured_v} V reads like {:.0} cells in series instead of {series}. Is a pack wired \
             side by side that should be in series, or the other way round? Do not arm.",
            measured_v / cell_v
        )
    };
    WiringCheck {
        expected_low_v: low_v,
        expected_high_v: high_v,
        fits,
        detail,
    }
}

/// Voltage of a string by its cells, if every pack of it was read.
fn read_v(string: &[WiredPack]) -> Option<f64> {
    string
        .iter()
        .all(|told| !told.rest_cells_v.is_empty())
        .then(|| {
            string
                .iter()
                .map(|told| told.rest_cells_v.iter().sum::<f64>())
                .sum()
        })
}
