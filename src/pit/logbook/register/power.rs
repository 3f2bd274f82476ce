//! What packs are charged with, and what feeds it: circuits, chargers, their channels.

use crate::calc::battery::SupplyKind;
use crate::calc::units::{ApparentPower, Count, Current, Name, Percent, Power, Voltage};
use crate::pit::ids::{ChargerId, CircuitId, TeamId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A generator, a circuit behind one breaker, or a lead behind one fuse.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// The team it is for; none if it is the hall's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub team: Option<TeamId>,
    /// What is written on it.
    pub label: Name,
    /// What it is.
    pub kind: SupplyKind,
    /// Mains voltage.
    #[serde(default = "european_mains", skip_serializing_if = "is_european_mains")]
    pub mains_mv: Voltage,
    /// Breaker or fuse, of a lead when it lies unwound; for a circuit or a lead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_ma: Option<Current>,
    /// What a lead carries while it is coiled on its drum.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub coiled_ma: Option<Current>,
    /// Whether it is coiled now: then only that counts.
    #[serde(default)]
    pub coiled: bool,
    /// What a generator gives.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_va: Option<ApparentPower>,
    /// How much of the rating is planned with; the event's setting if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub continuous_percent: Option<Percent>,
    /// What feeds it, if that is registered.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fed_by: Option<CircuitId>,
    /// What hangs on it all day besides chargers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub other_load_w: Option<Power>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// **Source** nominal voltage of public mains in Europe, EN 50160.
fn european_mains() -> Voltage {
    Voltage::new(230_000).expect("230 V is a voltage")
}

fn is_european_mains(voltage: &Voltage) -> bool {
    *voltage == european_mains()
}

impl Circuit {
    /// The current it carries as it lies now; none for a generator or if nobody said.
    pub fn carries_ma(&self) -> Option<Current> {
        if self.coiled {
            self.coiled_ma
        } else {
            self.rating_ma
        }
    }
}

/// A charger: one plug in the wall, with one channel or several.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Charger {
    /// Its team.
    pub team: TeamId,
    /// What is written on it.
    pub label: Name,
    /// The circuit or lead it is plugged into.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub circuit: Option<CircuitId>,
    /// Most it takes from the wall for all its channels.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub input_limit_w: Option<Power>,
    /// Output over input power; 85 % is assumed if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub efficiency_percent: Option<Percent>,
    /// Power factor; 60 % is assumed if not given, 95 % with correction.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub power_factor_percent: Option<Percent>,
    /// Its label says that its power factor is corrected (PFC).
    #[serde(default)]
    pub power_factor_corrected: bool,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// An output of a charger.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Channel {
    /// Its team.
    pub team: TeamId,
    /// What it is called.
    pub label: Name,
    /// Greatest current.
    pub max_current_ma: Current,
    /// Greatest power.
    pub max_power_w: Power,
    /// The charger it is an output of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charger: Option<ChargerId>,
    /// Most cells in series it takes; any if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_cells: Option<Count>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}
