//! How likely a plan is to hold: replays with drawn durations.

use std::collections::BTreeMap;

use rand::RngExt;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal};
use utoipa::ToSchema;

use super::answer::Answer;
use super::problem::{Problem, Task};
use super::replay::{Network, Replays, stream};
use crate::calc::durations::{Learned, PertBeta, Quantiles};

/// Replays times tasks are kept below this, so that the memory needed stays bounded.
const MOST_DRAWN: usize = 20_000_000;
/// The stream of the day as a whole.
const DAY: &str = "\u{0}day";
/// The 97.5 % quantile of the standard normal distribution.
const TWO_SIDED: f64 = 1.959_963_984_540_054;

/// How to draw.
#[derive(Debug, Clone)]
pub struct Draw {
    /// How many replays.
    pub samples: usize,
    /// The same seed draws the same fortune.
    pub seed: u64,
    /// How the day goes, for all tasks alike.
    pub day: Day,
    /// What is learned of a task's duration, by its id, in ticks; goes before its three points.
    pub learned: BTreeMap<String, Learned>,
}

impl Default for Draw {
    fn default() -> Self {
        Self {
            samples: 10_000,
            seed: 1,
            day: Day::default(),
            learned: BTreeMap::new(),
        }
    }
}

/// The factor by which everything takes longer on a bad day: log-normal.
///
/// Delays cluster. With every task drawn by itself they would average out, and the odds would be
/// too good near the call.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Day {
    /// Mean of the factor's logarithm.
    pub mean_of_log: f64,
    /// Standard deviation of the factor's logarithm.
    pub deviation_of_log: f64,
}

impl Day {
    /// Learns the factor from past days, each with pairs of planned and actual time.
    ///
    /// A day's own factor is its mean log ratio; what tasks differ within a day is taken off the
    /// spread between days, since the draws of the tasks already hold it.
    ///
    /// **Source** one-way random effects, moments (DerSimonian and Laird 1986, equal weights).
    pub fn learned(days: &[Vec<(f64, f64)>]) -> Self {
        let mut means = Vec::new();
        let mut of_mean = 0.0;
        for day in days {
            let logs: Vec<f64> = day
                .iter()
                .filter(|(plan, actual)| *plan > 0.0 && *actual > 0.0)
                .map(|(plan, actual)| (actual / plan).ln())
                .collect();
            if logs.len() < 2 {
                continue;
            }
            let n = logs.len() as f64;
            let mean = logs.iter().sum::<f64>() / n;
            of_mean += logs.iter().map(|log| (log - mean).powi(2)).sum::<f64>() / (n - 1.0) / n;
            means.push(mean);
        }
        let n = means.len() as f64;
        if means.len() < 2 {
            return Self {
                mean_of_log: means.first().copied().unwrap_or(0.0),
                deviation_of_log: 0.0,
            };
        }
        let mean = means.iter().sum::<f64>() / n;
        let between = means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n - 1.0);
        Self {
            mean_of_log: mean,
            deviation_of_log: (between - of_mean / n).max(0.0).sqrt(),
        }
    }

    fn factors(&self, samples: usize, seed: u64) -> Vec<f64> {
        if self.deviation_of_log <= 0.0 {
            return vec![self.mean_of_log.exp(); samples];
        }
        let normal = Normal::standard();
        let mut rng = stream(seed, DAY);
        (0..samples)
            .map(|_| {
                let p = rng.random::<f64>().clamp(1e-12, 1.0 - 1e-12);
                (self.mean_of_log + self.deviation_of_log * normal.inverse_cdf(p)).exp()
            })
            .collect()
    }
}

/// A chance with the interval that holds it with 95 %.
///
/// **Source** Wilson 1927.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct Chance {
    /// The share of replays.
    pub chance: f64,
    /// The lower end of the interval.
    pub low: f64,
    /// The upper end of the interval.
    pub high: f64,
}

impl Chance {
    /// From `hits` out of `samples`.
    pub fn of(hits: usize, samples: usize) -> Self {
        if samples == 0 {
            return Self {
                chance: 0.0,
                low: 0.0,
                high: 1.0,
            };
        }
        let (n, z) = (samples as f64, TWO_SIDED);
        let p = hits as f64 / n;
        let middle = (p + z * z / (2.0 * n)) / (1.0 + z * z / n);
        let half = z / (1.0 + z * z / n) * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
        Self {
            chance: p,
            low: (middle - half).max(0.0),
            high: (middle + half).min(1.0),
        }
    }
}

/// How likely a plan is to hold.
///
/// **Units** ticks.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Odds {
    /// How many replays.
    pub samples: usize,
    /// Ready by then in half of them.
    pub ready_p50: f64,
    /// Ready by then in four of five.
    pub ready_p80: f64,
    /// Ready by the call, if there is one.
    pub by_call: Option<Chance>,
    /// Task by task, in the order of the plan.
    pub tasks: Vec<TaskOdds>,
}

/// When a task is likely to end, and how often it decides.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct TaskOdds {
    /// The task.
    pub id: String,
    /// Ended by then in half of the replays.
    pub end_p50: f64,
    /// Ended by then in four of five.
    pub end_p80: f64,
    /// Ended by its own deadline, if it has one.
    pub by_deadline: Option<Chance>,
    /// The share of replays in which it is on the chain that decides the end.
    pub decides: f64,
}

/// Replays a plan with drawn durations, order and people as planned.
///
/// **Assumptions** three points are PERT-beta; a task without is certain; releases, lags and
/// absences are certain. The most likely times never add up to a likely end, so none is shown.
/// **Source** crude Monte Carlo on common random numbers.
pub fn odds(problem: &Problem, answer: &Answer, draw: &Draw) -> Odds {
    let network = Network::of(problem, answer);
    let samples = draw
        .samples
        .clamp(1, (MOST_DRAWN / answer.tasks.len().max(1)).max(1));
    let times = tables(problem, draw);
    let day = draw.day.factors(samples, draw.seed);
    let mut replays = network.replay(problem, &times, samples, draw.seed, &day);
    let by_call = problem.call.map(|call| chance_by(&replays.ready, call));
    let tasks = task_odds(problem, &network, &mut replays, samples);
    Odds {
        samples,
        ready_p50: quantile(&mut replays.ready, 0.5),
        ready_p80: quantile(&mut replays.ready, 0.8),
        by_call,
        tasks,
    }
}

fn task_odds(
    problem: &Problem,
    network: &Network,
    replays: &mut Replays,
    samples: usize,
) -> Vec<TaskOdds> {
    network
        .tasks()
        .enumerate()
        .map(|(node, task)| TaskOdds {
            id: problem.tasks[task].id.clone(),
            end_p50: quantile(&mut replays.ends[node], 0.5),
            end_p80: quantile(&mut replays.ends[node], 0.8),
            by_deadline: problem.tasks[task]
                .deadline
                .map(|deadline| chance_by(&replays.ends[node], deadline)),
            decides: f64::from(replays.deciding[node]) / samples as f64,
        })
        .collect()
}

/// The chance of an end by a moment.
fn chance_by(ends: &[f32], moment: i64) -> Chance {
    let hits = ends
        .iter()
        .filter(|&&end| f64::from(end) <= moment as f64 + 1e-3)
        .count();
    Chance::of(hits, ends.len())
}

fn quantile(values: &mut [f32], p: f64) -> f64 {
    let at = ((values.len() as f64 * p).ceil() as usize).clamp(1, values.len()) - 1;
    f64::from(*values.select_nth_unstable_by(at, f32::total_cmp).1)
}

/// The quantiles of every task's time; equal three points share the work.
fn tables(problem: &Problem, draw: &Draw) -> Vec<Quantiles> {
    let mut known: BTreeMap<[u64; 3], Quantiles> = BTreeMap::new();
    let mut table = |task: &Task| match (
        draw.learned.get(&task.id),
        task.three_point.and_then(PertBeta::new),
    ) {
        (Some(learned), _) => Quantiles::of_learned(learned),
        (None, Some(pert)) => {
            let key = task.three_point.unwrap_or_default().map(f64::to_bits);
            known
                .entry(key)
                .or_insert_with(|| Quantiles::of_pert(&pert))
                .clone()
        }
        (None, None) => {
            let always = task
                .three_point
                .map_or(task.duration as f64, |points| points[1]);
            Quantiles::certain(always)
        }
    };
    problem.tasks.iter().map(&mut table).collect()
}
