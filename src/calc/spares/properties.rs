//! Rules that hold for every box, and what is refused.

use proptest::prelude::*;
use serde_json::json;
use statrs::function::beta::beta_reg;
use utoipa::PartialSchema;

use super::*;

pub(super) fn robots(names: &[&str], rounds_left: u32, win: f64) -> DayAhead {
    let robot = |name: &&str| RobotAhead {
        name: (*name).to_owned(),
        bouts_ahead: Some(BoutsAhead::KnockOut(KnockOutAhead {
            rounds_left,
            win_probability_by_round: vec![win],
        })),
    };
    DayAhead {
        robots: names.iter().map(robot).collect(),
        bouts_jointly: None,
        count_last: false,
    }
}

pub(super) fn stocked(
    name: &str,
    shape: f64,
    unit_bouts: f64,
    on: &[(&str, u32)],
    stock: u32,
) -> StockedPart {
    StockedPart {
        name: name.to_owned(),
        rate: PartRate::Learned(LearnedRate { shape, unit_bouts }),
        fitted: part::fitted_on(on),
        stock_units: stock,
        pending_units: 0,
    }
}

pub(super) fn forecast(day: &DayAhead, parts: &[StockedPart]) -> SparesForecastOutput {
    spares_forecast(&SparesForecastInput {
        day: day.clone(),
        parts: parts.to_vec(),
    })
    .unwrap()
}

#[test]
fn robots_that_may_meet_are_taken_together() {
    // In a final of two robots of one team each has one bout more, so nothing is needed after it.
    let day = |bouts_jointly| DayAhead {
        robots: ["Thistle", "Bramble"]
            .map(|name| RobotAhead {
                name: name.to_owned(),
                bouts_ahead: None,
            })
            .to_vec(),
        bouts_jointly: Some(bouts_jointly),
        count_last: false,
    };
    let way = |probability, bouts: [u32; 2]| BoutsTogether {
        probability,
        bouts: bouts.to_vec(),
    };
    // Of two robots that meet next, one goes on for one bout more: one needs parts, never both.
    let part = stocked("wheel", 2.0, 10.0, &[("Thistle", 3), ("Bramble", 3)], 1);
    let meeting = day(vec![way(0.5, [2, 1]), way(0.5, [1, 2])]);
    let together = forecast(&meeting, std::slice::from_ref(&part));
    let one_alone = forecast(
        &robots(&["Thistle", "Bramble"], 1, 0.0),
        std::slice::from_ref(&part),
    );
    assert_eq!(one_alone.nothing_runs_out_probability, 1.0);
    // P(at most 1 of NB(2, 10 / 13)) = p^2 (1 + 2 (1 - p)).
    let p: f64 = 10.0 / 13.0;
    let exact = p * p * (1.0 + 2.0 * (1.0 - p));
    assert!((together.nothing_runs_out_probability - exact).abs() < 1e-12);
}

#[test]
fn pending_damage_takes_spares_first() {
    let day = robots(&["Thistle"], 4, 0.5);
    let mut part = stocked("wheel", 4.0, 50.0, &[("Thistle", 4)], 3);
    let free = forecast(&day, &[stocked("wheel", 4.0, 50.0, &[("Thistle", 4)], 1)]);
    part.pending_units = 2;
    let got = forecast(&day, &[part.clone()]);
    let (got, free) = (&got.parts[0], &free.parts[0]);
    assert!((got.enough_probability - free.enough_probability).abs() < 1e-12);
    assert!((got.expected_shortage_units - free.expected_shortage_units).abs() < 1e-12);
    part.stock_units = 1;
    let short = forecast(&day, &[part]);
    assert_eq!(short.nothing_runs_out_probability, 0.0);
    assert!(short.expected_shortage_units > 1.0);
}

#[test]
fn too_many_ways_give_a_bound_and_say_so() {
    let names = ["A", "B", "C", "D", "E", "F"];
    let many = robots(&names, 10, 0.5);
    let on: Vec<(&str, u32)> = names.iter().map(|name| (*name, 1)).collect();
    let parts = [
        stocked("wheel", 2.0, 40.0, &on, 2),
        stocked("gearbox", 2.0, 40.0, &on, 2),
    ];
    let bound = forecast(&many, &parts);
    assert!(!bound.exact);
    let product = bound.product_of_parts_probability;
    assert!((bound.nothing_runs_out_probability - product).abs() < 1e-12);
    assert!(forecast(&robots(&names, 5, 0.5), &parts).exact);
}

#[test]
fn every_fault_of_an_input_is_named() {
    let mut input = SparesForecastInput::example();
    input.parts[1].stock_units = 101;
    input.parts[1].fitted[0].robot = "Nettle".to_owned();
    input.parts[2].name = "wheel".to_owned();
    input.parts[0].rate = PartRate::Learned(LearnedRate {
        shape: 1.0,
        unit_bouts: 0.0,
    });
    input.day.robots[0].bouts_ahead = Some(BoutsAhead::KnockOut(KnockOutAhead {
        rounds_left: 0,
        win_probability_by_round: vec![0.5, f64::NAN],
    }));
    let faults = spares_forecast(&input).unwrap_err();
    let pointers: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
    for pointer in [
        "/day/robots/0/bouts_ahead/knock_out/rounds_left",
        "/day/robots/0/bouts_ahead/knock_out/win_probability_by_round/1",
        "/parts/0/rate/learned/unit_bouts",
        "/parts/1/fitted/0/robot",
        "/parts/1/stock_units",
        "/parts/2/name",
    ] {
        assert!(
            pointers.contains(&pointer),
            "{pointer} is not among {pointers:?}"
        );
    }
    let robot = faults
        .iter()
        .find(|fault| fault.pointer.ends_with("robot"))
        .unwrap();
    assert!(robot.detail.contains("Nettle") && robot.detail.contains("Bramble"));
}

#[test]
fn a_unit_that_fails_once_a_bout_is_counted_once() {
    // Exact rational sums of the beta-binomial, in Python's fractions: (unit-bouts, failures worth,
    // unit-bouts worth, P(at most 0, 1, ...)).
    let cases: [(u32, f64, f64, &[f64]); 3] = [
        (
            4,
            2.0,
            7.0,
            &[
                0.3333333333333333,
                0.6666666666666666,
                0.8809523809523809,
                0.9761904761904762,
                1.0,
                1.0,
            ],
        ),
        (
            12,
            3.0,
            12.0,
            &[
                0.09316770186335403,
                0.2608695652173913,
                0.455050670153645,
                0.6348479895390651,
                0.7776282137568986,
                0.8775743707093822,
            ],
        ),
        (
            40,
            7.0,
            20.0,
            &[
                0.00014770066488690707,
                0.0009430119373548682,
                0.0033757287707862787,
                0.008922323151009895,
                0.019392934991227948,
                0.03666944452758773,
            ],
        ),
    ];
    for (used, shape, unit_bouts, exact) in cases {
        let rate = LearnedRate { shape, unit_bouts };
        let got = demand::at_most(
            &PartRate::OncePerBout(rate),
            f64::from(used),
            exact.len() - 1,
        );
        for (got, exact) in got.iter().zip(exact) {
            assert!((got - exact).abs() < 1e-12, "{used}: {got} is not {exact}");
        }
        // Never more failures than units times bouts, unlike the count that lets a unit fail twice.
        let twice = demand::at_most(&PartRate::Learned(rate), f64::from(used), used as usize);
        assert!(twice[used as usize] < 1.0);
    }
    // Term by term and by the gamma function agree where one takes over from the other.
    let rate = PartRate::OncePerBout(LearnedRate {
        shape: 2.5,
        unit_bouts: 90.0,
    });
    let chances = [400.0, 401.0].map(|used| demand::at_most(&rate, used, 0)[0]);
    let ratio = (90.0 - 2.5 + 400.0) / (90.0 + 400.0);
    assert!((chances[1] / chances[0] - ratio).abs() < 1e-11);
}

#[test]
fn nothing_believed_and_nothing_seen_gives_no_rate() {
    let input = FailureRateInput {
        prior: RatePrior::Unknown,
        seen: FailuresSeen::default(),
        carried_over: None,
    };
    let faults = failure_rate(&input).unwrap_err();
    assert_eq!(faults[0].pointer, "/seen/unit_bouts");
}

#[test]
fn what_is_carried_over_counts_at_its_discount() {
    let learn = |carried_over| {
        failure_rate(&FailureRateInput {
            prior: RatePrior::Learned(LearnedRate {
                shape: 2.0,
                unit_bouts: 40.0,
            }),
            seen: FailuresSeen {
                failures: 1,
                unit_bouts: 24.0,
            },
            carried_over,
        })
        .unwrap()
        .rate
    };
    let past: FailuresSeenElsewhere = serde_json::from_value(json!({
        "failures": 6, "unit_bouts": 50.0
    }))
    .unwrap();
    let rate = learn(Some(past));
    assert_eq!((rate.shape, rate.unit_bouts), (6.0, 89.0));
    let nothing = learn(Some(FailuresSeenElsewhere {
        weight: 0.0,
        ..past
    }));
    assert_eq!(nothing, learn(None));
}

#[test]
fn examples_are_taken_and_unknown_fields_are_not() {
    fn check<I, O>(example: &I, calculate: impl Fn(&I) -> Result<O, Vec<crate::calc::fault::Fault>>)
    where
        I: serde::Serialize + serde::de::DeserializeOwned + PartialEq + std::fmt::Debug,
        I: PartialSchema,
        O: serde::Serialize + PartialSchema,
    {
        let told = serde_json::to_value(calculate(example).unwrap()).unwrap();
        let schemas =
            [I::schema(), O::schema()].map(|schema| serde_json::to_value(schema).unwrap());
        assert_eq!(
            schemas[0]["example"],
            serde_json::to_value(example).unwrap()
        );
        assert_eq!(schemas[1]["example"], told);
        let mut told = serde_json::to_value(example).unwrap();
        assert_eq!(&serde_json::from_value::<I>(told.clone()).unwrap(), example);
        told["no_such_field"] = json!(1);
        assert!(serde_json::from_value::<I>(told).is_err());
    }
    check(&FailureRateInput::example(), failure_rate);
    check(&RemainingBoutsInput::example(), remaining_bouts);
    check(&SparesForecastInput::example(), spares_forecast);
    check(&RepairableSparesInput::example(), repairable_spares);
    check(&BuyNowInput::example(), buy_now);
    check(&PackSparesInput::example(), pack_spares);
    check(&PackForConfidenceInput::example(), pack_for_confidence);
}

#[test]
fn average_bouts_of_a_double_elimination_are_those_fought() {
    // 2 N - 2 bouts have 2 (2 N - 2) appearances of N robots; a second final adds two with chance
    // one half.
    for winners_rounds in 1..=6 {
        for (second_final, extra) in [(false, 0.0), (true, 1.0)] {
            let output = remaining_bouts(&RemainingBoutsInput {
                bouts_ahead: BoutsAhead::DoubleElimination(DoubleEliminationAhead {
                    winners_rounds,
                    win_probability: 0.5,
                    next_winners_round: None,
                    next_losers_round: None,
                    second_final,
                }),
            })
            .unwrap();
            let robots = f64::from(1_u32 << winners_rounds);
            let mean = (2.0 * (2.0 * robots - 2.0) + extra) / robots;
            assert!((output.mean_bouts - mean).abs() < 1e-12, "{winners_rounds}");
        }
    }
}

prop_compose! {
    fn any_part(name: &'static str)(
        shape in 0.3..8.0_f64,
        mean in 0.005..0.4_f64,
        thistle in 1..5_u32,
        bramble in 1..5_u32,
        stock in 0..5_u32,
        pending in 0..2_u32,
    ) -> StockedPart {
        let on = [("Thistle", thistle), ("Bramble", bramble)];
        let mut part = stocked(name, shape, shape / mean, &on, stock);
        part.pending_units = pending;
        part
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn the_whole_is_never_below_the_product_and_never_above_a_part(
        wheel in any_part("wheel"), gearbox in any_part("gearbox"), win in 0.0..1.0_f64,
    ) {
        let got = forecast(&robots(&["Thistle", "Bramble"], 4, win), &[wheel, gearbox]);
        prop_assert!(got.exact);
        let joint = got.nothing_runs_out_probability;
        prop_assert!(joint >= got.product_of_parts_probability - 1e-12);
        for part in &got.parts {
            prop_assert!(joint <= part.enough_probability + 1e-12);
            let chances = &part.enough_probability_by_units;
            prop_assert!(chances.windows(2).all(|pair| pair[0] <= pair[1]));
        }
        for robot in &got.robots {
            prop_assert!(joint <= robot.nothing_runs_out_probability + 1e-12);
        }
    }

    #[test]
    fn one_spare_more_is_never_worse(
        wheel in any_part("wheel"), gearbox in any_part("gearbox"), win in 0.0..1.0_f64,
    ) {
        let day = robots(&["Thistle", "Bramble"], 4, win);
        let before = forecast(&day, &[wheel.clone(), gearbox.clone()]);
        let mut more = wheel.clone();
        more.stock_units += 1;
        let after = forecast(&day, &[more, gearbox.clone()]);
        let gain = after.nothing_runs_out_probability - before.nothing_runs_out_probability;
        prop_assert!(gain >= -1e-12);
        prop_assert!(after.expected_shortage_units <= before.expected_shortage_units + 1e-12);
        let bought = buy_now(&BuyNowInput {
            day,
            parts: vec![wheel, gearbox],
            offers: vec![SpareOffer { part: "wheel".to_owned(), units: 1, price_cents: 0 }],
        }).unwrap();
        prop_assert!((bought.offers[0].gain_probability - gain.max(0.0)).abs() < 1e-12);
    }

    #[test]
    fn demand_agrees_with_the_incomplete_beta_function(
        shape in 0.05..200.0_f64, unit_bouts in 0.5..500.0_f64, used in 0.0..60.0_f64,
    ) {
        let rate = PartRate::Learned(LearnedRate { shape, unit_bouts });
        let got = demand::at_most(&rate, used, 12);
        let p = unit_bouts / (unit_bouts + used);
        for (failures, got) in (0..).zip(&got) {
            let exact = if used == 0.0 { 1.0 } else { beta_reg(shape, f64::from(failures + 1), p) };
            prop_assert!((got - exact).abs() < 1e-11, "{failures}: {got} {exact}");
        }
        // Shortage by the closed form with the next shape.
        let next = demand::at_most(
            &PartRate::Learned(LearnedRate { shape: shape + 1.0, unit_bouts }), used, 12,
        );
        let mean = shape * used / unit_bouts;
        for spares in 1..=12_usize {
            let above = |chances: &[f64], units: usize| 1.0 - chances[units];
            let exact = mean * above(&next, spares - 1) - spares as f64 * above(&got, spares);
            let got = demand::shortage(mean, &got, spares);
            prop_assert!((got - exact.max(0.0)).abs() < 1e-9 * (1.0 + mean));
        }
    }

    #[test]
    fn repair_is_between_its_bounds_and_slower_repair_is_never_better(
        stock in 0..4_u32, bouts in 1..8_u32, fraction in 0.0..1.0_f64, lag in 0..5_u32,
        shape in 0.5..5.0_f64, mean in 0.01..0.5_f64,
    ) {
        let with_lag = |lag: u32| repairable_spares(&RepairableSparesInput {
            rate: PartRate::Learned(LearnedRate { shape, unit_bouts: shape / mean }),
            fitted_units: 2,
            stock_units: stock,
            bouts_ahead: BoutsAhead::KnockOut(KnockOutAhead {
                rounds_left: bouts,
                win_probability_by_round: vec![0.7],
            }),
            count_last: true,
            repairable_fraction: fraction,
            repair_min: 60.0 * f64::from(lag),
            queue_min: 0.0,
            gap_between_bouts_min: 60.0,
        }).unwrap();
        let got = with_lag(lag);
        let exact = got.enough_probability.unwrap();
        prop_assert!(exact >= got.enough_probability_at_least - 1e-12);
        prop_assert!(exact <= got.enough_probability_at_most + 1e-12);
        prop_assert!(with_lag(lag + 1).enough_probability.unwrap() <= exact + 1e-12);
    }
}
