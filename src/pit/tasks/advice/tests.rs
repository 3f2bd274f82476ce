//! What is said to help does help.

use super::*;
use crate::pit::ids::{PersonId, Subject};
use crate::pit::library;
use crate::pit::logbook::How;
use crate::pit::logbook::register::Machine;
use crate::pit::tasks::publish;
use crate::pit::tasks::testing::*;
use crate::pit::testing::{ANA, BEN, CAL, ROBOT, TEAM};
use serde_json::json;

fn asked(day: &Day) -> Vec<Gain> {
    advice(&day.pit, TEAM, day.now(), &|| false).unwrap().robots[&ROBOT].clone()
}

fn alone(damage: &[(&str, &str)]) -> Day {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    for who in [BEN, CAL, DAN] {
        let person = json!({"team": TEAM, "retired": true});
        day.register(Subject::Person(who), "register_person", person);
    }
    for (area, kind) in damage {
        day.damage(area, kind);
    }
    day
}

#[test]
fn one_more_person_gains_what_a_person_who_came_would() {
    let mut day = alone(&[("electrics", "wire_cut")]);
    let likely = |day: &Day| {
        publish::plan(&day.pit, TEAM, day.now(), &|| false)
            .unwrap()
            .robots[0]
            .likely
    };
    let before = likely(&day);
    let gains = asked(&day);
    let promised = gains
        .iter()
        .find(|gain| gain.measure == Measure::Person(Skill::Mechanic))
        .expect("one person alone needs hands")
        .sooner;
    let person = json!({"team": TEAM, "skills": ["mechanic"]});
    let newcomer = Subject::Person(PersonId(uuid::Uuid::from_u128(88)));
    day.register(newcomer, "register_person", person);
    let gained = before - likely(&day);
    assert!(
        (gained - promised).abs() <= TimeDelta::minutes(1),
        "{promised} promised, {gained} gained"
    );
}

#[test]
fn a_borrowed_set_saves_the_charge_it_makes_unnecessary() {
    let mut day = Day::fought(Machine::SmallMachine);
    day.say(
        ANA,
        How::Saw,
        "pack",
        json!({"set": SET_B, "looks": "swollen"}),
    );
    day.say(
        ANA,
        How::Did,
        "pack",
        json!({"set": SET_A, "place": "bench"}),
    );
    day.bout(SECOND, 2, day.at_s + 45 * 60);
    let gains = asked(&day);
    let set = gains.first().expect("something helps");
    assert_eq!(set.measure, Measure::BorrowedSet(ROBOT));
    assert!(set.meets_call && set.more > 0.5, "{set:?}");
    // With a set ready nobody is told to borrow one.
    let ready = Day::fought(Machine::SmallMachine);
    assert!(
        !asked(&ready)
            .iter()
            .any(|gain| matches!(gain.measure, Measure::BorrowedSet(_)))
    );
}

#[test]
fn only_what_is_no_safety_task_is_offered_for_leaving_out() {
    let mut offered = 0;
    for machine in [Machine::FlipperHeavyweight, Machine::SpinnerHeavyweight] {
        let kinds = library::damage(machine);
        for area in &kinds.areas {
            let mut day = Day::fought(machine);
            for kind in area.kinds.iter().take(2) {
                day.damage(&area.id, kind);
            }
            for gain in asked(&day) {
                if let Measure::Without { task, .. } = &gain.measure {
                    let def = library::lists(machine).task(task).unwrap();
                    assert!(def.optional() && !def.safety, "{task}");
                    offered += 1;
                }
            }
        }
    }
    assert!(offered > 0, "some repair costs time");
}

#[test]
fn a_later_call_helps_who_is_short_of_time_and_nobody_else() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    let likely = publish::plan(&day.pit, TEAM, day.now(), &|| false)
        .unwrap()
        .robots[0]
        .likely;
    let later = |day: &Day| {
        let gains = asked(day);
        gains
            .into_iter()
            .find(|gain| matches!(gain.measure, Measure::LaterCall(_)))
    };
    assert_eq!(later(&day), None, "hours of time");
    day.bout(
        SECOND,
        2,
        (likely - crate::pit::testing::start()).num_seconds() - 60,
    );
    let gain = later(&day).expect("a minute short");
    assert!(
        gain.meets_call && gain.sooner.is_zero() && gain.more > 0.3,
        "{gain:?}"
    );
}

#[test]
fn the_work_is_bounded_and_can_be_stopped() {
    let day = alone(&[("wheel_fl", "wheel_cut"), ("wheel_fr", "wheel_cut")]);
    let whole = advice(&day.pit, TEAM, day.now(), &|| false).unwrap();
    assert!(whole.tried > 3 && whole.tried <= Skill::ALL.len() + 4 + MOST_REPAIRS);
    let stopped = advice(&day.pit, TEAM, day.now(), &|| true).unwrap();
    assert_eq!((stopped.tried, stopped.robots[&ROBOT].len()), (0, 0));
    let again = advice(&day.pit, TEAM, day.now(), &|| false).unwrap();
    assert_eq!(again, whole, "the same day, the same advice");
}
