//! The edges of what is taken: chances stay chances, and nothing breaks.

use proptest::prelude::*;

use super::*;

fn edge(low: f64, high: f64) -> impl Strategy<Value = f64> {
    prop_oneof![Just(low), Just(high), low..high]
}

fn edge_units(most: u32) -> impl Strategy<Value = u32> {
    prop_oneof![Just(0), Just(most), 0..=most]
}

fn any_rate() -> impl Strategy<Value = PartRate> {
    let learned = (edge(0.01, 1.0e4), edge(1.0e-3, 1.0e6)).prop_map(|(shape, unit_bouts)| {
        PartRate::Learned(LearnedRate {
            shape,
            unit_bouts: unit_bouts.max(shape / 20.0),
        })
    });
    let known = edge(0.0, 20.0).prop_map(|failures_per_unit_bout| {
        PartRate::Known(KnownRate {
            failures_per_unit_bout,
        })
    });
    let once = (edge(0.01, 900.0), edge(0.001, 0.98)).prop_map(|(shape, mean)| {
        PartRate::OncePerBout(LearnedRate {
            shape,
            unit_bouts: shape / mean,
        })
    });
    prop_oneof![learned, once, known]
}

fn any_ahead() -> impl Strategy<Value = BoutsAhead> {
    let certain = edge_units(24).prop_map(|bouts| BoutsAhead::Certain(CertainBouts { bouts }));
    let knock_out = (1..=10_u32, edge(0.0, 1.0)).prop_map(|(rounds_left, win)| {
        BoutsAhead::KnockOut(KnockOutAhead {
            rounds_left,
            win_probability_by_round: vec![win],
        })
    });
    let group =
        (edge_units(14), edge(0.0, 1.0), 1..=10_u32).prop_map(|(group, advance, rounds)| {
            BoutsAhead::GroupThenKnockOut(GroupThenKnockOut {
                group_bouts_left: group,
                advance_probability: advance,
                rounds,
                win_probability_by_round: vec![0.5, 1.0],
            })
        });
    let double = (1..=7_u32, 1..=13_u32, edge(0.0, 1.0), any::<bool>()).prop_map(
        |(rounds, losers, win_probability, second_final)| {
            BoutsAhead::DoubleElimination(DoubleEliminationAhead {
                winners_rounds: rounds,
                win_probability,
                next_winners_round: None,
                next_losers_round: Some(losers.min(2 * (rounds - 1) + 1)),
                second_final,
            })
        },
    );
    prop_oneof![certain, knock_out, group, double]
}

fn a_robot(bouts_ahead: BoutsAhead, count_last: bool) -> DayAhead {
    DayAhead {
        robots: vec![RobotAhead {
            name: "Thistle".to_owned(),
            bouts_ahead: Some(bouts_ahead),
        }],
        bouts_jointly: None,
        count_last,
    }
}

fn is_chance(value: f64) -> bool {
    (0.0..=1.0).contains(&value)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn forecasts_stay_forecasts(
        rate in any_rate(), ahead in any_ahead(), count_last in any::<bool>(),
        units in 1..=24_u32, stock in edge_units(100), pending in edge_units(100),
    ) {
        let remaining = remaining_bouts(&RemainingBoutsInput { bouts_ahead: ahead.clone() }).unwrap();
        let sum: f64 = remaining.probability_by_bouts.iter().sum();
        prop_assert!((sum - 1.0).abs() < 1e-12);
        let parts = vec![StockedPart {
            name: "wheel".to_owned(),
            rate,
            fitted: part::fitted_on(&[("Thistle", units)]),
            stock_units: stock,
            pending_units: pending,
        }];
        let day = a_robot(ahead, count_last);
        let output = spares_forecast(&SparesForecastInput {
            day: day.clone(), parts: parts.clone(),
        }).unwrap();
        prop_assert!(is_chance(output.nothing_runs_out_probability));
        let part = &output.parts[0];
        prop_assert!(part.enough_probability_by_units.iter().all(|chance| is_chance(*chance)));
        prop_assert!(part.expected_shortage_units.is_finite());
        prop_assert!(part.expected_shortage_units >= 0.0);
        let short = part.expected_demand_units - f64::from(stock);
        prop_assert!(part.expected_shortage_units >= short - 1e-6 * (1.0 + short.abs()));
        let bought = buy_now(&BuyNowInput {
            day,
            parts,
            offers: vec![SpareOffer { part: "wheel".to_owned(), units: 100, price_cents: 1 }],
        }).unwrap();
        prop_assert!(is_chance(bought.offers[0].nothing_runs_out_probability));
        prop_assert!(bought.offers[0].shortage_avoided_units > -1e-6);
    }

    #[test]
    fn boxes_stay_boxes(
        rates in [any_rate(), any_rate(), any_rate()], ahead in any_ahead(),
        held in edge_units(100), pending in edge_units(100), most in edge_units(60),
        mass in edge_units(100_000), limit in edge_units(1_000_000), confidence in edge(0.01, 0.9999),
    ) {
        let parts: Vec<PartToPack> = (0_u32..).zip(rates).map(|(index, rate)| PartToPack {
            name: index.to_string(),
            rate,
            fitted: part::fitted_on(&[("Thistle", 1 + 7 * index)]),
            held_units: held,
            pending_units: pending * index / 2,
            at_most_units: most,
            mass_g: mass * index / 2,
            price_cents: 100 * index,
            volume_ml: 7,
        }).collect();
        let output = pack_spares(&PackSparesInput {
            day: a_robot(ahead.clone(), false),
            parts: parts.clone(),
            limits: BoxLimits { mass_g: Some(limit), price_cents: Some(limit / 7), volume_ml: None },
        }).unwrap();
        let best = &output.best;
        prop_assert!(best.mass_g <= u64::from(limit) && best.price_cents <= u64::from(limit / 7));
        prop_assert!(is_chance(best.nothing_runs_out_probability));
        prop_assert!(is_chance(output.product_of_parts_probability_at_most));
        let margin = output.by_marginal_analysis.product_of_parts_probability;
        prop_assert!(best.product_of_parts_probability >= margin - 1e-12);
        match pack_for_confidence(&PackForConfidenceInput {
            day: a_robot(ahead, false), parts, confidence, minimise: MinimiseBox::Mass,
        }) {
            Ok(output) => {
                let got = output.best.product_of_parts_probability;
                prop_assert!(got >= confidence - 1e-9);
                let margin = output.by_marginal_analysis;
                prop_assert!(margin.product_of_parts_probability >= confidence - 1e-9);
                prop_assert!(output.best.mass_g <= margin.mass_g);
            }
            Err(faults) => prop_assert_eq!(&faults[0].pointer, "/confidence"),
        }
    }

    #[test]
    fn rates_stay_rates(
        prior in any_rate(), failures in edge_units(10_000), unit_bouts in edge(0.5, 1.0e6),
    ) {
        let PartRate::Learned(prior) = prior else { return Ok(()); };
        let output = failure_rate(&FailureRateInput {
            prior: RatePrior::Learned(prior),
            seen: FailuresSeen { failures, unit_bouts },
            carried_over: None,
        }).unwrap();
        let low = output.low_failures_per_unit_bout;
        prop_assert!(0.0 <= low && low < output.high_failures_per_unit_bout);
        prop_assert!(output.high_failures_per_unit_bout.is_finite());
    }
}
