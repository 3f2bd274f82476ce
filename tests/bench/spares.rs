//! Measures the box of spares against its goals: packing twenty parts within one, two and three
//! limits, and the forecast of forty parts on four robots, beside marginal analysis of the same
//! twenty parts written out here.

use linkout::calc::spares::{
    BoutsAhead, BoxLimits, DayAhead, FittedUnits, KnockOutAhead, LearnedRate, PackSparesInput,
    PartRate, PartToPack, RobotAhead, SparesForecastInput, StockedPart, pack_spares,
    spares_forecast,
};
use std::hint::black_box;
use std::time::{Duration, Instant};

const UNITS: u32 = 8;

fn main() {
    let packed = parts(20);
    let beside = best_of(7, || {
        for _ in 0..100 {
            black_box(marginal(black_box(&packed)));
        }
        true
    });
    println!("{:<52} {:>10} {:>9}  goal", "measured", "ms", "ratio");
    let told = |name: &str, took: Duration, goal: &str| {
        let ratio = took.as_secs_f64() / beside.as_secs_f64();
        println!(
            "{name:<52} {:>10.2} {ratio:>9.2}  {goal}",
            took.as_secs_f64() * 1e3
        );
    };
    told("marginal analysis, a hundred times, beside it", beside, "");
    let limits = BoxLimits {
        mass_g: Some(9_000),
        price_cents: None,
        volume_ml: None,
    };
    let priced = BoxLimits {
        price_cents: Some(60_000),
        ..limits
    };
    let full = BoxLimits {
        volume_ml: Some(12_000),
        ..priced
    };
    for (name, limits, goal) in [
        ("20 parts within one limit", limits, "< 15 ms"),
        ("20 parts within two limits", priced, "< 60 ms"),
        (
            "20 parts within three limits, or its bound",
            full,
            "< 1000 ms",
        ),
    ] {
        let input = PackSparesInput {
            day: day(2),
            parts: packed.clone(),
            limits,
        };
        let found = pack_spares(&input).expect("a box");
        let took = best_of(3, || black_box(pack_spares(black_box(&input))).is_ok());
        let proved = if found.proved_best { "proved" } else { "bound" };
        told(&format!("{name} ({proved})"), took, goal);
    }
    let input = SparesForecastInput {
        day: day(4),
        parts: stocked(40),
    };
    let took = best_of(5, || black_box(spares_forecast(black_box(&input))).is_ok());
    told("forecast of 40 parts on 4 robots", took, "< 20 ms");
}

fn best_of(times: u32, work: impl Fn() -> bool) -> Duration {
    (0..times)
        .map(|_| {
            let begun = Instant::now();
            assert!(work());
            begun.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn robot(n: usize) -> String {
    format!("Robot {n}")
}

/// Robots of a knock-out of sixteen.
fn day(robots: usize) -> DayAhead {
    DayAhead {
        robots: (0..robots)
            .map(|n| RobotAhead {
                name: robot(n),
                bouts_ahead: Some(BoutsAhead::KnockOut(KnockOutAhead {
                    rounds_left: 4,
                    win_probability_by_round: vec![0.5],
                })),
            })
            .collect(),
        bouts_jointly: None,
        count_last: false,
    }
}

/// Numbers that look like none of a pattern, the same in every run.
fn mixed(n: usize, salt: usize) -> usize {
    (n * 7_919 + salt * 104_729) % 97
}

fn rate(n: usize) -> PartRate {
    PartRate::Learned(LearnedRate {
        shape: 1.0 + mixed(n, 1) as f64 / 30.0,
        unit_bouts: 12.0 + mixed(n, 2) as f64,
    })
}

fn fitted(n: usize, robots: usize) -> Vec<FittedUnits> {
    (0..robots)
        .filter(|on| *on == n % robots || mixed(n, 9).is_multiple_of(3))
        .map(|on| FittedUnits {
            robot: robot(on),
            units: 1 + u32::try_from(mixed(n, 3) % 4).unwrap_or(0),
        })
        .collect()
}

fn parts(count: usize) -> Vec<PartToPack> {
    let number = |n: usize, salt: usize, least: u32, step: u32| {
        least + step * u32::try_from(mixed(n, salt)).unwrap_or(0)
    };
    (0..count)
        .map(|n| PartToPack {
            name: format!("Part {n}"),
            rate: rate(n),
            fitted: fitted(n, 2),
            held_units: 0,
            pending_units: 0,
            at_most_units: UNITS,
            mass_g: number(n, 4, 60, 17),
            price_cents: number(n, 5, 400, 113),
            volume_ml: number(n, 6, 90, 23),
        })
        .collect()
}

fn stocked(count: usize) -> Vec<StockedPart> {
    (0..count)
        .map(|n| StockedPart {
            name: format!("Part {n}"),
            rate: rate(n),
            fitted: fitted(n, 4),
            stock_units: u32::try_from(mixed(n, 7) % 4).unwrap_or(0),
            pending_units: 0,
        })
        .collect()
}

/// Units of each part in a box of nine kilograms, each step the unit that gains most for its mass,
/// with Poisson failures over six bouts.
fn marginal(parts: &[PartToPack]) -> Vec<u32> {
    let gain = |part: &PartToPack, units: u32| {
        let PartRate::Learned(rate) = part.rate else {
            return 0.0;
        };
        let on: u32 = part.fitted.iter().map(|fit| fit.units).sum();
        let mean = 6.0 * f64::from(on) * rate.shape / rate.unit_bouts;
        let (mut term, mut sum) = ((-mean).exp(), 0.0);
        for n in 0..=units {
            sum += term;
            term *= mean / f64::from(n + 1);
        }
        (sum + term).ln() - sum.ln()
    };
    let mut packed = vec![0; parts.len()];
    let mut left = 9_000_u32;
    while let Some((best, _)) = parts
        .iter()
        .enumerate()
        .filter(|(n, part)| part.mass_g <= left && packed[*n] < UNITS)
        .map(|(n, part)| (n, gain(part, packed[n]) / f64::from(part.mass_g)))
        .max_by(|a, b| a.1.total_cmp(&b.1))
    {
        packed[best] += 1;
        left -= parts[best].mass_g;
    }
    packed
}
