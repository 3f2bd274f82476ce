//! What a bout draws: a pattern, a log, or what earlier bouts took.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::chemistry::Chemistry;
use super::pack::{check_cell, highest, mean};
use crate::calc::fault::Faults;
use crate::calc::names;

/// A steady draw with peaks at a regular distance, in every period the peak last.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "duration_s": 180.0, "base_a": 10.0, "peak_a": 40.0, "peak_s": 2.0, "period_s": 15.0
}))]
pub struct LoadPattern {
    /// Length of the bout, s.
    #[schema(minimum = 1.0, maximum = 3600.0)]
    pub duration_s: f64,
    /// Current between peaks, A of the pack.
    #[schema(minimum = 0.0, maximum = 3000.0)]
    pub base_a: f64,
    /// Current in a peak, A of the pack; not below the base.
    #[schema(minimum = 0.0, maximum = 3000.0)]
    pub peak_a: f64,
    /// Length of a peak, s; not longer than the period.
    #[schema(minimum = 0.0, maximum = 3600.0)]
    pub peak_s: f64,
    /// From peak to peak, s.
    #[schema(minimum = 0.1, maximum = 3600.0)]
    pub period_s: f64,
}

/// One sample of a current log.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CurrentPoint {
    /// When, s after the first.
    #[schema(minimum = 0.0, maximum = 7200.0)]
    pub at_s: f64,
    /// Discharge current of the pack, A.
    #[schema(minimum = 0.0, maximum = 3000.0)]
    pub pack_a: f64,
}

/// An earlier bout with its lowest voltage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"rest_cell_v_after": 4.1065, "lowest_cell_v": 3.8146, "peak_a": 40.0}))]
pub struct PastBout {
    /// Cell voltage at rest after it, V.
    #[schema(minimum = 0.0, maximum = 4.4)]
    pub rest_cell_v_after: f64,
    /// Lowest cell voltage in it, V; below the rest voltage.
    #[schema(minimum = 0.0, maximum = 4.4)]
    pub lowest_cell_v: f64,
    /// Current of the pack at that moment, A.
    #[schema(minimum = 0.1, maximum = 3000.0)]
    pub peak_a: f64,
}

impl PastBout {
    /// Notes what no bout looks like.
    pub(super) fn check(&self, chemistry: Chemistry, at: &str, faults: &mut Faults) {
        let lowest_at = format!("{at}/lowest_cell_v");
        check_cell(
            chemistry,
            self.rest_cell_v_after,
            &format!("{at}/rest_cell_v_after"),
            faults,
        );
        check_cell(chemistry, self.lowest_cell_v, &lowest_at, faults);
        faults.range(format!("{at}/peak_a"), self.peak_a, 0.1, 3000.0);
        if self.lowest_cell_v >= self.rest_cell_v_after {
            faults.add(
                lowest_at,
                format!(
                    "{} V under load is not below {} V at rest. Are the two swapped?",
                    self.lowest_cell_v, self.rest_cell_v_after
                ),
            );
        }
    }

    /// Resistance of one cell under load, mohm.
    pub(super) fn load_resistance_mohm(&self, parallel: f64) -> f64 {
        1000.0 * (self.rest_cell_v_after - self.lowest_cell_v) / (self.peak_a / parallel)
    }
}

/// What the bout draws in all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct BoutLoad {
    pub(super) used_ah: f64,
    pub(super) peak_a: f64,
    /// Integral of the current squared, A^2 s, if the current is known over time.
    pub(super) square_a2s: Option<f64>,
}

/// Notes a load that is missing, told twice or impossible.
pub(super) fn check_load(
    pattern: Option<&LoadPattern>,
    log: &[CurrentPoint],
    past_ah: &[f64],
    peak_a: Option<f64>,
    faults: &mut Faults,
) {
    let ways = usize::from(pattern.is_some())
        + usize::from(!log.is_empty())
        + usize::from(!past_ah.is_empty());
    if ways != 1 {
        faults.add(
            "",
            format!(
                "Give the load in exactly one way (pattern, current_log or past_bouts_ah); {ways} \
                 are given."
            ),
        );
    }
    if let Some(pattern) = pattern {
        check_pattern(pattern, faults);
    }
    check_log(log, faults);
    check_past(past_ah, "/past_bouts_ah", faults);
    if !past_ah.is_empty() && peak_a.is_none() {
        faults.add(
            "/peak_a",
            "Ampere-hours of earlier bouts do not tell the highest current; give it, in A.",
        );
    }
}

/// Notes ampere-hours of earlier bouts that no bout takes.
pub(super) fn check_past(past_ah: &[f64], at: &str, faults: &mut Faults) {
    names::count(faults, at, past_ah.len(), 0, 500, "bouts");
    for (index, &ah) in past_ah.iter().enumerate() {
        check_used(ah, format!("{at}/{index}"), faults);
    }
}

/// Notes ampere-hours that no bout takes, and asks whether they are milliampere-hours.
pub(super) fn check_used(ah: f64, at: String, faults: &mut Faults) {
    if ah > 500.0 && ah <= 500_000.0 {
        faults.add(
            at,
            format!("{ah} Ah is more than any bout takes (0 to 500); is it in mAh?"),
        );
    } else {
        faults.range(at, ah, 0.0, 500.0);
    }
}

fn check_pattern(pattern: &LoadPattern, faults: &mut Faults) {
    for (name, value, min, max) in [
        ("duration_s", pattern.duration_s, 1.0, 3600.0),
        ("base_a", pattern.base_a, 0.0, 3000.0),
        ("peak_a", pattern.peak_a, 0.0, 3000.0),
        ("peak_s", pattern.peak_s, 0.0, 3600.0),
        ("period_s", pattern.period_s, 0.1, 3600.0),
    ] {
        faults.range(format!("/pattern/{name}"), value, min, max);
    }
    if pattern.peak_a < pattern.base_a {
        faults.add(
            "/pattern/peak_a",
            format!(
                "{} A in a peak is below {} A between peaks.",
                pattern.peak_a, pattern.base_a
            ),
        );
    }
    if pattern.peak_s > pattern.period_s {
        faults.add(
            "/pattern/peak_s",
            format!(
                "A peak of {} s does not fit a period of {} s.",
                pattern.peak_s, pattern.period_s
            ),
        );
    }
}

fn check_log(log: &[CurrentPoint], faults: &mut Faults) {
    if !log.is_empty() {
        names::count(faults, "/current_log", log.len(), 2, 20_000, "samples");
    }
    for (index, point) in log.iter().enumerate() {
        let at = format!("/current_log/{index}");
        faults.range(format!("{at}/at_s"), point.at_s, 0.0, 7200.0);
        faults.range(format!("{at}/pack_a"), point.pack_a, 0.0, 3000.0);
        if index > 0 && point.at_s <= log[index - 1].at_s {
            faults.add(
                format!("{at}/at_s"),
                "Samples must be in order of time, each later than the one before.",
            );
        }
    }
}

/// The load of a checked input.
pub(super) fn load(
    pattern: Option<&LoadPattern>,
    log: &[CurrentPoint],
    past_ah: &[f64],
    peak_a: Option<f64>,
) -> BoutLoad {
    match pattern {
        Some(pattern) => by_pattern(pattern, peak_a),
        None if !log.is_empty() => by_log(log, peak_a),
        None => BoutLoad {
            used_ah: planned_ah(past_ah),
            peak_a: peak_a.unwrap_or(0.0),
            square_a2s: None,
        },
    }
}

fn by_pattern(pattern: &LoadPattern, peak_a: Option<f64>) -> BoutLoad {
    let periods = (pattern.duration_s / pattern.period_s).floor();
    let rest_s = pattern.duration_s - periods * pattern.period_s;
    let base_s = pattern.period_s - pattern.peak_s;
    let peaks_s = periods * pattern.peak_s + (rest_s - base_s).max(0.0);
    let steady_s = pattern.duration_s - peaks_s;
    BoutLoad {
        used_ah: (pattern.base_a * steady_s + pattern.peak_a * peaks_s) / 3600.0,
        peak_a: peak_a.unwrap_or(0.0).max(pattern.peak_a),
        square_a2s: Some(pattern.base_a.powi(2) * steady_s + pattern.peak_a.powi(2) * peaks_s),
    }
}

fn by_log(log: &[CurrentPoint], peak_a: Option<f64>) -> BoutLoad {
    let (mut charge_as, mut square_a2s) = (0.0, 0.0);
    for pair in log.windows(2) {
        let (first, last) = (pair[0].pack_a, pair[1].pack_a);
        let seconds = pair[1].at_s - pair[0].at_s;
        charge_as += f64::midpoint(first, last) * seconds;
        // The square of a straight line between two samples.
        square_a2s += (first * first + first * last + last * last) / 3.0 * seconds;
    }
    let logged = log.iter().map(|point| point.pack_a).fold(0.0, f64::max);
    BoutLoad {
        used_ah: charge_as / 3600.0,
        peak_a: peak_a.unwrap_or(0.0).max(logged),
        square_a2s: Some(square_a2s),
    }
}

/// Ampere-hours to plan the next bout with.
///
/// A quarter more than the worst of the last three bouts; from five bouts on, the mean and two
/// standard deviations if that is less, but never less than the worst of the last three.
///
/// **Source** own policy.
pub(super) fn planned_ah(past_ah: &[f64]) -> f64 {
    let worst = highest(&past_ah[past_ah.len().saturating_sub(3)..]).unwrap_or(0.0);
    let cautious = 1.25 * worst;
    let usual = mean(past_ah).filter(|_| past_ah.len() >= 5).map(|mean| {
        let squares: f64 = past_ah.iter().map(|ah| (ah - mean).powi(2)).sum();
        mean + 2.0 * (squares / (past_ah.len() - 1) as f64).sqrt()
    });
    usual.map_or(cautious, |usual| usual.min(cautious).max(worst))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_and_its_log_take_the_same() {
        let pattern = LoadPattern {
            duration_s: 150.0,
            base_a: 12.0,
            peak_a: 40.0,
            peak_s: 3.0,
            period_s: 15.0,
        };
        let told = by_pattern(&pattern, None);
        // 10 periods of 12 s at 12 A and 3 s at 40 A.
        assert!((told.used_ah - 2640.0 / 3600.0).abs() < 1e-12);
        let edge = 1e-9;
        let log: Vec<CurrentPoint> = (0..10)
            .flat_map(|period| {
                let begin = f64::from(period) * 15.0;
                [
                    (begin + edge, 12.0),
                    (begin + 12.0, 12.0),
                    (begin + 12.0 + edge, 40.0),
                    (begin + 15.0, 40.0),
                ]
            })
            .map(|(at_s, pack_a)| CurrentPoint { at_s, pack_a })
            .collect();
        let logged = by_log(&log, None);
        assert!((logged.used_ah - told.used_ah).abs() < 1e-6);
        assert!((logged.square_a2s.unwrap() / told.square_a2s.unwrap() - 1.0).abs() < 1e-6);
        assert_eq!(logged.peak_a, 40.0);
    }

    #[test]
    fn a_last_period_that_is_cut_short_has_only_the_peak_that_fits() {
        let pattern = LoadPattern {
            duration_s: 29.0,
            base_a: 0.0,
            peak_a: 36.0,
            peak_s: 2.0,
            period_s: 15.0,
        };
        assert!((by_pattern(&pattern, None).used_ah - 36.0 * 3.0 / 3600.0).abs() < 1e-12);
    }

    #[test]
    fn planning_follows_the_worst_of_the_last_three() {
        assert!((planned_ah(&[1.2]) - 1.5).abs() < 1e-12);
        assert!((planned_ah(&[9.0, 1.0, 1.2, 1.1]) - 1.5).abs() < 1e-12);
        // Five alike: no spread, so no more than they took.
        assert!((planned_ah(&[1.0; 5]) - 1.0).abs() < 1e-12);
        assert!(planned_ah(&[1.0, 1.0, 1.0, 1.0, 2.0]) >= 2.0);
    }
}
