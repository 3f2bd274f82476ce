//! Measures the planner against its goals, on one thread, in processor time.
//!
//! `LINKOUT_CHECK=<folder of reference cases> deploy/bench turnaround [set ...]`; sets are `pit`,
//! `teams`, `odds`, `j30`, `j60`, `j120`, `jobshop`. The published sets are left out where the folder
//! is not named. Where `LINKOUT_CP_SAT` names a Python with OR-Tools, CP-SAT plans the same problems
//! with one worker, each right after linkout did.

use std::cell::Cell;
use std::path::PathBuf;
use std::time::Duration;

use linkout::calc::turnaround::{Answer, Budget, Draw, Problem, odds, solve, validate};
use serde_json::Value;

mod cp_sat;
mod instances;

use cp_sat::CpSat;

/// **Source** generated problems; optima proven by CP-SAT of OR-Tools 9.15.
const PIT: &str = include_str!("../data/turnaround/pit.jsonl");
const SECOND: Duration = Duration::from_secs(1);

fn main() {
    let asked: Vec<String> = std::env::args()
        .skip(1)
        .filter(|arg| !arg.starts_with("--"))
        .collect();
    let wanted = |set: &str| asked.is_empty() || asked.iter().any(|a| a == set);
    println!("{:<28} {:<62} goal", "set", "measured");
    let mut other = CpSat::start();
    if wanted("pit") {
        pit(&mut other);
    }
    if wanted("teams") {
        teams(&mut other);
    }
    if wanted("odds") {
        draws();
    }
    let Some(folder) = std::env::var_os("LINKOUT_CHECK").map(PathBuf::from) else {
        println!(
            "published sets skipped: LINKOUT_CHECK does not name the folder of reference cases"
        );
        return;
    };
    for (set, goal) in [
        ("j30", "40/40 <= 1 s"),
        ("j60", ">= 37/40 <= 1 s, certified <= 2 %"),
        ("j120", "<= 2 % to best known, <= 6 % certified"),
    ] {
        if wanted(set) {
            published(set, goal, instances::psplib(&folder, set), &mut other);
        }
    }
    if wanted("jobshop") {
        published(
            "jobshop",
            "as many as another solver",
            instances::job_shops(&folder),
            &mut other,
        );
    }
}

/// One solved problem.
struct Run {
    answer: Answer,
    time: Duration,
}

fn run(problem: &Problem, limit: Duration) -> Run {
    let start = processor_time();
    let calls = Cell::new(0u32);
    // Asking for the time costs more than a step, so not every step asks.
    let stop = || {
        calls.set(calls.get() + 1);
        calls.get().is_multiple_of(8) && processor_time() - start > limit
    };
    let answer =
        solve(problem, Budget::steps(u64::MAX).stopping(&stop)).expect("a problem without fault");
    let time = processor_time() - start;
    assert_eq!(validate(problem, &answer), Vec::<String>::new());
    Run { answer, time }
}

/// Prints how CP-SAT did on the same problems, with answers compared at a tenth of a second and at
/// one second.
fn beside(other: &mut Option<CpSat>, problems: &[Problem], runs: &[Run]) {
    let Some(other) = other else { return };
    let mut times = Vec::new();
    let mut ratios = Vec::new();
    let mut worse = [0, 0];
    let mut better = [0, 0];
    for (problem, long) in problems.iter().zip(runs) {
        let short = run(problem, SECOND / 10);
        for (at, limit, own) in [(0, SECOND / 10, &short), (1, SECOND, long)] {
            let found = other.solve(problem, limit);
            match found.against(&own.answer) {
                std::cmp::Ordering::Less => worse[at] += 1,
                std::cmp::Ordering::Greater => better[at] += 1,
                std::cmp::Ordering::Equal => {}
            }
            if at == 1 && found.proven {
                times.push(milliseconds(found.time));
                if own.answer.proven {
                    ratios.push(milliseconds(own.time) / milliseconds(found.time).max(1e-3));
                }
            }
        }
    }
    times.sort_by(f64::total_cmp);
    ratios.sort_by(f64::total_cmp);
    let middle = |list: &[f64]| list.get(list.len() / 2).copied().unwrap_or(f64::NAN);
    let text = format!(
        "{}/{} proven, p50 {:.1} ms; time here / there p50 {:.3}",
        times.len(),
        problems.len(),
        middle(&times),
        middle(&ratios)
    );
    println!("{:<28} {text:<62} ratio <= 0.2", "  CP-SAT, one worker");
    let text = format!(
        "at 0.1 s worse {} better {}; at 1 s worse {} better {}",
        worse[0], better[0], worse[1], better[1]
    );
    println!("{:<28} {text:<62} never worse", "  linkout against it");
}

/// Processor time of this thread.
fn processor_time() -> Duration {
    let mut time = libc::timespec {
        tv_sec: 0,
        tv_nsec: 0,
    };
    // SAFETY: the pointer is to a timespec of ours, and the clock exists on every Linux.
    let result = unsafe { libc::clock_gettime(libc::CLOCK_THREAD_CPUTIME_ID, &raw mut time) };
    assert_eq!(result, 0, "the thread's clock can be read");
    Duration::new(
        time.tv_sec.unsigned_abs(),
        time.tv_nsec.unsigned_abs() as u32,
    )
}

fn milliseconds(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

/// Of proven runs: how many, median and longest time, and how many within a tenth of a second.
fn proofs(runs: &[Run]) -> String {
    let mut times: Vec<f64> = runs
        .iter()
        .filter(|r| r.answer.proven)
        .map(|r| milliseconds(r.time))
        .collect();
    times.sort_by(f64::total_cmp);
    let middle = times.get(times.len() / 2).copied().unwrap_or(f64::NAN);
    let longest = times.last().copied().unwrap_or(f64::NAN);
    let quick = times.iter().filter(|&&t| t <= 100.0).count();
    format!(
        "{}/{} proven, p50 {middle:.2} ms, max {longest:.0} ms, <= 100 ms {quick}",
        times.len(),
        runs.len()
    )
}

/// What a plan might still gain, as a share: of value first, then of time.
fn gap(answer: &Answer) -> f64 {
    if answer.value < answer.value_bound {
        (answer.value_bound - answer.value) as f64 / answer.value_bound as f64
    } else {
        (answer.finish - answer.finish_bound) as f64 / answer.finish_bound.max(1) as f64
    }
}

fn pit_problems() -> Vec<(Problem, Value)> {
    PIT.lines()
        .map(|line| {
            let mut case: Value = serde_json::from_str(line).expect("a case");
            let problem = serde_json::from_value(case["problem"].take()).expect("a problem");
            (problem, case["optimum"].take())
        })
        .collect()
}

fn pit(other: &mut Option<CpSat>) {
    let goals = [
        (0, 25, "all, p50 <= 2 ms, max <= 30 ms"),
        (26, 40, "all <= 100 ms"),
        (41, 60, "all <= 1 s, 90 % <= 100 ms"),
    ];
    let cases = pit_problems();
    for (from, to, goal) in goals {
        let mut runs = Vec::new();
        let mut problems = Vec::new();
        for (problem, best) in cases
            .iter()
            .filter(|c| (from..=to).contains(&c.0.tasks.len()))
        {
            let run = run(problem, SECOND);
            if run.answer.proven {
                let found = (run.answer.value, run.answer.finish);
                let wanted = (
                    best["value"].as_i64().expect("a value"),
                    best["finish"].as_i64().expect("a finish"),
                );
                assert_eq!(found, wanted, "a false proof");
            }
            runs.push(run);
            problems.push(problem.clone());
        }
        println!(
            "{:<28} {:<62} {goal}",
            format!("pit n {from} to {to}"),
            proofs(&runs)
        );
        beside(other, &problems, &runs);
    }
}

/// Two turnarounds at once, sharing places and people.
fn together(one: &Problem, other: &Problem) -> Problem {
    let mut both = one.clone();
    let named = |id: &str| format!("2.{id}");
    for pool in &other.pools {
        if pool.id.starts_with("access") {
            let mut pool = pool.clone();
            pool.id = named(&pool.id);
            both.pools.push(pool);
        } else if !both.pools.contains(pool) && both.pools.iter().all(|p| p.id != pool.id) {
            both.pools.push(pool.clone());
        }
    }
    for person in &other.crew {
        let mut person = person.clone();
        person.id = named(&person.id);
        both.crew.push(person);
    }
    for task in &other.tasks {
        let mut task = task.clone();
        task.id = named(&task.id);
        task.after.iter_mut().for_each(|a| a.task = named(&a.task));
        task.requires.iter_mut().for_each(|r| *r = named(r));
        let pools = std::mem::take(&mut task.pools);
        for (pool, amount) in pools {
            let pool = if pool.starts_with("access") {
                named(&pool)
            } else {
                pool
            };
            let most = both
                .pools
                .iter()
                .find(|p| p.id == pool)
                .map_or(0, |p| p.capacity);
            task.pools.insert(pool, amount.min(most));
        }
        both.tasks.push(task);
    }
    both.call = one.call.max(other.call);
    both
}

fn teams(other: &mut Option<CpSat>) {
    let problems: Vec<Problem> = pit_problems().into_iter().map(|c| c.0).collect();
    let pairs: Vec<Problem> = (30..60)
        .step_by(2)
        .map(|at| together(&problems[at], &problems[at + 1]))
        .collect();
    let runs: Vec<Run> = pairs.iter().map(|both| run(both, SECOND)).collect();
    let gaps: Vec<f64> = runs.iter().map(|r| 100.0 * gap(&r.answer)).collect();
    let worst = gaps.iter().copied().fold(0.0, f64::max);
    let within = gaps.iter().filter(|&&g| g <= 5.0).count();
    let text = format!(
        "{}, gap <= 5 % {within}/{}, worst {worst:.1} %",
        proofs(&runs),
        runs.len()
    );
    println!(
        "{:<28} {text:<62} certified gap <= 5 % at 1 s",
        "pit n 60 to 112, two robots"
    );
    beside(other, &pairs, &runs);
}

fn draws() {
    let cases = pit_problems();
    let (problem, _) = cases
        .iter()
        .max_by_key(|c| c.0.tasks.len())
        .expect("a problem");
    let answer = run(problem, SECOND).answer;
    let start = processor_time();
    let found = odds(problem, &answer, &Draw::default());
    let time = milliseconds(processor_time() - start);
    let text = format!(
        "{time:.1} ms, {} tasks, {} samples",
        problem.tasks.len(),
        found.samples
    );
    println!("{:<28} {text:<62} <= 30 ms", "odds");
}

fn published(set: &str, goal: &str, list: Vec<instances::Instance>, other: &mut Option<CpSat>) {
    let count = list.len() as f64;
    let (mut runs, mut problems) = (Vec::new(), Vec::new());
    let (mut beyond, mut certified) = (0.0, 0.0);
    for one in list {
        let problem: Problem = serde_json::from_value(one.problem).expect("a problem");
        let run = run(&problem, SECOND);
        let (low, high) = one.known;
        assert!(
            run.answer.finish >= low && run.answer.finish_bound <= high,
            "{} contradicts",
            one.name
        );
        beyond += (run.answer.finish - high) as f64 / high as f64;
        certified += gap(&run.answer);
        runs.push(run);
        problems.push(problem);
    }
    let text = format!(
        "{}; {:.2} % to best known, {:.2} % certified",
        proofs(&runs),
        100.0 * beyond / count,
        100.0 * certified / count
    );
    println!("{set:<28} {text:<62} {goal}");
    beside(other, &problems, &runs);
}
