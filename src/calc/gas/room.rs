//! Gas let off in a room (`gas-room`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::convert::{ATMOSPHERE_PA, kelvin};
use super::equation::Gas;
use crate::calc::fault::{Fault, Faults};

/// What [`gas_room`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasRoomInput::example()))]
pub struct GasRoomInput {
    /// CO2 or nitrogen; air does no harm.
    pub gas: Gas,
    /// Gas let off, kg; 0.001 to 1000.
    #[schema(minimum = 0.001, maximum = 1000.0)]
    pub released_kg: f64,
    /// Minutes over which it is let off; 0 to 480. 0 is at once.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 480.0)]
    pub release_min: f64,
    /// Volume of the room, m3; 1 to 1000000.
    #[schema(minimum = 1.0, maximum = 1000000.0)]
    pub room_volume_m3: f64,
    /// Share of the room the gas mixes with; 0.05 to 1. CO2 pools low: take the lowest metre where
    /// people kneel or the air stands still.
    #[serde(default = "whole")]
    #[schema(minimum = 0.05, maximum = 1.0)]
    pub mixed_share: f64,
    /// Fresh air, room volumes each hour; 0 to 60.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 60.0)]
    pub air_changes_per_h: f64,
    /// Temperature of the room, degC; -20 to 50.
    #[schema(minimum = -20.0, maximum = 50.0)]
    pub temperature_degc: f64,
}

fn whole() -> f64 {
    1.0
}

impl GasRoomInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            gas: Gas::Co2,
            released_kg: 2.3,
            release_min: 10.0,
            room_volume_m3: 60.0,
            mixed_share: 1.0,
            air_changes_per_h: 2.0,
            temperature_degc: 20.0,
        }
    }
}

/// How long CO2 stands above one limit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasRoomLimit {
    /// The limit, ppm by volume.
    pub limit_ppm: f64,
    /// Whether it is passed at all.
    pub passed: bool,
    /// Minutes after the start of the release until it is passed; nothing if it is not.
    pub passed_after_min: Option<f64>,
    /// Minutes after the start of the release until the air is below it again; nothing if it is
    /// not passed, or never clears without fresh air.
    pub clear_after_min: Option<f64>,
}

/// What [`gas_room`] answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_room(&GasRoomInput::example()).ok()))]
pub struct GasRoomOutput {
    /// The gas at the room's temperature and one atmosphere, m3.
    pub gas_m3: f64,
    /// Highest share of CO2, ppm by volume, at the end of the release.
    pub peak_co2_ppm: f64,
    /// Lowest share of oxygen, percent by volume, at the end of the release.
    pub lowest_oxygen_percent: f64,
    /// Highest mean of CO2 over 15 min, ppm.
    pub fifteen_minute_co2_ppm: f64,
    /// Mean of CO2 over the 8 h from the start, ppm.
    pub eight_hour_co2_ppm: f64,
    /// Whether the mean over 15 min passes 15000 ppm.
    pub above_short_limit: bool,
    /// Whether the mean over 8 h passes 5000 ppm.
    pub above_long_limit: bool,
    /// 5000, 15000 and 40000 ppm: workplace limits over 8 h and 15 min, and danger to life.
    pub limits: Vec<GasRoomLimit>,
}

/// CO2 of fresh air and oxygen of fresh air, as shares.
const FRESH_CO2: f64 = 420e-6;
const FRESH_OXYGEN: f64 = 0.2095;
/// **Source** EH40/2005 (8 h and 15 min) and NIOSH (immediately dangerous), each seen quoted.
const LIMITS_PPM: [f64; 3] = [5000.0, 15_000.0, 40_000.0];
const SHORT_MIN: f64 = 15.0;
const LONG_MIN: f64 = 480.0;

/// How a release of gas changes the air of a room.
///
/// **Units** kg, m3, min, degC to ppm and percent by volume.
///
/// **Assumes** gas well mixed with the given share of the room, a steady release, fresh air of 420
/// ppm CO2 and 20.95 % oxygen, what comes in pushes mixed air out. People's own breath is left out.
///
/// **Source** balance of the gas, `V dx/dt = q (1 - x) - Q x`; without fresh air it gives
/// `1 - exp(-V_gas / V_room)`.
///
/// # Errors
/// Every field out of range; air as the gas.
pub fn gas_room(input: &GasRoomInput) -> Result<GasRoomOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    if input.gas == Gas::Air {
        faults.add(
            "/gas",
            "Air let off does not change the air; give co2 or nitrogen.",
        );
    }
    faults.range("/released_kg", input.released_kg, 0.001, 1000.0);
    faults.range("/release_min", input.release_min, 0.0, 480.0);
    faults.range("/room_volume_m3", input.room_volume_m3, 1.0, 1e6);
    faults.range("/mixed_share", input.mixed_share, 0.05, 1.0);
    faults.range("/air_changes_per_h", input.air_changes_per_h, 0.0, 60.0);
    faults.range("/temperature_degc", input.temperature_degc, -20.0, 50.0);
    faults.check()?;

    let density = input
        .gas
        .density(ATMOSPHERE_PA, kelvin(input.temperature_degc));
    let gas = input.released_kg / density;
    let air = Mixing {
        room_volumes: gas / (input.room_volume_m3 * input.mixed_share),
        release: input.release_min,
        clearing: input.air_changes_per_h / 60.0,
    };
    let co2 = |share: f64| match input.gas {
        Gas::Co2 => 1e6 * (FRESH_CO2 + (1.0 - FRESH_CO2) * share),
        Gas::Nitrogen | Gas::Air => 1e6 * FRESH_CO2 * (1.0 - share),
    };
    let share_of = |ppm: f64| match input.gas {
        Gas::Co2 => (ppm * 1e-6 - FRESH_CO2) / (1.0 - FRESH_CO2),
        Gas::Nitrogen | Gas::Air => f64::INFINITY,
    };
    // Added CO2 can only raise its mean, added nitrogen only lower it: then fresh air is the highest.
    let short = match input.gas {
        Gas::Co2 => co2(air.highest_mean(SHORT_MIN)),
        Gas::Nitrogen | Gas::Air => co2(0.0),
    };
    let long = co2(air.dose(LONG_MIN) / LONG_MIN);
    Ok(GasRoomOutput {
        gas_m3: gas,
        peak_co2_ppm: co2(air.peak()).max(co2(0.0)),
        lowest_oxygen_percent: 100.0 * FRESH_OXYGEN * (1.0 - air.peak()),
        fifteen_minute_co2_ppm: short,
        eight_hour_co2_ppm: long,
        above_short_limit: short > LIMITS_PPM[1],
        above_long_limit: long > LIMITS_PPM[0],
        limits: LIMITS_PPM
            .iter()
            .map(|&ppm| air.limit(ppm, share_of(ppm)))
            .collect(),
    })
}

/// A release into mixed air; times in minutes, shares of the mixed volume.
struct Mixing {
    /// Gas released, in volumes of the mixed air.
    room_volumes: f64,
    release: f64,
    /// Fresh volumes each minute.
    clearing: f64,
}

const TERNARY_TURNS: usize = 60;

impl Mixing {
    /// Rate at which mixed air leaves while gas comes in, and the share it tends to.
    fn inflow(&self) -> (f64, f64) {
        let gas = self.room_volumes / self.release;
        let rate = gas + self.clearing;
        (rate, gas / rate)
    }

    /// The added share at the end of the release.
    fn peak(&self) -> f64 {
        if self.release == 0.0 {
            return 1.0 - (-self.room_volumes).exp();
        }
        let (rate, tends_to) = self.inflow();
        tends_to * (1.0 - (-rate * self.release).exp())
    }

    /// Integral of the added share from the start to `minutes`.
    fn dose(&self, minutes: f64) -> f64 {
        let rising = minutes.min(self.release);
        let mut dose = 0.0;
        if rising > 0.0 {
            let (rate, tends_to) = self.inflow();
            dose += tends_to * (rising - (1.0 - (-rate * rising).exp()) / rate);
        }
        let falling = minutes - self.release;
        if falling > 0.0 {
            let peak = self.peak();
            dose += if self.clearing > 0.0 {
                peak * (1.0 - (-self.clearing * falling).exp()) / self.clearing
            } else {
                peak * falling
            };
        }
        dose
    }

    /// Highest mean of the added share over any `width` minutes. The share rises to the end of the
    /// release and falls after it, so the best window holds that moment and there is one best.
    fn highest_mean(&self, width: f64) -> f64 {
        let mean = |start: f64| (self.dose(start + width) - self.dose(start)) / width;
        let (mut low, mut high) = ((self.release - width).max(0.0), self.release);
        for _ in 0..TERNARY_TURNS {
            let third = (high - low) / 3.0;
            if mean(low + third) < mean(high - third) {
                low += third;
            } else {
                high -= third;
            }
        }
        mean(0.5 * (low + high))
    }

    fn limit(&self, limit_ppm: f64, share: f64) -> GasRoomLimit {
        let peak = self.peak();
        let passed = peak > share;
        let passed_after_min = passed.then(|| {
            if self.release == 0.0 {
                return 0.0;
            }
            let (rate, tends_to) = self.inflow();
            -(1.0 - share / tends_to).ln() / rate
        });
        let clear_after_min = (passed && self.clearing > 0.0)
            .then(|| self.release + (peak / share).ln() / self.clearing);
        GasRoomLimit {
            limit_ppm,
            passed,
            passed_after_min,
            clear_after_min,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at_once() -> GasRoomInput {
        GasRoomInput {
            release_min: 0.0,
            air_changes_per_h: 0.0,
            ..GasRoomInput::example()
        }
    }

    /// Grams for each m3 that bring mixed air to a limit: 8.4, 27 and 74, CoolProp 8.0.0.
    #[test]
    fn the_limits_lie_where_they_were_computed() {
        for (grams, ppm) in [(8.4, 5000.0), (27.0, 15_000.0), (74.0, 40_000.0)] {
            let input = GasRoomInput {
                released_kg: grams * 1e-3 * 60.0,
                ..at_once()
            };
            let out = gas_room(&input).unwrap();
            assert!(
                (out.peak_co2_ppm / ppm - 1.0).abs() < 0.02,
                "{}",
                out.peak_co2_ppm
            );
        }
    }

    #[test]
    fn without_fresh_air_it_never_clears() {
        let out = gas_room(&at_once()).unwrap();
        assert!((out.fifteen_minute_co2_ppm - out.peak_co2_ppm).abs() < 1e-6);
        assert!(out.limits[1].passed && out.limits[1].clear_after_min.is_none());
        assert!(out.above_short_limit && out.above_long_limit);
    }

    #[test]
    fn a_slow_release_into_still_air_ends_as_a_sudden_one() {
        let slow = GasRoomInput {
            release_min: 30.0,
            ..at_once()
        };
        let (slow, sudden) = (gas_room(&slow).unwrap(), gas_room(&at_once()).unwrap());
        assert!((slow.peak_co2_ppm - sudden.peak_co2_ppm).abs() < 1e-6);
    }

    /// By hand: 5 changes each hour clear a share to 1/e in 12 min.
    #[test]
    fn fresh_air_clears_by_its_own_time_constant() {
        let input = GasRoomInput {
            air_changes_per_h: 5.0,
            ..at_once()
        };
        let out = gas_room(&input).unwrap();
        let peak = (out.peak_co2_ppm - 420.0) / (1e6 - 420.0);
        let limit = (5000.0 - 420.0) / (1e6 - 420.0);
        let clear = out.limits[0].clear_after_min.unwrap();
        assert!((clear - 12.0 * (peak / limit).ln()).abs() < 1e-6);
    }

    #[test]
    fn the_lowest_metre_is_worse_than_the_whole_room() {
        let pooled = GasRoomInput {
            mixed_share: 0.3,
            ..at_once()
        };
        let pooled = gas_room(&pooled).unwrap();
        let mixed = gas_room(&at_once()).unwrap();
        assert!(pooled.peak_co2_ppm > 3.0 * mixed.peak_co2_ppm);
        assert!(pooled.lowest_oxygen_percent < mixed.lowest_oxygen_percent);
    }

    #[test]
    fn nitrogen_takes_oxygen_and_adds_no_co2() {
        let input = GasRoomInput {
            gas: Gas::Nitrogen,
            released_kg: 10.0,
            ..at_once()
        };
        let out = gas_room(&input).unwrap();
        assert!(out.lowest_oxygen_percent < 19.0);
        assert!((out.peak_co2_ppm - 420.0).abs() < 1e-9);
        assert!(out.limits.iter().all(|limit| !limit.passed));
    }
}
