//! Each move has a reason, and no reason moves nothing.

use super::*;
use crate::pit::logbook::Kind;
use crate::pit::logbook::register::Machine;
use crate::pit::tasks::publish::plan;
use crate::pit::tasks::testing::*;
use crate::pit::testing::{ANA, ROBOT, TEAM};

fn publish(day: &mut Day) {
    let plan = plan(&day.pit, TEAM, day.now(), &|| false).unwrap();
    let body = serde_json::to_value(plan).unwrap();
    day.fact(Subject::Team(TEAM), "planned", None, body, ANA);
}

#[test]
fn damage_moves_the_plan_and_is_named_as_the_reason() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    publish(&mut day);
    assert_eq!(moved(&day.pit, ROBOT), None, "nothing was shown before");
    day.at_s += 60;
    day.damage("wheel_fl", "wheel_cut");
    publish(&mut day);
    let moved = moved(&day.pit, ROBOT).expect("a wheel is more work");
    assert!(moved.likely.1 > moved.likely.0);
    let wheel = moved
        .moves
        .iter()
        .find(|one| one.task == "fl-wheel")
        .unwrap();
    assert_eq!(
        (wheel.became.clone(), wheel.instance.as_deref()),
        (Became::New, Some("wheel_fl"))
    );
    let kinds: Vec<Kind> = moved.because.iter().map(|line| line.kind()).collect();
    assert_eq!(kinds, [Kind::Damage]);
}

#[test]
fn a_plan_made_again_at_the_same_moment_is_the_same_plan() {
    for machine in [
        Machine::FlipperHeavyweight,
        Machine::SpinnerHeavyweight,
        Machine::SmallMachine,
    ] {
        let mut day = Day::fought(machine);
        day.damage("wheel_fl", "wheel_cut");
        publish(&mut day);
        publish(&mut day);
        assert_eq!(moved(&day.pit, ROBOT), None, "{machine:?}");
    }
}

#[test]
fn a_task_that_takes_long_moves_what_waits_for_it_and_nothing_was_entered() {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.work_up_to("fl-open");
    day.task(ANA, "fl-walk", "started");
    publish(&mut day);
    day.at_s += 15 * 60;
    publish(&mut day);
    let moved = moved(&day.pit, ROBOT).expect("a quarter of an hour is noticed");
    assert!(moved.because.is_empty(), "{:?}", moved.because);
    assert!(moved.likely.1 > moved.likely.0);
    assert!(
        moved
            .moves
            .iter()
            .any(|one| matches!(one.became, Became::Later(by) if by > TimeDelta::zero()))
    );
}

#[test]
fn the_two_last_plans_are_kept_in_whatever_order_they_come() {
    let mut day = Day::fought(Machine::SmallMachine);
    for _ in 0..3 {
        day.at_s += 120;
        publish(&mut day);
    }
    let mut lines = day.lines.clone();
    lines.reverse();
    let (first, rest) = lines.split_at(3);
    let backwards = Pit::fold(rest.iter().rev().chain(first));
    assert_eq!(backwards.plans, day.pit.plans);
    assert_eq!(backwards.plans_before, day.pit.plans_before);
    let seq = |plans: &std::collections::BTreeMap<_, Arc<Line>>| plans[&TEAM].seq;
    assert_eq!(seq(&day.pit.plans), seq(&day.pit.plans_before) + 1);
}
