//! Bottles and supplies against outside values, and what must hold whatever the values are.

mod learned;
mod regulator;
mod supply;

use super::*;
use crate::calc::gas::GasFillAdvice;
use crate::pit::ids::{BottleId, Subject, SupplyId};
use crate::pit::testing::hall::{Hall, bout, minute, robot};
use chrono::NaiveDate;
use proptest::prelude::*;
use serde_json::{Value, json};
use uuid::Uuid;

const BOTTLE: BottleId = BottleId(Uuid::from_u128(0x401));

fn team() -> Uuid {
    Uuid::from_u128(0x301)
}

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 1, 15).unwrap()
}

fn system(shots: u32) -> Value {
    json!({"gas": "co2", "feed": "regulated", "extend_pressure_mbar_gauge": 10_000,
        "need_pressure_mbar_gauge": 15_000, "bore_um": 100_000, "stroke_um": 250_000,
        "rod_um": 32_000, "shots_a_bout": shots})
}

fn bottle_body() -> Value {
    json!({"team": team(), "label": "B1", "gas": "co2", "volume_ml": 4_000, "tare_g": 5_100,
        "test_pressure_mbar_gauge": 250_000, "test_due": "2031-05-31", "wall": "aluminium"})
}

/// One robot with a gas system, another to fight, and a bottle.
fn hall_with(bottle: Value, system: Value) -> Hall {
    let mut hall = Hall::with_robots(2);
    hall.say(
        Subject::Robot(robot(1)),
        "register_robot",
        json!({"team": team(), "name": "Robot 1", "machine": "flipper_heavyweight", "links": 1,
            "gas_system": system}),
    );
    hall.say(Subject::Bottle(BOTTLE), "register_bottle", bottle);
    hall.meet(1, 1, 2, 60);
    hall
}

fn report(hall: &mut Hall, at_min: i64, mut body: Value) {
    hall.at = minute(at_min);
    body["bottle"] = json!(BOTTLE);
    hall.say(Subject::Robot(robot(1)), "bottle", body);
}

fn now(hall: &Hall) -> BottleNow {
    bottle(&hall.pit, BOTTLE, today()).unwrap()
}

/// 0.763 kg for each litre stands at 250 bar gauge at 65 degC (CoolProp 8.0.0, Span and Wagner);
/// saturated CO2 at 20 degC has 57.29 bar absolute (the same).
#[test]
fn a_fill_is_cut_to_the_test_pressure_and_the_hall_gives_the_vapour_pressure() {
    let mut body = bottle_body();
    body["filling_ratio_g_per_l"] = json!(800);
    let hall = hall_with(body, system(6));
    let limits = now(&hall).limits;
    assert_eq!(limits.advice, GasFillAdvice::FillByScale);
    let most = limits.permitted_g.unwrap();
    assert!((f64::from(most) / 4_000.0 - 0.763).abs() < 0.0005, "{most}");
    assert_eq!(limits.stop_at_gross_g, Some(most + 5_100));
    let hall_bar = limits.in_the_hall().unwrap();
    assert!((hall_bar - (57.29 - 1.013)).abs() < 0.02, "{hall_bar}");
    let hottest = limits.pressure_at(65.0).unwrap();
    assert_eq!(hottest.above_test_pressure, Some(false));
}

#[test]
fn the_lower_of_stamp_and_ratio_counts_and_more_is_a_reason_not_to_fill() {
    let mut body = bottle_body();
    body["permitted_fill_g"] = json!(2_000);
    body["fittings_g"] = json!(150);
    let mut hall = hall_with(body, system(6));
    report(&mut hall, 0, json!({"state": "filled", "mass_g": 7_300}));
    let now = now(&hall);
    assert_eq!(now.gas_g, Some(2_050), "gross less tare and fittings");
    assert_eq!(now.limits.stop_at_gross_g, Some(7_250));
    assert_eq!(now.limits.excess_g, Some(50));
    assert_eq!(now.limits.advice, GasFillAdvice::DoNotFill);
    assert_eq!(now.limits.reasons.len(), 1, "{:?}", now.limits.reasons);
}

#[test]
fn an_unknown_test_is_a_reason_not_to_fill_and_the_filling_is_recorded() {
    let mut body = bottle_body();
    body["test_pressure_mbar_gauge"] = Value::Null;
    body["test_due"] = Value::Null;
    let mut hall = hall_with(body, system(6));
    report(&mut hall, 0, json!({"state": "filled", "mass_g": 7_300}));
    let now = now(&hall);
    assert_eq!(now.limits.advice, GasFillAdvice::DoNotFill);
    assert_eq!(now.limits.reasons.len(), 2, "{:?}", now.limits.reasons);
    assert_eq!(now.gas_g, Some(2_200));
    assert!(now.shots.is_some());
}

#[test]
fn a_weighing_that_cannot_be_true_says_so_and_keeps_the_limits() {
    let mut hall = hall_with(bottle_body(), system(6));
    report(&mut hall, 0, json!({"state": "weighed", "mass_g": 4_000}));
    let now = now(&hall);
    assert!(
        now.limits.reasons[0].contains("below tare"),
        "{:?}",
        now.limits
    );
    assert!(now.limits.permitted_g.is_some());
    assert!(now.shots.is_none());
}

/// A 100 mm bore, 250 mm stroke, 32 mm rod at 10 bar gauge takes 72 g of CO2 at 20 degC and 96 g of
/// nearly saturated vapour (CoolProp 8.0.0).
#[test]
fn a_shot_takes_what_the_equation_says_warm_and_cold() {
    let mut hall = hall_with(bottle_body(), system(6));
    report(&mut hall, 0, json!({"state": "filled", "mass_g": 7_300}));
    let shots = now(&hall).shots.unwrap();
    assert!((shots.shot_g - 72.0).abs() < 0.6, "{shots:?}");
    assert!((96.0..101.0).contains(&shots.cold_shot_g), "{shots:?}");
    assert!(shots.fewest < shots.most);
    assert_eq!(shots.enough, Some(EnoughGas::Yes));
    assert!(shots.after_bout_bar_gauge.unwrap() < shots.pressure_now_bar_gauge);
}

/// Air at 200 bar absolute and 20 degC holds 2.6 % less than an ideal gas (CoolProp 8.0.0).
#[test]
fn a_weighed_air_bottle_has_the_pressure_of_its_gas() {
    let mut body = bottle_body();
    body["gas"] = json!("air");
    body["service_pressure_mbar_gauge"] = json!(200_000);
    body["test_pressure_mbar_gauge"] = json!(300_000);
    let mut air = system(6);
    air["gas"] = json!("air");
    let mut hall = hall_with(body, air);
    let ideal_kg: f64 = 200e5 * 0.004 / (287.049 * 293.15);
    let gross = 5_100 + (ideal_kg / 1.026 * 1000.0).round() as i32;
    report(&mut hall, 0, json!({"state": "filled", "mass_g": gross}));
    let now = now(&hall);
    let bar = now.shots.unwrap().pressure_now_bar_gauge;
    assert!((bar - (200.0 - 1.013)).abs() < 0.3, "{bar}");
    assert_eq!(now.limits.advice, GasFillAdvice::FillByScale);
    assert_eq!(now.limits.excess_g, Some(0));
}

#[test]
fn a_bout_since_the_weighing_leaves_only_an_upper_bound() {
    let mut hall = hall_with(bottle_body(), system(6));
    report(&mut hall, 0, json!({"state": "filled", "mass_g": 7_300}));
    report(&mut hall, 5, json!({"place": "machine"}));
    hall.at = minute(70);
    hall.happens(1, "bout_started", json!({}));
    let used = now(&hall);
    assert_eq!(used.used_since, Some(minute(70)));
    let shots = used.shots.unwrap();
    assert_eq!((shots.fewest, shots.enough), (0, Some(EnoughGas::Perhaps)));
    report(
        &mut hall,
        80,
        json!({"place": "gas_station", "state": "weighed", "mass_g": 6_700}),
    );
    let weighed = now(&hall);
    assert_eq!((weighed.used_since, weighed.gas_g), (None, Some(1_600)));
    assert!(weighed.shots.unwrap().fewest > 0);
    assert!(hall.pit.bout(bout(1)).is_some());
}

#[test]
fn filled_without_a_scale_is_unknown_and_emptied_is_empty() {
    let mut hall = hall_with(bottle_body(), system(6));
    report(&mut hall, 0, json!({"state": "weighed", "mass_g": 7_300}));
    report(&mut hall, 5, json!({"state": "filled"}));
    assert_eq!(now(&hall).gas_g, None);
    report(&mut hall, 9, json!({"state": "dumped"}));
    let empty = now(&hall);
    assert_eq!((empty.gas_g, empty.shots), (Some(0), None));
    assert_eq!(empty.history.len(), 3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn more_shots_never_leave_more_and_more_gas_never_gives_fewer(
        gas in 300_i32..2_600, more in 1_i32..300, shots in 1_u32..20,
    ) {
        let of = |gas: i32, shots: u32| {
            let mut hall = hall_with(bottle_body(), system(shots));
            report(&mut hall, 0, json!({"state": "weighed", "mass_g": 5_100 + gas}));
            now(&hall).shots.unwrap()
        };
        let (few, many, fuller) = (of(gas, shots), of(gas, shots + 1), of(gas + more, shots));
        prop_assert!(few.fewest <= few.most);
        prop_assert!(fuller.fewest >= few.fewest && fuller.most >= few.most);
        let after = |shots: BottleShots| shots.after_bout_bar_gauge.unwrap_or(0.0);
        prop_assert!(after(many) <= after(few));
        prop_assert!(after(few) <= few.pressure_now_bar_gauge);
    }
}

/// A stamp says more than the rule of thumb of 0.667 kg for each litre, and a bottle of which
/// nothing is known has no permitted fill, whatever a page falls back on.
#[test]
fn a_stamp_is_not_undercut_by_a_rule_of_thumb() {
    let permitted = |change: Value| {
        let mut body = bottle_body();
        for (name, value) in change.as_object().unwrap() {
            body[name] = value.clone();
        }
        let hall = hall_with(body, system(6));
        let body = &hall.pit.bottles[&BOTTLE].body;
        let of = BottleLimits::of(body, None, today(), 20.0).permitted_g;
        (BottleLimits::permitted(body, today()), of)
    };
    let (known, shown) = permitted(json!({"permitted_fill_g": 3_000}));
    assert_eq!((known, shown), (Some(3_000), Some(3_000)));
    // Above what 250 bar at 65 degC allows (0.763 kg for each litre, CoolProp 8.0.0).
    let (known, shown) = permitted(json!({"permitted_fill_g": 3_150}));
    assert_eq!(known, shown);
    assert!((3_048..=3_056).contains(&known.unwrap()), "{known:?}");
    let (known, shown) = permitted(json!({"test_pressure_mbar_gauge": null}));
    assert_eq!((known, shown), (None, Some(2_668)));
}
