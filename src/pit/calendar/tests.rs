//! Calendars read again by a library of their own.

use super::*;
use crate::pit::testing::hall::{Hall, bout, minute, robot};
use icalendar::{CalendarComponent, Component as _, DatePerhapsTime};
use serde_json::json;

/// The events of a calendar, as the crate `icalendar` reads them.
fn read(text: &str) -> Vec<icalendar::Event> {
    let calendar: icalendar::Calendar = text.parse().unwrap();
    let events = calendar
        .components
        .into_iter()
        .filter_map(|component| match component {
            CalendarComponent::Event(event) => Some(event),
            _ => None,
        });
    events.collect()
}

fn start(event: &icalendar::Event) -> DateTime<Utc> {
    match event.get_start() {
        Some(DatePerhapsTime::DateTime(icalendar::CalendarDateTime::Utc(at))) => at,
        other => panic!("{other:?}"),
    }
}

fn hall() -> Hall {
    let mut hall = Hall::with_robots(4);
    let name = "Straße, \\ the; “long” name of a robot with many builders";
    let body = json!({"team": uuid::Uuid::from_u128(0x301), "name": name,
        "machine": "small_machine", "links": 1});
    hall.say(Subject::Robot(robot(1)), "register_robot", body);
    hall.meet(1, 1, 2, 10);
    hall.meet(2, 3, 4, 20);
    hall.bout(
        3,
        [json!({"winner": bout(1)}), json!({"winner": bout(2)})],
        60,
    );
    hall
}

#[test]
fn another_program_reads_what_was_meant() {
    let hall = hall();
    let text = calendar(&hall.pit, About::Robot(robot(1)));
    let events = read(&text);
    assert_eq!(events.len(), 2, "its bout, and the one it may come into");
    let summary = "Bout 1: Straße, \\ the; “long” name of a robot with many builders v Robot 2";
    assert_eq!(events[0].get_summary(), Some(summary));
    assert_eq!(start(&events[0]), minute(10));
    assert_eq!(
        events[1].get_status(),
        Some(icalendar::EventStatus::Tentative)
    );
    assert_eq!(read(&calendar(&hall.pit, About::Event)).len(), 3);
    let team = TeamId(uuid::Uuid::from_u128(0x303));
    assert_eq!(read(&calendar(&hall.pit, About::Team(team))).len(), 2);
    // RFC 5545, 3.1: lines of at most 75 octets, each ended by CR LF.
    assert!(
        text.split("\r\n")
            .all(|line| line.len() <= 75 && !line.contains('\n'))
    );
    assert!(
        text.lines().any(|line| line.starts_with(' ')),
        "one was folded"
    );
}

#[test]
fn a_bout_keeps_its_uid_and_its_sequence_only_grows() {
    let mut hall = hall();
    let of_first = |hall: &Hall| {
        let events = read(&calendar(&hall.pit, About::Event));
        let uid = format!("bout-{}@linkout.invalid", bout(1));
        let found = events
            .iter()
            .find(|event| event.get_uid() == Some(uid.as_str()));
        let event = found.expect("the same UID");
        (
            event.get_sequence().unwrap(),
            start(event),
            event.get_status(),
        )
    };
    let (first, at, _) = of_first(&hall);
    assert_eq!(at, minute(10));
    hall.at = minute(-10);
    hall.say(Subject::Event, "calls_moved", json!({"by_min": 5}));
    let (moved, at, _) = of_first(&hall);
    assert_eq!(at, minute(15));
    assert!(moved > first);
    let body = json!({"number": 1, "slots": [{"robot": robot(1)}, {"robot": robot(2)}],
        "call_at": minute(15), "retired": true});
    hall.say(Subject::Bout(bout(1)), "register_bout", body);
    let (gone, _, status) = of_first(&hall);
    assert_eq!(status, Some(icalendar::EventStatus::Cancelled));
    assert!(gone > moved);
}
