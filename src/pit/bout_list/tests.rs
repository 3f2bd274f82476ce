//! Lists as people write them.

use super::*;
use crate::pit::testing::hall::{Hall, bout, minute, robot};
use uuid::Uuid;

/// Minutes of the day stand for times of the hall.
fn time(text: &str) -> Option<DateTime<Utc>> {
    text.parse().ok().map(minute)
}

fn new(n: u16) -> BoutId {
    BoutId(Uuid::from_u128(0x900 + u128::from(n)))
}

fn faults(hall: &Hall, text: &str) -> Vec<String> {
    let faults = super::read(&hall.pit, text, &time, &new).unwrap_err();
    faults.into_iter().map(|fault| fault.detail).collect()
}

#[test]
fn a_list_enters_new_bouts_and_changes_known_ones() {
    let mut hall = Hall::with_robots(4);
    hall.meet(7, 1, 2, 10);
    let text =
        "number,call,one,other,fixed\n7,15,Robot 1,robot 3,yes\n8,30,winner of 7,\"Robot 4\"\n";
    let listed = super::read(&hall.pit, text, &time, &new).unwrap();
    assert_eq!(listed[0].bout, bout(7));
    assert!(listed[0].revision.is_some() && listed[0].body.fixed);
    assert_eq!(listed[0].body.moved_from, Some(minute(10)));
    assert_eq!(listed[1].bout, new(1));
    assert_eq!(listed[1].revision, None);
    let slots = [Slot::Winner(bout(7)), Slot::Robot(robot(4))];
    assert_eq!(listed[1].body.slots, slots);
}

#[test]
fn every_fault_is_named_by_its_line() {
    let mut hall = Hall::with_robots(3);
    hall.meet(1, 1, 2, 0);
    hall.happens(1, "bout_started", serde_json::json!({}));
    let text = "2,soon,Robot 1,Robto 2\n\n3,20,winner of 99,Robot 1\n3,20,Robot 1,Robot 1,maybe\n1,30,Robot 1,Robot 2\n4,5\n";
    let expected = [
        "Line 1, call: ‘soon’ is no time of the hall, such as 14:05.",
        "Line 1, other: there is no robot ‘Robto 2’. The nearest is Robot 2.",
        "Line 3, one: there is no bout 99.",
        "Line 4, fixed: yes or no.",
        "Line 4, other: Robot 1 is in both corners.",
        "Line 5, number: this bout has begun.",
        "Line 6, number: 2 columns; there are number, call, one, other and, if wanted, fixed.",
        "Line 4, number: line 3 has this number too.",
    ];
    assert_eq!(faults(&hall, text), expected);
    assert_eq!(faults(&hall, ""), ["From 1 to 100 bouts at once, not 0."]);
}
