//! Whether a charge may start now, and at what current.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::chemistry::Chemistry;
use super::cool_down::{ASSUMED_TAU_MIN, START_AT_MOST_C, wait_min};
use super::pack::{PackBuild, lowest};
use crate::calc::fault::Faults;

/// Lowest and highest temperature of a charging cell.
///
/// **Units** degC. **Source** ICR18650-26C specification, charge 0 to 45.
const CHARGE_BETWEEN_C: (f64, f64) = (0.0, 45.0);

/// Lowest temperature a start may be held back to, degC.
const LOWEST_START_LIMIT_C: f64 = 15.0;

/// Temperature of a pack and of the air around it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"pack_c": 48.0, "ambient_c": 22.0}))]
pub struct PackTemperature {
    /// Pack surface, degC.
    #[schema(minimum = -30.0, maximum = 120.0)]
    pub pack_c: f64,
    /// Air around it, degC.
    #[schema(minimum = -30.0, maximum = 60.0)]
    pub ambient_c: f64,
    /// Time constant of cooling, min; 30 if left out.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 600.0)]
    pub tau_min: Option<f64>,
    /// Temperature at or below which charging starts, degC; 35 if left out, at most 45.
    #[serde(default)]
    #[schema(minimum = 15.0, maximum = 45.0)]
    pub start_at_most_c: Option<f64>,
}

impl PackTemperature {
    /// Notes temperatures that no pack or hall has.
    pub(super) fn check(&self, at: &str, faults: &mut Faults) {
        faults.range(format!("{at}/pack_c"), self.pack_c, -30.0, 120.0);
        faults.range(format!("{at}/ambient_c"), self.ambient_c, -30.0, 60.0);
        if let Some(tau_min) = self.tau_min {
            faults.range(format!("{at}/tau_min"), tau_min, 1.0, 600.0);
        }
        if let Some(start) = self.start_at_most_c {
            faults.range(
                format!("{at}/start_at_most_c"),
                start,
                LOWEST_START_LIMIT_C,
                CHARGE_BETWEEN_C.1,
            );
        }
    }
}

/// What to do before the charge; the worst that applies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum StartAdvice {
    /// Nothing stands against starting now.
    StartNow,
    /// Nobody has measured the temperature.
    MeasureTemperature,
    /// Too warm: wait.
    CoolFirst,
    /// Below freezing: no charge until it is warm.
    WarmFirst,
    /// A cell is so low that a person must decide; only gently.
    AskAPerson,
    /// No charge: away with it.
    Quarantine,
}

/// What the gate says.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Gate {
    pub(super) advice: StartAdvice,
    /// Wait before the start, min; none if the wait has no end that can be foreseen.
    pub(super) wait_min: Option<f64>,
    /// Most current as a multiple of the capacity.
    pub(super) most_rate: f64,
    pub(super) notes: Vec<String>,
}

/// The gate for a pack with these cells at rest and this temperature.
pub(super) fn gate(
    pack: &PackBuild,
    cells_v: &[f64],
    temperature: Option<&PackTemperature>,
) -> Gate {
    let mut gate = Gate {
        advice: StartAdvice::StartNow,
        wait_min: Some(0.0),
        most_rate: f64::INFINITY,
        notes: Vec::new(),
    };
    gate.hear_cells(pack.chemistry, cells_v);
    match temperature {
        Some(temperature) => gate.hear_temperature(pack.chemistry, temperature),
        None => gate.raise(
            StartAdvice::MeasureTemperature,
            "No temperature given: measure it; no charge below 0 or above 45 degC.".to_owned(),
        ),
    }
    gate
}

impl Gate {
    fn raise(&mut self, advice: StartAdvice, note: String) {
        self.advice = self.advice.max(advice);
        self.notes.push(note);
    }

    fn limit(&mut self, rate: f64) {
        self.most_rate = self.most_rate.min(rate);
    }

    fn hear_cells(&mut self, chemistry: Chemistry, cells_v: &[f64]) {
        let Some(low_v) = lowest(cells_v) else {
            return;
        };
        if low_v < chemistry.quarantine_below_v() {
            self.raise(
                StartAdvice::Quarantine,
                format!(
                    "A cell at {low_v} V is below {} V: quarantine, no charge.",
                    chemistry.quarantine_below_v()
                ),
            );
        } else if low_v < chemistry.gentle_below_v() {
            self.limit(0.1);
            self.raise(
                StartAdvice::AskAPerson,
                format!(
                    "A cell at {low_v} V is below {} V: at most 0.1C, and ask a person first.",
                    chemistry.gentle_below_v()
                ),
            );
        }
        if let Some(over_v) = cells_v
            .iter()
            .copied()
            .find(|&volts| volts > chemistry.overcharged_v())
        {
            self.raise(
                StartAdvice::Quarantine,
                format!(
                    "A cell at {over_v} V is above {} V: overcharged, quarantine.",
                    chemistry.overcharged_v()
                ),
            );
        }
    }

    fn hear_temperature(&mut self, chemistry: Chemistry, temperature: &PackTemperature) {
        let pack_c = temperature.pack_c;
        let (cold_c, cold_rate) = cold_limit(chemistry);
        let start_c = temperature.start_at_most_c.unwrap_or(START_AT_MOST_C);
        if pack_c < CHARGE_BETWEEN_C.0 {
            self.wait_min = None;
            self.raise(
                StartAdvice::WarmFirst,
                format!("The pack is at {pack_c} degC: no charge below 0."),
            );
        } else if pack_c < cold_c {
            self.limit(cold_rate);
            self.notes.push(format!(
                "The pack is at {pack_c} degC: at most {cold_rate}C below {cold_c} degC."
            ));
        } else if pack_c > start_c {
            let tau_min = temperature.tau_min.unwrap_or(ASSUMED_TAU_MIN);
            self.wait_min = wait_min(pack_c, temperature.ambient_c, start_c, tau_min);
            let note = match self.wait_min {
                Some(minutes) => format!(
                    "The pack is at {pack_c} degC: {minutes:.0} min to cool to {start_c} degC."
                ),
                None => format!(
                    "The pack is at {pack_c} degC and the air at {} degC: it will not cool to \
                     {start_c} degC here.",
                    temperature.ambient_c
                ),
            };
            self.raise(StartAdvice::CoolFirst, note);
        }
    }
}

/// Temperature below which the current is cut, and to what multiple of the capacity.
///
/// **Units** degC. **Source** half current below 10 degC: TI forum note on JEITA regions; LFP 0.2C
/// below 15 degC: an LFP cell maker's page.
fn cold_limit(chemistry: Chemistry) -> (f64, f64) {
    match chemistry {
        Chemistry::Lipo | Chemistry::Nmc => (10.0, 0.5),
        Chemistry::Lfp => (15.0, 0.2),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PACK: PackBuild = PackBuild {
        chemistry: Chemistry::Lipo,
        series_cells: 3,
        parallel_cells: 1,
        cell_capacity_ah: 5.0,
    };

    fn at(pack_c: f64) -> PackTemperature {
        PackTemperature {
            pack_c,
            ambient_c: 22.0,
            tau_min: None,
            start_at_most_c: None,
        }
    }

    #[test]
    fn each_temperature_has_its_gate() {
        for (pack_c, advice, rate) in [
            (-1.0, StartAdvice::WarmFirst, f64::INFINITY),
            (0.0, StartAdvice::StartNow, 0.5),
            (9.9, StartAdvice::StartNow, 0.5),
            (10.0, StartAdvice::StartNow, f64::INFINITY),
            (35.0, StartAdvice::StartNow, f64::INFINITY),
            (35.1, StartAdvice::CoolFirst, f64::INFINITY),
            (60.0, StartAdvice::CoolFirst, f64::INFINITY),
        ] {
            let gate = gate(&PACK, &[3.8; 3], Some(&at(pack_c)));
            assert_eq!(gate.advice, advice, "{pack_c}");
            assert_eq!(gate.most_rate, rate, "{pack_c}");
        }
    }

    #[test]
    fn an_unknown_temperature_is_not_taken_for_a_good_one() {
        assert_eq!(
            gate(&PACK, &[3.8; 3], None).advice,
            StartAdvice::MeasureTemperature
        );
    }

    #[test]
    fn a_low_cell_is_asked_about_and_a_dead_one_goes_to_quarantine() {
        let low = gate(&PACK, &[3.8, 2.9, 3.8], Some(&at(25.0)));
        assert_eq!((low.advice, low.most_rate), (StartAdvice::AskAPerson, 0.1));
        let dead = gate(&PACK, &[3.8, 2.4, 3.8], Some(&at(60.0)));
        assert_eq!(dead.advice, StartAdvice::Quarantine);
        let over = gate(&PACK, &[4.2, 4.2, 4.3], Some(&at(25.0)));
        assert_eq!(over.advice, StartAdvice::Quarantine);
    }
}
