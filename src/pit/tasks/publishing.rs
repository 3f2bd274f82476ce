//! The plan a team is shown: its odds, and when another one replaces it.

use super::publish::{differs, plan};
use super::testing::*;
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::work::Planned;
use crate::pit::testing::{ANA, BEN, CAL, TEAM, start};
use chrono::TimeDelta;

fn shown(day: &Day) -> Planned {
    plan(&day.pit, TEAM, day.now(), &|| false).unwrap()
}

#[test]
fn odds_fall_with_damage_and_are_never_made_up() {
    let clean = Day::fought(Machine::FlipperHeavyweight);
    let mut hurt = Day::fought(Machine::FlipperHeavyweight);
    hurt.damage("wheel_fl", "drive_noise");
    hurt.damage("electrics", "controller_burnt");
    let of = |day: &Day| {
        let robot = shown(day).robots[0].clone();
        let odds = robot.odds.unwrap();
        assert!((0.0..=1.0).contains(&odds));
        assert!(
            robot.eight_in_ten.unwrap() >= robot.likely,
            "tails are long"
        );
        odds
    };
    assert!(of(&hurt) <= of(&clean), "{} {}", of(&hurt), of(&clean));
}

#[test]
fn a_late_robot_keeps_the_chance_it_has() {
    // A call that the likely times just miss is met now and then.
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    let likely = shown(&day).robots[0].likely;
    day.bout(SECOND, 2, (likely - start()).num_seconds() - 60);
    let robot = &shown(&day).robots[0];
    assert!(
        robot.likely > robot.call.unwrap().at,
        "late by the likely times"
    );
    assert!(
        robot.odds.is_some_and(|odds| odds < 0.5),
        "{:?}",
        robot.odds
    );
    assert!(robot.eight_in_ten.is_some());
}

#[test]
fn each_task_says_when_it_has_ended_by_eight_times_in_ten() {
    let mut plan = shown(&Day::fought(Machine::FlipperHeavyweight));
    assert!(
        plan.tasks
            .iter()
            .all(|task| task.eight_in_ten >= Some(task.start))
    );
    plan.tasks.sort_by_key(|task| task.eight_in_ten);
    let ready = plan.robots[0].eight_in_ten;
    let last = plan
        .tasks
        .iter()
        .find(|task| task.task == "fl-queue")
        .unwrap();
    assert!(ready.is_some());
    assert_eq!(last.eight_in_ten, ready, "{:#?}", plan.tasks);
}

#[test]
fn only_what_people_notice_makes_a_new_plan() {
    let last = shown(&Day::fought(Machine::SpinnerHeavyweight));
    assert!(!differs(&last, &last));
    let mut odds = last.clone();
    odds.robots[0].odds = Some(0.123);
    odds.after_seq += 1;
    assert!(!differs(&last, &odds), "odds alone are not worth it");
    let change = |edit: &dyn Fn(&mut Planned)| {
        let mut new = last.clone();
        edit(&mut new);
        differs(&last, &new)
    };
    assert!(change(&|new| new.robots[0].likely += TimeDelta::minutes(2)));
    assert!(!change(&|new| new.robots[0].likely += TimeDelta::minutes(1)));
    assert!(change(&|new| new.tasks[0].start += TimeDelta::minutes(2)));
    assert!(change(&|new| new.tasks[0].people = vec![ANA, BEN, CAL]));
    assert!(change(&|new| drop(new.tasks.pop())));
    assert!(change(&|new| new.robots[0]
        .left_out
        .push("fl-lid".to_owned())));
}
