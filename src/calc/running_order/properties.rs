//! Orders against brute force, and what is refused.

use std::collections::BTreeMap;

use proptest::prelude::*;
use utoipa::PartialSchema;

use super::*;

/// Every order of the numbers below `count`.
fn every_order(count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let mut orders = Vec::new();
    for shorter in every_order(count - 1) {
        for place in 0..=shorter.len() {
            let mut order = shorter.clone();
            order.insert(place, count - 1);
            orders.push(order);
        }
    }
    orders
}

fn swaps(order: &[usize]) -> usize {
    let pairs = |place: usize| {
        order[place + 1..]
            .iter()
            .filter(move |l| **l < order[place])
    };
    (0..order.len()).map(|place| pairs(place).count()).sum()
}

/// One sample of an order played by the book, bout by bout; nothing if it cannot be fought so.
fn by_the_book(input: &RunningOrderInput, order: &[usize], sample: usize) -> Option<(i64, i64)> {
    let mut free = input.arena_free_s;
    let mut rested: BTreeMap<&str, i64> = BTreeMap::new();
    let mut ends: BTreeMap<&str, i64> = BTreeMap::new();
    let (mut greatest, mut total) = (i64::MIN, 0);
    for (place, bout) in order.iter().map(|bout| &input.bouts[*bout]).enumerate() {
        let mut start = free;
        if input.places_keep_starts {
            // The bouts of these tests are published in the order in which they are listed.
            start = start.max(input.bouts[place].published_start_s);
        }
        for side in &bout.sides {
            let from = match side {
                BoutSide::Open => free,
                BoutSide::WinnerOf(feeder) | BoutSide::LoserOf(feeder) => {
                    ends.get(feeder.as_str())? + input.rest_s
                }
                BoutSide::Robot(name) => rested.get(name.as_str()).copied().unwrap_or_else(|| {
                    let robot = input.robots.iter().find(|robot| robot.name == *name);
                    robot.map_or(input.arena_free_s, |robot| {
                        robot.ready_s[sample.min(robot.ready_s.len() - 1)]
                    })
                }),
            };
            start = start.max(from);
        }
        let end = start + bout.run_s;
        free = end + input.gap_s;
        ends.insert(&bout.name, end);
        for side in &bout.sides {
            if let BoutSide::Robot(name) = side {
                rested.insert(name, end + input.rest_s);
            }
        }
        let late = start - bout.published_start_s;
        greatest = greatest.max(late);
        total += late.max(0);
    }
    Some((greatest, total))
}

/// Sums over the samples of the greatest and the total lateness.
fn summed(input: &RunningOrderInput, order: &[usize]) -> Option<(i64, i64)> {
    let samples = input
        .robots
        .iter()
        .map(|robot| robot.ready_s.len())
        .max()
        .unwrap_or(1);
    let mut sums = (0, 0);
    for sample in 0..samples {
        let (greatest, total) = by_the_book(input, order, sample)?;
        sums = (sums.0 + greatest, sums.1 + total);
    }
    Some(sums)
}

fn robot(name: &str) -> BoutSide {
    BoutSide::Robot(name.to_owned())
}

fn bout(name: &str, sides: [BoutSide; 2], published_start_s: i64) -> BoutInOrder {
    BoutInOrder {
        name: name.to_owned(),
        sides,
        run_s: 300,
        published_start_s,
        fixed: false,
    }
}

prop_compose! {
    /// Six bouts: four of known robots, one fixed, one fed by two others.
    fn any_window()(
        robots in proptest::collection::vec((0..7_usize, 1..7_usize), 5),
        ready in proptest::collection::vec(proptest::collection::vec(0..4000_i64, 3), 4),
        fixed in 0..6_usize,
        rest_s in 0..2400_i64,
        worthwhile_s in 1..200_i64,
        places_keep_starts in proptest::bool::ANY,
    ) -> RunningOrderInput {
        let names = ["A", "B", "C", "D", "E", "F", "G"];
        let mut bouts: Vec<BoutInOrder> = (0..5_usize).map(|index| {
            let (one, away) = robots[index];
            let other = (one + away) % 7;
            let sides = [robot(names[one]), robot(names[other])];
            bout(&index.to_string(), sides, 420 * index as i64)
        }).collect();
        let sides = [BoutSide::WinnerOf("0".to_owned()), BoutSide::LoserOf("2".to_owned())];
        bouts.push(bout("5", sides, 2100));
        bouts[fixed].fixed = true;
        RunningOrderInput {
            arena_free_s: 0,
            gap_s: 120,
            rest_s,
            robots: ready.into_iter().zip(names).map(|(ready_s, name)| RobotReady {
                name: name.to_owned(),
                ready_s,
            }).collect(),
            published_order: bouts.iter().map(|bout| bout.name.clone()).collect(),
            bouts,
            tried_order: None,
            allowed_late_s: 0,
            worthwhile_s,
            wanted_on_time_probability: 0.9,
            places_keep_starts,
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn the_frontier_is_that_of_every_order_played_by_the_book(input in any_window()) {
        let output = running_order(&input).unwrap();
        let fixed = input.bouts.iter().position(|bout| bout.fixed).unwrap();
        let published = summed(&input, &[0, 1, 2, 3, 4, 5]).unwrap();
        let worthwhile = 3 * input.worthwhile_s;
        let mut best: BTreeMap<usize, (i64, i64, i64)> = BTreeMap::new();
        for order in every_order(6).iter().filter(|order| order[fixed] == fixed) {
            if let Some((greatest, total)) = summed(&input, order) {
                let steps = (greatest - published.0) as f64 / worthwhile as f64;
                let lateness = ((steps + 0.5).floor() as i64, total, greatest);
                let least = best.entry(swaps(order)).or_insert(lateness);
                *least = lateness.min(*least);
            }
        }
        let mut so_far = best[&0];
        let mut frontier = Vec::new();
        for (swaps, lateness) in best.into_iter().skip(1) {
            let gained = so_far.1 - lateness.1;
            if lateness.0 < so_far.0 || (lateness.0 == so_far.0 && gained >= worthwhile) {
                frontier.push((swaps, (lateness.2, lateness.1)));
                so_far = lateness;
            }
        }
        let got: Vec<(usize, (i64, i64))> = output.better.iter().map(|better| {
            let sum = |mean: f64| (3.0 * mean).round() as i64;
            (better.swaps as usize, (sum(better.max_late_s), sum(better.total_late_s)))
        }).collect();
        prop_assert_eq!(got, frontier);
        for better in &output.better {
            prop_assert_eq!(&better.bouts[fixed].name, &input.bouts[fixed].name);
        }
        prop_assert!((3.0 * output.published.max_late_s - published.0 as f64).abs() < 1e-6);
        prop_assert!((3.0 * output.published.total_late_s - published.1 as f64).abs() < 1e-6);
    }

    #[test]
    fn the_exact_sequence_is_that_of_brute_force(
        jobs in proptest::collection::vec((0..40_i64, 1..12_i64, 0..60_i64), 1..7),
    ) {
        let bouts = jobs.iter().enumerate().map(|(index, (ready_s, run_s, due_s))| {
            BoutToSequence {
                name: index.to_string(),
                ready_s: *ready_s,
                run_s: *run_s,
                due_s: *due_s,
            }
        });
        let output = arena_sequence(&ArenaSequenceInput { bouts: bouts.collect() }).unwrap();
        let played = |order: &Vec<usize>| {
            let mut now = i64::MIN;
            let late = order.iter().map(|job| {
                let (ready, run, due) = jobs[*job];
                now = now.max(ready) + run;
                now - due
            });
            late.max().unwrap()
        };
        let best = every_order(jobs.len()).iter().map(played).min().unwrap();
        prop_assert!(output.proved_best);
        prop_assert_eq!(output.best.max_late_s, best);
        prop_assert!(output.max_late_if_interrupted_s <= best);
        prop_assert!(output.by_urgency.max_late_s >= best);
        prop_assert_eq!(output.best.order.len(), jobs.len());
    }

    #[test]
    fn a_bracket_is_that_of_every_way_it_may_go(
        strengths in proptest::collection::vec(0.1..5.0_f64, 8), bye in 0..9_usize,
    ) {
        let drawn = |place: usize| place != bye;
        let places = (0..8).map(|place| drawn(place).then(|| BracketRobot {
            name: place.to_string(),
            strength: strengths[place],
        }));
        let ours: Vec<usize> = [1, 2, 6].into_iter().filter(|place| drawn(*place)).collect();
        let output = bracket_outlook(&BracketOutlookInput {
            places: places.collect(),
            ours: ours.iter().map(ToString::to_string).collect(),
        }).unwrap();
        let mut ways: BTreeMap<Vec<u32>, f64> = BTreeMap::new();
        for results in 0..128_u32 {
            let mut left: Vec<usize> = (0..8).collect();
            let mut bouts = [0; 8];
            let mut chance = 1.0;
            let mut bit = 0;
            while left.len() > 1 {
                left = left.chunks(2).map(|two| {
                    let upper = results >> bit & 1 == 0;
                    bit += 1;
                    let (winner, loser) = if upper { (two[0], two[1]) } else { (two[1], two[0]) };
                    if !drawn(winner) || !drawn(loser) {
                        chance *= f64::from(u8::from(drawn(winner)));
                    } else {
                        chance *= strengths[winner] / (strengths[winner] + strengths[loser]);
                        bouts[winner] += 1;
                        bouts[loser] += 1;
                    }
                    winner
                }).collect();
            }
            *ways.entry(ours.iter().map(|place| bouts[*place]).collect()).or_default() += chance;
        }
        ways.retain(|_, chance| *chance > 0.0);
        let got: Vec<Vec<u32>> = output.ours_jointly.iter().map(|way| way.bouts.clone()).collect();
        prop_assert_eq!(got, ways.keys().cloned().collect::<Vec<_>>());
        for (way, chance) in output.ours_jointly.iter().zip(ways.values()) {
            prop_assert!((way.probability - chance).abs() < 1e-12);
        }
    }
}

#[test]
fn nothing_is_proposed_when_all_is_on_time_or_nothing_improves() {
    let mut input = RunningOrderInput::example();
    input.robots[0].ready_s = vec![0];
    let proposal = running_order(&input).unwrap().proposal;
    assert_eq!(proposal.place, None);
    assert_eq!(proposal.reason, OrderProposalReason::PublishedIsOnTime);

    // Everybody waits for one robot that is in every bout: no order helps.
    input.robots[0].ready_s = vec![5000];
    let names = ["21", "22", "23"];
    input.bouts = names
        .iter()
        .zip(["Bramble", "Nettle", "Burdock"])
        .map(|(name, other)| bout(name, [robot("Thistle"), robot(other)], 0))
        .collect();
    input.published_order = names.map(str::to_owned).to_vec();
    let output = running_order(&input).unwrap();
    assert_eq!(output.better, []);
    assert_eq!(output.proposal.reason, OrderProposalReason::NothingImproves);
    assert!(output.published.max_late_s > 5000.0);
}

#[test]
fn what_cannot_be_removed_is_reduced() {
    let output = running_order(&RunningOrderInput::example()).unwrap();
    let better = &output.better[output.proposal.place.unwrap()];
    assert_eq!(output.proposal.reason, OrderProposalReason::ReducesLateness);
    // Thistle is late in any order; in the published one everybody waits for it.
    assert_eq!(output.published.max_late_s, 720.0);
    assert_eq!(better.max_late_s, 720.0);
    assert!(better.total_late_s < output.published.total_late_s);
    assert!(output.assumed_ready.contains(&"Bramble".to_owned()));
}

#[test]
fn a_gain_that_chance_would_make_is_not_proposed() {
    // Three samples: moving the bout gains much in one of them and loses in the others.
    let mut input = RunningOrderInput::example();
    input.bouts.truncate(2);
    input.bouts[1].published_start_s = 0;
    input.published_order.truncate(2);
    input.robots = vec![
        RobotReady {
            name: "Thistle".to_owned(),
            ready_s: vec![2000, 0, 0],
        },
        RobotReady {
            name: "Nettle".to_owned(),
            ready_s: vec![0, 100, 100],
        },
    ];
    let output = running_order(&input).unwrap();
    assert!(!output.better.is_empty());
    assert_eq!(output.proposal.reason, OrderProposalReason::NothingImproves);
    assert_eq!(output.proposal.place, None);
}

#[track_caller]
fn refused(input: &RunningOrderInput, pointer: &str, names: &[&str]) {
    let faults = running_order(input).unwrap_err();
    let fault = faults.iter().find(|fault| fault.pointer == pointer);
    let fault = fault.unwrap_or_else(|| panic!("{pointer} is not among {faults:?}"));
    for name in names {
        assert!(
            fault.detail.contains(name),
            "{name} is not in {}",
            fault.detail
        );
    }
}

#[test]
fn impossible_windows_are_refused_with_names() {
    let example = RunningOrderInput::example;

    let mut twice = example();
    twice.bouts[1].sides = [robot("Nettle"), robot("Nettle")];
    refused(&twice, "/bouts/1/sides", &["22", "Nettle"]);

    let mut drawn_twice = example();
    drawn_twice.bouts[4].sides[1] = BoutSide::WinnerOf("21".to_owned());
    refused(&drawn_twice, "/bouts/4/sides", &["25", "21"]);

    let mut perhaps_twice = example();
    perhaps_twice.bouts[4].sides[1] = robot("Bramble");
    refused(&perhaps_twice, "/bouts/4/sides", &["25", "Bramble", "21"]);

    let mut too_early = example();
    too_early.published_order.swap(1, 4);
    refused(&too_early, "/published_order/1", &["25", "22"]);

    let mut lost = example();
    lost.tried_order = Some(["21", "22", "25", "24"].map(str::to_owned).to_vec());
    refused(&lost, "/tried_order", &["23"]);

    let mut repeated = example();
    repeated.published_order[3] = "23".to_owned();
    refused(&repeated, "/published_order/3", &["23"]);
    refused(&repeated, "/published_order", &["24"]);

    let mut unknown = example();
    unknown.published_order[0] = "99".to_owned();
    refused(&unknown, "/published_order/0", &["99", "21"]);

    let mut uneven = example();
    uneven.robots.push(RobotReady {
        name: "Bramble".to_owned(),
        ready_s: vec![1, 2, 3],
    });
    uneven.robots[0].ready_s = vec![1, 2];
    refused(&uneven, "/robots/0/ready_s", &["Thistle", "3"]);
}

#[test]
fn an_order_tried_out_is_played_through() {
    let mut input = RunningOrderInput::example();
    input.tried_order = Some(["22", "21", "23", "24", "25"].map(str::to_owned).to_vec());
    let tried = running_order(&input).unwrap().tried.unwrap();
    assert_eq!((tried.swaps, tried.bouts_moved), (1, 2));
    let starts: Vec<f64> = tried.bouts.iter().map(|bout| bout.start_s).collect();
    // 22 at once; 21 when Thistle is ready; then every 480 s; 25 when the winner of 21 has rested.
    assert_eq!(starts, [0.0, 720.0, 1200.0, 1680.0, 2280.0]);
    // The arena waits 240 s for Thistle, and 120 s for the winner of 21.
    assert_eq!(tried.idle_s, 360.0);

    // Places that keep their starts: the last one does not begin before 2400 s.
    input.places_keep_starts = true;
    let tried = running_order(&input).unwrap().tried.unwrap();
    let starts: Vec<f64> = tried.bouts.iter().map(|bout| bout.start_s).collect();
    assert_eq!(starts, [0.0, 720.0, 1200.0, 1680.0, 2400.0]);
    assert_eq!(tried.idle_s, 480.0);
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
        told["no_such_field"] = serde_json::json!(1);
        assert!(serde_json::from_value::<I>(told).is_err());
    }
    check(&ArenaSequenceInput::example(), arena_sequence);
    check(&RunningOrderInput::example(), running_order);
    check(&RoundRobinInput::example(), round_robin);
    check(&KnockOutInput::example(), knock_out);
    check(&BracketOutlookInput::example(), bracket_outlook);
}
