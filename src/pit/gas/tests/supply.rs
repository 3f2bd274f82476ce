//! What supplies still fill.

use super::*;
use crate::pit::ids::TeamId;

const CYLINDER: SupplyId = SupplyId(Uuid::from_u128(0x501));

fn with_supply(hall: &mut Hall, id: SupplyId, label: &str) {
    hall.say(
        Subject::Supply(id),
        "register_supply",
        json!({"label": label, "gas": "co2", "volume_ml": 50_000, "contents_g": 34_000,
            "tare_g": 55_000, "heel_g": 500}),
    );
}

fn supplies(hall: &Hall) -> Vec<SupplyNow> {
    supplies_for(&hall.pit, TeamId(team()), today())
}

/// A 50 l cylinder at 20 degC keeps 50 x 194.2 g as vapour (CoolProp 8.0.0).
#[test]
fn a_supply_fills_what_is_left_as_liquid() {
    let mut hall = hall_with(bottle_body(), system(6));
    with_supply(&mut hall, CYLINDER, "Cylinder 1");
    let known = supplies(&hall);
    let fill = known[0].fill_g.unwrap();
    assert!((f64::from(known[0].residual_g.unwrap()) - (9_710.0 + 500.0)).abs() < 10.0);
    let liquid = 34_000.0 - 9_710.0 - 500.0;
    let fills = (liquid / (f64::from(fill) + 150.0)).floor();
    assert_eq!(known[0].fills.map(f64::from), Some(fills));
}

#[test]
fn fillings_count_down_by_what_went_in_and_150_g_each() {
    let mut hall = hall_with(bottle_body(), system(6));
    with_supply(&mut hall, CYLINDER, "Cylinder 1");
    let full = supplies(&hall)[0].fills.unwrap();
    // Nobody knew what was in it: as if it had been empty.
    let filled = json!({"state": "filled", "mass_g": 7_600, "supply": CYLINDER});
    report(&mut hall, 0, filled);
    let one = supplies(&hall)[0].clone();
    assert_eq!((one.filled, one.drawn_g), (1, 2_500 + 150));
    assert_eq!(one.left_g, Some(34_000 - 2_650));
    assert_eq!(one.fills, Some(full - 1));
    // Weighed first: what went in is known, and the only cylinder needs no name.
    report(&mut hall, 10, json!({"state": "weighed", "mass_g": 7_000}));
    report(&mut hall, 11, json!({"state": "filled", "mass_g": 7_600}));
    let two = supplies(&hall)[0].clone();
    assert_eq!((two.filled, two.drawn_g), (2, 2_650 + 600 + 150));
}

#[test]
fn with_two_cylinders_only_the_one_that_is_named_counts() {
    let mut hall = hall_with(bottle_body(), system(6));
    with_supply(&mut hall, CYLINDER, "Cylinder 1");
    let second = SupplyId(Uuid::from_u128(0x502));
    with_supply(&mut hall, second, "Cylinder 2");
    report(&mut hall, 0, json!({"state": "filled", "mass_g": 7_600}));
    report(
        &mut hall,
        1,
        json!({"state": "filled", "mass_g": 7_600, "supply": second}),
    );
    let counted: Vec<u32> = supplies(&hall).iter().map(|now| now.filled).collect();
    assert_eq!(counted, [0, 1]);
}

#[test]
fn a_filling_of_no_named_bottle_counts_once_for_a_team_of_two() {
    let mut hall = hall_with(bottle_body(), system(6));
    let second = BottleId(Uuid::from_u128(0x402));
    hall.say(Subject::Bottle(second), "register_bottle", bottle_body());
    with_supply(&mut hall, CYLINDER, "Cylinder 1");
    let body = json!({"state": "filled", "mass_g": 7_600});
    hall.say(Subject::Robot(robot(1)), "bottle", body);
    let known = supplies(&hall)[0].clone();
    assert_eq!((known.filled, known.drawn_g), (1, 2_650));
}

#[test]
fn a_cylinder_that_was_weighed_starts_anew() {
    let mut hall = hall_with(bottle_body(), system(6));
    with_supply(&mut hall, CYLINDER, "Cylinder 1");
    report(&mut hall, 0, json!({"state": "filled", "mass_g": 7_600}));
    hall.at = minute(5);
    let weighed = json!({"mass_g": 55_000 + 20_000});
    hall.say(Subject::Supply(CYLINDER), "supply_weighed", weighed);
    let known = supplies(&hall)[0].clone();
    assert_eq!((known.contents_g, known.filled), (Some(20_000), 0));
    assert_eq!(known.weighed.map(|at| at.gross_g), Some(75_000));
    report(&mut hall, 9, json!({"state": "filled", "mass_g": 7_700}));
    assert_eq!(supplies(&hall)[0].filled, 1);
}
