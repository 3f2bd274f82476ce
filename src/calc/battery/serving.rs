//! Whether a pack at a state of charge serves a bout.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::chemistry::Chemistry;
use super::pack::PackBuild;
use crate::calc::fault::Faults;

/// Least state of charge after a bout. **Source** own policy.
const END_AT_LEAST: f64 = 0.20;

/// Most temperature after a bout, degC. **Source** discharge -10 to 60 degC, ICR18650-26C
/// specification.
const END_AT_MOST_C: f64 = 60.0;

/// Below this state of charge resistance is higher, and by this factor.
///
/// **Source** 15 to 25 % more at 0.20 than at 0.50 in eight sets of PyBaMM.
const LOW_SOC: (f64, f64) = (0.30, 1.25);

/// Whether a pack serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ServingVerdict {
    /// It serves.
    Serves,
    /// It may, but what is known of it does not prove it.
    Unproved,
    /// It does not.
    DoesNotServe,
}

/// What a pack must still have after a bout; each falls back to the usual value.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ServingLimits {
    /// Least state of charge after the bout, 0 to 1; 0.20 if left out.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 0.9)]
    pub end_soc_fraction: Option<f64>,
    /// Least cell voltage under load, V; 3.2 for LiPo, 3.0 for NMC, 2.5 for LFP if left out.
    #[serde(default)]
    #[schema(minimum = 2.0, maximum = 3.8)]
    pub lowest_cell_v: Option<f64>,
    /// Highest temperature after the bout, degC; 60 if left out.
    #[serde(default)]
    #[schema(minimum = 30.0, maximum = 80.0)]
    pub end_c: Option<f64>,
}

impl ServingLimits {
    /// Notes limits that are none.
    pub(super) fn check(&self, at: &str, faults: &mut Faults) {
        for (name, value, min, max) in [
            ("end_soc_fraction", self.end_soc_fraction, 0.0, 0.9),
            ("lowest_cell_v", self.lowest_cell_v, 2.0, 3.8),
            ("end_c", self.end_c, 30.0, 80.0),
        ] {
            if let Some(value) = value {
                faults.range(format!("{at}/{name}"), value, min, max);
            }
        }
    }
}

/// A pack as it goes into a bout.
#[derive(Debug, Clone, Copy)]
pub(super) struct ServingPack {
    pub(super) pack: PackBuild,
    pub(super) soc: f64,
    pub(super) lowest_soc: f64,
    /// Rest voltage of the lowest cell, V, if it was read.
    pub(super) lowest_rest_v: Option<f64>,
    pub(super) load_resistance_mohm: f64,
}

/// How a pack comes out of a bout.
#[derive(Debug, Clone, Copy)]
pub(super) struct Serving {
    pub(super) end_soc: f64,
    pub(super) lowest_end_soc: f64,
    pub(super) lowest_cell_v: f64,
    pub(super) resistance_mohm: f64,
}

impl Serving {
    /// The pack after a bout that takes `used_ah` from it with a peak of `peak_a`.
    pub(super) fn of(serving: &ServingPack, used_ah: f64, peak_a: f64) -> Self {
        let pack = &serving.pack;
        let spent = used_ah / pack.capacity_ah();
        let lowest_end_soc = serving.lowest_soc - spent;
        let factor = if lowest_end_soc < LOW_SOC.0 {
            LOW_SOC.1
        } else {
            1.0
        };
        let resistance_mohm = serving.load_resistance_mohm * factor;
        let sag_v = peak_a / pack.parallel() * resistance_mohm / 1000.0;
        let ocv = pack.chemistry.ocv();
        let by_table = ocv.volts_at(lowest_end_soc);
        // A voltage that was read beats the class table: the table then gives only the fall.
        let rest_v = serving.lowest_rest_v.map_or(by_table, |read_v| {
            by_table.min(read_v + by_table - ocv.volts_at(serving.lowest_soc))
        });
        Self {
            end_soc: serving.soc - spent,
            lowest_end_soc,
            lowest_cell_v: rest_v - sag_v,
            resistance_mohm,
        }
    }

    /// Whether it stays above the limits.
    pub(super) fn holds(&self, chemistry: Chemistry, limits: &ServingLimits) -> bool {
        self.lowest_end_soc >= limits.end_soc_fraction.unwrap_or(END_AT_LEAST) - 1e-9
            && self.lowest_cell_v
                >= limits
                    .lowest_cell_v
                    .unwrap_or(chemistry.floor_under_load_v())
    }

    /// Why the pack does not serve; empty if it does.
    pub(super) fn reasons(
        &self,
        chemistry: Chemistry,
        limits: &ServingLimits,
        end_c: Option<f64>,
    ) -> Vec<String> {
        let mut reasons = Vec::new();
        let least = limits.end_soc_fraction.unwrap_or(END_AT_LEAST);
        if self.lowest_end_soc < least - 1e-9 {
            reasons.push(if self.lowest_end_soc < 0.0 {
                "It would be empty before the bout is over.".to_owned()
            } else {
                format!(
                    "It would end at {:.0} % of its charge, below {:.0} %.",
                    100.0 * self.lowest_end_soc,
                    100.0 * least
                )
            });
        }
        let floor = limits
            .lowest_cell_v
            .unwrap_or(chemistry.floor_under_load_v());
        if self.lowest_cell_v < floor {
            reasons.push(format!(
                "Its lowest cell would fall to {:.2} V under the peak, below {floor} V.",
                self.lowest_cell_v
            ));
        }
        let most = limits.end_c.unwrap_or(END_AT_MOST_C);
        if let Some(end_c) = end_c.filter(|&end_c| end_c > most) {
            reasons.push(format!("It may reach {end_c:.0} degC, above {most} degC."));
        }
        reasons
    }
}
