//! How long a pack cools before it may be charged.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// Time constant of a pack that nobody has measured.
///
/// **Units** min. **Source** own estimate: 0.8 kg, 1000 J/(kg K), 0.04 m2 and 10 W/(m2 K) give 33.
pub(super) const ASSUMED_TAU_MIN: f64 = 30.0;

/// Temperature at or below which a charge starts.
///
/// **Units** degC. **Source** common practice starts at 35 to 40; the safer end.
pub(super) const START_AT_MOST_C: f64 = 35.0;

/// One reading of a cooling pack.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CoolingReading {
    /// When, minutes after the first reading or after the bout.
    #[schema(minimum = 0.0, maximum = 1440.0)]
    pub at_min: f64,
    /// Surface temperature of the pack, degC.
    #[schema(minimum = -30.0, maximum = 120.0)]
    pub pack_c: f64,
}

/// A warm pack and the air around it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "pack_c": 58.0, "ambient_c": 24.0, "target_c": 35.0,
    "readings": [{"at_min": 0.0, "pack_c": 58.0}, {"at_min": 10.0, "pack_c": 48.4}]
}))]
pub struct CoolDownInput {
    /// Temperature now, degC.
    #[schema(minimum = -30.0, maximum = 120.0)]
    pub pack_c: f64,
    /// Air around the pack, degC.
    #[schema(minimum = -30.0, maximum = 60.0)]
    pub ambient_c: f64,
    /// Temperature to wait for, degC; 35 if left out, at most 45.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 45.0)]
    pub target_c: Option<f64>,
    /// Time constant if it is known, min.
    #[serde(default)]
    #[schema(minimum = 1.0, maximum = 600.0)]
    pub tau_min: Option<f64>,
    /// Readings of the same pack cooling in the same air, earliest first; two or more teach the
    /// time constant.
    #[serde(default)]
    #[schema(max_items = 500)]
    pub readings: Vec<CoolingReading>,
}

/// Where a time constant comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum TauBasis {
    /// Learned from readings of this pack.
    Learned,
    /// Given with the input.
    Given,
    /// A general estimate.
    Assumed,
}

/// How long the pack cools.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"wait_min": 34.013, "target_c": 35.0, "tau_min": 30.141, "tau_basis": "learned"}))]
pub struct CoolDownOutput {
    /// Minutes until the target; `null` if the air is too warm ever to reach it.
    pub wait_min: Option<f64>,
    /// Temperature waited for, degC.
    pub target_c: f64,
    /// Time constant used, min.
    pub tau_min: f64,
    /// Where the time constant comes from.
    pub tau_basis: TauBasis,
}

/// Minutes until a warm pack has cooled to a temperature.
///
/// `T(t) = Ta + (T0 - Ta) exp(-t / tau)`.
///
/// **Units** degC, min.
///
/// **Assumptions** still air of one temperature, one time constant. The inside of a pack is warmer
/// than its surface for the first minutes.
///
/// **Source** Newton's law of cooling; time constant from a straight line through the logarithm of
/// the excess temperature.
///
/// # Errors
/// Temperatures out of range; readings that do not cool, lie below the air or are out of order.
///
/// ```
/// # use linkout::calc::battery::{CoolDownInput, cool_down};
/// let pack = CoolDownInput {
///     pack_c: 58.0,
///     ambient_c: 24.0,
///     target_c: Some(45.0),
///     tau_min: Some(30.0),
///     readings: Vec::new(),
/// };
/// let wait = cool_down(&pack).unwrap().wait_min.unwrap();
/// assert!((wait - 14.455).abs() < 0.001);
/// ```
pub fn cool_down(input: &CoolDownInput) -> Result<CoolDownOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/pack_c", input.pack_c, -30.0, 120.0);
    faults.range("/ambient_c", input.ambient_c, -30.0, 60.0);
    if let Some(target_c) = input.target_c {
        faults.range("/target_c", target_c, 0.0, 45.0);
    }
    if let Some(tau_min) = input.tau_min {
        faults.range("/tau_min", tau_min, 1.0, 600.0);
    }
    let learned = learn_tau(&input.readings, input.ambient_c, &mut faults);
    faults.check()?;

    let target_c = input.target_c.unwrap_or(START_AT_MOST_C);
    let (tau_min, tau_basis) = match (learned, input.tau_min) {
        (Some(tau_min), _) => (tau_min, TauBasis::Learned),
        (None, Some(tau_min)) => (tau_min, TauBasis::Given),
        (None, None) => (ASSUMED_TAU_MIN, TauBasis::Assumed),
    };
    Ok(CoolDownOutput {
        wait_min: wait_min(input.pack_c, input.ambient_c, target_c, tau_min),
        target_c,
        tau_min,
        tau_basis,
    })
}

/// Minutes until `target_c`; none if it is never reached.
pub(super) fn wait_min(pack_c: f64, ambient_c: f64, target_c: f64, tau_min: f64) -> Option<f64> {
    if pack_c <= target_c {
        Some(0.0)
    } else if ambient_c >= target_c {
        None
    } else {
        Some(tau_min * ((pack_c - ambient_c) / (target_c - ambient_c)).ln())
    }
}

/// Time constant from readings, least squares on the logarithm of the excess over the air.
fn learn_tau(readings: &[CoolingReading], ambient_c: f64, faults: &mut Faults) -> Option<f64> {
    if readings.is_empty() {
        return None;
    }
    names::count(faults, "/readings", readings.len(), 2, 500, "readings");
    let mut sound = true;
    for (index, reading) in readings.iter().enumerate() {
        let at = format!("/readings/{index}");
        faults.range(format!("{at}/at_min"), reading.at_min, 0.0, 1440.0);
        faults.range(format!("{at}/pack_c"), reading.pack_c, -30.0, 120.0);
        // Within a degree of the air the logarithm is mostly the error of the thermometer.
        if reading.pack_c - ambient_c < 1.0 {
            faults.add(
                format!("{at}/pack_c"),
                format!(
                    "{} degC is not at least 1 degC above the air ({ambient_c} degC), so it says \
                     nothing about cooling.",
                    reading.pack_c
                ),
            );
            sound = false;
        }
        if index > 0 && reading.at_min <= readings[index - 1].at_min {
            faults.add(
                format!("{at}/at_min"),
                "Readings must be in order of time, each later than the one before.",
            );
            sound = false;
        }
    }
    if !sound || !faults.is_empty() {
        return None;
    }
    let count = readings.len() as f64;
    let mean_t = readings.iter().map(|reading| reading.at_min).sum::<f64>() / count;
    let excess = |reading: &CoolingReading| (reading.pack_c - ambient_c).ln();
    let mean_y = readings.iter().map(excess).sum::<f64>() / count;
    let (mut across, mut along) = (0.0, 0.0);
    for reading in readings {
        across += (reading.at_min - mean_t) * (excess(reading) - mean_y);
        along += (reading.at_min - mean_t).powi(2);
    }
    let tau_min = -along / across;
    if !(1.0..=600.0).contains(&tau_min) {
        faults.add(
            "/readings",
            "These readings do not cool with a time constant from 1 to 600 min. Was the pack \
             still being used, or is the air temperature wrong?",
        );
        return None;
    }
    Some(tau_min)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn warm(pack_c: f64, target_c: f64) -> CoolDownInput {
        CoolDownInput {
            pack_c,
            ambient_c: 24.0,
            target_c: Some(target_c),
            tau_min: Some(30.0),
            readings: Vec::new(),
        }
    }

    #[test]
    fn the_worked_pack_cools_in_the_worked_time() {
        // Worked case w08: 58 degC, air 24 degC, 30 min, to 45 and to 35 degC.
        for (target_c, minutes) in [(45.0, 14.455), (35.0, 33.854)] {
            let wait = cool_down(&warm(58.0, target_c)).unwrap().wait_min.unwrap();
            assert!((wait - minutes).abs() < 0.001);
        }
    }

    #[test]
    fn a_hall_warmer_than_the_target_never_cools_the_pack() {
        let mut input = warm(58.0, 35.0);
        input.ambient_c = 36.0;
        assert_eq!(cool_down(&input).unwrap().wait_min, None);
    }

    #[test]
    fn a_pack_that_warms_teaches_nothing() {
        let mut input = warm(40.0, 35.0);
        input.readings = [(0.0, 40.0), (5.0, 42.0)]
            .map(|(at_min, pack_c)| CoolingReading { at_min, pack_c })
            .to_vec();
        let faults = cool_down(&input).unwrap_err();
        assert_eq!(faults[0].pointer, "/readings");
    }

    proptest! {
        #[test]
        fn a_cooling_pack_teaches_its_time_constant(tau in 5.0_f64..120.0, start in 40.0_f64..80.0) {
            let mut input = warm(start, 35.0);
            input.readings = [0.0, 4.0, 9.0]
                .map(|at_min: f64| CoolingReading {
                    at_min,
                    pack_c: 24.0 + (start - 24.0) * (-at_min / tau).exp(),
                })
                .to_vec();
            prop_assume!(input.readings[2].pack_c > 25.0);
            let output = cool_down(&input).unwrap();
            prop_assert_eq!(output.tau_basis, TauBasis::Learned);
            prop_assert!((output.tau_min - tau).abs() < 1e-6 * tau);
        }

        #[test]
        fn a_hotter_pack_never_cools_sooner(pack in 20.0_f64..90.0, more in 0.0_f64..20.0) {
            let cool = cool_down(&warm(pack, 35.0)).unwrap().wait_min.unwrap();
            let hot = cool_down(&warm(pack + more, 35.0)).unwrap().wait_min.unwrap();
            prop_assert!(hot >= cool);
        }
    }
}
