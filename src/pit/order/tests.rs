//! Proposals from a logbook, and orders that are refused with names.

use super::change::changed;
use super::*;
use crate::pit::ids::Subject;
use crate::pit::readiness::of_all;
use crate::pit::testing::hall::{Hall, bout, minute, robot};
use serde_json::json;

/// Four bouts ten minutes apart; everybody is ready.
fn hall() -> Hall {
    let mut hall = Hall::with_robots(8);
    for n in 1..=4 {
        hall.meet(n, 2 * n - 1, 2 * n, 10 * i64::try_from(n).unwrap());
    }
    hall.at = minute(0);
    for n in 1..=8 {
        hall.word(n, json!("ready"));
    }
    hall
}

fn look(hall: &Hall) -> Outlook {
    let ready = of_all(&hall.pit, hall.at).value;
    Window::of(&hall.pit, &ready, hall.at)
        .unwrap()
        .look()
        .unwrap()
}

fn numbers(outlook: &Outlook, outcome: &OrderOutcome) -> Vec<i32> {
    let order = outlook.order(outcome);
    let number = |id: &BoutId| {
        let bouts = &outlook.window.bouts;
        bouts.iter().find(|bout| bout.id == *id).unwrap().number
    };
    order.iter().map(number).collect()
}

#[test]
fn nothing_is_proposed_when_everybody_is_in_time() {
    assert_eq!(look(&hall()).proposed(), None);
}

#[test]
fn a_late_robot_lets_the_next_bout_go_first() {
    let mut hall = hall();
    hall.word(1, json!({"need": 24}));
    let outlook = look(&hall);
    // Bout 1 cannot start before 24 + 3. Left first, everybody behind it is late; one place later
    // it still is, at 23; two places later, in the place of bout 3, it is ready.
    let proposed = outlook.proposed().expect("an order that helps");
    let moved = outlook.moves(proposed);
    assert!(
        moved
            .iter()
            .any(|one| one.bout == bout(1) && one.to > one.from)
    );
    assert!(proposed.total_late_s < outlook.found.published.total_late_s);
    assert!(proposed.max_late_s <= outlook.found.published.max_late_s);
    // Only calls change hands.
    let mut from: Vec<_> = moved.iter().map(|one| one.from).collect();
    let mut to: Vec<_> = moved.iter().map(|one| one.to).collect();
    from.sort();
    to.sort();
    assert_eq!(from, to);
    // What is taken is what was proposed.
    let order = outlook.order(proposed);
    for (id, body) in changed(&hall.pit, &order).unwrap() {
        let one = moved.iter().find(|one| one.bout == id).unwrap();
        assert_eq!((body.call_at, body.moved_from), (one.to, Some(one.from)));
        let body = serde_json::to_value(body).unwrap();
        hall.say(Subject::Bout(id), "register_bout", body);
    }
    let numbers = numbers(&outlook, proposed);
    let after: Vec<i32> = hall.pit.running_order().iter().map(|b| b.number).collect();
    assert_eq!(after, numbers);
    let seen = hall.pit.bout(bout(1)).unwrap().moved_from;
    assert_eq!(seen, Some((minute(10), hall.at)));
    // Calls changed hands; the day is not behind its printed order for that.
    assert_eq!(hall.pit.behind(bout(1)).unwrap().num_minutes(), 0);
}

#[test]
fn a_bout_that_keeps_its_place_keeps_it() {
    let mut hall = hall();
    let body = json!({"number": 1, "slots": [{"robot": robot(1)}, {"robot": robot(2)}],
        "call_at": minute(10), "fixed": true});
    hall.say(Subject::Bout(bout(1)), "register_bout", body);
    hall.word(1, json!({"need": 24}));
    for better in &look(&hall).found.better {
        assert_eq!(better.bouts[0].name, bout(1).to_string());
    }
    let faults = changed(&hall.pit, &[bout(2), bout(1)]).unwrap_err();
    assert!(
        faults[0].detail.contains("Bout 1 keeps its place"),
        "{faults:?}"
    );
}

#[test]
fn a_robot_that_has_not_rested_counts_as_late() {
    let mut hall = Hall::with_robots(6);
    hall.meet(1, 1, 2, 0);
    hall.meet(2, 1, 3, 8);
    hall.meet(3, 4, 5, 18);
    hall.meet(4, 5, 6, 60);
    hall.at = minute(4);
    hall.happens(1, "bout_started", json!({}));
    hall.at = minute(7);
    hall.happens(1, "bout_ended", json!({}));
    for n in 1..=6 {
        hall.word(n, json!("ready"));
    }
    // Robot 1 is out at 7 and may start again at 27, its next bout is due at 11.
    let outlook = look(&hall);
    assert_eq!(outlook.found.published.bouts[0].start_s, 20.0 * 60.0);
    let proposed = outlook.proposed().expect("bout 3 may go first");
    assert_eq!(numbers(&outlook, proposed), [3, 2, 4]);
}

#[test]
fn holds_and_refusals_are_named_and_not_timed() {
    let mut hall = hall();
    hall.word(3, json!("not"));
    assert_eq!(look(&hall).window.uncounted, [robot(3)]);
}

#[test]
fn samples_belong_to_the_robot_and_not_to_the_order() {
    let mut hall = hall();
    let team = uuid::Uuid::from_u128(0x301);
    let plan = json!({"after_seq": 1, "proven": true, "tasks": [], "robots": [{
        "robot": robot(1), "turnaround": 0, "call": {"bout": bout(1), "at": minute(10)},
        "likely": minute(200), "eight_in_ten": minute(260), "odds": 0.0}]});
    hall.word(1, json!("coming"));
    hall.say(
        Subject::Team(crate::pit::ids::TeamId(team)),
        "planned",
        plan,
    );
    let ready = of_all(&hall.pit, hall.at).value;
    let window = Window::of(&hall.pit, &ready, hall.at).unwrap();
    let samples = |window: &Window| {
        let name = robot(1).to_string();
        let robots = &window.input.robots;
        robots
            .iter()
            .find(|r| r.name == name)
            .unwrap()
            .ready_s
            .clone()
    };
    let drawn = samples(&window);
    assert_eq!(drawn.len(), 1_000);
    // By the likely time and 3 min of placing in half of them, by the slow time in eight of ten:
    // three standard errors of a share in 1,000 draws are 0.047 and 0.038.
    let share = |by: i64| {
        let by = by * 60;
        drawn.iter().filter(|s| **s <= by).count() as f64 / 1_000.0
    };
    assert!((share(203) - 0.5).abs() < 0.047, "{}", share(203));
    assert!((share(263) - 0.8).abs() < 0.038, "{}", share(263));
    // Another order draws the same.
    hall.meet(1, 1, 2, 25);
    let ready = of_all(&hall.pit, hall.at).value;
    assert_eq!(
        samples(&Window::of(&hall.pit, &ready, hall.at).unwrap()),
        drawn
    );
}

#[test]
fn orders_that_cannot_be_are_refused_with_names() {
    let mut hall = hall();
    hall.bout(
        5,
        [json!({"winner": bout(4)}), json!({"robot": robot(1)})],
        50,
    );
    let refused = |order: &[BoutId], at: &str, words: &str| {
        let faults = changed(&hall.pit, order).unwrap_err();
        let found = faults
            .iter()
            .any(|fault| fault.pointer == at && fault.detail.contains(words));
        assert!(found, "{faults:?}");
    };
    refused(&[bout(1)], "/bouts", "two bouts");
    refused(
        &[bout(2), bout(1), bout(2)],
        "/bouts/2",
        "Bout 2 is named twice",
    );
    refused(&[bout(3), bout(1)], "/bouts", "lost bout 2");
    refused(&[bout(1), bout(9)], "/bouts/1", "No bout of that id");
    refused(
        &[bout(5), bout(4)],
        "/bouts/0",
        "Bout 5 would stand before bout 4, which decides who is in it",
    );
    let same = changed(&hall.pit, &[bout(1), bout(2)]).unwrap();
    assert_eq!(same, [], "the order as it stands changes nothing");
}
