//! Reads published scheduling instances as turnaround problems in their JSON form.

use std::path::Path;

use serde_json::{Value, json};

/// A published instance: its name, the problem, and between what bounds its best finish is known.
pub struct Instance {
    pub name: String,
    pub problem: Value,
    pub known: (i64, i64),
}

/// All instances of a set of PSPLIB (`j30`, `j60`, `j120`) under `folder`.
///
/// **Source** Kolisch and Sprecher 1996; best known bounds from the file beside them.
pub fn psplib(folder: &Path, set: &str) -> Vec<Instance> {
    let base = folder.join("turnaround/psplib");
    let list = std::fs::read_to_string(base.join("best_known.csv"))
        .expect("the list of best known bounds");
    list.lines()
        .skip(1)
        .map(|line| line.split(',').collect::<Vec<_>>())
        .filter(|row| row[0] == set)
        .map(|row| {
            let text = std::fs::read_to_string(base.join(set).join(row[1])).expect("an instance");
            let number = |at: usize| row[at].parse::<i64>().ok();
            // Where no lower bound is listed, the critical path is one.
            let low = number(4).or(number(3)).expect("a lower bound");
            Instance {
                name: row[1].to_owned(),
                problem: project(&text),
                known: (low, number(5).expect("an upper bound")),
            }
        })
        .collect()
}

/// All job-shop instances under `folder`.
///
/// **Source** Fisher and Thompson 1963, Lawrence 1984; optima from the file beside them.
pub fn job_shops(folder: &Path) -> Vec<Instance> {
    let base = folder.join("turnaround/jobshop");
    let list = std::fs::read_to_string(base.join("optima.csv")).expect("the list of optima");
    list.lines()
        .skip(1)
        .map(|line| {
            let mut row = line.split(',');
            let name = row.next().expect("a name").to_owned();
            let best = row.next().and_then(|b| b.parse().ok()).expect("an optimum");
            let text =
                std::fs::read_to_string(base.join(format!("{name}.txt"))).expect("an instance");
            Instance {
                problem: job_shop(&text),
                name,
                known: (best, best),
            }
        })
        .collect()
}

fn numbers(line: &str) -> Vec<i64> {
    line.split_whitespace()
        .filter_map(|word| word.parse().ok())
        .collect()
}

/// A project in the format of PSPLIB; its first and last activity take no time and are left out.
fn project(text: &str) -> Value {
    let lines: Vec<&str> = text.lines().collect();
    let after = |title: &str, skip: usize| {
        let at = lines
            .iter()
            .position(|line| line.starts_with(title))
            .expect("a section");
        lines[at + skip..]
            .iter()
            .take_while(|line| !line.starts_with('*'))
            .map(|line| numbers(line))
    };
    let work: Vec<Vec<i64>> = after("REQUESTS", 3).collect();
    let lasts = |job: i64| work.iter().any(|row| row[0] == job && row[2] > 0);
    let arcs: Vec<(i64, i64)> = after("PRECEDENCE", 2)
        .flat_map(|row| {
            row[3..]
                .iter()
                .map(|&next| (row[0], next))
                .collect::<Vec<_>>()
        })
        .filter(|arc| lasts(arc.0))
        .collect();
    let sizes = after("RESOURCEAVAIL", 2).next().expect("the sizes");
    let pools: Vec<Value> = sizes
        .iter()
        .enumerate()
        .map(|(at, size)| json!({"id": format!("r{at}"), "capacity": size}))
        .collect();
    let tasks: Vec<Value> = work
        .iter()
        .filter(|row| row[2] > 0)
        .map(|row| {
            let held: serde_json::Map<String, Value> = row[3..]
                .iter()
                .enumerate()
                .map(|(at, amount)| (format!("r{at}"), json!(amount)))
                .collect();
            let waits: Vec<Value> = arcs
                .iter()
                .filter(|arc| arc.1 == row[0])
                .map(|arc| json!({"task": format!("t{}", arc.0)}))
                .collect();
            json!({"id": format!("t{}", row[0]), "duration": row[2], "pools": held, "after": waits})
        })
        .collect();
    json!({"pools": pools, "tasks": tasks})
}

/// A job shop: one line a job, machine and time by turns.
pub fn job_shop(text: &str) -> Value {
    let mut lines = text
        .lines()
        .filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
    let size = numbers(lines.next().expect("the size"));
    let pools: Vec<Value> = (0..size[1])
        .map(|m| json!({"id": format!("m{m}"), "capacity": 1}))
        .collect();
    let mut tasks = Vec::new();
    for (job, line) in lines.take(size[0] as usize).enumerate() {
        for (at, step) in numbers(line).chunks(2).enumerate() {
            let waits: Vec<Value> = at
                .checked_sub(1)
                .map(|at| json!({"task": format!("{job}.{at}")}))
                .into_iter()
                .collect();
            let held = json!({ format!("m{}", step[0]): 1 });
            tasks.push(json!({"id": format!("{job}.{at}"), "duration": step[1], "pools": held, "after": waits}));
        }
    }
    json!({"pools": pools, "tasks": tasks})
}
