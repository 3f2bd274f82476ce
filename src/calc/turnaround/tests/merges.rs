//! Where several chains meet the longest decides: replays against closed forms.
//!
//! Error bars are five standard errors of the replay, and of the case where it was drawn itself,
//! plus what the table of quantiles adds: the lowest of its 1,024 cells is straight, which moves a
//! normal time's mean by less than 0.003 standard deviations.

use serde_json::{Value, json};
use statrs::distribution::{ContinuousCDF, Normal};

use super::odds::{case, near, numbers};
use crate::calc::durations::{Quantiles, Triangular};
use crate::calc::turnaround::replay::Network;
use crate::calc::turnaround::{Budget, Problem, solve};

const SAMPLES: usize = 100_000;
const OF_TABLE: f64 = 0.003;

fn normal(mean: f64, deviation: f64) -> Quantiles {
    let standard = Normal::standard();
    Quantiles::of(move |p| mean + deviation * standard.inverse_cdf(p.clamp(1e-9, 1.0 - 1e-9)))
}

fn exponential(mean: f64) -> Quantiles {
    Quantiles::of(|p| -mean * (1.0 - p).max(1e-9).ln())
}

/// Ends of a project whose tasks wait for each other as `after` says.
fn ready(after: &[Vec<usize>], times: &[Quantiles]) -> Vec<f64> {
    let tasks: Vec<Value> = after
        .iter()
        .enumerate()
        .map(|(i, before)| {
            let after: Vec<Value> = before
                .iter()
                .map(|k| json!({"task": format!("t{k}")}))
                .collect();
            json!({"id": format!("t{i}"), "duration": 1, "after": after})
        })
        .collect();
    let problem: Problem = serde_json::from_value(json!({ "tasks": tasks })).expect("a problem");
    let answer = solve(&problem, Budget::steps(1_000)).expect("no fault");
    let replays =
        Network::of(&problem, &answer).replay(&problem, times, SAMPLES, 11, &vec![1.0; SAMPLES]);
    replays.ready.into_iter().map(f64::from).collect()
}

fn share(ready: &[f64], by: f64) -> f64 {
    ready.iter().filter(|&&end| end <= by).count() as f64 / ready.len() as f64
}

/// Mean and variance.
fn moments(ready: &[f64]) -> (f64, f64) {
    let n = ready.len() as f64;
    let mean = ready.iter().sum::<f64>() / n;
    let variance = ready.iter().map(|end| (end - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, variance)
}

fn within(found: f64, wanted: f64, error: f64) {
    assert!(
        (found - wanted).abs() <= error,
        "{found} is not {wanted} within {error}"
    );
}

#[test]
fn triangular_times_in_a_row_add_up_as_irwin_and_hall_say() {
    let case = case("B06");
    let triangular = Triangular::new([0.0, 1.0, 2.0]).expect("it rises");
    let times: Vec<Quantiles> = (0..3)
        .map(|_| Quantiles::of(|p| triangular.quantile(p)))
        .collect();
    let ready = ready(&[vec![], vec![0], vec![1]], &times);
    let wanted = numbers(&case["expected"]["cdf"]);
    for (by, wanted) in numbers(&case["input"]["x"]).into_iter().zip(wanted) {
        near(share(&ready, by), wanted, SAMPLES);
    }
}

#[test]
fn chains_that_meet_are_later_than_each_of_them() {
    let case = case("B11");
    let (mean_of, all_by) = (
        numbers(&case["expected"]["mean"]),
        numbers(&case["expected"]["p_all_by_mean"]),
    );
    for ((n, mean), all) in numbers(&case["input"]["n"])
        .into_iter()
        .zip(mean_of)
        .zip(all_by)
    {
        let n = n as usize;
        let times: Vec<Quantiles> = (0..n).map(|_| normal(10.0, 1.0)).collect();
        let ready = ready(&vec![vec![]; n], &times);
        let (found, variance) = moments(&ready);
        let error = 5.0 * (variance / SAMPLES as f64).sqrt() + OF_TABLE;
        within(found - 10.0, mean, error);
        near(share(&ready, 10.0), all, SAMPLES);
    }
}

#[test]
fn the_longer_of_two_normal_times_is_clarks() {
    let case = case("B12");
    let given = |name: &str| case["input"][name].as_f64().expect("a number");
    let wanted = |name: &str| case["expected"][name].as_f64().expect("a number");
    let times = [
        normal(given("mu1"), given("sd1")),
        normal(given("mu2"), given("sd2")),
    ];
    let (mean, variance) = moments(&ready(&[vec![], vec![]], &times));
    let error = 5.0 * (wanted("var") / SAMPLES as f64).sqrt() + OF_TABLE * given("sd2");
    within(mean, wanted("mean"), error);
    // A variance's own relative error is the root of (kurtosis - 1) / n, the kurtosis here near 3.
    let error = wanted("var") * (5.0 * (3.0 / SAMPLES as f64).sqrt() + OF_TABLE);
    within(variance, wanted("var"), error);
}

#[test]
fn a_network_of_normal_and_exponential_times_is_as_late_as_forty_million_draws_say() {
    let (case, network) = (case("B16"), case("B15"));
    let means = numbers(&case["input"]["means"]);
    let normal_ones = numbers(&case["input"]["normal_arcs_0based"]);
    let arcs = network["input"]["arcs"].as_array().expect("arcs");
    let after: Vec<Vec<usize>> = arcs
        .iter()
        .map(|arc| (0..arcs.len()).filter(|&k| arcs[k][1] == arc[0]).collect())
        .collect();
    let wanted = |name: &str| case["expected"][name].as_f64().expect("a number");
    // The network is the one that is meant: with certain times it ends when it should.
    let certain: Vec<Quantiles> = means.iter().map(|mean| Quantiles::certain(*mean)).collect();
    within(ready(&after, &certain)[0], wanted("deterministic"), 1e-3);
    let times: Vec<Quantiles> = means
        .iter()
        .enumerate()
        .map(|(arc, mean)| {
            if normal_ones.contains(&(arc as f64)) {
                normal(*mean, mean / 4.0)
            } else {
                exponential(*mean)
            }
        })
        .collect();
    let ready = ready(&after, &times);
    let (mean, variance) = moments(&ready);
    let error = 5.0 * ((variance / SAMPLES as f64).sqrt() + wanted("ET_se"));
    within(mean, wanted("ET"), error + OF_TABLE * 5.0);
    let late = 5.0 * wanted("P_se") + 1e-4;
    let chance = wanted("P_T_gt_90");
    let error = 5.0 * (chance * (1.0 - chance) / SAMPLES as f64).sqrt() + late;
    within(1.0 - share(&ready, 90.0), chance, error);
    near(share(&ready, 60.0), wanted("P_T_le_60"), SAMPLES);
}
