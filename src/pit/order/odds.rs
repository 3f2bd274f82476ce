//! When a robot will be ready, as samples that belong together across robots and orders.

use crate::calc::units::Minutes;
use crate::pit::ids::RobotId;
use crate::pit::readiness::{Forecast, Readiness};
use chrono::{DateTime, Utc};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF as _, Normal};

/// Samples of a ready time.
const SAMPLES: usize = 1_000;
/// One seed for all, so that the same logbook and moment give the same proposal.
const SEED: u64 = 0x6c69_6e6b_6f75_7431;
/// The quantile that plans publish.
const SLOW: f64 = 0.8;
/// No sample lies further than this many times the slow one: the tail beyond is made up.
const LONGEST: f64 = 4.0;
/// Two published quantiles nearer than this, in standard deviations, say nothing about the spread.
const TOO_NEAR: f64 = 0.25;

/// When `robot` is reported in the arena queue, in seconds from `now`: samples, or one number.
///
/// The time that is left is taken to be lognormal, through what the last plan published: the
/// chance of making the call and the time made eight times in ten; or else the likely time and
/// that one.
///
/// **Units** seconds.
/// **Assumptions** robots are late independently of each other.
/// **Source** lognormal from two quantiles; inverse transform on one uniform a sample from a
/// random stream of the robot's own (common random numbers; Law, Simulation Modeling and Analysis,
/// ch. 11, from memory).
pub fn ready_s(robot: RobotId, ready: &Readiness, now: DateTime<Utc>) -> Vec<i64> {
    let left_s = |at: DateTime<Utc>| (at - now).num_seconds();
    let likely_s = left_s(ready.likely).max(0);
    if ready.forecast == Forecast::Ready {
        return vec![0];
    }
    let slow_s = ready.eight_in_ten.map_or(0, left_s);
    if slow_s <= likely_s || likely_s >= 60 * i64::from(Minutes::MAX) {
        return vec![likely_s];
    }
    let (mean_of_log, deviation_of_log) = spread(
        seconds(likely_s.max(1)),
        seconds(slow_s),
        ready
            .odds
            .map(|odds| (seconds(left_s(ready.call.at)), odds)),
    );
    let mut rng = ChaCha8Rng::seed_from_u64(SEED);
    rng.set_stream(robot.0.as_u64_pair().1);
    let normal = Normal::standard();
    (0..SAMPLES)
        .map(|_| {
            let p = rng.random::<f64>().clamp(1e-9, 1.0 - 1e-9);
            let left = (mean_of_log + deviation_of_log * normal.inverse_cdf(p)).exp();
            whole(left.min(LONGEST * seconds(slow_s)))
        })
        .collect()
}

/// Mean and standard deviation of the logarithm of the time left.
fn spread(likely_s: f64, slow_s: f64, by_call: Option<(f64, f64)>) -> (f64, f64) {
    let normal = Normal::standard();
    let slow = normal.inverse_cdf(SLOW);
    if let Some((call_s, odds)) = by_call
        && call_s >= 60.0
        && (0.02..=0.98).contains(&odds)
    {
        let call = normal.inverse_cdf(odds);
        let deviation = (slow_s / call_s).ln() / (slow - call);
        if (slow - call).abs() > TOO_NEAR && (0.01..2.0).contains(&deviation) {
            return (slow_s.ln() - deviation * slow, deviation);
        }
    }
    (likely_s.ln(), (slow_s / likely_s).ln() / slow)
}

fn seconds(whole: i64) -> f64 {
    whole as f64
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "at most a few times the slow time, which is less than days"
)]
fn whole(seconds: f64) -> i64 {
    seconds.round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_spread_goes_through_both_quantiles() {
        // The lognormal with P10 6 and P90 20 has these two (50 digits, mpmath 1.4.1).
        let slow = 10.9545 * (0.469_732_f64 * 0.841_621_2).exp();
        let (mean, deviation) = spread(10.9545, slow, None);
        assert!((mean - 2.393_746).abs() < 1e-5, "{mean}");
        assert!((deviation - 0.469_732).abs() < 1e-5, "{deviation}");
        // The chance of making the call says more than the likely time does.
        let (mean, deviation) = spread(500.0, 1200.0, Some((900.0, 0.5)));
        assert!((mean - 900.0_f64.ln()).abs() < 1e-9);
        let slow = (mean + deviation * 0.841_621_233_572_914).exp();
        assert!((slow - 1200.0).abs() < 1e-6, "{slow}");
        // Odds that lie where the slow time does say nothing more.
        assert_eq!(
            spread(500.0, 1200.0, Some((1190.0, 0.79))),
            spread(500.0, 1200.0, None)
        );
    }
}
