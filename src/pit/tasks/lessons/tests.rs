//! What teaches and what does not.

use super::*;
use crate::pit::ids::Subject;
use crate::pit::logbook::How;
use crate::pit::tasks::publish;
use crate::pit::tasks::testing::Day;
use crate::pit::testing::{ANA, BEN, CAL, TEAM};
use serde_json::json;

/// Medians of the walk after one and after two times of 9 minutes: `exp((2 m0 + n ln 9) / (2 + n))`,
/// m0 midway between the logarithms of the 10 % and 90 % points, 2.89788 and 6.67112, of the beta
/// distribution of 2, 4, 10 minutes. **Source** summed up numerically outside this program.
const MEDIAN_AFTER_ONE: f64 = 5.582_65;
const MEDIAN_AFTER_TWO: f64 = 6.290_58;
const MACHINE: Machine = Machine::FlipperHeavyweight;

/// Opened up, so that the walk round it can begin.
fn opened() -> Day {
    let mut day = Day::fought(MACHINE);
    day.work_up_to("fl-open");
    day.at_s += 120;
    day
}

fn walk(day: &mut Day, who: PersonId, seconds: i64) {
    day.task(who, "fl-walk", "started");
    day.at_s += seconds;
    day.task(who, "fl-walk", "done");
    day.at_s += 60;
}

fn lesson(day: &Day, task: &str) -> Lesson {
    Lessons::of(&day.pit, TEAM).tasks[&(MACHINE, task.to_owned())].clone()
}

/// Why the walk taught nothing.
fn why(day: &Day) -> Vec<Untaught> {
    let lesson = lesson(day, "fl-walk");
    assert_eq!(lesson.used, 0);
    assert_eq!(lesson.minutes(), None, "nothing learned, nothing claimed");
    lesson.unused.into_keys().collect()
}

#[test]
fn a_time_with_a_beginning_and_an_end_teaches() {
    let mut day = opened();
    walk(&mut day, CAL, 9 * 60);
    let learned = lesson(&day, "fl-walk");
    assert_eq!((learned.used, learned.unused.len()), (1, 0));
    let minutes = learned.minutes().unwrap();
    assert!(
        (minutes.likely - MEDIAN_AFTER_ONE).abs() < 1e-3,
        "{minutes:?}"
    );
    assert!(minutes.optimistic < minutes.likely && minutes.likely < minutes.pessimistic);
}

#[test]
fn what_nobody_timed_teaches_nothing() {
    let mut day = opened();
    day.task(BEN, "fl-walk", "done");
    assert_eq!(why(&day), [Untaught::NotTimed]);
}

#[test]
fn what_was_closed_together_teaches_nothing() {
    let mut day = opened();
    day.task(CAL, "fl-walk", "started");
    day.at_s += 240;
    day.task(CAL, "fl-walk", "done");
    day.at_s += 15;
    day.task(CAL, "fl-decide", "done");
    assert_eq!(why(&day), [Untaught::ClosedTogether]);
    // Somebody else may well end something at the same moment.
    let mut day = opened();
    day.task(CAL, "fl-walk", "started");
    day.at_s += 240;
    day.task(BEN, "fl-packs_out", "done");
    day.task(CAL, "fl-walk", "done");
    assert_eq!(lesson(&day, "fl-walk").used, 1);
}

#[test]
fn a_late_tick_teaches_nothing() {
    // From memory: the word reached the logbook minutes after its moment.
    let mut day = opened();
    day.task(CAL, "fl-walk", "started");
    day.at_s += 240;
    day.task(CAL, "fl-walk", "done");
    let mut late = day.lines.last().unwrap().clone();
    late.recorded_at += LATE + TimeDelta::seconds(1);
    let mut pit = Pit::fold(&day.lines[..day.lines.len() - 1]);
    pit = pit.with(&late);
    day.pit = pit;
    assert_eq!(why(&day), [Untaught::TickedLate]);
    // Its person had gone on to something else before it was ticked.
    let mut day = opened();
    day.task(CAL, "fl-walk", "started");
    day.at_s += 240;
    day.task(CAL, "fl-packs_out", "started");
    day.at_s += 240;
    day.task(CAL, "fl-packs_out", "done");
    day.at_s += 30;
    day.task(CAL, "fl-walk", "done");
    assert_eq!(why(&day), [Untaught::TickedLate]);
}

#[test]
fn what_no_task_can_take_teaches_nothing() {
    // Walking round takes 2 to 10 minutes.
    for seconds in [25, 31 * 60] {
        let mut day = opened();
        walk(&mut day, CAL, seconds);
        assert_eq!(why(&day), [Untaught::Implausible], "{seconds} s");
    }
    for seconds in [31, 29 * 60] {
        let mut day = opened();
        walk(&mut day, CAL, seconds);
        assert_eq!(lesson(&day, "fl-walk").used, 1, "{seconds} s");
    }
}

/// A whole turnaround in which the walk took so long, and the next bout fought.
fn another(day: &mut Day, number: u32, seconds: i64) {
    day.work_up_to("fl-open");
    day.at_s += 120;
    walk(day, CAL, seconds);
    day.work_up_to("fl-queue");
    let bout = crate::pit::ids::BoutId(uuid::Uuid::from_u128(200 + u128::from(number)));
    day.bout(bout, 10 + i32::try_from(number).unwrap(), day.at_s + 600);
    day.fact(Subject::Bout(bout), "bout_started", None, json!({}), ANA);
    day.at_s += 200;
    day.fact(Subject::Bout(bout), "bout_ended", None, json!({}), ANA);
    day.at_s += 60;
}

#[test]
fn lessons_outlive_their_turnaround_and_move_the_plan() {
    let mut slow = Day::fought(MACHINE);
    another(&mut slow, 1, 9 * 60);
    another(&mut slow, 2, 9 * 60);
    let learned = lesson(&slow, "fl-walk");
    assert_eq!(learned.used, 2);
    assert!((learned.quantile(0.5).unwrap() - MEDIAN_AFTER_TWO).abs() < 1e-3);
    let mut unknown = Day::fought(MACHINE);
    unknown.lines = slow
        .lines
        .iter()
        .filter(|line| !matches!(&line.body, Body::Task(t) if t.state == TaskState::Started))
        .cloned()
        .collect();
    unknown.pit = Pit::fold(&unknown.lines);
    let likely = |day: &Day| {
        let plan = publish::plan(&day.pit, TEAM, slow.now(), &|| false).unwrap();
        (plan.robots[0].likely, plan.learned)
    };
    let ((slow_end, slow_learned), (end, nothing)) = (likely(&slow), likely(&unknown));
    assert_eq!(nothing, []);
    let walk = slow_learned
        .iter()
        .find(|one| one.task == "fl-walk")
        .unwrap();
    assert_eq!((walk.used, walk.machine), (2, MACHINE));
    let later = (slow_end - end).num_seconds() as f64 / 60.0;
    // Nothing else is done on a machine that is not yet looked at but what needs no decision.
    assert!(
        (1.0..=MEDIAN_AFTER_TWO - 4.0 + 0.5).contains(&later),
        "{later}"
    );
    // Whoever looks at the robot counts with the same minutes as its plan.
    let plan = publish::plan(&slow.pit, TEAM, slow.now(), &|| false).unwrap();
    slow.fact(
        Subject::Team(TEAM),
        "planned",
        None,
        serde_json::to_value(&plan).unwrap(),
        ANA,
    );
    let def = &crate::pit::library::lists(MACHINE)
        .task("fl-walk")
        .unwrap()
        .clone();
    let minutes = crate::pit::tasks::Basis::published(&slow.pit, TEAM).minutes(MACHINE, def);
    assert!((minutes.likely - MEDIAN_AFTER_TWO).abs() < 1e-3);
}

#[test]
fn another_machine_type_learns_nothing_from_it() {
    let mut day = opened();
    walk(&mut day, CAL, 9 * 60);
    let lessons = Lessons::of(&day.pit, TEAM);
    assert!(lessons.tasks.keys().all(|(machine, _)| *machine == MACHINE));
    let nobody = Lessons::of(&day.pit, crate::pit::ids::TeamId(uuid::Uuid::from_u128(77)));
    assert!(nobody.tasks.is_empty());
}

#[test]
fn days_that_differ_spread_the_odds_and_equal_ones_narrow_them() {
    assert_eq!(Lessons::of(&opened().pit, TEAM).day_spread, DAY_SPREAD);
    let spread = |factors: [f64; 3]| {
        let mut lessons = Lessons::default();
        let key = |task: &str| (MACHINE, task.to_owned());
        for task in ["a", "b"] {
            let library = ThreePoint {
                optimistic: 5.0,
                likely: 10.0,
                pessimistic: 20.0,
            };
            lessons.tasks.insert(
                key(task),
                Lesson {
                    name: task.to_owned(),
                    library,
                    used: 1,
                    unused: BTreeMap::new(),
                    learned: Learned::new(10f64.ln(), 1e6, 1e6, 1e6 * 0.01),
                },
            );
        }
        lessons.learn_day(
            factors
                .into_iter()
                .map(|factor| vec![(key("a"), 10.0 * factor), (key("b"), 10.0 * factor)]),
        );
        (lessons.lists, lessons.day_spread)
    };
    let (lists, wild) = spread([0.5, 1.0, 2.0]);
    // Variance of the logarithms: (ln 2)^2; with two turnarounds' worth of a tenth.
    let by_hand = ((2.0 * 0.01 + 3.0 * 2f64.ln().powi(2)) / 5.0f64).sqrt();
    assert_eq!(lists, 3);
    assert!((wild - by_hand).abs() < 1e-9, "{wild} {by_hand}");
    let (_, even) = spread([1.0, 1.0, 1.0]);
    assert!((even - (2.0 * 0.01 / 5.0f64).sqrt()).abs() < 1e-9);
}

#[test]
fn a_word_that_does_not_say_who_did_what_is_no_trap() {
    let mut day = opened();
    day.say(
        ANA,
        How::Did,
        "task",
        json!({"task": "fl-nothing", "state": "done"}),
    );
    assert!(
        !Lessons::of(&day.pit, TEAM)
            .tasks
            .contains_key(&(MACHINE, "fl-nothing".to_owned()))
    );
}
