//! The bottle shot by shot.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::Series;
use crate::calc::gas::convert::celsius;
use crate::calc::gas::system::gauge;
use crate::calc::gas::vessel::Held;

/// Why a series of shots ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasShotsEnd {
    /// All the shots asked for were followed.
    AllFollowed,
    /// The bottle has no gas for another shot.
    Empty,
    /// Another shot would bring the bottle below -56.6 degC, where dry ice forms.
    TooCold,
}

/// The bottle just after one shot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasShotRow {
    /// Which shot; 0 is the bottle before the first.
    pub shot: u32,
    /// Seconds from the first shot to this one.
    pub fired_at_s: f64,
    /// Temperature of bottle and gas, degC.
    pub temperature_degc: f64,
    /// Pressure in the bottle, bar gauge.
    pub pressure_bar_gauge: f64,
    /// Gas left, kg.
    pub gas_mass_kg: f64,
    /// Share of the gas that is liquid, by mass.
    pub liquid_mass_fraction: f64,
    /// Share of the bottle that is liquid, by volume.
    pub liquid_volume_fraction: f64,
    /// What the next shot would take, g.
    pub next_shot_g: f64,
}

/// A bottle followed to its end.
pub(super) struct Forecast {
    pub rows: Vec<GasShotRow>,
    pub ended: GasShotsEnd,
    /// One interval after the last shot.
    pub end: Held,
}

/// Less gas than this is no shot, kg: the bottle stands at the atmosphere.
const NOTHING_KG: f64 = 1e-6;

impl Series {
    /// Follows up to `shots` shots, `interval` seconds apart.
    pub(super) fn follow(&self, start: Held, shots: u32, interval: f64) -> Forecast {
        let mut rows = vec![self.row(0, 0.0, start)];
        let mut here = start;
        let mut ended = GasShotsEnd::AllFollowed;
        for shot in 1..=shots {
            match self.fire(here) {
                Ok(held) => here = held,
                Err(end) => {
                    ended = end;
                    break;
                }
            }
            rows.push(self.row(shot, f64::from(shot - 1) * interval, here));
            here = self.vessel.stand(here, self.around, interval);
        }
        Forecast {
            rows,
            ended,
            end: here,
        }
    }

    /// The bottle after one shot, or why there is none.
    pub(super) fn fire(&self, held: Held) -> Result<Held, GasShotsEnd> {
        let mass = self.shot.total_mass(&self.vessel.content(held));
        if mass < NOTHING_KG || mass >= held.mass {
            return Err(GasShotsEnd::Empty);
        }
        match self.vessel.draw(held, mass, self.draw) {
            Some((held, _)) => Ok(held),
            None => Err(GasShotsEnd::TooCold),
        }
    }

    fn row(&self, shot: u32, fired_at_s: f64, held: Held) -> GasShotRow {
        let content = self.vessel.content(held);
        GasShotRow {
            shot,
            fired_at_s,
            temperature_degc: celsius(held.temperature),
            pressure_bar_gauge: gauge(&content),
            gas_mass_kg: held.mass,
            liquid_mass_fraction: content.liquid_mass_fraction,
            liquid_volume_fraction: content.liquid_volume_fraction,
            next_shot_g: self.shot.total_mass(&content) * 1e3,
        }
    }
}
