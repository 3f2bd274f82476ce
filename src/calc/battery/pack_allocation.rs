//! Which pack is charged on which channel for which bout.

use std::collections::HashMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::allocation_check::check;
use super::allocation_rule::allocate;
use super::pack::PackBuild;
use super::serving::ServingLimits;
use crate::calc::fault::Fault;

/// A pack that may be charged and used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AllocationPack {
    /// What people call it; no two alike.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// How it is built.
    pub pack: PackBuild,
    /// Resistance of one cell as the charger reads it, mohm.
    #[schema(exclusive_minimum = 0.0)]
    pub cell_ir_mohm: f64,
    /// Effective charge resistance learned from its own charges, mohm.
    #[serde(default)]
    pub charge_resistance_mohm: Option<f64>,
    /// Resistance under load learned from its own bouts, mohm.
    #[serde(default)]
    pub load_resistance_mohm: Option<f64>,
    /// State of charge of its lowest cell at the careful end, 0 to 1.
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub soc_fraction: f64,
    /// From when it may be charged or fitted: inspected and cool, min.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub released_min: f64,
    /// Equivalent full cycles so far.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 10000.0)]
    pub equivalent_full_cycles: f64,
    /// Most charge current its label allows, as a multiple of its capacity.
    #[serde(default)]
    #[schema(minimum = 0.05, maximum = 10.0)]
    pub most_charge_rate_c: Option<f64>,
    /// Whether it is in quarantine or under observation: it is neither charged nor used.
    #[serde(default)]
    pub suspect: bool,
}

/// One output of a charger.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChargeChannel {
    /// What people call it; no two alike.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// Most current, A.
    #[schema(minimum = 0.05, maximum = 200.0)]
    pub charger_a: f64,
    /// Most power, W; none if left out.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 10000.0)]
    pub charger_w: Option<f64>,
    /// Most cells in series it takes; any if left out.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 24)]
    pub most_series_cells: Option<u32>,
    /// From when it is free, min.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub free_from_min: f64,
    /// Names of everything it draws its current through: lead, circuit, generator.
    #[serde(default)]
    #[schema(max_items = 40)]
    pub feeds: Vec<String>,
    /// Output over input power; 0.85 if left out.
    #[serde(default)]
    #[schema(minimum = 0.3, maximum = 1.0)]
    pub efficiency: Option<f64>,
    /// Power factor; 0.60 if left out.
    #[serde(default)]
    #[schema(minimum = 0.3, maximum = 1.0)]
    pub power_factor: Option<f64>,
}

/// Something that draws already and ends at a known moment, such as a charge under way.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FeedLoad {
    /// From when, min.
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub from_min: f64,
    /// Until when, min.
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub to_min: f64,
    /// Current, A.
    #[schema(minimum = 0.0, maximum = 3000.0)]
    pub load_a: f64,
}

/// A lead, circuit or generator with the current it may be asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MainsFeed {
    /// What people call it; no two alike.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// Mains voltage, V.
    #[schema(minimum = 90.0, maximum = 260.0)]
    pub volts_v: f64,
    /// Breaker, fuse or rating, A.
    #[schema(minimum = 1.0, maximum = 3000.0)]
    pub rating_a: f64,
    /// Share of the rating to plan with; 0.80 if left out.
    #[serde(default)]
    #[schema(minimum = 0.1, maximum = 1.0)]
    pub planned_share: Option<f64>,
    /// What draws through it all day besides these channels, A.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 3000.0)]
    pub other_a: f64,
    /// What draws through it already and ends at a known moment, at most 200.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub loads: Vec<FeedLoad>,
}

/// A bout that needs packs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AllocationBout {
    /// What people call it; no two alike.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// When the robot is called, min.
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub call_min: f64,
    /// Time to fit the packs before the call, min.
    #[schema(minimum = 0.0, maximum = 600.0)]
    pub fitting_min: f64,
    /// When the bout ends, min.
    #[schema(minimum = 0.0, maximum = 20000.0)]
    pub ends_min: f64,
    /// From the end of the bout until its packs are out and looked at, min.
    #[schema(minimum = 0.0, maximum = 600.0)]
    pub inspection_min: f64,
    /// From then until they are cool enough to charge, min.
    #[schema(minimum = 0.0, maximum = 600.0)]
    pub cool_down_min: f64,
    /// Names of the packs that fit, at most 60.
    #[schema(max_items = 60)]
    pub packs: Vec<String>,
    /// How many of them it needs, 1 to 12.
    #[schema(minimum = 1, maximum = 12)]
    pub packs_needed: u32,
    /// Charge it takes from each, Ah of the pack.
    #[schema(minimum = 0.0, maximum = 500.0)]
    pub used_ah: f64,
    /// Highest current of each, A.
    #[schema(minimum = 0.0, maximum = 3000.0)]
    pub peak_a: f64,
}

/// Packs, channels, their supply, and the bouts of the day. All times are minutes after one moment.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "packs": [{
        "name": "A1", "cell_ir_mohm": 3.0, "soc_fraction": 0.3, "pack": {
            "chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5.0
        }
    }],
    "channels": [{"name": "1", "charger_a": 5.0, "charger_w": 180.0, "feeds": ["bay A"]}],
    "feeds": [{"name": "bay A", "volts_v": 230.0, "rating_a": 16.0, "other_a": 1.5}],
    "bouts": [{
        "name": "bout 4", "call_min": 75.0, "fitting_min": 5.0, "ends_min": 85.0,
        "inspection_min": 10.0, "cool_down_min": 20.0, "packs": ["A1"], "packs_needed": 1,
        "used_ah": 2.0, "peak_a": 80.0
    }]
}))]
pub struct PackAllocationInput {
    /// Every pack, 1 to 200.
    #[schema(min_items = 1, max_items = 200)]
    pub packs: Vec<AllocationPack>,
    /// Every charger output, at most 40.
    #[serde(default)]
    #[schema(max_items = 40)]
    pub channels: Vec<ChargeChannel>,
    /// Everything the channels draw through, at most 40.
    #[serde(default)]
    #[schema(max_items = 40)]
    pub feeds: Vec<MainsFeed>,
    /// Every bout, 1 to 100.
    #[schema(min_items = 1, max_items = 100)]
    pub bouts: Vec<AllocationBout>,
    /// Limits of this event; the usual ones if left out.
    #[serde(default)]
    pub limits: ServingLimits,
}

/// A charge on a channel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AllocatedCharge {
    /// The channel.
    pub channel: String,
    /// From when, min.
    pub from_min: f64,
    /// Until when, min, with its planning margin.
    pub to_min: f64,
    /// Current to set, A.
    pub charge_a: f64,
    /// Whether the current is below what channel and pack allow, for the mains' sake.
    pub lowered: bool,
    /// Highest power at the pack, W.
    pub peak_w: f64,
}

/// A pack for a bout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PackAssignment {
    /// The bout.
    pub bout: String,
    /// The pack.
    pub pack: String,
    /// Its charge; `null` if it serves as it is.
    pub charge: Option<AllocatedCharge>,
    /// When it can be fitted, min.
    pub ready_min: f64,
    /// Minutes to spare before fitting must begin; negative is late.
    pub slack_min: f64,
}

/// Why a bout's packs are late.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LateCause {
    /// Every channel it could use is taken.
    Channel,
    /// The supply carries no more.
    Mains,
    /// The pack is back or cool too late.
    CoolDown,
    /// The charge alone takes too long.
    ChargeTime,
    /// No pack that fits can serve.
    NoPack,
}

/// A bout whose packs are late or missing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LatePack {
    /// The bout.
    pub bout: String,
    /// The pack, unless there is none.
    pub pack: Option<String>,
    /// How late, min; `null` if there is no pack.
    pub late_min: Option<f64>,
    /// Why.
    pub cause: LateCause,
}

/// Highest load of a feed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FeedPeak {
    /// The feed.
    pub feed: String,
    /// Highest current, A, with everything else on it.
    pub peak_a: f64,
    /// Current to plan with, A.
    pub planned_a: f64,
}

/// What to charge where, when and for which bout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "assignments": [
        {
            "bout": "bout 4", "pack": "A1",
            "charge": {
                "channel": "1", "from_min": 0.0, "to_min": 49.605, "charge_a": 5.0,
                "lowered": false, "peak_w": 126.0
            },
            "ready_min": 49.605, "slack_min": 20.395
        }
    ],
    "late": [], "feeds": [{"feed": "bay A", "peak_a": 2.5742, "planned_a": 12.8}]
}))]
pub struct PackAllocationOutput {
    /// Packs for bouts, in order of call.
    pub assignments: Vec<PackAssignment>,
    /// What is late or missing, in the same order.
    pub late: Vec<LatePack>,
    /// Every feed.
    pub feeds: Vec<FeedPeak>,
}

/// Packs to channels to bouts, by a list rule.
///
/// Bouts in order of call. For each, packs that are ready and serve go first, the least used
/// before the others; otherwise the pack and channel that finish first while every feed stays
/// within its planned share; if that is late, also at a lowered current; if it is still late, it
/// says so and why.
///
/// **Units** minutes, A, W, Ah, mohm.
///
/// **Assumptions** charge times with their planning margin as in `charge_time`, to C/10 and
/// without balancing; highest power from start to end of a charge; a pack is back after its bout,
/// inspection and cooling. The rule is quick and explains itself, but it is a rule: another order
/// may sometimes be better.
///
/// **Source** earliest due date first (Jackson 1955, exact for one channel and packs released
/// together), list scheduling; own rule for mains.
///
/// # Errors
/// Names empty, used twice or unknown, lists too long, values out of range.
pub fn pack_allocation(input: &PackAllocationInput) -> Result<PackAllocationOutput, Vec<Fault>> {
    check(input)?;
    Ok(allocate(input))
}

/// Index of each name, for names that are known to be unlike.
pub(super) fn by_name<'a>(names: impl Iterator<Item = &'a str>) -> HashMap<&'a str, usize> {
    names
        .enumerate()
        .map(|(index, name)| (name, index))
        .collect()
}
