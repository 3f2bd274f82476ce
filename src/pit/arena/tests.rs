//! Bouts as they will take place, worked out by hand.

use super::*;
use crate::pit::ids::Subject;
use crate::pit::readiness::of_all;
use crate::pit::testing::hall::{Hall, bout, minute, robot};
use serde_json::json;

/// 3 min to place and arm, bouts of 4 min, 2 min to reset, 20 min of rest: the defaults.
fn day(hall: &Hall) -> ArenaDay {
    ArenaDay::of(&hall.pit, &of_all(&hall.pit, hall.at).value, hall.at)
}

fn all_ready(hall: &mut Hall, robots: u128) {
    for n in 1..=robots {
        hall.word(n, json!("ready"));
    }
}

fn starts(day: &ArenaDay) -> Vec<i64> {
    let minutes = day.bouts.iter();
    minutes
        .map(|expected| (expected.start - minute(0)).num_minutes())
        .collect()
}

#[test]
fn bouts_start_after_their_calls_and_the_arena_waits_in_between() {
    let mut hall = Hall::with_robots(6);
    hall.meet(1, 1, 2, 0);
    hall.meet(2, 3, 4, 10);
    hall.meet(3, 5, 6, 12);
    hall.at = minute(0);
    all_ready(&mut hall, 6);
    let day = day(&hall);
    // 3, 13; the third waits for the arena: 13 + 4 + 2.
    assert_eq!(starts(&day), [3, 13, 19]);
    let idle: Vec<i64> = day.bouts.iter().map(|b| b.idle.num_minutes()).collect();
    assert_eq!(idle, [3, 4, 0]);
    assert_eq!(day.idle.num_minutes(), 7);
    assert_eq!(day.ends, Some(minute(23)));
}

#[test]
fn a_bout_waits_for_a_robot_and_says_for_which() {
    let mut hall = Hall::with_robots(4);
    hall.meet(1, 1, 2, 0);
    hall.meet(2, 3, 4, 10);
    hall.at = minute(0);
    all_ready(&mut hall, 4);
    hall.word(2, json!({"need": 25}));
    let day = day(&hall);
    let first = day.bout(bout(1)).unwrap();
    assert_eq!(first.waits_for, Some(robot(2)));
    assert!(first.start >= minute(28), "{}", first.start);
    let second = day.bout(bout(2)).unwrap();
    assert_eq!(second.start, first.end + TimeDelta::minutes(2));
    assert_eq!(second.waits_for, None);
}

#[test]
fn whoever_comes_out_of_a_bout_rests_first() {
    let mut hall = Hall::with_robots(4);
    hall.meet(1, 1, 2, 0);
    hall.meet(2, 3, 4, 10);
    hall.bout(
        3,
        [json!({"winner": bout(1)}), json!({"loser": bout(2)})],
        20,
    );
    hall.at = minute(0);
    all_ready(&mut hall, 4);
    // 13 + 4 + 20, not 20 + 3.
    assert_eq!(starts(&day(&hall)), [3, 13, 37]);
    let mut longer = hall.clone();
    longer.settings(json!({"turnaround_min": 40}));
    assert_eq!(starts(&day(&longer)), [3, 13, 57]);
    hall.at = minute(5);
    hall.happens(1, "bout_started", json!({}));
    hall.at = minute(7);
    let day = day(&hall);
    assert_eq!(starts(&day)[0], 5);
    assert_eq!(day.bouts[0].end, minute(9));
}

/// R2: the time to weigh again does not count against the time between two bouts.
#[test]
fn time_at_the_scale_is_added_unless_it_counts() {
    let mut hall = Hall::with_robots(1);
    let out = minute(7);
    let rested = |hall: &Hall| rest(&hall.pit, Some(robot(1)), out, hall.at).num_minutes();
    let scale = |hall: &mut Hall, at, step| {
        hall.at = minute(at);
        let asks = json!({"station": "scale", "step": step});
        hall.say(Subject::Robot(robot(1)), "station", asks);
    };
    scale(&mut hall, 1, "asked");
    scale(&mut hall, 6, "served");
    assert_eq!(rested(&hall), 20, "that was before the bout");
    scale(&mut hall, 8, "asked");
    hall.at = minute(10);
    assert_eq!(rested(&hall), 22, "still there");
    scale(&mut hall, 12, "served");
    hall.at = minute(20);
    assert_eq!(rested(&hall), 24);
    hall.settings(json!({"weighing_counts": true}));
    assert_eq!(rested(&hall), 20);
}

#[test]
fn a_night_is_no_wait() {
    let mut hall = Hall::with_robots(4);
    hall.meet(1, 1, 2, 0);
    hall.meet(2, 3, 4, 16 * 60);
    hall.at = minute(0);
    all_ready(&mut hall, 4);
    let day = day(&hall);
    assert_eq!(day.ends, Some(minute(7)));
    assert_eq!(day.idle.num_minutes(), 3);
    assert_eq!(day.bouts.len(), 2, "the next day's are there too");
}

/// R12: a crew reports two bouts ahead.
#[test]
fn a_crew_reports_when_the_bout_two_ahead_begins() {
    let mut hall = Hall::with_robots(8);
    for (number, call) in [(1_u128, 0), (2, 10), (3, 20), (4, 16 * 60)] {
        hall.meet(number, 2 * number - 1, 2 * number, call);
    }
    let called = |hall: &Hall| -> Vec<_> {
        let order = hall.pit.running_order().iter();
        order.map(|bout| bout.called_at).collect()
    };
    assert_eq!(called(&hall), [None; 4]);
    hall.at = minute(4);
    hall.happens(1, "bout_started", json!({}));
    assert_eq!(called(&hall), [None, None, Some(minute(4)), None]);
    hall.at = minute(8);
    hall.happens(1, "bout_ended", json!({}));
    assert_eq!(called(&hall)[2], Some(minute(4)), "not when it ends");
    hall.at = minute(14);
    hall.happens(2, "bout_started", json!({}));
    assert_eq!(called(&hall)[3], None, "a night lies between");
    hall.settings(json!({"report_ahead_bouts": 1}));
    assert_eq!(called(&hall)[1..3], [Some(minute(4)), Some(minute(14))]);
    hall.settings(json!({"report_ahead_bouts": 0}));
    assert_eq!(called(&hall), [None; 4]);
}
