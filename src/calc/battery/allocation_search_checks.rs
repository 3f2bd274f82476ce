//! Allocations of small days against exhaustive search.

use proptest::prelude::*;

use super::allocation_checks::{bout, feed, minutes_alone, own_packs, pack, proves_sound};
use super::*;

fn most_late(output: &PackAllocationOutput) -> f64 {
    output
        .assignments
        .iter()
        .map(|assignment| -assignment.slack_min)
        .fold(f64::NEG_INFINITY, f64::max)
}

/// Least possible lateness of the latest, over every order and every choice of channels.
fn least_late(minutes: &[f64], calls: &[f64], channels: usize) -> f64 {
    fn search(left: &[(f64, f64)], free: &mut [f64], so_far: f64, best: &mut f64) {
        if so_far >= *best {
            return;
        }
        if left.is_empty() {
            *best = so_far;
            return;
        }
        for next in 0..left.len() {
            let mut rest = left.to_vec();
            let (minutes, call) = rest.remove(next);
            for channel in 0..free.len() {
                free[channel] += minutes;
                let late = so_far.max(free[channel] - call);
                search(&rest, free, late, best);
                free[channel] -= minutes;
            }
        }
    }
    let jobs: Vec<(f64, f64)> = minutes.iter().copied().zip(calls.iter().copied()).collect();
    let mut best = f64::INFINITY;
    search(
        &jobs,
        &mut vec![0.0; channels],
        f64::NEG_INFINITY,
        &mut best,
    );
    best
}

fn small_day() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    (2_usize..6).prop_flat_map(|count| {
        (
            prop::collection::vec(15.0_f64..65.0, count),
            prop::collection::vec(20.0_f64..200.0, count),
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn one_channel_is_never_later_than_the_best_order((minutes, calls) in small_day()) {
        // Jackson 1955: earliest due date is best on one machine with equal release.
        let input = own_packs(&minutes, &calls, 1);
        let output = pack_allocation(&input).unwrap();
        proves_sound(&input, &output);
        prop_assert!((most_late(&output) - least_late(&minutes, &calls, 1)).abs() < 1e-5);
    }

    #[test]
    fn equal_charges_on_equal_channels_are_at_their_best(
        (minutes, calls) in small_day(), channels in 2_usize..4,
    ) {
        let minutes = vec![minutes[0]; calls.len()];
        let input = own_packs(&minutes, &calls, channels);
        let output = pack_allocation(&input).unwrap();
        proves_sound(&input, &output);
        prop_assert!((most_late(&output) - least_late(&minutes, &calls, channels)).abs() < 1e-5);
    }

    #[test]
    fn unlike_charges_are_within_one_charge_of_the_best(
        (minutes, calls) in small_day(), channels in 2_usize..4,
    ) {
        let input = own_packs(&minutes, &calls, channels);
        let output = pack_allocation(&input).unwrap();
        proves_sound(&input, &output);
        let best = least_late(&minutes, &calls, channels);
        // Gusfield 1984, from memory: (m - 1) / m of the longest job.
        let longest = minutes.iter().copied().fold(0.0, f64::max);
        let bound = longest * (1.0 - 1.0 / channels as f64);
        prop_assert!(most_late(&output) >= best - 1e-5);
        prop_assert!(most_late(&output) <= best + bound + 1e-5);
    }

    #[test]
    fn under_mains_limits_every_allocation_is_sound_and_the_last_choice_the_earliest(
        (minutes, calls) in small_day(), released in prop::collection::vec(0.0_f64..60.0, 6),
        rating in 1.05_f64..2.6,
    ) {
        let mut input = own_packs(&minutes, &calls, 2);
        input.feeds = vec![feed(rating)];
        for channel in &mut input.channels {
            channel.feeds = vec!["bay".to_owned()];
        }
        for (pack, &released) in input.packs.iter_mut().zip(&released) {
            pack.released_min = released;
        }
        // The last bout may take any pack that no other bout names.
        let last = calls.iter().copied().fold(0.0, f64::max) + 1.0;
        let spare = [pack("s0", 40.0), pack("s1", 25.0)];
        input.packs.extend(spare.clone());
        input.bouts.push(bout("last", last, &["s0", "s1"]));
        let output = pack_allocation(&input).unwrap();
        proves_sound(&input, &output);

        let (chosen, before) = output.assignments.split_last().unwrap();
        prop_assert_eq!(chosen.bout.as_str(), "last");
        let busy: Vec<&AllocatedCharge> =
            before.iter().filter_map(|told| told.charge.as_ref()).collect();
        for pack in &spare {
            let length = minutes_alone(pack);
            for channel in ["c0", "c1"] {
                let fits = |from: f64| {
                    let to = from + length;
                    let drawn = |moment: f64| -> f64 {
                        busy.iter()
                            .filter(|told| told.from_min <= moment && moment < told.to_min)
                            .map(|told| told.peak_w / 126.0)
                            .sum()
                    };
                    busy.iter().all(|told| {
                        told.channel != channel || told.to_min <= from || to <= told.from_min
                    }) && busy
                        .iter()
                        .map(|told| told.from_min)
                        .filter(|&moment| from < moment && moment < to)
                        .chain([from])
                        .all(|moment| drawn(moment) + 1.0 <= rating)
                };
                let first = (0..4000).map(|step| f64::from(step) * 0.25).find(|&from| fits(from));
                prop_assert!(first.is_some());
                prop_assert!(chosen.ready_min <= first.unwrap() + length + 1e-6);
            }
        }
    }
}
