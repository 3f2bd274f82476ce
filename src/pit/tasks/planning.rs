//! A team's problem, solved and read back.
//!
//! Bounds of the finish come from `verify.py`, which schedules the same lists by a simple rule for the
//! same crews: no optimal plan is later, and none is earlier than the longest chain.

use super::testing::*;
use super::*;
use crate::calc::turnaround::{Answer, Budget, Verdict, check, solve, validate};
use crate::pit::ids::Subject;
use crate::pit::logbook::How;
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::work::Planned;
use crate::pit::testing::{ANA, BEN, CAL, ROBOT, TEAM};
use chrono::TimeDelta;
use proptest::prelude::*;
use serde_json::json;
use std::collections::BTreeSet;

fn problem(day: &Day) -> TeamProblem {
    TeamProblem::of(&day.pit, TEAM, &Basis::default(), day.now()).unwrap()
}

fn solved(team: &TeamProblem) -> Answer {
    let answer = solve(&team.problem, Budget::steps(20_000)).unwrap();
    assert_eq!(validate(&team.problem, &answer), Vec::<String>::new());
    answer
}

fn plan(day: &Day) -> Planned {
    let team = problem(day);
    team.planned(&solved(&team))
}

/// Back from the bout at the very moment it ended.
fn back(machine: Machine, damage: &[(&str, &str)], gone: &[crate::pit::ids::PersonId]) -> Day {
    let mut day = Day::fought(machine);
    for who in gone {
        let person = json!({"team": TEAM, "retired": true});
        day.register(Subject::Person(*who), "register_person", person);
    }
    for (area, kind) in damage {
        day.damage(area, kind);
    }
    day
}

#[test]
fn a_plan_is_no_later_than_a_simple_schedule_and_no_earlier_than_the_longest_chain() {
    let hurt = [("wheel_fl", "wheel_cut"), ("ram", "leak")];
    for (machine, damage, chain, simple) in [
        (Machine::FlipperHeavyweight, &hurt[..0], 38.5, 39.5),
        (Machine::FlipperHeavyweight, &hurt[..], 63.0, 67.0),
        (Machine::SpinnerHeavyweight, &hurt[..0], 41.7, 41.7),
    ] {
        let day = back(machine, damage, &[]);
        let planned = plan(&day);
        let minutes = (planned.robots[0].likely - day.now()).num_seconds() as f64 / 60.0;
        // Each task is rounded up to whole ticks of 15 s.
        assert!(
            minutes >= chain - 0.01 && minutes <= simple + 4.0,
            "{machine:?}: {minutes}"
        );
        assert_eq!(planned.robots[0].call.unwrap().bout, SECOND);
    }
}

#[test]
fn a_small_crew_gets_a_plan_with_borrowed_hands() {
    let day = back(Machine::FlipperHeavyweight, &[], &[CAL, DAN]);
    let planned = plan(&day);
    // verify.py borrows 2 for loading, 1 for the way back and 1 for the queue.
    let borrowed: Vec<(&str, u32)> = planned
        .tasks
        .iter()
        .filter(|task| task.borrowed_hands > 0)
        .map(|task| (task.task.as_str(), task.borrowed_hands))
        .collect();
    assert_eq!(borrowed, [("fl-load", 2), ("fl-back", 1), ("fl-queue", 1)]);
    for task in &planned.tasks {
        assert!(task.people.iter().all(|who| [ANA, BEN].contains(who)));
    }
    let alone = back(Machine::FlipperHeavyweight, &[], &[BEN, CAL, DAN]);
    assert!(!plan(&alone).tasks.is_empty());
    let nobody = back(Machine::FlipperHeavyweight, &[], &[ANA, BEN, CAL, DAN]);
    let planned = plan(&nobody);
    assert!(planned.tasks.iter().all(|task| task.people.is_empty()));
}

#[test]
fn the_plan_ends_in_the_queue_and_charges_only_what_stands_in_the_way() {
    let mut day = back(Machine::SmallMachine, &[], &[]);
    let planned = plan(&day);
    let tasks: Vec<&str> = planned
        .tasks
        .iter()
        .map(|task| task.task.as_str())
        .collect();
    assert!(tasks.contains(&"sm-queue"));
    for task in ["sm-charge", "sm-place", "sm-arm"] {
        assert!(!tasks.contains(&task), "{task}");
    }
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
    let gated = plan(&day);
    let charge = gated
        .tasks
        .iter()
        .find(|task| task.task == "sm-charge")
        .unwrap();
    let packs = gated
        .tasks
        .iter()
        .find(|task| task.task == "sm-packs_in")
        .unwrap();
    assert!(charge.end <= packs.start);
    // The charging table knows better when packs are ready.
    let ready = day.now() + TimeDelta::minutes(50);
    let basis = Basis {
        packs_ready: [(ROBOT, ready)].into(),
        ..Basis::default()
    };
    let team = TeamProblem::of(&day.pit, TEAM, &basis, day.now()).unwrap();
    let table = team.planned(&solved(&team));
    let packs = table
        .tasks
        .iter()
        .find(|task| task.task == "sm-packs_in")
        .unwrap();
    assert!(packs.start >= ready);
    assert!(!table.tasks.iter().any(|task| task.task == "sm-charge"));
}

#[test]
fn work_under_way_stands_where_it_is_with_its_people() {
    let mut day = back(Machine::FlipperHeavyweight, &[], &[]);
    day.work_up_to("fl-open");
    day.at_s += 60;
    day.task(CAL, "fl-gas_look", "started");
    let since = day.now();
    day.task(BEN, "fl-walk", "started");
    day.at_s += 60;
    let planned = plan(&day);
    let look = planned
        .tasks
        .iter()
        .find(|task| task.task == "fl-gas_look")
        .unwrap();
    assert_eq!((look.start, look.people.as_slice()), (since, &[CAL][..]));
    for task in planned
        .tasks
        .iter()
        .filter(|task| task.task != "fl-gas_look")
    {
        if task.people.contains(&CAL) {
            assert!(
                task.start >= look.end,
                "{} while Cal looks at the gas",
                task.task
            );
        }
    }
    assert!(
        !planned.tasks.iter().any(|task| task.task == "fl-open"),
        "done is gone"
    );
}

#[test]
fn a_block_half_done_is_under_way() {
    let mut day = back(
        Machine::FlipperHeavyweight,
        &[("wheel_fl", "wheel_cut")],
        &[],
    );
    day.work_up_to("fl-t_arm");
    let planned = plan(&day);
    let test = planned
        .tasks
        .iter()
        .find(|task| task.task == "fl-t_drive")
        .unwrap();
    assert!(test.start <= day.now());
    let hands: Vec<_> = planned
        .tasks
        .iter()
        .filter(|task| task.start < test.end)
        .collect();
    assert_eq!(hands.len(), 1, "nobody else while the machine is live");
}

#[test]
fn repairs_are_left_out_with_their_proofs_when_the_call_asks_for_it() {
    let mut day = back(
        Machine::FlipperHeavyweight,
        &[("wheel_fl", "wheel_cut")],
        &[],
    );
    assert!(plan(&day).robots[0].left_out.is_empty(), "there is time");
    day.bout(SECOND, 2, day.at_s + 42 * 60);
    let planned = plan(&day);
    assert_eq!(planned.robots[0].left_out, ["fl-wheel@wheel_fl"]);
    let tasks: BTreeSet<&str> = planned
        .tasks
        .iter()
        .map(|task| task.task.as_str())
        .collect();
    assert!(!tasks.contains("fl-weigh") && !tasks.contains("fl-t_arm"));
    assert!(planned.robots[0].likely <= planned.robots[0].call.unwrap().at);
}

#[test]
fn safety_work_alone_is_never_optional() {
    let damage = [
        ("wheel_fl", "wheel_cut"),
        ("electrics", "wire_cut"),
        ("ram", "rod_bent"),
    ];
    let day = back(Machine::FlipperHeavyweight, &damage, &[]);
    let team = problem(&day);
    for task in team.problem.tasks.iter().filter(|task| task.optional) {
        let needed_by = team
            .problem
            .tasks
            .iter()
            .any(|other| other.requires.contains(&task.id));
        assert!(task.id.contains("fl-wheel") || needed_by, "{}", task.id);
        assert_eq!(task.value > 0, task.id.contains("fl-wheel"));
    }
}

#[test]
fn a_robot_that_is_late_anyway_does_not_cost_another_its_call() {
    let mut day = back(Machine::SmallMachine, &[], &[]);
    let other = crate::pit::ids::RobotId(uuid::Uuid::from_u128(3));
    day.register(
        Subject::Robot(other),
        "register_robot",
        json!({"team": TEAM, "name": "Tin Wren", "machine": "small_machine", "links": 1}),
    );
    let third = crate::pit::ids::BoutId(uuid::Uuid::from_u128(23));
    let call =
        |minutes: i64| crate::pit::testing::start() + TimeDelta::seconds(3_960 + minutes * 60);
    day.register(
        Subject::Bout(third),
        "register_bout",
        json!({"number": 3, "slots": [{"robot": other}, {"robot": crate::pit::ids::RobotId(uuid::Uuid::from_u128(98))}], "call_at": call(240)}),
    );
    day.bout(SECOND, 2, 3_960 + 5 * 60);
    let team = problem(&day);
    let answer = solved(&team);
    assert_eq!(answer.verdict, Verdict::Late);
    let again = team.without_missed(&answer).unwrap();
    let answer = solved(&again);
    assert_eq!(answer.verdict, Verdict::OnTime);
    let planned = again.planned(&answer);
    let of = |robot| {
        planned
            .robots
            .iter()
            .find(|plan| plan.robot == robot)
            .unwrap()
    };
    assert!(of(other).likely <= of(other).call.unwrap().at);
    assert!(of(ROBOT).likely > of(ROBOT).call.unwrap().at);
    assert!(again.without_missed(&answer).is_none());
}

#[test]
fn the_last_plan_is_kept_while_nothing_happens() {
    let day = back(
        Machine::FlipperHeavyweight,
        &[("wheel_fl", "wheel_cut")],
        &[],
    );
    let team = problem(&day);
    let first = team.planned(&solved(&team));
    let previous = team.previous(&first);
    let again = solve(&team.problem, Budget::steps(20_000).keeping(&previous)).unwrap();
    assert_eq!(team.planned(&again).tasks, first.tasks);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn every_state_of_a_turnaround_gives_a_sound_problem_and_plan(
        machine in prop::sample::select(Machine::ALL.to_vec()),
        picks in prop::collection::vec((0usize..12, 0usize..9), 0..6),
        done in 0usize..30,
        running in 0usize..3,
        crew in 0usize..5,
        call_min in -20i64..120,
    ) {
        let gone = &[DAN, CAL, BEN, ANA][..4 - crew.min(4)];
        let mut day = back(machine, &[], gone);
        let known = crate::pit::library::damage(machine);
        for (area, kind) in picks {
            let area = &known.areas[area % known.areas.len()];
            day.damage(&area.id, &area.kinds[kind % area.kinds.len()]);
        }
        day.bout(SECOND, 2, day.at_s + call_min * 60);
        for _ in 0..done {
            let today = day.today();
            let Some((_, next)) = today.ready().next() else { break };
            let body = json!({"task": next.key.task, "instance": next.key.instance, "state": "done"});
            day.at_s += 45;
            day.say(ANA, How::Did, "task", body);
        }
        let ready: Vec<_> = day.today().ready().take(running).map(|(_, item)| item.key.clone()).collect();
        for key in ready {
            day.at_s += 30;
            day.say(BEN, How::Did, "task", json!({"task": key.task, "instance": key.instance, "state": "started"}));
        }
        day.at_s += 90;
        if let Some(team) = TeamProblem::of(&day.pit, TEAM, &Basis::default(), day.now()) {
            prop_assert_eq!(check(&team.problem), Ok(()));
            let answer = solve(&team.problem, Budget::steps(3_000)).unwrap();
            prop_assert_eq!(validate(&team.problem, &answer), Vec::<String>::new());
            let planned = team.planned(&answer);
            // Whoever is called to one task is in no other, on any robot.
            for (n, a) in planned.tasks.iter().enumerate() {
                for b in &planned.tasks[n + 1..] {
                    let both = a.people.iter().any(|who| b.people.contains(who));
                    let at_once = a.start < b.end && b.start < a.end;
                    let under_way = a.start <= day.now() && b.start <= day.now();
                    prop_assert!(!(both && at_once) || under_way, "{} and {}", a.task, b.task);
                }
            }
        }
    }
}
