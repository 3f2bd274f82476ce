//! What chargers and everything else draw from circuits, leads and generators over time.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::mains_profile::Profile;
use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// Share of a rating to plan with.
///
/// **Source** US rule for continuous loads (NEC 210.20(A), 125 %); kept as a policy elsewhere.
pub(super) const PLANNED_SHARE: f64 = 0.80;

/// Efficiency of a charger that does not say. **Source** own estimate.
pub(super) const ASSUMED_EFFICIENCY: f64 = 0.85;

/// Power factor of a charger without and with correction. **Source** own estimate.
pub(super) const ASSUMED_POWER_FACTOR: f64 = 0.60;
const CORRECTED_POWER_FACTOR: f64 = 0.95;

/// Minutes after which a load counts as continuous. **Source** NEC: three hours or more.
const CONTINUOUS_MIN: f64 = 180.0;

/// What a place in the supply is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum SupplyKind {
    /// A generator, rated by its volt-amperes.
    Generator,
    /// A circuit behind one breaker.
    Circuit,
    /// An extension lead or a strip behind one fuse.
    Lead,
}

/// A generator, circuit or lead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "name": "bay A", "kind": "circuit", "volts_v": 230.0, "rating_a": 16.0
}))]
pub struct SupplyPlace {
    /// What people call it; no two alike.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// What it is.
    pub kind: SupplyKind,
    /// Mains voltage, V.
    #[schema(minimum = 90.0, maximum = 260.0)]
    pub volts_v: f64,
    /// Breaker or fuse, A; for a circuit or a lead.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 400.0)]
    pub rating_a: Option<f64>,
    /// Rating, kVA; for a generator.
    #[serde(default)]
    #[schema(minimum = 0.1, maximum = 500.0)]
    pub rating_kva: Option<f64>,
    /// Share of the rating to plan with; 0.80 if left out.
    #[serde(default)]
    #[schema(minimum = 0.1, maximum = 1.0)]
    pub planned_share: Option<f64>,
    /// Name of the place that feeds it, if that is in this list.
    #[serde(default)]
    #[schema(min_length = 1, max_length = 80)]
    pub fed_by: Option<String>,
}

/// Something that draws.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "name": "charger 3", "at": "lead 1", "output_w": 300.0, "from_min": 0.0, "to_min": 65.0
}))]
pub struct MainsLoad {
    /// What people call it.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// Name of the place it is plugged into.
    #[schema(min_length = 1, max_length = 80)]
    pub at: String,
    /// Power at its output, W; for a charger the lesser of its watts and amperes times full volts.
    #[schema(minimum = 0.0, maximum = 50000.0)]
    pub output_w: f64,
    /// Output over input power; 0.85 if left out, 1 for what has no output.
    #[serde(default)]
    #[schema(minimum = 0.3, maximum = 1.0)]
    pub efficiency: Option<f64>,
    /// Power factor; 0.60 if left out, 0.95 with correction.
    #[serde(default)]
    #[schema(minimum = 0.3, maximum = 1.0)]
    pub power_factor: Option<f64>,
    /// Whether its label says that its power factor is corrected (PFC).
    #[serde(default)]
    pub power_factor_corrected: bool,
    /// From when, min.
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub from_min: f64,
    /// Until when, min.
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub to_min: f64,
}

/// A supply and everything on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "places": [
        {"name": "bay A", "kind": "circuit", "volts_v": 230.0, "rating_a": 16.0},
        {"name": "lead 1", "kind": "lead", "volts_v": 230.0, "rating_a": 13.0, "fed_by": "bay A"}
    ],
    "loads": [
        {"name": "charger 1", "at": "lead 1", "output_w": 300.0, "from_min": 0.0, "to_min": 65.0},
        {"name": "kettle", "at": "bay A", "output_w": 2000.0, "efficiency": 1.0,
            "power_factor": 1.0, "from_min": 30.0, "to_min": 34.0}
    ]
}))]
pub struct MainsLoadInput {
    /// Generators, circuits and leads, 1 to 100.
    #[schema(min_items = 1, max_items = 100)]
    pub places: Vec<SupplyPlace>,
    /// Chargers and everything else, at most 1000.
    #[schema(max_items = 1000)]
    pub loads: Vec<MainsLoad>,
}

/// Whether a place carries its load; later is worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MainsVerdict {
    /// Within the planned share all the time.
    Within,
    /// Above the planned share for less than three hours on end, never above the rating.
    AbovePlanned,
    /// Above the rating, or above the planned share for three hours or more.
    Over,
}

/// The load from a moment to the next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MainsStep {
    /// From when, min.
    pub from_min: f64,
    /// Current, A.
    pub load_a: f64,
}

/// One place over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MainsPlaceOutput {
    /// What people call it.
    pub name: String,
    /// What it is.
    pub kind: SupplyKind,
    /// Whether it carries its load.
    pub verdict: MainsVerdict,
    /// Its rating, A.
    pub rating_a: f64,
    /// Current to plan with, A.
    pub planned_a: f64,
    /// Power to plan with at power factor 1, W.
    pub planned_w: f64,
    /// Highest current, A.
    pub peak_a: f64,
    /// When that begins, min; `null` if nothing draws.
    pub peak_from_min: Option<f64>,
    /// Rating this load asks for, kVA: the highest over the planned share.
    pub needed_kva: f64,
    /// Longest time above the planned share, min.
    pub longest_above_min: f64,
    /// Current over time, each step until the next.
    pub steps: Vec<MainsStep>,
}

/// Every place over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "verdict": "within",
    "places": [
        {
            "name": "bay A", "kind": "circuit", "verdict": "within", "rating_a": 16.0,
            "planned_a": 12.8, "planned_w": 2944.0, "peak_a": 11.253, "peak_from_min": 30.0,
            "needed_kva": 3.2353, "longest_above_min": 0.0,
            "steps": [
                {"from_min": 0.0, "load_a": 2.5575}, {"from_min": 30.0, "load_a": 11.253},
                {"from_min": 34.0, "load_a": 2.5575}, {"from_min": 65.0, "load_a": 0.0}
            ]
        },
        {
            "name": "lead 1", "kind": "lead", "verdict": "within", "rating_a": 13.0,
            "planned_a": 10.4, "planned_w": 2392.0, "peak_a": 2.5575, "peak_from_min": 0.0,
            "needed_kva": 0.73529, "longest_above_min": 0.0,
            "steps": [{"from_min": 0.0, "load_a": 2.5575}, {"from_min": 65.0, "load_a": 0.0}]
        }
    ]
}))]
pub struct MainsLoadOutput {
    /// The worst of the places.
    pub verdict: MainsVerdict,
    /// Each place, in the order given.
    pub places: Vec<MainsPlaceOutput>,
}

/// Load of each circuit, lead and generator over time.
///
/// `I = W_out / (eta PF V)`; a generator needs `W_out / (eta PF) x 1.25`.
///
/// **Units** W, V, A, kVA, min.
///
/// **Assumptions** currents of different power factors are added as numbers, which is never too
/// little; inrush is not in it; a charger draws its highest power all the time.
///
/// **Source** NEC 210.20(A) and 215.3 for 125 % of continuous loads of three hours or more; 80 %
/// elsewhere by policy; power factors and efficiency own estimates.
///
/// # Errors
/// Names used twice or unknown, places that feed each other, values out of range.
pub fn mains_load(input: &MainsLoadInput) -> Result<MainsLoadOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    let places = check_places(&input.places, &mut faults);
    names::count(&mut faults, "/loads", input.loads.len(), 0, 1000, "loads");
    for (index, load) in input.loads.iter().enumerate() {
        check_load(load, &places, &format!("/loads/{index}"), &mut faults);
    }
    faults.check()?;

    let mut profiles: Vec<Profile> = input.places.iter().map(|_| Profile::default()).collect();
    for load in &input.loads {
        let mut at = places.get(load.at.as_str()).copied();
        while let Some(index) = at {
            profiles[index].add(load.from_min, load.to_min, volt_amperes(load));
            at = input.places[index]
                .fed_by
                .as_deref()
                .and_then(|name| places.get(name).copied());
        }
    }
    let places: Vec<MainsPlaceOutput> = input
        .places
        .iter()
        .zip(&profiles)
        .map(|(place, profile)| judge(place, profile))
        .collect();
    Ok(MainsLoadOutput {
        verdict: places
            .iter()
            .map(|place| place.verdict)
            .max()
            .unwrap_or(MainsVerdict::Within),
        places,
    })
}

/// Apparent power a load draws, VA.
fn volt_amperes(load: &MainsLoad) -> f64 {
    let power_factor = load.power_factor.unwrap_or(if load.power_factor_corrected {
        CORRECTED_POWER_FACTOR
    } else {
        ASSUMED_POWER_FACTOR
    });
    load.output_w / (load.efficiency.unwrap_or(ASSUMED_EFFICIENCY) * power_factor)
}

/// Notes what is wrong with the places; the index of each name.
fn check_places<'a>(places: &'a [SupplyPlace], faults: &mut Faults) -> HashMap<&'a str, usize> {
    names::count(faults, "/places", places.len(), 1, 100, "places");
    names::distinct(
        faults,
        places.iter().map(|place| place.name.as_str()),
        |index| format!("/places/{index}/name"),
    );
    let mut known = HashMap::new();
    for (index, place) in places.iter().enumerate() {
        let at = format!("/places/{index}");
        known.insert(place.name.as_str(), index);
        faults.range(format!("{at}/volts_v"), place.volts_v, 90.0, 260.0);
        let amps = ("rating_a", place.rating_a, 1.0, 400.0);
        let kva = ("rating_kva", place.rating_kva, 0.1, 500.0);
        let ((name, wanted, min, max), (other, unwanted, ..)) = match place.kind {
            SupplyKind::Generator => (kva, amps),
            SupplyKind::Circuit | SupplyKind::Lead => (amps, kva),
        };
        match wanted {
            Some(rating) => faults.range(format!("{at}/{name}"), rating, min, max),
            None => faults.add(
                format!("{at}/{name}"),
                "A generator needs rating_kva; a circuit or a lead needs rating_a.",
            ),
        }
        if unwanted.is_some() {
            faults.add(
                format!("{at}/{other}"),
                format!("Only {name} belongs to this kind of place."),
            );
        }
        if let Some(share) = place.planned_share {
            faults.range(format!("{at}/planned_share"), share, 0.1, 1.0);
        }
    }
    for (index, place) in places.iter().enumerate() {
        let at = format!("/places/{index}/fed_by");
        let mut above = place.fed_by.as_deref();
        let mut steps = 0;
        while let Some(name) = above {
            let Some(&next) = known.get(name) else {
                // The place that names it says so.
                if steps == 0 {
                    faults.add(at.clone(), format!("\"{name}\" names no place."));
                }
                break;
            };
            steps += 1;
            if steps > places.len() {
                faults.add(at.clone(), "These places feed each other.");
                break;
            }
            above = places[next].fed_by.as_deref();
        }
    }
    known
}

fn check_load(load: &MainsLoad, places: &HashMap<&str, usize>, at: &str, faults: &mut Faults) {
    if !places.contains_key(load.at.as_str()) {
        faults.add(
            format!("{at}/at"),
            format!("\"{}\" names no place.", load.at),
        );
    }
    faults.range(format!("{at}/output_w"), load.output_w, 0.0, 50_000.0);
    for (name, value) in [
        ("efficiency", load.efficiency),
        ("power_factor", load.power_factor),
    ] {
        if let Some(value) = value {
            faults.range(format!("{at}/{name}"), value, 0.3, 1.0);
        }
    }
    faults.range(format!("{at}/from_min"), load.from_min, 0.0, 20_000.0);
    faults.range(format!("{at}/to_min"), load.to_min, 0.0, 20_000.0);
    if load.to_min <= load.from_min {
        faults.add(
            format!("{at}/to_min"),
            format!(
                "It ends at {} min, not after it begins at {} min.",
                load.to_min, load.from_min
            ),
        );
    }
}

fn judge(place: &SupplyPlace, profile: &Profile) -> MainsPlaceOutput {
    let rating_va = place
        .rating_kva
        .map_or(0.0, |kva| kva * 1000.0)
        .max(place.rating_a.unwrap_or(0.0) * place.volts_v);
    let share = place.planned_share.unwrap_or(PLANNED_SHARE);
    let planned_va = share * rating_va;
    let (peak_va, peak_from_min) = profile.peak();
    let longest_above_min = profile.longest_above(planned_va);
    let verdict = if peak_va > rating_va * (1.0 + 1e-9) || longest_above_min >= CONTINUOUS_MIN {
        MainsVerdict::Over
    } else if longest_above_min > 0.0 {
        MainsVerdict::AbovePlanned
    } else {
        MainsVerdict::Within
    };
    MainsPlaceOutput {
        name: place.name.clone(),
        kind: place.kind,
        verdict,
        rating_a: rating_va / place.volts_v,
        planned_a: planned_va / place.volts_v,
        planned_w: planned_va,
        peak_a: peak_va / place.volts_v,
        peak_from_min,
        needed_kva: peak_va / share / 1000.0,
        longest_above_min,
        steps: profile
            .steps()
            .map(|(from_min, load_va)| MainsStep {
                from_min,
                load_a: load_va / place.volts_v,
            })
            .collect(),
    }
}
