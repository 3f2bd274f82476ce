//! Published tables: tests/data/spares/published.json names the work of each.

use serde_json::Value;

use super::checks::{close, learned, number, numbers, units};
use super::*;

const PUBLISHED: &str = include_str!("../../../tests/data/spares/published.json");

fn published(id: &str) -> Value {
    let all: Value = serde_json::from_str(PUBLISHED).unwrap();
    let found = all.as_array().unwrap().iter().find(|one| one["id"] == id);
    found.unwrap()["values"].clone()
}

#[test]
fn poisson_tables_are_reproduced() {
    let enough = |mean: f64, spares: &Value| {
        let rate = PartRate::Known(KnownRate {
            failures_per_unit_bout: mean,
        });
        demand::at_most(&rate, 1.0, units(spares) as usize)
    };
    let rows = |id: &str| published(id).as_array().unwrap().clone();
    for row in rows("X01") {
        let got = enough(number(&row[0]), &row[1]);
        close("X01", "cdf", *got.last().unwrap(), number(&row[2]), 1e-12);
    }
    for row in rows("X02") {
        let got = enough(number(&row[0]), &row[1]);
        let (last, before) = (got[got.len() - 1], got[got.len() - 2]);
        close("X02", "cdf", last, number(&row[2]), 5.1e-6);
        close("X02", "above", 1.0 - last, number(&row[3]), 5.1e-6);
        close("X02", "exactly", last - before, number(&row[4]), 5.1e-6);
    }
    for row in rows("X03") {
        let got = enough(number(&row[0]), &row[1]);
        close("X03", "cdf", *got.last().unwrap(), number(&row[2]), 5.1e-10);
    }
    for row in rows("X04") {
        let got = enough(number(&row[0]), &row[1]);
        let exactly = got[got.len() - 1] - got[got.len() - 2];
        close("X04", "exactly", exactly, number(&row[2]), 5.1e-5);
    }
    for (pipeline, wanted) in published("X12").as_object().unwrap() {
        let mean: f64 = pipeline.parse().unwrap();
        let enough = enough(mean, &Value::from(20));
        for (spares, wanted) in numbers(wanted).iter().enumerate() {
            let got = demand::shortage(mean, &enough, spares);
            close("X12", "shortage", got, *wanted, 5.1e-4);
        }
    }
}

#[test]
fn negative_binomial_tables_are_reproduced() {
    // The chance p of the tables is unit_bouts / (unit_bouts + use): use 1 against p / (1 - p).
    let enough = |shape: f64, p: f64, failures: &Value| {
        let rate = learned(shape, p / (1.0 - p));
        *demand::at_most(&rate, 1.0, units(failures) as usize)
            .last()
            .unwrap()
    };
    for row in published("X05").as_array().unwrap() {
        let got = enough(number(&row[1]), number(&row[2]), &row[0]);
        close("X05", "cdf", got, number(&row[3]), 1e-12);
    }
    for row in published("X06").as_array().unwrap() {
        assert_eq!(row[2], "32/63");
        let got = enough(number(&row[1]), 32.0 / 63.0, &row[0]);
        close("X06", "cdf", got, 1.0 - number(&row[3]), 1e-12);
    }
    for row in published("X07").as_array().unwrap() {
        let got = enough(number(&row[1]), number(&row[2]), &row[0]);
        let wanted = number(&row[3]);
        close("X07", "relative", got / wanted, 1.0, 1e-9);
    }
}

#[test]
fn published_disc_spares_are_reproduced_where_the_method_is_the_same() {
    // 45 drives over 90 days for 95 %. The third row was published from a normal approximation that
    // stocks one too many; the Poisson count needs one.
    let rows = published("X08").as_array().unwrap().clone();
    let needed: Vec<u32> = rows
        .iter()
        .map(|row| {
            let rate = PartRate::Known(KnownRate {
                failures_per_unit_bout: 90.0 * 24.0 / number(&row[0]),
            });
            // Forty-five units are a robot of 24 and one of 21 with one bout to stock for.
            let enough = demand::at_most(&rate, 45.0, 20);
            enough.iter().position(|chance| *chance >= 0.95).unwrap() as u32
        })
        .collect();
    assert_eq!(needed[0], units(&rows[0][1]));
    assert_eq!(needed[1], units(&rows[1][1]));
    assert_eq!((needed[2], units(&rows[2][1])), (1, 2));
}

#[test]
fn published_rates_are_reproduced() {
    let learn = |prior: RatePrior, failures: u32, unit_bouts: f64| {
        failure_rate(&FailureRateInput {
            prior,
            seen: FailuresSeen {
                failures,
                unit_bouts,
            },
            carried_over: None,
        })
        .unwrap()
    };
    let values = published("X09");
    let prior = numbers(&values["prior"]);
    let data = numbers(&values["data"]);
    let failures = data.iter().sum::<f64>() as u32;
    let prior = RatePrior::Learned(LearnedRate {
        shape: prior[0],
        unit_bouts: prior[1],
    });
    let got = learn(prior, failures, data.len() as f64).rate;
    assert_eq!(
        vec![got.shape, got.unit_bouts],
        numbers(&values["posterior"])
    );

    let values = published("X10");
    for (posterior, above, mean, wanted) in [
        ("post1", "P_gt1", 0, 5.1e-3),
        ("post2", "P2_gt1", 1, 5.1e-3),
    ] {
        let rate = numbers(&values[posterior]);
        let got = 1.0 - gamma::at_most(rate[0], rate[1]);
        close("X10", above, got, number(&values[above]), wanted);
        let means = numbers(&values["means"]);
        close("X10", "mean", rate[0] / rate[1], means[mean], wanted);
    }

    let values = published("X11");
    let got = learn(RatePrior::Unknown, 1, 9.2);
    for (name, got, tolerance) in [
        ("mean", got.mean_failures_per_unit_bout, 5.1e-4),
        ("q05", got.low_failures_per_unit_bout, 5.1e-5),
        ("q95", got.high_failures_per_unit_bout, 5.1e-4),
    ] {
        close("X11", name, got, number(&values[name]), tolerance);
    }
}
