//! Sixty turnarounds with optima that another solver proved.

use serde::Deserialize;

use crate::calc::turnaround::{Answer, Budget, Problem, Verdict, solve, validate};

/// **Source** generated problems; optima proven by CP-SAT of OR-Tools 9.15.
const PIT: &str = include_str!("../../../../tests/data/turnaround/pit.jsonl");

#[derive(Deserialize)]
pub struct Case {
    pub id: String,
    pub problem: Problem,
    pub optimum: Optimum,
}

#[derive(Deserialize)]
pub struct Optimum {
    pub verdict: Verdict,
    pub value: i64,
    pub finish: i64,
}

pub fn cases() -> Vec<Case> {
    PIT.lines()
        .map(|line| serde_json::from_str(line).expect("a case"))
        .collect()
}

/// What `answer` claims that the proven optimum contradicts.
pub fn contradicts(answer: &Answer, best: &Optimum) -> Option<String> {
    let claims_late = answer.verdict == Verdict::Late && answer.proven;
    if answer.verdict == Verdict::OnTime && best.verdict == Verdict::Late {
        return Some("in time although no plan is".into());
    }
    if claims_late && best.verdict == Verdict::OnTime {
        return Some("late for certain although a plan in time exists".into());
    }
    if answer.verdict == best.verdict {
        let same_value = answer.value == best.value;
        if answer.value > best.value || answer.value_bound < best.value {
            return Some(format!(
                "value {} to {}, best {}",
                answer.value, answer.value_bound, best.value
            ));
        }
        // A late plan that is not yet proven may pass over a task's own deadline and so be early.
        let too_early =
            answer.finish < best.finish && (answer.proven || answer.verdict == Verdict::OnTime);
        if same_value && (too_early || answer.finish_bound > best.finish) {
            return Some(format!(
                "finish {} to {}, best {}",
                answer.finish_bound, answer.finish, best.finish
            ));
        }
        if answer.proven && (!same_value || answer.finish != best.finish) {
            return Some("a false proof".into());
        }
    }
    None
}

#[test]
fn a_plan_is_sound_on_any_budget() {
    for case in cases() {
        for steps in [0, 1, 50, 2_000] {
            let answer = solve(&case.problem, Budget::steps(steps)).expect("no fault");
            assert_eq!(
                validate(&case.problem, &answer),
                Vec::<String>::new(),
                "{} at {steps}",
                case.id
            );
            assert_eq!(
                contradicts(&answer, &case.optimum),
                None,
                "{} at {steps}",
                case.id
            );
        }
    }
}

#[test]
fn the_best_plan_of_a_turnaround_is_found_and_proven() {
    for case in cases().into_iter().filter(|c| c.problem.tasks.len() <= 25) {
        let answer = solve(&case.problem, Budget::steps(1_000_000)).expect("no fault");
        assert!(answer.proven, "{}", case.id);
        assert_eq!(
            validate(&case.problem, &answer),
            Vec::<String>::new(),
            "{}",
            case.id
        );
        assert_eq!(contradicts(&answer, &case.optimum), None, "{}", case.id);
    }
}

#[test]
fn the_same_problem_and_budget_give_the_same_plan() {
    for case in cases().into_iter().skip(30).step_by(6) {
        let once = solve(&case.problem, Budget::steps(3_000)).expect("no fault");
        let again = solve(&case.problem, Budget::steps(3_000)).expect("no fault");
        assert_eq!(once, again, "{}", case.id);
    }
}

#[test]
fn the_published_plan_stays_unless_a_better_one_is_found() {
    for case in cases().into_iter().take(15) {
        let first = solve(&case.problem, Budget::steps(1_000_000)).expect("no fault");
        // The same problem told backwards would otherwise lead to another plan as good.
        let mut retold = case.problem.clone();
        retold.tasks.reverse();
        retold.crew.reverse();
        let second = solve(&retold, Budget::steps(1_000_000).keeping(&first)).expect("no fault");
        let sorted = |mut tasks: Vec<crate::calc::turnaround::Placed>| {
            tasks.sort_by(|a, b| a.id.cmp(&b.id));
            tasks
        };
        assert_eq!(sorted(second.tasks), sorted(first.tasks), "{}", case.id);
    }
}

#[test]
fn a_stopped_search_still_has_a_plan() {
    let case = &cases()[57];
    let answer =
        solve(&case.problem, Budget::steps(u64::MAX).stopping(&|| true)).expect("no fault");
    assert_eq!(validate(&case.problem, &answer), Vec::<String>::new());
    assert_eq!(contradicts(&answer, &case.optimum), None);
}

#[test]
fn the_published_form_reads_back() {
    for case in cases() {
        let text = serde_json::to_string(&case.problem).expect("writes");
        assert_eq!(
            serde_json::from_str::<Problem>(&text).expect("reads"),
            case.problem
        );
        let answer = solve(&case.problem, Budget::steps(10)).expect("no fault");
        let text = serde_json::to_string(&answer).expect("writes");
        assert_eq!(
            serde_json::from_str::<Answer>(&text).expect("reads"),
            answer
        );
    }
}
