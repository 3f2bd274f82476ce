//! What a bottle may hold, and the pressure its gas will have.

use crate::calc::fault::Fault;
use crate::calc::gas::{
    CompressedGas, GasAirMassInput, GasBottleInput, GasFillAdvice, gas_air_mass, gas_bottle,
};
use crate::pit::logbook::register::{Bottle, GasOf};
use chrono::NaiveDate;
use serde::Serialize;
use utoipa::ToSchema;

/// The pressure in a closed bottle at one temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct BottlePressure {
    /// Temperature of bottle and gas.
    pub temperature_degc: f64,
    /// Pressure in it.
    pub pressure_bar_gauge: f64,
    /// Whether the test pressure is passed; nothing if it is unknown.
    pub above_test_pressure: Option<bool>,
    /// Whether the disc may open; nothing if its pressure is unknown.
    pub disc_may_open: Option<bool>,
}

/// What a bottle may hold, and what its gas does when it warms.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct BottleLimits {
    /// Whether anything known speaks against filling it.
    pub advice: GasFillAdvice,
    /// Every reason not to fill.
    pub reasons: Vec<String>,
    /// What else should be known.
    pub cautions: Vec<String>,
    /// The most gas it should hold; nothing if its data do not say.
    pub permitted_g: Option<i32>,
    /// What the scale shows then, fittings included: stop there.
    pub stop_at_gross_g: Option<i32>,
    /// Gas above what is permitted; 0 if it is within.
    pub excess_g: Option<i32>,
    /// The gas the pressures are for: what is in it, else what is permitted.
    pub pressures_for_g: Option<i32>,
    /// How warm it is in the hall, as the event says.
    pub hall_degc: f64,
    /// Where that gas is liquid to the brim; nothing if it never is.
    pub liquid_full_at_degc: Option<f64>,
    /// The pressures, by temperature: the hall's, 31, 40, 50 and 65 degC
    /// among them.
    pub pressures: Vec<BottlePressure>,
}

/// Steps of the curve, degC.
const CURVE_DEGC: std::ops::RangeInclusive<i32> = -2..=14;
const STEP_DEGC: f64 = 5.0;
/// Just above critical, a warm hall, a car in the sun, and the temperature of the fill rules, degC.
pub const ALWAYS_DEGC: [f64; 4] = [31.0, 40.0, 50.0, 65.0];

/// The temperatures a bottle is looked at besides those it always is, degC.
fn temperatures(hall_degc: f64) -> Vec<f64> {
    let mut degc: Vec<f64> = CURVE_DEGC.map(|step| f64::from(step) * STEP_DEGC).collect();
    degc.push(hall_degc);
    degc.retain(|degc| !ALWAYS_DEGC.contains(degc));
    degc.sort_by(f64::total_cmp);
    degc.dedup();
    degc
}

impl BottleLimits {
    /// The limits of `bottle` on a day, with `gas_g` in it, in a hall of `hall_degc`.
    ///
    /// **Units** g, bar gauge, degC.
    ///
    /// **Assumptions** the lower of the stamped fill and what ratio and test pressure permit.
    pub(super) fn of(
        bottle: &Bottle,
        gas_g: Option<i32>,
        today: NaiveDate,
        hall_degc: f64,
    ) -> Self {
        let on = Day { today, hall_degc };
        let mut limits = match bottle.gas {
            GasOf::Co2 => liquefied(bottle, gas_g, on),
            GasOf::Nitrogen => compressed(CompressedGas::Nitrogen, bottle, gas_g, on),
            GasOf::Air => compressed(CompressedGas::Air, bottle, gas_g, on),
        };
        limits.permitted_g = limits.permitted_g.map(|most| at_most_stamped(bottle, most));
        limits.stop_at_gross_g = limits
            .permitted_g
            .map(|most| most + bottle.tare_g.get() + fittings(bottle));
        limits.excess_g = limits
            .permitted_g
            .zip(gas_g)
            .map(|(most, gas)| (gas - most).max(0));
        if let (Some(excess), Some(most)) = (limits.excess_g.filter(|g| *g > 0), limits.permitted_g)
        {
            limits.advice = GasFillAdvice::DoNotFill;
            limits.reasons.push(format!(
                "It holds {excess} g more than the {most} g it should hold at most."
            ));
        }
        limits
    }

    /// The most gas `bottle` should hold by what is known of it; nothing if neither stamp, filling
    /// ratio nor test pressure is: the rule of thumb a page falls back on is no knowledge.
    ///
    /// **Units** g.
    pub fn permitted(bottle: &Bottle, today: NaiveDate) -> Option<i32> {
        let known = bottle.permitted_fill_g.is_some()
            || bottle.filling_ratio_g_per_l.is_some()
            || bottle.test_pressure_mbar_gauge.is_some();
        match bottle.gas {
            GasOf::Co2 if known => gas_bottle(&input(bottle, None, today, Vec::new()))
                .ok()
                .map(|out| at_most_stamped(bottle, grams(out.permitted_kg))),
            GasOf::Co2 => None,
            GasOf::Nitrogen | GasOf::Air => {
                // What it may hold does not hang on the hall.
                Self::of(bottle, None, today, SERVICE_DEGC).permitted_g
            }
        }
    }

    /// The pressure at `degc`, where it was looked at.
    pub fn pressure_at(&self, degc: f64) -> Option<&BottlePressure> {
        self.pressures
            .iter()
            .find(|row| (row.temperature_degc - degc).abs() < 1e-6)
    }

    /// The pressure in it at the hall's temperature.
    pub fn in_the_hall(&self) -> Option<f64> {
        self.pressure_at(self.hall_degc)
            .map(|row| row.pressure_bar_gauge)
    }

    fn unknown(faults: &[Fault], hall_degc: f64) -> Self {
        Self {
            advice: GasFillAdvice::DoNotFill,
            reasons: faults.iter().map(|fault| fault.detail.clone()).collect(),
            cautions: Vec::new(),
            permitted_g: None,
            stop_at_gross_g: None,
            excess_g: None,
            pressures_for_g: None,
            hall_degc,
            liquid_full_at_degc: None,
            pressures: Vec::new(),
        }
    }
}

/// What hangs on a bottle when it is weighed, g.
pub(super) fn fittings(bottle: &Bottle) -> i32 {
    bottle.fittings_g.map_or(0, |mass| mass.get())
}

pub(super) fn bar(pressure: crate::calc::units::GaugePressure) -> f64 {
    f64::from(pressure.get()) / 1000.0
}

pub(super) fn litres(volume: crate::calc::units::Volume) -> f64 {
    f64::from(volume.get()) / 1000.0
}

/// A mass that is a limit, in whole grams below it.
#[expect(
    clippy::cast_possible_truncation,
    reason = "no bottle of the register holds more than 100 kg"
)]
fn grams(kg: f64) -> i32 {
    (kg * 1000.0 + 1e-6).floor() as i32
}

fn at_most_stamped(bottle: &Bottle, most: i32) -> i32 {
    bottle
        .permitted_fill_g
        .map_or(most, |stamped| most.min(stamped.get()))
}

/// Filling ratios the calculator takes.
const RATIOS_KG_PER_L: std::ops::RangeInclusive<f64> = 0.3..=0.8;

/// The ratio of the bottle: as registered, else what the stamped fill makes of its volume.
fn ratio(bottle: &Bottle) -> Option<f64> {
    let registered = bottle
        .filling_ratio_g_per_l
        .map(|ratio| f64::from(ratio.get()) / 1000.0);
    let stamped = bottle
        .permitted_fill_g
        .map(|fill| f64::from(fill.get()) / 1000.0 / litres(bottle.volume_ml));
    registered.or(stamped.filter(|ratio| RATIOS_KG_PER_L.contains(ratio)))
}

fn input(
    bottle: &Bottle,
    gas_g: Option<i32>,
    today: NaiveDate,
    temperatures_degc: Vec<f64>,
) -> GasBottleInput {
    let kg = |g: i32| f64::from(g) / 1000.0;
    GasBottleInput {
        water_capacity_l: litres(bottle.volume_ml),
        filling_ratio_kg_per_l: ratio(bottle),
        test_pressure_bar_gauge: bottle.test_pressure_mbar_gauge.map(bar),
        test_due: bottle.test_due,
        today,
        disc_opens_from_bar_gauge: bottle.disc_pressure_mbar_gauge.map(bar),
        gross_kg: gas_g.map(|gas| kg(gas + bottle.tare_g.get() + fittings(bottle))),
        tare_kg: Some(kg(bottle.tare_g.get())),
        fittings_kg: kg(fittings(bottle)),
        temperatures_degc,
    }
}

/// The day and the hall a bottle is looked at in.
#[derive(Clone, Copy)]
struct Day {
    today: NaiveDate,
    hall_degc: f64,
}

fn liquefied(bottle: &Bottle, gas_g: Option<i32>, on: Day) -> BottleLimits {
    let further = || temperatures(on.hall_degc);
    let asked = |gas: Option<i32>| gas_bottle(&input(bottle, gas, on.today, further()));
    // A weighing that cannot be true leaves what the bottle itself permits.
    let (out, doubt) = match asked(gas_g) {
        Ok(out) => (out, Vec::new()),
        Err(doubt) => match asked(None) {
            Ok(out) => (out, doubt),
            Err(faults) => return BottleLimits::unknown(&faults, on.hall_degc),
        },
    };
    let mut reasons = out.reasons;
    if out.over == Some(true) {
        // Said once, with the stamped fill counted.
        reasons.pop();
    }
    reasons.extend(doubt.into_iter().map(|fault| fault.detail));
    BottleLimits {
        advice: if reasons.is_empty() {
            GasFillAdvice::FillByScale
        } else {
            GasFillAdvice::DoNotFill
        },
        reasons,
        cautions: out.cautions,
        permitted_g: Some(grams(out.permitted_kg)),
        stop_at_gross_g: None,
        excess_g: None,
        pressures_for_g: Some(grams(out.rows_for_kg)),
        hall_degc: on.hall_degc,
        liquid_full_at_degc: out.liquid_full_at_degc,
        pressures: out
            .rows
            .iter()
            .map(|row| BottlePressure {
                temperature_degc: row.temperature_degc,
                pressure_bar_gauge: row.pressure_bar_gauge,
                above_test_pressure: row.above_test_pressure,
                disc_may_open: row.disc_may_open,
            })
            .collect(),
    }
}

/// The temperature service pressures of compressed gases are stamped for, degC.
///
/// **Source** memory; confirm before relying on it.
const SERVICE_DEGC: f64 = 15.0;
/// Most of the test pressure that a compressed gas may use.
///
/// **Source** 49 CFR 173.302b(b): the working pressure is at most two thirds of the test pressure.
const OF_TEST: f64 = 2.0 / 3.0;
/// The least gauge pressure the calculator takes; highest likewise, bar.
const RANGE_BAR: (f64, f64) = (0.0, 400.0);
const HALVINGS: usize = 40;

fn compressed(gas: CompressedGas, bottle: &Bottle, gas_g: Option<i32>, on: Day) -> BottleLimits {
    let litres = litres(bottle.volume_ml);
    let mut reasons = Vec::new();
    match bottle.test_due {
        None => reasons.push("The date of the next test is not known.".to_owned()),
        Some(due) if due < on.today => reasons.push(format!("The periodic test was due on {due}.")),
        Some(_) => {}
    }
    let test = bottle.test_pressure_mbar_gauge.map(bar);
    let service = bottle.service_pressure_mbar_gauge.map(bar);
    if test.is_none() {
        reasons.push("The test pressure is not known.".to_owned());
    }
    if service.is_none() {
        reasons.push("The service pressure is not known.".to_owned());
    }
    let highest = match (service, test) {
        (Some(service), Some(test)) => Some(service.min(OF_TEST * test)),
        (service, test) => service.or(test.map(|test| OF_TEST * test)),
    };
    let permitted = highest
        .and_then(|bar| mass_at(gas, litres, bar, SERVICE_DEGC))
        .map(grams);
    let held = gas_g.filter(|gas| *gas > 0).or(permitted);
    let disc = bottle.disc_pressure_mbar_gauge.map(bar);
    let mut degc = temperatures(on.hall_degc);
    degc.extend(ALWAYS_DEGC);
    degc.sort_by(f64::total_cmp);
    let pressures = degc
        .into_iter()
        .filter_map(|degc| {
            let pressure = pressure_at(gas, litres, f64::from(held?) / 1000.0, degc)?;
            Some(BottlePressure {
                temperature_degc: degc,
                pressure_bar_gauge: pressure,
                above_test_pressure: test.map(|test| pressure > test),
                disc_may_open: disc.map(|disc| pressure >= disc),
            })
        })
        .collect();
    BottleLimits {
        advice: if reasons.is_empty() {
            GasFillAdvice::FillByScale
        } else {
            GasFillAdvice::DoNotFill
        },
        reasons,
        cautions: Vec::new(),
        permitted_g: permitted,
        stop_at_gross_g: None,
        excess_g: None,
        pressures_for_g: held,
        hall_degc: on.hall_degc,
        liquid_full_at_degc: None,
        pressures,
    }
}

fn mass_at(gas: CompressedGas, litres: f64, bar: f64, degc: f64) -> Option<f64> {
    gas_air_mass(&GasAirMassInput {
        gas,
        water_capacity_l: litres,
        pressure_bar_gauge: bar,
        temperature_degc: degc,
    })
    .ok()
    .map(|out| out.mass_kg)
}

/// The pressure `kg` of a compressed gas has, bar gauge; none above what is computed.
pub(super) fn pressure_at(gas: CompressedGas, litres: f64, kg: f64, degc: f64) -> Option<f64> {
    let (mut low, mut high) = RANGE_BAR;
    if mass_at(gas, litres, high, degc)? < kg {
        return None;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if mass_at(gas, litres, middle, degc)? < kg {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}
