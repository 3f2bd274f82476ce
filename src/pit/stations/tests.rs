//! Queues of the stations: order, estimates, and what ends a visit.

use super::{Waits, queue};
use crate::pit::ids::{LineId, RobotId, Subject};
use crate::pit::library::tasks::PoolOf;
use crate::pit::logbook::machine::Place;
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::station::{AtStation, Station, Step};
use crate::pit::logbook::{Body, How, Line};
use crate::pit::state::Pit;
use crate::pit::testing::{ANA, line, place, robot, start};
use chrono::TimeDelta;
use proptest::prelude::*;
use uuid::Uuid;

fn id(n: u128) -> RobotId {
    RobotId(Uuid::from_u128(500 + n))
}

fn registered(n: u128) -> Line {
    Line {
        seq: i64::try_from(n).unwrap(),
        id: LineId(Uuid::from_u128(9_000 + n)),
        subject: Subject::Robot(id(n)),
        ..robot(Machine::FlipperHeavyweight)
    }
}

fn says(n: u128, robot: u128, at_min: i64, body: Body) -> Line {
    Line {
        subject: Subject::Robot(id(robot)),
        ..line(100 + n, at_min * 60, ANA, How::Did, body)
    }
}

fn step(station: Station, step: Step) -> Body {
    Body::Station(AtStation { station, step })
}

fn order(pit: &Pit, station: Station, at_min: i64) -> Vec<RobotId> {
    queue(pit, station, start() + TimeDelta::minutes(at_min))
        .entries
        .iter()
        .map(|entry| entry.robot)
        .collect()
}

#[test]
fn first_come_first_served_but_for_who_is_next() {
    let mut lines: Vec<Line> = (1..=3).map(registered).collect();
    for n in 1..=3 {
        let at = i64::try_from(n).unwrap();
        lines.push(says(n, n, at, step(Station::Scale, Step::Asked)));
    }
    let pit = Pit::fold(&lines);
    assert_eq!(order(&pit, Station::Scale, 5), [id(1), id(2), id(3)]);
    lines.push(says(4, 3, 5, step(Station::Scale, Step::Next)));
    let pit = Pit::fold(&lines);
    assert_eq!(order(&pit, Station::Scale, 6), [id(3), id(1), id(2)]);
    // Asking again costs nobody the place.
    lines.push(says(5, 1, 7, step(Station::Scale, Step::Asked)));
    let pit = Pit::fold(&lines);
    assert_eq!(order(&pit, Station::Scale, 8), [id(3), id(1), id(2)]);
}

#[test]
fn each_waits_for_those_before_by_the_library_minutes() {
    // The library has 3 min for a heavyweight on the scale.
    let mut lines: Vec<Line> = (1..=3).map(registered).collect();
    for n in 1..=2 {
        lines.push(says(n, n, 0, step(Station::Scale, Step::Asked)));
    }
    let pit = Pit::fold(&lines);
    let now = start() + TimeDelta::minutes(1);
    let waits = Waits::at(&pit, now);
    let after = |minutes| Some(now + TimeDelta::minutes(minutes));
    assert_eq!(waits.turn(id(1), PoolOf::Scale), after(0));
    assert_eq!(waits.turn(id(2), PoolOf::Scale), after(3));
    assert_eq!(waits.turn(id(3), PoolOf::Scale), after(6), "asks last");
    assert_eq!(waits.turn(id(3), PoolOf::GasBay), None, "nobody there");
}

#[test]
fn a_machine_that_goes_to_the_arena_queue_waits_for_nothing_else() {
    let mut lines = vec![registered(1)];
    lines.push(says(1, 1, 0, step(Station::Scale, Step::Asked)));
    lines.push(says(2, 1, 1, place(Place::PitBench)));
    assert_eq!(order(&Pit::fold(&lines), Station::Scale, 2), [id(1)]);
    lines.push(says(3, 1, 3, place(Place::Queue)));
    let pit = Pit::fold(&lines);
    assert_eq!(order(&pit, Station::Scale, 4), []);
    assert_eq!(order(&pit, Station::ArenaGate, 4), [id(1)]);
}

proptest! {
    #[test]
    fn a_queue_does_not_care_in_which_order_lines_arrive(
        told in prop::collection::vec((1u128..=4, 0i64..40, 0usize..6, 0usize..5), 1..25),
        shuffled in any::<u64>(),
    ) {
        let steps = [Step::Asked, Step::Next, Step::Serving, Step::Served, Step::Left];
        let facts: Vec<Line> = (1..)
            .zip(told)
            .map(|(n, (robot, at, station, told))| says(n, robot, at, step(Station::ALL[station], steps[told])))
            .collect();
        let mut other = facts.clone();
        other.sort_by_key(|line| (line.id.0.as_u128() ^ u128::from(shuffled)) % 31);
        let pit = |facts: &[Line]| {
            let registered: Vec<Line> = (1..=4).map(registered).collect();
            Pit::fold(registered.iter().chain(facts))
        };
        let (one, two) = (pit(&facts), pit(&other));
        let now = start() + TimeDelta::minutes(41);
        for station in Station::ALL {
            prop_assert_eq!(queue(&one, station, now), queue(&two, station, now));
        }
    }
}
