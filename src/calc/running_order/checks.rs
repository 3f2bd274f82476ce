//! Cases worked out outside the project: tests/data/order names the source of each.

use serde_json::Value;

use super::*;

const CASES: &str = include_str!("../../../tests/data/order/cases.json");

fn case(id: &str) -> (Value, Value) {
    let all: Value = serde_json::from_str(CASES).unwrap();
    let cases = all["cases"].as_array().unwrap();
    let found = cases.iter().find(|case| case["id"] == id).unwrap();
    (found["input"].clone(), found["expected"].clone())
}

fn int(value: &Value) -> i64 {
    value.as_i64().unwrap()
}

fn ints(value: &Value) -> Vec<i64> {
    value.as_array().unwrap().iter().map(int).collect()
}

fn sequence_of(jobs: &[[i64; 3]]) -> ArenaSequenceOutput {
    let bouts = jobs
        .iter()
        .enumerate()
        .map(|(index, [ready, run, tail])| BoutToSequence {
            name: (index + 1).to_string(),
            ready_s: *ready,
            run_s: *run,
            due_s: -tail,
        });
    arena_sequence(&ArenaSequenceInput {
        bouts: bouts.collect(),
    })
    .unwrap()
}

fn jobs_of(input: &Value) -> Vec<[i64; 3]> {
    let rows = input["jobs"].as_array().unwrap();
    rows.iter()
        .map(|row| ints(row).try_into().unwrap())
        .collect()
}

#[test]
fn the_seven_jobs_of_1982_agree() {
    let (input, expected) = case("C01");
    let (r, p, q) = (ints(&input["r"]), ints(&input["p"]), ints(&input["q"]));
    let jobs: Vec<[i64; 3]> = (0..7).map(|job| [r[job], p[job], q[job]]).collect();
    let output = sequence_of(&jobs);
    let order: Vec<i64> = output
        .by_urgency
        .order
        .iter()
        .map(|n| n.parse().unwrap())
        .collect();
    assert_eq!(order, ints(&expected["schrage_order"]));
    assert_eq!(output.by_urgency.max_late_s, int(&expected["schrage"]));
    assert_eq!(
        output.max_late_if_interrupted_s,
        int(&expected["preemptive_lb"])
    );
    assert_eq!(output.best.max_late_s, int(&expected["optimal"]));
    assert!(output.proved_best);
    // The order found may be another of the six optimal ones.
    let mut names = output.best.order.clone();
    names.sort();
    assert_eq!(names, ["1", "2", "3", "4", "5", "6", "7"]);
}

#[test]
fn published_sequences_agree() {
    for id in ["C02", "C03", "C04"] {
        let (input, expected) = case(id);
        let output = sequence_of(&jobs_of(&input));
        assert_eq!(
            output.by_urgency.max_late_s,
            int(&expected["schrage"]),
            "{id}"
        );
        let bound = output.max_late_if_interrupted_s;
        assert_eq!(bound, int(&expected["preemptive_lb"]), "{id}");
        assert_eq!(output.best.max_late_s, int(&expected["optimal"]), "{id}");
        assert_eq!(output.max_late_at_least_s, output.best.max_late_s);
        assert!(output.proved_best);
    }
    let (input, expected) = case("C05");
    let output = sequence_of(&jobs_of(&input));
    assert_eq!(
        output.max_late_if_interrupted_s,
        int(&expected["preemptive"])
    );
}

#[test]
fn with_all_bouts_ready_the_earliest_due_goes_first() {
    let (input, expected) = case("C09");
    let rows = input["p_d"].as_array().unwrap();
    let jobs: Vec<[i64; 3]> = rows
        .iter()
        .map(|row| [0, int(&row[0]), -int(&row[1])])
        .collect();
    let output = sequence_of(&jobs);
    let order: Vec<i64> = output
        .by_urgency
        .order
        .iter()
        .map(|n| n.parse().unwrap())
        .collect();
    assert_eq!(order, ints(&expected["order"]));
    assert_eq!(output.best.max_late_s, int(&expected["Lmax"]));
}

fn pairs(value: &Value) -> Vec<[i64; 2]> {
    let pairs = value.as_array().unwrap().iter();
    pairs.map(|pair| ints(pair).try_into().unwrap()).collect()
}

fn group(count: usize) -> RoundRobinOutput {
    let robots = (1..=count).map(|robot| robot.to_string()).collect();
    round_robin(&RoundRobinInput { robots }).unwrap()
}

fn told(pairings: &[Pairing]) -> Vec<[i64; 2]> {
    let one = |pair: &Pairing| [pair.one.parse().unwrap(), pair.other.parse().unwrap()];
    pairings.iter().map(one).collect()
}

#[test]
fn circles_agree() {
    for id in ["C10", "C12", "C13"] {
        let (input, expected) = case(id);
        let output = group(int(&input["n"]) as usize);
        assert_eq!(output.rounds.len() as i64, int(&expected["rounds"]));
        assert_eq!(output.order.len() as i64, int(&expected["bouts"]));
        assert_eq!(
            i64::from(output.bouts_per_robot),
            int(&expected["per_robot"])
        );
        assert_eq!(told(&output.rounds[0]), pairs(&expected["first_round"]));
        if let Some(rounds) = expected["all_rounds"].as_array() {
            let got: Vec<_> = output.rounds.iter().map(|round| told(round)).collect();
            assert_eq!(got, rounds.iter().map(pairs).collect::<Vec<_>>());
        }
        assert_eq!(
            i64::from(output.rest_bouts_in_rounds),
            int(&expected["min_rest_bouts"])
        );
    }
}

#[test]
fn rest_is_as_long_as_exhaustive_search_found_and_theory_allows() {
    let (input, expected) = case("C15");
    for count in ints(&input["n"]) {
        let output = group(count as usize);
        let best = int(&expected["max_guaranteed_rest_bouts"][count.to_string()]);
        assert_eq!(i64::from(output.rest_bouts), best, "{count} robots");
        assert_eq!(i64::from(output.best_possible_rest_bouts), best);
    }
    for count in 3..=32 {
        let output = group(count);
        assert_eq!(
            output.rest_bouts, output.best_possible_rest_bouts,
            "{count}"
        );
        let mut met: Vec<[i64; 2]> = told(&output.order);
        for pair in &mut met {
            pair.sort_unstable();
        }
        met.sort_unstable();
        met.dedup();
        assert_eq!(
            met.len(),
            count * (count - 1) / 2,
            "{count}: every pair once"
        );
        assert!(met.iter().all(|pair| pair[0] != pair[1]));
        let in_rounds: usize = output.rounds.iter().map(Vec::len).sum();
        assert_eq!(in_rounds, met.len());
    }
}

#[test]
fn knock_outs_are_counted_as_in_the_reference() {
    let (input, expected) = case("C16");
    for robots in ints(&input["n"]) {
        let output = knock_out(&KnockOutInput {
            robots: robots as u32,
        })
        .unwrap();
        let expected = &expected[robots.to_string()];
        for (name, got) in [
            ("rounds", output.rounds),
            ("byes", output.byes),
            ("bouts", output.bouts),
            ("first_round_bouts", output.first_round_bouts),
        ] {
            assert_eq!(i64::from(got), int(&expected[name]), "{robots} {name}");
        }
        let double = [
            i64::from(output.double_elimination_bouts),
            i64::from(output.double_elimination_bouts_with_second_final),
        ];
        assert_eq!(double.to_vec(), ints(&expected["double_elim_bouts"]));
    }
}

#[test]
fn expected_bouts_agree() {
    use crate::calc::spares::{BoutsAhead, KnockOutAhead, RemainingBoutsInput, remaining_bouts};
    let (input, expected) = case("C17");
    for p in input["p"].as_array().unwrap() {
        for (place, rounds) in ints(&input["K"]).into_iter().enumerate() {
            let output = remaining_bouts(&RemainingBoutsInput {
                bouts_ahead: BoutsAhead::KnockOut(KnockOutAhead {
                    rounds_left: rounds as u32,
                    win_probability_by_round: vec![p.as_f64().unwrap()],
                }),
            })
            .unwrap();
            let wanted = expected[p.to_string()][place].as_f64().unwrap();
            assert!((output.mean_bouts - wanted).abs() < 1e-9);
        }
    }
}

fn bracket(strengths: &[Option<f64>], ours: &[usize]) -> BracketOutlookOutput {
    let places = strengths.iter().enumerate().map(|(place, strength)| {
        strength.map(|strength| BracketRobot {
            name: place.to_string(),
            strength,
        })
    });
    bracket_outlook(&BracketOutlookInput {
        places: places.collect(),
        ours: ours.iter().map(ToString::to_string).collect(),
    })
    .unwrap()
}

#[test]
fn the_bracket_of_eight_agrees() {
    let (input, expected) = case("C18");
    let strengths = input["strength"].as_array().unwrap().iter();
    let strengths: Vec<Option<f64>> = strengths.map(Value::as_f64).collect();
    let output = bracket(&strengths, &[0, 2, 5]);
    let mut sum = 0.0;
    for (place, robot) in output.robots.iter().enumerate() {
        for (round, got) in robot.through_round_probability.iter().enumerate() {
            let wanted = expected["p_round"][round][place].as_f64().unwrap();
            assert!((got - wanted).abs() < 1e-9, "robot {place} round {round}");
        }
        let champion = expected["champion"][place].as_f64().unwrap();
        assert!((robot.through_round_probability[2] - champion).abs() < 1e-9);
        let bouts = expected["expected_bouts"][place].as_f64().unwrap();
        assert!((robot.expected_bouts - bouts).abs() < 1e-9, "robot {place}");
        sum += robot.expected_bouts;
    }
    assert!((sum - expected["sum_expected"].as_f64().unwrap()).abs() < 1e-9);
    // The joint numbers of bouts have each robot's own as their margins.
    for (ours, place) in [0, 2, 5].into_iter().enumerate() {
        for (bouts, chance) in (0..).zip(&output.robots[place].probability_by_bouts) {
            let ways = output.ours_jointly.iter();
            let margin: f64 = ways
                .filter(|way| way.bouts[ours] == bouts)
                .map(|way| way.probability)
                .sum();
            assert!((margin - chance).abs() < 1e-12);
        }
    }
    // Robots 0 and 2 cannot both reach the final: they meet before it.
    assert!(
        output
            .ours_jointly
            .iter()
            .all(|way| way.bouts[0] + way.bouts[1] <= 5)
    );
}

#[test]
fn a_bye_is_no_bout() {
    let output = bracket(&[Some(3.0), None, Some(2.0), Some(2.0)], &[0]);
    let first = &output.robots[0];
    assert_eq!(first.through_round_probability[0], 1.0);
    assert!((first.through_round_probability[1] - 0.6).abs() < 1e-12);
    assert_eq!(first.expected_bouts, 1.0);
    assert_eq!(output.ours_jointly.len(), 1);
    assert_eq!(output.ours_jointly[0].bouts, [1]);
    // Two bouts are fought: four robots' worth of appearances.
    let sum: f64 = output.robots.iter().map(|robot| robot.expected_bouts).sum();
    assert!((sum - 4.0).abs() < 1e-12);
}

/// The window of a reference case, its minutes taken for seconds.
fn window_of(input: &Value) -> RunningOrderInput {
    let rows = input["bouts"].as_array().unwrap();
    let bouts = rows.iter().enumerate().map(|(index, row)| {
        let side = |side: usize| BoutSide::Robot(row[side].as_str().unwrap().to_owned());
        BoutInOrder {
            name: (index + 1).to_string(),
            sides: [side(0), side(1)],
            run_s: int(&row[2]),
            published_start_s: int(&row[3]) - int(&row[2]),
            fixed: false,
        }
    });
    let ready = input["ready"].as_object().unwrap().iter();
    RunningOrderInput {
        arena_free_s: int(&input["t0"]),
        gap_s: int(&input["gap"]),
        rest_s: int(&input["rest"]),
        robots: ready
            .map(|(name, ready)| RobotReady {
                name: name.clone(),
                ready_s: vec![int(ready)],
            })
            .collect(),
        bouts: bouts.collect(),
        published_order: (1..=rows.len()).map(|bout| bout.to_string()).collect(),
        tried_order: None,
        allowed_late_s: 0,
        worthwhile_s: 1,
        wanted_on_time_probability: 0.9,
        places_keep_starts: false,
    }
}

#[track_caller]
fn check_outcome(got: &OrderOutcome, expected: &Value) {
    assert_eq!(i64::from(got.swaps), int(&expected["kendall"]));
    assert_eq!(got.max_late_s, int(&expected["Lmax"]) as f64);
    assert_eq!(got.total_late_s, int(&expected["sum_tardy"]) as f64);
    assert_eq!(i64::from(got.bouts_moved), int(&expected["moved"]));
    let order: Vec<i64> = got
        .bouts
        .iter()
        .map(|bout| bout.name.parse().unwrap())
        .collect();
    assert_eq!(order, ints(&expected["order"]));
    let starts: Vec<i64> = got.bouts.iter().map(|bout| bout.start_s as i64).collect();
    assert_eq!(starts, ints(&expected["starts"]));
}

#[test]
fn the_frontier_of_orders_agrees() {
    let (input, expected) = case("C06");
    let output = running_order(&window_of(&input)).unwrap();
    let frontier = expected["frontier"].as_array().unwrap();
    check_outcome(&output.published, &frontier[0]);
    assert_eq!(output.better.len() + 1, frontier.len());
    for (got, expected) in output.better.iter().zip(&frontier[1..]) {
        check_outcome(got, expected);
    }
    assert_eq!(output.proposal.place, Some(0));
    assert_eq!(output.proposal.reason, OrderProposalReason::ReducesLateness);
    assert_eq!(output.proposal.max_late_gain_s, 2.0);
    assert_eq!(output.proposal.total_late_gain_s, 44.0);
    assert_eq!(output.assumed_ready.len(), 7);

    // If what is left of the lateness is allowed, the nearest order that has no more is proposed.
    let mut input = window_of(&input);
    input.allowed_late_s = int(&frontier[1]["Lmax"]);
    let output = running_order(&input).unwrap();
    assert_eq!(output.proposal.place, Some(0));
    assert_eq!(output.proposal.reason, OrderProposalReason::RemovesLateness);
    assert_eq!(output.published.on_time_probability, 0.0);
    assert_eq!(output.better[0].on_time_probability, 1.0);
}
