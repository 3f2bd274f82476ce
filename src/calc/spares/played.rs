//! Days played through at random, against what is worked out.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::properties::{forecast, robots, stocked};
use super::*;

/// Standard errors that a share found by chance may be off: once in 1.7 million.
const ERRORS: f64 = 5.0;

/// A number of Poisson failures of this mean, by inversion.
fn failures(random: &mut ChaCha8Rng, mean: f64) -> u32 {
    let mut left: f64 = random.random();
    let mut chance = (-mean).exp();
    let mut count = 0;
    while left > chance && count < 1000 {
        left -= chance;
        count += 1;
        chance *= mean / f64::from(count);
    }
    count
}

/// A failure rate drawn from what is held about it.
fn drawn(random: &mut ChaCha8Rng, rate: &PartRate) -> f64 {
    let PartRate::Learned(rate) = rate else {
        panic!("only learned rates are drawn here");
    };
    let chance: f64 = random.random_range(1.0e-9..1.0);
    gamma::quantile(rate.shape, chance) / rate.unit_bouts
}

#[track_caller]
fn agrees(share: f64, runs: u32, exact: f64) {
    let error = (exact * (1.0 - exact) / f64::from(runs)).sqrt();
    assert!(
        (share - exact).abs() < ERRORS * error,
        "{share} played, {exact} worked out, standard error {error}"
    );
}

#[test]
fn days_played_at_random_run_out_as_often_as_forecast() {
    let day = robots(&["Thistle", "Bramble"], 4, 0.6);
    let parts = [
        stocked("wheel", 4.0, 50.0, &[("Thistle", 4), ("Bramble", 2)], 2),
        stocked("gearbox", 2.0, 20.0, &[("Thistle", 2)], 1),
        stocked("valve", 1.0, 12.0, &[("Bramble", 1)], 0),
    ];
    let exact = forecast(&day, &parts);
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let runs = 20_000;
    let (mut all_well, mut bramble_well) = (0, 0);
    for _ in 0..runs {
        let bouts = [0, 1].map(|_| {
            let mut bouts = 1;
            while bouts < 4 && random.random::<f64>() < 0.6 {
                bouts += 1;
            }
            f64::from(bouts - 1)
        });
        let lasts = parts.clone().map(|part| {
            let rate = drawn(&mut random, &part.rate);
            let used: u32 = part
                .fitted
                .iter()
                .map(|on| {
                    let bouts = bouts[usize::from(on.robot == "Bramble")];
                    failures(&mut random, rate * f64::from(on.units) * bouts)
                })
                .sum();
            used <= part.stock_units
        });
        all_well += u32::from(lasts.iter().all(|lasts| *lasts));
        bramble_well += u32::from(lasts[0] && lasts[2]);
    }
    let share = |count: u32| f64::from(count) / f64::from(runs);
    agrees(share(all_well), runs, exact.nothing_runs_out_probability);
    let bramble = exact.robots[1].nothing_runs_out_probability;
    agrees(share(bramble_well), runs, bramble);
}

#[test]
fn repairs_played_at_random_keep_up_as_often_as_worked_out() {
    let input = RepairableSparesInput {
        rate: PartRate::Learned(LearnedRate {
            shape: 3.0,
            unit_bouts: 20.0,
        }),
        fitted_units: 4,
        stock_units: 3,
        bouts_ahead: BoutsAhead::Certain(CertainBouts { bouts: 7 }),
        count_last: false,
        repairable_fraction: 0.7,
        repair_min: 80.0,
        queue_min: 20.0,
        gap_between_bouts_min: 50.0,
    };
    let exact = repairable_spares(&input).unwrap();
    assert_eq!(exact.repair_lag_bouts, 2);
    let mut random = ChaCha8Rng::seed_from_u64(12);
    let runs = 20_000;
    let mut well = 0;
    for _ in 0..runs {
        let mean = 4.0 * drawn(&mut random, &input.rate);
        let mut shelf = 3_i64;
        let mut away = [0_i64; 6 + 2];
        let mut lasts = true;
        for bout in 0..6 {
            shelf += away[bout];
            for _ in 0..failures(&mut random, mean) {
                shelf -= 1;
                if random.random::<f64>() < 0.7 {
                    away[bout + 2] += 1;
                }
            }
            lasts &= shelf >= 0;
        }
        well += u32::from(lasts);
    }
    let share = f64::from(well) / f64::from(runs);
    agrees(share, runs, exact.enough_probability.unwrap());
}
