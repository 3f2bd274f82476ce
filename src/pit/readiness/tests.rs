//! Forecasts in their order of precedence, as `day.md` has it.

use super::*;
use crate::pit::hazards::{Finding, Life, Severity};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::{Author, How, Line};
use crate::pit::tasks::testing::{Day, SECOND};
use crate::pit::testing::{ANA, BEN, ROBOT, TEAM, line};
use serde_json::json;

fn hazard(severity: Severity, task_clears_it: bool) -> Hazard {
    Hazard {
        rule: "H01",
        title: "Live outside",
        advise: "",
        clears_when: "",
        finding: Finding {
            severity,
            since: crate::pit::testing::start(),
            why: String::new(),
            people: Vec::new(),
        },
        life: Life::default(),
        task_clears_it,
    }
}

fn view(day: &Day, hazards: &[Hazard]) -> View<Readiness> {
    readiness(&day.pit, ROBOT, &day.today(), hazards, day.now()).unwrap()
}

fn forecast(day: &Day, hazards: &[Hazard]) -> Forecast {
    view(day, hazards).value.forecast
}

/// Back from a bout, made safe, with the call so many minutes away.
fn back(call_min: i64) -> Day {
    let mut day = Day::fought(Machine::FlipperHeavyweight);
    day.work_up_to("fl-back");
    day.bout(SECOND, 2, day.at_s + call_min * 60);
    day
}

fn answered(day: &mut Day, role: Role, answer: serde_json::Value) {
    let body = json!({"answer": answer});
    let body = Body::read(crate::pit::logbook::Kind::Answered, &body, "").unwrap();
    let n = u128::try_from(day.lines.len()).unwrap() + 1;
    let line = Line {
        entered_by: Author {
            person: Some(BEN),
            role,
        },
        ..line(n, day.at_s, BEN, How::Saw, body)
    };
    day.pit = day.pit.with(&line);
    day.lines.push(line);
}

#[test]
fn time_to_the_call_decides_between_on_course_tight_and_late() {
    // What is left after the way back is 28 minutes of a crew that is never short of hands: the
    // longest chain of the list less what is done.
    for (call_min, expected) in [
        (120, Forecast::OnCourse),
        (32, Forecast::Tight),
        (15, Forecast::Late),
        (-5, Forecast::Late),
    ] {
        assert_eq!(forecast(&back(call_min), &[]), expected, "{call_min}");
    }
}

#[test]
fn a_hold_that_no_task_clears_comes_before_everything() {
    let day = back(15);
    for severity in [Severity::Hold, Severity::StopNow] {
        assert_eq!(forecast(&day, &[hazard(severity, false)]), Forecast::OnHold);
    }
    assert_eq!(
        forecast(&day, &[hazard(Severity::Warn, false)]),
        Forecast::Late
    );
    assert_eq!(
        forecast(&day, &[hazard(Severity::Hold, true)]),
        Forecast::Late
    );
    let held = view(&day, &[hazard(Severity::Hold, false)])
        .value
        .held_up_by;
    assert!(matches!(held, Some(HoldUp::Hazard { rule: "H01", .. })));
}

#[test]
fn nothing_left_to_do_is_ready_even_after_the_call() {
    let mut day = back(5);
    day.work_up_to("fl-queue");
    assert_eq!(forecast(&day, &[]), Forecast::Ready);
    assert_eq!(view(&day, &[]).value.held_up_by, None);
    day.at_s += 3 * 3_600;
    assert_eq!(
        forecast(&day, &[]),
        Forecast::Ready,
        "nothing more has to be entered"
    );
}

#[test]
fn silence_is_no_word_and_never_on_hold() {
    let mut day = Day::fought(Machine::SpinnerHeavyweight);
    let fresh = view(&day, &[]);
    assert_eq!(fresh.value.rests_on, RestsOn::Assumed);
    assert_eq!(fresh.value.forecast, Forecast::OnCourse);
    // 30 minutes, the event's default, after the bout was over.
    day.at_s = 3_900 + 30 * 60 - 1;
    assert_ne!(forecast(&day, &[]), Forecast::NoWord);
    assert!(view(&day, &[]).changes_at.unwrap() <= day.now() + TimeDelta::seconds(1));
    day.at_s += 1;
    assert_eq!(forecast(&day, &[]), Forecast::NoWord);
    day.task(ANA, "sp-walk", "started");
    assert_ne!(forecast(&day, &[]), Forecast::NoWord);
    assert_eq!(view(&day, &[]).value.rests_on, RestsOn::Reported(day.now()));
}

#[test]
fn a_view_says_when_whoever_is_at_work_is_to_be_heard_of_again() {
    let mut day = Day::fought(Machine::SpinnerHeavyweight);
    day.task(ANA, "sp-walk", "started");
    let mut changed = 0;
    // From one change by time alone to the next, nothing else may change.
    for _ in 0..200 {
        let now = view(&day, &[]);
        let Some(changes_at) = now.changes_at else {
            break;
        };
        let ahead_s = (changes_at - day.now()).num_seconds();
        day.at_s += ahead_s - 1;
        assert_eq!(forecast(&day, &[]), now.value.forecast, "{}", day.at_s);
        day.at_s += 1;
        changed += usize::from(forecast(&day, &[]) != now.value.forecast);
    }
    assert_eq!(forecast(&day, &[]), Forecast::NoWord);
    assert!(changed > 0);
}

#[test]
fn an_official_speaks_for_a_silent_team() {
    let mut day = Day::fought(Machine::SpinnerHeavyweight);
    day.at_s += 3_600;
    answered(&mut day, Role::Organiser, json!("ready"));
    assert_eq!(forecast(&day, &[]), Forecast::Ready);
    let mut day = back(60);
    answered(&mut day, Role::Crew, json!("ready"));
    assert_ne!(
        forecast(&day, &[]),
        Forecast::Ready,
        "a crew is ready when its tasks are done"
    );
    answered(&mut day, Role::Crew, json!({"need": 75}));
    assert_eq!(forecast(&day, &[]), Forecast::Late);
    answered(&mut day, Role::Marshal, json!("not"));
    assert_eq!(view(&day, &[]).value.held_up_by, Some(HoldUp::WillNotCome));
}

#[test]
fn the_last_plan_gives_the_time_the_odds_and_what_decides() {
    let mut day = back(60);
    let call = view(&day, &[]).value.call;
    let likely = day.now() + TimeDelta::minutes(45);
    let planned = |odds: f64| {
        json!({"after_seq": 1, "proven": true,
        "robots": [{"robot": ROBOT, "turnaround": 1, "call": call, "likely": likely, "odds": odds}],
        "tasks": [{"robot": ROBOT, "task": "fl-bottle_out", "start": day.now(), "end": likely, "decides": true}]})
    };
    let (good, poor) = (planned(0.95), planned(0.79));
    day.fact(
        crate::pit::ids::Subject::Team(TEAM),
        "planned",
        None,
        good,
        ANA,
    );
    let ready = view(&day, &[]).value;
    assert_eq!((ready.likely, ready.odds), (likely, Some(0.95)));
    assert_eq!(ready.forecast, Forecast::OnCourse);
    assert!(
        matches!(ready.held_up_by, Some(HoldUp::Task { ref key, .. }) if key.task == "fl-bottle_out")
    );
    day.fact(
        crate::pit::ids::Subject::Team(TEAM),
        "planned",
        None,
        poor,
        ANA,
    );
    assert_eq!(forecast(&day, &[]), Forecast::Tight, "the odds are poor");
    // A plan whose time has run out does not keep its promise.
    day.at_s += 44 * 60;
    assert!(view(&day, &[]).value.likely > likely);
}

#[test]
fn a_robot_in_its_bout_is_forecast_for_the_next_one() {
    let mut day = Day::arrives(Machine::SpinnerHeavyweight);
    day.at_s = 3_700;
    let bout = crate::pit::ids::Subject::Bout(crate::pit::tasks::testing::FIRST);
    day.fact(bout, "bout_started", None, json!({}), ANA);
    let ready = view(&day, &[]).value;
    assert_eq!(ready.call.bout, SECOND);
    // 4 minutes of bout, then the longest chain of a clean turnaround: 41.7 by verify.py.
    let minutes = (ready.likely - day.now()).num_seconds() as f64 / 60.0;
    assert!((minutes - 45.7).abs() < 0.1, "{minutes}");
    assert_ne!(ready.forecast, Forecast::Ready);
}
