//! Bouts as they will take place, worked out by hand.

use super::*;
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
