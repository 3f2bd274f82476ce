//! Bottles, supply cylinders, and what a robot does with gas.

use crate::calc::gas::{GasFeed, GasWall};
use crate::calc::units::{Count, FillingRatio, GaugePressure, Length, Mass, Name, Volume};
use crate::pit::ids::TeamId;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What a bottle holds.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum GasOf {
    /// Carbon dioxide.
    Co2,
    /// Nitrogen.
    Nitrogen,
    /// Air.
    Air,
}

/// A bottle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Bottle {
    /// Its team.
    pub team: TeamId,
    /// What is written on it.
    pub label: Name,
    /// What it holds.
    pub gas: GasOf,
    /// Inner volume: the water capacity as stamped.
    pub volume_ml: Volume,
    /// Empty, with valve.
    pub tare_g: Mass,
    /// The most gas it may hold, as stamped; unknown: advice is not to fill.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub permitted_fill_g: Option<Mass>,
    /// Most gas for each litre of water capacity; 667 g is assumed if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub filling_ratio_g_per_l: Option<FillingRatio>,
    /// Date of its last test, as stamped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tested_on: Option<NaiveDate>,
    /// Test pressure, as stamped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test_pressure_mbar_gauge: Option<GaugePressure>,
    /// The day by which the next test is due.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub test_due: Option<NaiveDate>,
    /// Service or working pressure, as stamped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub service_pressure_mbar_gauge: Option<GaugePressure>,
    /// Lowest pressure at which its burst disc may open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub disc_pressure_mbar_gauge: Option<GaugePressure>,
    /// A dip tube: it gives liquid when upright.
    #[serde(default)]
    pub dip_tube: bool,
    /// What its wall is made of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall: Option<GasWall>,
    /// What hangs on it when it is weighed and is not in the tare.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fittings_g: Option<Mass>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// A supply cylinder that bottles are filled from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Supply {
    /// The team it is for; none if it is the event's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub team: Option<TeamId>,
    /// What is written on it.
    pub label: Name,
    /// What it holds.
    pub gas: GasOf,
    /// Water capacity as stamped.
    pub volume_ml: Volume,
    /// Empty, with valve.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tare_g: Option<Mass>,
    /// Gas in it when it was last weighed before anything was filled from it here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub contents_g: Option<Mass>,
    /// Pressure in it then, of air or nitrogen.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pressure_mbar_gauge: Option<GaugePressure>,
    /// A dip tube: it gives liquid when upright.
    #[serde(default)]
    pub dip_tube: bool,
    /// Liquid that the dip tube does not reach.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heel_g: Option<Mass>,
    /// Date of its last test, as stamped.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tested_on: Option<NaiveDate>,
    /// Where it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<Name>,
    /// No longer used.
    #[serde(default)]
    pub retired: bool,
}

/// A ram with its feed: what one shot takes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = RobotGasSystem)]
pub struct GasSystem {
    /// What it runs on.
    pub gas: GasOf,
    /// What stands between bottle and ram.
    pub feed: GasFeed,
    /// Regulated pressure of the extension; for a regulated feed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub extend_pressure_mbar_gauge: Option<GaugePressure>,
    /// Pressure of the retraction: 0 for a spring or gravity, the same as the extension if not
    /// given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retract_pressure_mbar_gauge: Option<GaugePressure>,
    /// What the regulator needs in front of it, or the least at which the ram does its work.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub need_pressure_mbar_gauge: Option<GaugePressure>,
    /// Bore of the ram.
    pub bore_um: Length,
    /// Stroke of the ram.
    pub stroke_um: Length,
    /// Diameter of its rod.
    pub rod_um: Length,
    /// Dead volume filled at each extension: hose and end cap.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dead_extend_ml: Option<Volume>,
    /// Dead volume filled at each retraction.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dead_retract_ml: Option<Volume>,
    /// Buffer behind the regulator.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub buffer_ml: Option<Volume>,
    /// Shots that a bout may take.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shots_a_bout: Option<Count>,
}
