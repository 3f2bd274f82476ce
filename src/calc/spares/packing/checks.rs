//! Boxes against reference optima.

use serde_json::Value;

use super::*;
use crate::calc::spares::{
    BoutsAhead, CertainBouts, DayAhead, FittedUnits, LearnedRate, PartRate, RobotAhead,
};

const CASES: &str = include_str!("../../../../tests/data/spares/cases.json");

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

fn whole(value: &Value) -> u32 {
    value.as_u64().unwrap_or(0) as u32
}

fn parts_of(input: &Value) -> (DayAhead, Vec<PartToPack>) {
    let rows = input["parts"].as_array().unwrap();
    let bouts = whole(&rows[0]["demand_bouts"]);
    let day = DayAhead {
        robots: vec![RobotAhead {
            name: "Thistle".to_owned(),
            bouts_ahead: Some(BoutsAhead::Certain(CertainBouts { bouts })),
        }],
        bouts_jointly: None,
        count_last: true,
    };
    let parts = rows.iter().map(|row| {
        assert_eq!(whole(&row["demand_bouts"]), bouts);
        PartToPack {
            name: row["name"].as_str().unwrap().to_owned(),
            rate: PartRate::Learned(LearnedRate {
                shape: row["alpha"].as_f64().unwrap(),
                unit_bouts: row["beta"].as_f64().unwrap(),
            }),
            fitted: vec![FittedUnits {
                robot: "Thistle".to_owned(),
                units: whole(&row["q"]),
            }],
            held_units: 0,
            pending_units: 0,
            at_most_units: whole(&input["umax"]),
            mass_g: whole(&row["cost"]["mass_g"]),
            price_cents: whole(&row["cost"]["price_gbp"]),
            volume_ml: whole(&row["cost"]["vol_ml"]),
        }
    });
    (day, parts.collect())
}

#[track_caller]
fn check_box(id: &str, got: &BoxContents, expected: &Value) {
    let p = expected["p"].as_f64().unwrap();
    assert!(
        (got.product_of_parts_probability - p).abs() < 1e-9,
        "{id}: {} is not {p}",
        got.product_of_parts_probability
    );
    // With a certain number of bouts the parts are independent.
    assert!((got.nothing_runs_out_probability - p).abs() < 1e-9, "{id}");
    let sums = [
        ("mass_g", got.mass_g),
        ("price_gbp", got.price_cents),
        ("vol_ml", got.volume_ml),
    ];
    for (name, sum) in sums {
        if let Some(cost) = expected["cost"].get(name) {
            assert_eq!(sum, cost.as_u64().unwrap(), "{id} {name}");
        }
    }
    if let Some(shortage) = expected["ebo"].as_f64() {
        assert!(
            (got.expected_shortage_units - shortage).abs() < 1e-9,
            "{id}"
        );
    }
    let units: Vec<u64> = got
        .parts
        .iter()
        .map(|part| u64::from(part.add_units))
        .collect();
    let wanted: Vec<u64> = expected["s"]
        .as_array()
        .unwrap()
        .iter()
        .map(|units| units.as_u64().unwrap())
        .collect();
    assert_eq!(units, wanted, "{id}");
}

#[test]
fn boxes_within_limits_agree_with_the_reference() {
    for (id, input, expected) in cases("pack") {
        let (day, parts) = parts_of(&input);
        let limit = |name: &str| input["budgets"].get(name).map(whole);
        let output = pack_spares(&PackSparesInput {
            day,
            parts,
            limits: BoxLimits {
                mass_g: limit("mass_g"),
                price_cents: limit("price_gbp"),
                volume_ml: limit("vol_ml"),
            },
        })
        .unwrap();
        check_box(&id, &output.by_marginal_analysis, &expected["greedy"]);
        check_box(&id, &output.best, &expected["optimal"]);
        assert!(output.proved_best, "{id}");
        let nothing = expected["p_no_spares"].as_f64().unwrap();
        assert!((output.with_nothing_added_probability - nothing).abs() < 1e-9);
    }
}

#[test]
fn boxes_for_a_confidence_agree_with_the_reference() {
    for (id, input, expected) in cases("pack_target") {
        assert_eq!(input["minimize"], "price_gbp");
        let (day, parts) = parts_of(&input);
        let output = pack_for_confidence(&PackForConfidenceInput {
            day,
            parts,
            confidence: input["target"].as_f64().unwrap(),
            minimise: MinimiseBox::Price,
        })
        .unwrap();
        check_box(&id, &output.by_marginal_analysis, &expected["greedy"]);
        assert!(output.proved_best, "{id}");
        // Several boxes may cost the least.
        let optimal = &expected["optimal"];
        assert_eq!(
            output.best.price_cents,
            optimal["cost"]["price_gbp"].as_u64().unwrap(),
            "{id}"
        );
        let confidence = input["target"].as_f64().unwrap();
        assert!(output.best.product_of_parts_probability >= confidence - 1e-12);
        assert!(output.best.nothing_runs_out_probability >= confidence - 1e-12);
    }
}

use proptest::prelude::*;

/// Every box within the limits, the best product of chances among them.
fn by_brute_force(shelf: &contents::Shelf<'_>, limits: [Option<u32>; 3]) -> f64 {
    let mut best = 0.0;
    every_box(shelf, &mut Vec::new(), &mut |units| {
        let mut sums = [0.0; 3];
        for (part, units) in shelf.parts.iter().zip(units) {
            for (sum, takes) in sums.iter_mut().zip(part.takes()) {
                *sum += takes * *units as f64;
            }
        }
        let within = sums.iter().zip(limits);
        if within
            .into_iter()
            .all(|(sum, limit)| limit.is_none_or(|limit| *sum <= f64::from(limit)))
        {
            best = f64::max(best, shelf.product(units));
        }
    });
    best
}

fn every_box(shelf: &contents::Shelf<'_>, units: &mut Vec<usize>, seen: &mut impl FnMut(&[usize])) {
    if units.len() == shelf.parts.len() {
        seen(units);
        return;
    }
    for added in 0..shelf.worth[units.len()].len() {
        units.push(added);
        every_box(shelf, units, seen);
        units.pop();
    }
}

prop_compose! {
    fn any_part(index: usize)(
        shape in 0.5..7.0_f64,
        mean in 0.02..0.25_f64,
        units in 1..5_u32,
        held_units in 0..2_u32,
        pending_units in 0..3_u32,
        cost in [1..40_u32, 1..40_u32, 0..40_u32],
    ) -> PartToPack {
        PartToPack {
            name: format!("part {index}"),
            rate: PartRate::Learned(LearnedRate { shape, unit_bouts: shape / mean }),
            fitted: vec![FittedUnits { robot: "Thistle".to_owned(), units }],
            held_units,
            pending_units,
            at_most_units: 4,
            mass_g: 50 * cost[0],
            price_cents: 100 * cost[1],
            volume_ml: 10 * cost[2],
        }
    }
}

fn any_parts() -> impl Strategy<Value = Vec<PartToPack>> {
    (
        any_part(0),
        any_part(1),
        any_part(2),
        any_part(3),
        any_part(4),
    )
        .prop_map(|(a, b, c, d, e)| vec![a, b, c, d, e])
}

fn a_day() -> DayAhead {
    DayAhead {
        robots: vec![RobotAhead {
            name: "Thistle".to_owned(),
            bouts_ahead: Some(BoutsAhead::Certain(CertainBouts { bouts: 4 })),
        }],
        bouts_jointly: None,
        count_last: false,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn no_box_beats_the_best_within_the_limits(
        parts in any_parts(), share in 0.1..0.7_f64, kinds in 1..8_u32,
    ) {
        let limit = |kind: u32, of: fn(&PartToPack) -> u32| {
            let all: u32 = parts.iter().map(|part| 4 * of(part)).sum();
            (kinds & (1 << kind) != 0).then_some((f64::from(all) * share) as u32)
        };
        let limits = BoxLimits {
            mass_g: limit(0, |part| part.mass_g),
            price_cents: limit(1, |part| part.price_cents),
            volume_ml: limit(2, |part| part.volume_ml),
        };
        let day = a_day();
        let output = pack_spares(&PackSparesInput {
            day: day.clone(), parts: parts.clone(), limits,
        }).unwrap();
        let shelf = contents::Shelf::new(&day, &parts);
        let kinds = [limits.mass_g, limits.price_cents, limits.volume_ml];
        let best = by_brute_force(&shelf, kinds);
        prop_assert!(output.proved_best);
        let got = output.best.product_of_parts_probability;
        prop_assert!((got - best).abs() < 1e-9, "{got} is not {best}");
        let sums = [output.best.mass_g, output.best.price_cents, output.best.volume_ml];
        for (sum, limit) in sums.iter().zip(kinds) {
            prop_assert!(limit.is_none_or(|limit| *sum <= u64::from(limit)));
        }
        if let [Some(_), None, None] = kinds {
            // With one limit every point of the frontier is the best box of its own mass.
            for point in &output.frontier {
                let best = by_brute_force(&shelf, [Some(point.mass_g as u32), None, None]);
                prop_assert!((point.product_of_parts_probability - best).abs() < 1e-9);
            }
            prop_assert_eq!(output.frontier[0].mass_g, 0);
        }
        if let Some(lighter) = &output.one_kg_less {
            let limits = [Some(lighter.mass_limit_g), kinds[1], kinds[2]];
            let best = by_brute_force(&shelf, limits);
            prop_assert!((lighter.product_of_parts_probability - best).abs() < 1e-9);
            prop_assert!(lighter.difference_probability <= 1e-12);
        }
    }

    #[test]
    fn no_box_for_a_confidence_is_smaller_than_the_best(
        parts in any_parts(), confidence in 0.05..0.9_f64,
    ) {
        let day = a_day();
        let result = pack_for_confidence(&PackForConfidenceInput {
            day: day.clone(), parts: parts.clone(), confidence, minimise: MinimiseBox::Mass,
        });
        let shelf = contents::Shelf::new(&day, &parts);
        let mut least = None;
        every_box(&shelf, &mut Vec::new(), &mut |units| {
            if shelf.product(units) >= confidence {
                let mass = shelf.contents(units).mass_g;
                least = Some(least.map_or(mass, |least: u64| least.min(mass)));
            }
        });
        match (result, least) {
            (Ok(output), Some(least)) => {
                prop_assert!(output.proved_best);
                prop_assert_eq!(output.best.mass_g, least);
                prop_assert!(output.minimised_at_least <= least as f64 + 1e-6);
                prop_assert!(output.by_marginal_analysis.mass_g >= least);
            }
            (Err(faults), None) => prop_assert_eq!(&faults[0].pointer, "/confidence"),
            (result, least) => prop_assert!(false, "{result:?} against {least:?}"),
        }
    }
}

#[test]
fn a_search_cut_short_still_bounds_the_best() {
    use super::labels;
    use super::prices::prices;
    use super::problem::{Choice, Problem};
    // Thirty items with near-equal worth for their weight: hard to prove, easy to state.
    let items = (0..30_u32).map(|item| {
        let weights = [97 + item * 7 % 13, 89 + item * 5 % 17, 83 + item * 11 % 19];
        let worth = f64::from(weights.iter().sum::<u32>()) + f64::from(item % 5) * 0.1;
        let choice = |units: u32| Choice {
            gain: (1..=units).map(|n| worth / f64::from(n).sqrt()).sum(),
            takes: weights.map(|weight| f64::from(weight * units)),
        };
        (0..4).map(choice).collect()
    });
    let problem = Problem {
        items: items.collect(),
        limits: [3001.0, 2903.0, 2711.0],
        resources: 3,
        step: 0.0,
    };
    let prices = prices(&problem);
    let start = || problem.repaired(prices.choices.clone()).unwrap();
    let cut = labels::best(&problem, &prices, start(), 200);
    let longer = labels::best(&problem, &prices, start(), 3_000_000);
    assert!(!cut.proved);
    assert!(cut.pick.gain <= longer.pick.gain);
    assert!(longer.pick.gain <= cut.bound + 1e-9);
    assert!(cut.bound <= prices.bound + 1e-9);
    assert!(problem.fits(&cut.pick.takes));
}

#[test]
fn a_box_without_a_limit_or_with_bad_parts_is_refused() {
    let mut input = PackSparesInput::example();
    input.limits = BoxLimits::default();
    input.parts[0].at_most_units = 61;
    input.parts[2].mass_g = 200_000;
    let faults = pack_spares(&input).unwrap_err();
    let pointers: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
    assert_eq!(
        pointers,
        ["/parts/0/at_most_units", "/parts/2/mass_g", "/limits"]
    );
}
