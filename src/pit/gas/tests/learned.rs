//! What weighing before and after shots teaches.

use super::*;

/// Weighed with `before` g of gas, one bout, weighed with `after` and `shots`.
fn bout(hall: &mut Hall, at_min: i64, before: i32, after: i32, shots: u32) {
    report(
        hall,
        at_min,
        json!({"state": "weighed", "mass_g": 5_100 + before}),
    );
    report(hall, at_min + 1, json!({"place": "machine"}));
    hall.at = minute(at_min + 2);
    hall.happens(1, "bout_started", json!({}));
    let body = json!({"place": "gas_station", "state": "weighed", "mass_g": 5_100 + after, "shots": shots});
    report(hall, at_min + 10, body);
}

/// A 100 mm bore, 250 mm stroke, 32 mm rod at 10 bar gauge takes 72 g of CO2 a shot at 20 degC
/// (CoolProp 8.0.0): ten of them and 864 g drawn are a factor of 1.2.
#[test]
fn a_factor_is_what_was_drawn_over_what_warm_strokes_take() {
    let mut hall = hall_with(bottle_body(), system(12));
    bout(&mut hall, 0, 2_600, 2_600 - 864, 10);
    let known = now(&hall);
    let learned = known.learned.unwrap();
    assert!((learned.factor - 1.2).abs() < 0.01, "{learned:?}");
    assert!(learned.used && learned.factor_low < 1.2 && learned.factor_high > 1.2);
    assert_eq!((learned.weighings, learned.shots), (1, 10));
    let shots = known.shots.unwrap();
    assert!(
        (shots.shot_g - 72.0 * learned.factor_low).abs() < 0.7,
        "{shots:?}"
    );
    assert!((shots.cold_shot_g - 72.0 * learned.factor_high).abs() < 0.7);
}

/// Without it the range goes from a warm shot to the coldest dry one; with it, to what was weighed.
#[test]
fn what_was_learned_narrows_the_range_and_another_bottle_of_the_robot_has_it_too() {
    let mut hall = hall_with(bottle_body(), system(12));
    report(
        &mut hall,
        0,
        json!({"state": "weighed", "mass_g": 5_100 + 1_700}),
    );
    let before = now(&hall).shots.unwrap();
    bout(&mut hall, 1, 2_564, 1_700, 10);
    let after = now(&hall).shots.unwrap();
    assert!(after.fewest >= before.fewest && after.most <= before.most);
    assert!(
        after.most - after.fewest < before.most - before.fewest,
        "{before:?} {after:?}"
    );
    let second = BottleId(Uuid::from_u128(0x402));
    hall.say(Subject::Bottle(second), "register_bottle", bottle_body());
    hall.say(
        Subject::Robot(robot(1)),
        "bottle",
        json!({"bottle": second, "state": "weighed", "mass_g": 6_800}),
    );
    let other = bottle(&hall.pit, second, today()).unwrap();
    assert_eq!(other.learned, now(&hall).learned);
}

#[test]
fn nothing_is_learned_across_a_filling_or_from_a_scale_too_coarse() {
    let mut hall = hall_with(bottle_body(), system(12));
    report(&mut hall, 0, json!({"state": "weighed", "mass_g": 7_000}));
    report(&mut hall, 1, json!({"state": "filled"}));
    report(
        &mut hall,
        9,
        json!({"state": "weighed", "mass_g": 6_000, "shots": 10}),
    );
    assert_eq!(now(&hall).learned, None);
    hall.settings(json!({"gas_scale_uncertainty_g": 100}));
    bout(&mut hall, 20, 2_600, 2_200, 5);
    let coarse = now(&hall).learned.unwrap();
    assert!(!coarse.used);
    assert!(coarse.cautions[0].contains("too coarse"), "{coarse:?}");
    let with = now(&hall).shots.unwrap();
    assert!((with.shot_g - 72.0).abs() < 0.6, "not used: {with:?}");
}

#[test]
fn weighings_add_up_and_their_spread_stays_in_the_range() {
    let mut hall = hall_with(bottle_body(), system(12));
    bout(&mut hall, 0, 2_600, 2_600 - 792, 10);
    bout(&mut hall, 30, 2_600, 2_600 - 936, 10);
    let learned = now(&hall).learned.unwrap();
    assert_eq!((learned.weighings, learned.shots), (2, 20));
    assert!((learned.factor - 1.2).abs() < 0.01, "{learned:?}");
    assert!(
        learned.factor_low < 1.11 && learned.factor_high > 1.29,
        "{learned:?}"
    );
}

/// A warmer hall: 30 degC saturated CO2 has 72.14 bar absolute (CoolProp 8.0.0).
#[test]
fn a_bottle_is_as_warm_as_the_event_says_its_hall_is() {
    let mut hall = hall_with(bottle_body(), system(6));
    report(&mut hall, 0, json!({"state": "weighed", "mass_g": 7_100}));
    let cool = now(&hall).limits.in_the_hall().unwrap();
    hall.settings(json!({"hall_c": 30}));
    let warm = now(&hall);
    let bar = warm.limits.in_the_hall().unwrap();
    assert!((bar - (72.14 - 1.013)).abs() < 0.03, "{bar}");
    assert!(bar > cool);
    assert!((warm.shots.unwrap().pressure_now_bar_gauge - bar).abs() < 0.1);
    assert_eq!(
        warm.limits.permitted_g,
        Some(2_668),
        "what it may hold stays"
    );
}
