//! Cases worked out outside the project: tests/data/spares names the source of each.

use serde_json::Value;

use super::*;

const CASES: &str = include_str!("../../../tests/data/spares/cases.json");

fn cases(kind: &str) -> Vec<(String, Value, Value)> {
    let all: Value = serde_json::from_str(CASES).unwrap();
    let of_kind: Vec<_> = all["cases"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|case| case["kind"] == kind)
        .map(|case| {
            let id = case["id"].as_str().unwrap().to_owned();
            (id, case["input"].clone(), case["expected"].clone())
        })
        .collect();
    assert!(!of_kind.is_empty(), "no case of kind {kind}");
    of_kind
}

pub(super) fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

pub(super) fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

#[track_caller]
pub(super) fn close(id: &str, what: &str, got: f64, expected: f64, tolerance: f64) {
    assert!(
        (got - expected).abs() <= tolerance,
        "{id} {what}: {got} is not {expected}"
    );
}

#[track_caller]
fn all_close(id: &str, what: &str, got: &[f64], expected: &Value) {
    let expected = numbers(expected);
    assert!(got.len() >= expected.len(), "{id} {what}: too few values");
    for (index, (got, expected)) in got.iter().zip(&expected).enumerate() {
        close(id, &format!("{what}[{index}]"), *got, *expected, 1e-9);
    }
}

pub(super) fn learned(shape: f64, unit_bouts: f64) -> PartRate {
    PartRate::Learned(LearnedRate { shape, unit_bouts })
}

fn rate_of(value: &Value) -> PartRate {
    match value["alpha"].as_f64() {
        Some(shape) => learned(shape, number(&value["beta"])),
        None => PartRate::Known(KnownRate {
            failures_per_unit_bout: number(&value["lambda"]),
        }),
    }
}

fn certain(demand_bouts: u32) -> BoutsAhead {
    BoutsAhead::Certain(CertainBouts {
        bouts: demand_bouts + 1,
    })
}

fn knock_out(value: &Value) -> BoutsAhead {
    BoutsAhead::KnockOut(KnockOutAhead {
        rounds_left: value["K"].as_u64().unwrap() as u32,
        win_probability_by_round: vec![number(&value["p"])],
    })
}

fn one_robot(bouts_ahead: BoutsAhead, count_last: bool) -> DayAhead {
    DayAhead {
        robots: vec![RobotAhead {
            name: "Thistle".to_owned(),
            bouts_ahead: Some(bouts_ahead),
        }],
        bouts_jointly: None,
        count_last,
    }
}

fn part(name: &str, rate: PartRate, units: u32, stock_units: u32) -> StockedPart {
    StockedPart {
        name: name.to_owned(),
        rate,
        fitted: vec![FittedUnits {
            robot: "Thistle".to_owned(),
            units,
        }],
        stock_units,
        pending_units: 0,
    }
}

pub(super) fn units(value: &Value) -> u32 {
    value.as_u64().unwrap() as u32
}

/// Chances and shortages for 0, 1, 2, ... spares, and the spares needed, as a forecast tells them.
struct Stocked {
    enough: Vec<f64>,
    shortage: Vec<f64>,
    needed: Vec<Option<u32>>,
    mean: f64,
}

fn stocked(rate: PartRate, fitted_units: u32, day: &DayAhead) -> Stocked {
    let forecast = |stock| {
        spares_forecast(&SparesForecastInput {
            day: day.clone(),
            parts: vec![part("wheel", rate, fitted_units, stock)],
        })
        .unwrap()
        .parts
        .remove(0)
    };
    let by_stock: Vec<PartForecast> = (0..9).map(forecast).collect();
    let needed = by_stock[0].needed.iter().map(|needed| needed.units);
    Stocked {
        enough: by_stock
            .iter()
            .map(|part| part.enough_probability)
            .collect(),
        shortage: by_stock
            .iter()
            .map(|part| part.expected_shortage_units)
            .collect(),
        needed: needed.collect(),
        mean: by_stock[0].expected_demand_units,
    }
}

#[track_caller]
fn check_stocked(id: &str, got: &Stocked, expected: &Value) {
    let count = expected["cdf"].as_array().unwrap().len();
    all_close(id, "cdf", &got.enough[..count], &expected["cdf"]);
    if let Some(shortage) = expected.get("ebo").filter(|ebo| ebo.is_array()) {
        all_close(id, "ebo", &got.shortage, shortage);
    }
    if let Some(needed) = expected.get("s_for") {
        for (place, confidence) in ["0.90", "0.95", "0.99"].iter().enumerate() {
            assert_eq!(got.needed[place], Some(units(&needed[confidence])), "{id}");
        }
    }
}

#[test]
fn poisson_stock_agrees_with_the_reference() {
    for (id, input, expected) in cases("poisson_stock") {
        let rate = PartRate::Known(KnownRate {
            failures_per_unit_bout: number(&input["mu"]),
        });
        check_stocked(
            &id,
            &stocked(rate, 1, &one_robot(certain(1), false)),
            &expected,
        );
    }
}

#[test]
fn learned_rates_and_their_demand_agree_with_the_reference() {
    for (id, input, expected) in cases("nb_predictive") {
        let (shape, unit_bouts) = (number(&input["alpha0"]), number(&input["beta0"]));
        let prior = if unit_bouts == 0.0 {
            assert_eq!(shape, 0.5);
            RatePrior::Unknown
        } else {
            RatePrior::Learned(LearnedRate { shape, unit_bouts })
        };
        let learned = failure_rate(&FailureRateInput {
            prior,
            seen: FailuresSeen {
                failures: units(&input["failures"]),
                unit_bouts: number(&input["exposure"]),
            },
            carried_over: None,
        })
        .unwrap();
        let expects = |name: &str| number(&expected[name]);
        close(&id, "alpha", learned.rate.shape, expects("alpha"), 1e-12);
        close(&id, "beta", learned.rate.unit_bouts, expects("beta"), 1e-12);
        for (name, got) in [
            ("rate_mean", learned.mean_failures_per_unit_bout),
            ("rate_sd", learned.sd_failures_per_unit_bout),
            ("rate_q05", learned.low_failures_per_unit_bout),
            ("rate_q95", learned.high_failures_per_unit_bout),
        ] {
            close(&id, name, got, expects(name), 1e-9);
        }
        let day = one_robot(certain(units(&input["demand_bouts"])), false);
        let got = stocked(PartRate::Learned(learned.rate), units(&input["q"]), &day);
        close(&id, "mean", got.mean, expects("demand_mean"), 1e-9);
        check_stocked(&id, &got, &expected);
        let plugged = PartRate::Known(KnownRate {
            failures_per_unit_bout: learned.mean_failures_per_unit_bout,
        });
        let plugged = stocked(plugged, units(&input["q"]), &day);
        all_close(
            &id,
            "plug-in",
            &plugged.enough,
            &expected["plug_in_poisson_cdf"],
        );
    }
}

#[test]
fn the_prior_from_mean_and_worst_agrees_with_the_reference() {
    for (id, input, expected) in cases("prior_elicitation") {
        let output = failure_rate(&FailureRateInput {
            prior: RatePrior::MeanAndWorst(MeanAndWorst {
                mean_failures_per_unit_bout: number(&input["mean"]),
                worst_failures_per_unit_bout: number(&input["q95"]),
            }),
            seen: FailuresSeen::default(),
            carried_over: None,
        })
        .unwrap();
        let (alpha, beta) = (number(&expected["alpha"]), number(&expected["beta"]));
        close(&id, "alpha", output.prior_shape, alpha, 1e-9);
        close(&id, "beta", output.prior_unit_bouts, beta, 1e-7);
        let from_spread = failure_rate(&FailureRateInput {
            prior: RatePrior::MeanAndSpread(MeanAndSpread {
                mean_failures_per_unit_bout: number(&input["mean"]),
                coefficient_of_variation: number(&expected["cv"]),
            }),
            seen: FailuresSeen::default(),
            carried_over: None,
        })
        .unwrap();
        close(&id, "cv", from_spread.prior_shape, alpha, 1e-9);
    }
}

#[test]
fn remaining_bouts_agree_with_the_reference() {
    for (id, input, expected) in cases("remaining_bouts") {
        let bouts_ahead = match input["format"].as_str().unwrap() {
            "ko" => knock_out(&input),
            "group_ko" => BoutsAhead::GroupThenKnockOut(GroupThenKnockOut {
                group_bouts_left: units(&input["group_left"]),
                advance_probability: number(&input["q_adv"]),
                rounds: units(&input["K"]),
                win_probability_by_round: vec![number(&input["p"])],
            }),
            "double_elim" => BoutsAhead::DoubleElimination(DoubleEliminationAhead {
                winners_rounds: units(&input["k"]),
                win_probability: number(&input["p"]),
                next_winners_round: None,
                next_losers_round: None,
                second_final: false,
            }),
            other => panic!("unknown format {other}"),
        };
        let output = remaining_bouts(&RemainingBoutsInput { bouts_ahead }).unwrap();
        for (bouts, chance) in output.probability_by_bouts.iter().enumerate() {
            let expected = expected["pmf"].get(bouts.to_string()).map_or(0.0, number);
            close(&id, &format!("P({bouts})"), *chance, expected, 1e-9);
        }
        close(
            &id,
            "mean",
            output.mean_bouts,
            number(&expected["mean"]),
            1e-9,
        );
        close(
            &id,
            "var",
            output.variance_bouts2,
            number(&expected["var"]),
            1e-9,
        );
    }
}

#[test]
fn demand_over_uncertain_bouts_agrees_with_the_reference() {
    for (id, input, expected) in cases("mixed_predictive") {
        let day = one_robot(knock_out(&input), input["count_last"] == true);
        let got = stocked(rate_of(&input), units(&input["q"]), &day);
        check_stocked(&id, &got, &expected);
        // Taking the mean number of bouts as certain promises too much: more spares are needed.
        let naive = numbers(&expected["naive_cdf_at_mean_exposure"]);
        assert!(naive[3] > got.enough[3], "{id}");
    }
}

fn stock_of(parts: &Value) -> Vec<StockedPart> {
    let one = |value: &Value| {
        part(
            value["name"].as_str().unwrap(),
            rate_of(value),
            units(&value["q"]),
            units(&value["s"]),
        )
    };
    parts.as_array().unwrap().iter().map(one).collect()
}

#[test]
fn the_whole_robot_agrees_with_the_reference() {
    for (id, input, expected) in cases("joint_no_stockout") {
        let output = spares_forecast(&SparesForecastInput {
            day: one_robot(knock_out(&input), input["count_last"] == true),
            parts: stock_of(&input["parts"]),
        })
        .unwrap();
        let per_part: Vec<f64> = output
            .parts
            .iter()
            .map(|part| part.enough_probability)
            .collect();
        all_close(&id, "per part", &per_part, &expected["per_part"]);
        let joint = output.nothing_runs_out_probability;
        close(&id, "joint", joint, number(&expected["joint"]), 1e-9);
        assert_eq!(output.robots[0].nothing_runs_out_probability, joint);
        assert!(output.exact);
        for (what, got, name) in [
            (
                "product",
                output.product_of_parts_probability,
                "product_of_marginals",
            ),
            ("shortage", output.expected_shortage_units, "ebo_total"),
        ] {
            close(&id, what, got, number(&expected[name]), 1e-9);
        }
    }
}

#[test]
fn a_part_shared_by_robots_agrees_with_the_reference() {
    for (id, input, expected) in cases("shared_part") {
        let robots = input["robots"].as_array().unwrap();
        let name = |index: usize| format!("Robot {index}");
        let day = DayAhead {
            robots: robots
                .iter()
                .enumerate()
                .map(|(index, robot)| RobotAhead {
                    name: name(index),
                    bouts_ahead: Some(knock_out(robot)),
                })
                .collect(),
            bouts_jointly: None,
            count_last: false,
        };
        let fitted: Vec<u32> = robots.iter().map(|robot| units(&robot["q"])).collect();
        for (unit_bouts, chance) in day.outlook().exposure(&fitted) {
            let wanted = number(&expected["exposure_pmf"][unit_bouts.to_string()]);
            close(&id, "exposure", chance, wanted, 1e-9);
        }
        for (stock, wanted) in numbers(&expected["cdf"]).iter().enumerate() {
            let fitted = fitted.iter().enumerate().map(|(index, units)| FittedUnits {
                robot: name(index),
                units: *units,
            });
            let output = spares_forecast(&SparesForecastInput {
                day: day.clone(),
                parts: vec![StockedPart {
                    name: "motor".to_owned(),
                    rate: rate_of(&input),
                    fitted: fitted.collect(),
                    stock_units: stock as u32,
                    pending_units: 0,
                }],
            })
            .unwrap();
            let got = output.parts[0].enough_probability;
            close(&id, "cdf", got, *wanted, 1e-9);
            close(
                &id,
                "joint",
                output.nothing_runs_out_probability,
                *wanted,
                1e-9,
            );
            if stock as u32 == units(&input["s"]) {
                let shortage = output.expected_shortage_units;
                close(&id, "ebo", shortage, number(&expected["ebo"]), 1e-9);
            }
        }
    }
}

#[test]
fn repairable_spares_agree_with_the_reference() {
    for (id, input, expected) in cases("repairable") {
        let output = repairable_spares(&RepairableSparesInput {
            rate: rate_of(&input),
            fitted_units: units(&input["q"]),
            stock_units: units(&input["s"]),
            bouts_ahead: certain(units(&input["demand_bouts"])),
            count_last: false,
            repairable_fraction: number(&input["repairable_fraction"]),
            repair_min: 50.0 * number(&input["repair_lag_bouts"]),
            queue_min: 0.0,
            gap_between_bouts_min: 50.0,
        })
        .unwrap();
        let exact = output.enough_probability.unwrap();
        close(&id, "exact", exact, number(&expected["p_ok"]), 1e-9);
        let least = output.enough_probability_at_least;
        close(
            &id,
            "consumable",
            least,
            number(&expected["consumable"]),
            1e-9,
        );
        let most = output.enough_probability_at_most;
        close(
            &id,
            "instant",
            most,
            number(&expected["instant_repair"]),
            1e-9,
        );
        if let Some(palm) = expected.get("palm_instant") {
            let got = output.one_instant_probability;
            close(&id, "one instant", got, number(palm), 1e-9);
        }
    }
}

#[test]
fn what_to_buy_now_agrees_with_the_reference() {
    for (id, input, expected) in cases("buy_now") {
        let rows = input["parts"].as_array().unwrap();
        let offers = rows.iter().map(|row| SpareOffer {
            part: row["name"].as_str().unwrap().to_owned(),
            units: 1,
            price_cents: 100 * units(&row["price_gbp"]),
        });
        let output = buy_now(&BuyNowInput {
            day: one_robot(knock_out(&input), input["count_last"] == true),
            parts: stock_of(&input["parts"]),
            offers: offers.collect(),
        })
        .unwrap();
        let now = output.nothing_runs_out_probability;
        close(&id, "now", now, number(&expected["joint_now"]), 1e-9);
        let expected_rows = expected["rows"].as_array().unwrap();
        assert_eq!(output.offers.len(), expected_rows.len());
        for (got, row) in output.offers.iter().zip(expected_rows) {
            let then = got.nothing_runs_out_probability;
            close(&id, "then", then, number(&row["joint_if_plus_one"]), 1e-9);
            close(
                &id,
                "gain",
                got.gain_probability,
                number(&row["gain"]),
                1e-9,
            );
            let per_price = got.gain_probability_per_100_cents.unwrap();
            close(
                &id,
                "per price",
                per_price,
                number(&row["gain_per_gbp"]),
                1e-9,
            );
        }
        assert_eq!(output.offers[output.by_gain[0]].part, expected["best_gain"]);
        let for_price = &output.offers[output.by_gain_for_price[0]].part;
        assert_eq!(*for_price, expected["best_gain_per_gbp"]);
    }
}
