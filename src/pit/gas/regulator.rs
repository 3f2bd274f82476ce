//! Regulated pressure: as it was set, as it was read, and whether it drifts.

use super::limits::bar;
use crate::pit::ids::{LineId, PersonId, RobotId};
use crate::pit::logbook::Body;
use crate::pit::state::Pit;
use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

/// One reading of the gauge behind a regulator.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct RegulatorReading {
    /// The line.
    pub line: LineId,
    /// When.
    pub at: DateTime<Utc>,
    /// Who read it.
    pub seen_by: Option<PersonId>,
    /// What it is set to.
    pub set_bar_gauge: f64,
    /// What the gauge showed.
    pub read_bar_gauge: f64,
    /// Read less set.
    pub off_bar: f64,
    /// It is further off than a gauge and a good regulator explain.
    pub drifts: bool,
    /// It is above what the event allows behind a regulator; nothing if no limit is set.
    pub above_limit: Option<bool>,
}

/// A reading this far from what is set is a drift, bar, or as a share of what is set.
///
/// **Source** common practice, no source: the class of a plain gauge and the droop of a regulator.
const DRIFT_BAR: f64 = 0.5;
const DRIFT_SHARE: f64 = 0.05;

/// The readings of a robot, newest first.
///
/// **Units** bar gauge.
///
/// **Assumptions** read at rest with the bottle open: a shot pulls the gauge down.
pub fn regulator_readings(pit: &Pit, robot: RobotId) -> Vec<RegulatorReading> {
    let Some(file) = pit.robot(robot) else {
        return Vec::new();
    };
    let limit = pit.settings().gas_limit_mbar_gauge.map(bar);
    file.lines
        .iter()
        .rev()
        .filter_map(|line| {
            let Body::Gas(gas) = &line.body else {
                return None;
            };
            let regulated = gas.regulated?;
            let set = bar(regulated.set_mbar_gauge);
            let read = bar(regulated.read_mbar_gauge);
            Some(RegulatorReading {
                line: line.id,
                at: line.at,
                seen_by: line.seen_by,
                set_bar_gauge: set,
                read_bar_gauge: read,
                off_bar: read - set,
                drifts: (read - set).abs() > DRIFT_BAR.max(DRIFT_SHARE * set),
                above_limit: limit.map(|most| read > most),
            })
        })
        .collect()
}
