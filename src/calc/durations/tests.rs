//! Times against closed forms and reference values.

use serde_json::Value;

use super::{Learned, LogNormal, PertBeta, Quantiles, Triangular};

/// **Source** closed forms and scipy 1.17.1 (`beta`, `triang`, `t`), case by case.
const CASES: &str = include_str!("../../../tests/data/duration/cases.json");

fn case(id: &str) -> Value {
    let cases: Vec<Value> = serde_json::from_str(CASES).expect("cases");
    cases.into_iter().find(|c| c["id"] == id).expect("the case")
}

fn number(case: &Value, part: &str, name: &str) -> f64 {
    case[part][name].as_f64().expect("a number")
}

fn three(case: &Value) -> [f64; 3] {
    ["a", "m", "b"].map(|name| number(case, "input", name))
}

fn close(found: f64, wanted: f64, part: f64) {
    assert!(
        (found - wanted).abs() <= part * wanted.abs().max(1e-9),
        "{found} is not {wanted}"
    );
}

#[test]
fn three_points_give_mean_variance_and_quantiles() {
    for id in ["B01", "B03", "B04"] {
        let case = case(id);
        let pert = PertBeta::new(three(&case)).expect("they rise");
        close(pert.mean(), number(&case, "expected", "mean"), 1e-12);
        close(pert.variance(), number(&case, "expected", "var"), 1e-12);
        close(
            pert.chance_within(pert.mean()),
            number(&case, "expected", "cdf_at_mean"),
            1e-9,
        );
        for (name, p) in [("p10", 0.1), ("p50", 0.5), ("p90", 0.9)] {
            close(pert.quantile(p), number(&case, "expected", name), 1e-9);
            // The table is linear between a thousand points.
            close(
                Quantiles::of_pert(&pert).at(p),
                number(&case, "expected", name),
                2e-5,
            );
        }
    }
    let case = case("B05");
    let triangle = Triangular::new(three(&case)).expect("they rise");
    close(triangle.mean(), number(&case, "expected", "mean"), 1e-12);
    close(triangle.variance(), number(&case, "expected", "var"), 1e-12);
    for (name, p) in [("p10", 0.1), ("p50", 0.5), ("p90", 0.9)] {
        close(triangle.quantile(p), number(&case, "expected", name), 1e-12);
    }
}

#[test]
fn what_does_not_rise_is_no_three_point_time() {
    for points in [
        [2.0, 1.0, 3.0],
        [1.0, 3.0, 2.0],
        [1.0, 1.0, 1.0],
        [0.0, 1.0, f64::INFINITY],
        [f64::NAN, 1.0, 2.0],
    ] {
        assert!(PertBeta::new(points).is_none());
        assert!(Triangular::new(points).is_none());
    }
    assert!(LogNormal::from_p10_p90(3.0, 3.0).is_none());
    assert!(Learned::new(1.0, 0.0, 1.0, 1.0).is_none());
}

#[test]
fn two_quantiles_give_a_log_normal_time() {
    let case = case("B17");
    let time =
        LogNormal::from_p10_p90(number(&case, "input", "p10"), number(&case, "input", "p90"))
            .expect("they rise");
    close(time.mean_of_log(), number(&case, "expected", "mu"), 1e-12);
    close(
        time.deviation_of_log(),
        number(&case, "expected", "sigma"),
        1e-12,
    );
    close(time.median(), number(&case, "expected", "median"), 1e-12);
    close(time.mean(), number(&case, "expected", "mean"), 1e-12);
    close(time.chance_within(20.0), 0.9, 1e-9);
    close(Quantiles::of_log_normal(&time).at(0.9), 20.0, 1e-4);
}

#[test]
fn times_teach() {
    let case = case("B18");
    let of = |name| number(&case, "input", name);
    let prior = Learned::new(of("m0"), of("kappa0"), of("alpha0"), of("beta0")).expect("sound");
    let times: Vec<f64> = serde_json::from_value(case["input"]["obs"].clone()).expect("times");
    let learned = prior.after(&times);
    let (centre, weight, shape, scale) = learned.parameters();
    for (found, name) in [
        (centre, "m"),
        (weight, "kappa"),
        (shape, "alpha"),
        (scale, "beta"),
    ] {
        close(found, number(&case, "expected", name), 1e-12);
    }
    close(learned.median(), number(&case, "expected", "median"), 1e-12);
    close(
        learned.quantile(0.9),
        number(&case, "expected", "p90"),
        1e-8,
    );
    for time in [15, 20, 30] {
        let wanted = case["expected"]["p_le"][time.to_string()]
            .as_f64()
            .expect("a chance");
        close(learned.chance_within(f64::from(time)), wanted, 1e-9);
    }
    close(
        Quantiles::of_learned(&learned).at(0.9),
        number(&case, "expected", "p90"),
        1e-4,
    );
    assert_eq!(prior.after(&[0.0, -3.0, f64::NAN]), prior);
}

#[test]
fn a_learned_time_is_never_drawn_absurdly_long() {
    let learned = Learned::from_p10_p90(6.0, 20.0).expect("they rise");
    let longest = Quantiles::of_learned(&learned).at(1.0 - 1e-12);
    close(longest, 4.0 * learned.quantile(0.9), 1e-6);
    assert!(learned.quantile(1.0 - 1e-9) > longest);
}
