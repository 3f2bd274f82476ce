//! Readings behind a regulator.

use super::*;
use crate::pit::logbook::machine::System;

fn read(hall: &mut Hall, at_min: i64, set: i32, shown: i32) {
    hall.at = minute(at_min);
    let regulated = json!({"set_mbar_gauge": set, "read_mbar_gauge": shown});
    let body = json!({"regulated": regulated});
    hall.say(Subject::Robot(robot(1)), "gas", body);
}

#[test]
fn a_gauge_off_by_more_than_a_good_regulator_drifts() {
    let mut hall = hall_with(bottle_body(), system(6));
    hall.settings(json!({"gas_limit_mbar_gauge": 10_700}));
    read(&mut hall, 0, 10_000, 10_400);
    read(&mut hall, 1, 10_000, 10_800);
    read(&mut hall, 2, 20_000, 19_000);
    let readings = regulator_readings(&hall.pit, robot(1));
    let said: Vec<_> = readings
        .iter()
        .map(|reading| (reading.drifts, reading.above_limit))
        .collect();
    // 19 bar for 20 is within a twentieth, and above what this event allows.
    let expected = [
        (false, Some(true)),
        (true, Some(true)),
        (false, Some(false)),
    ];
    assert_eq!(said, expected);
    assert!((readings[1].off_bar - 0.8).abs() < 1e-9);
}

#[test]
fn a_gauge_that_shows_pressure_is_a_live_system() {
    let mut hall = hall_with(bottle_body(), system(6));
    let system = |hall: &Hall| hall.pit.robot(robot(1)).unwrap().state.system.value();
    read(&mut hall, 0, 10_000, 100);
    assert_eq!(system(&hall), None, "a needle on its pin says nothing");
    read(&mut hall, 1, 10_000, 9_900);
    assert_eq!(system(&hall), Some(System::Live));
}
