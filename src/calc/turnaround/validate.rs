//! An independent look at a plan: it shares nothing with the solver but the published forms.

use std::collections::{HashMap, HashSet};

use super::answer::{Answer, Placed, Verdict};
use super::problem::{Problem, Task};

/// Everything in which `answer` is not a plan for `problem`; empty if it is one.
///
/// **Assumptions** the problem itself is without fault. Under the verdict `late` neither the call
/// nor a task's own deadline binds, and every optional task that no mandatory task requires is out.
pub fn validate(problem: &Problem, answer: &Answer) -> Vec<String> {
    let tasks: HashMap<&str, &Task> = problem.tasks.iter().map(|t| (t.id.as_str(), t)).collect();
    let mut wrong = Vec::new();
    let mut placed: HashMap<&str, &Placed> = HashMap::new();
    for one in &answer.tasks {
        if !tasks.contains_key(one.id.as_str()) {
            wrong.push(format!("{} is no task of the problem.", one.id));
        } else if placed.insert(&one.id, one).is_some() {
            wrong.push(format!("{} is done twice.", one.id));
        }
    }
    if !wrong.is_empty() {
        return wrong;
    }
    choice(problem, answer, &placed, &mut wrong);
    for task in &problem.tasks {
        if let Some(one) = placed.get(task.id.as_str()) {
            times(problem, answer, task, one, &placed, &mut wrong);
        }
    }
    pools(problem, &placed, &mut wrong);
    people(problem, &tasks, answer, &mut wrong);
    sums(problem, answer, &placed, &mut wrong);
    wrong
}

fn choice(
    problem: &Problem,
    answer: &Answer,
    placed: &HashMap<&str, &Placed>,
    wrong: &mut Vec<String>,
) {
    let left: HashSet<&str> = answer.left_out.iter().map(String::as_str).collect();
    if left.len() != answer.left_out.len() || left.len() + placed.len() != problem.tasks.len() {
        wrong.push("Tasks done and left out are not all tasks, each once.".into());
    }
    for task in &problem.tasks {
        let id = task.id.as_str();
        if placed.contains_key(id) == left.contains(id) {
            wrong.push(format!("{id} is neither done nor left out, or both."));
        }
        if placed.contains_key(id) {
            for other in task
                .requires
                .iter()
                .filter(|o| !placed.contains_key(o.as_str()))
            {
                wrong.push(format!("{id} is done without {other}, which it requires."));
            }
        } else if !task.optional {
            wrong.push(format!("{id} is mandatory and left out."));
        }
    }
    if answer.verdict == Verdict::Late {
        let forced = required_by_mandatory(problem);
        for task in &problem.tasks {
            if placed.contains_key(task.id.as_str()) && !forced.contains(task.id.as_str()) {
                wrong.push(format!("{} is done although the plan is late.", task.id));
            }
        }
    }
}

fn required_by_mandatory(problem: &Problem) -> HashSet<&str> {
    let requires: HashMap<&str, &Vec<String>> = problem
        .tasks
        .iter()
        .map(|t| (t.id.as_str(), &t.requires))
        .collect();
    let mut forced = HashSet::new();
    let mut open: Vec<&str> = problem
        .tasks
        .iter()
        .filter(|t| !t.optional)
        .map(|t| t.id.as_str())
        .collect();
    while let Some(id) = open.pop() {
        if forced.insert(id) {
            open.extend(requires[id].iter().map(String::as_str));
        }
    }
    forced
}

fn times(
    problem: &Problem,
    answer: &Answer,
    task: &Task,
    one: &Placed,
    placed: &HashMap<&str, &Placed>,
    wrong: &mut Vec<String>,
) {
    let id = &task.id;
    if one.end - one.start != task.duration {
        wrong.push(format!(
            "{id} takes {}, not {}.",
            one.end - one.start,
            task.duration
        ));
    }
    if one.start < task.release {
        wrong.push(format!(
            "{id} starts at {}, before {}.",
            one.start, task.release
        ));
    }
    if answer.verdict == Verdict::OnTime {
        for limit in [problem.call, task.deadline]
            .into_iter()
            .flatten()
            .filter(|&limit| one.end > limit)
        {
            wrong.push(format!("{id} ends at {}, after {limit}.", one.end));
        }
    }
    for after in &task.after {
        if let Some(other) = placed.get(after.task.as_str())
            && one.start < other.end + after.lag
        {
            wrong.push(format!(
                "{id} starts at {}, before {} + {}.",
                one.start, after.task, after.lag
            ));
        }
    }
}

fn pools(problem: &Problem, placed: &HashMap<&str, &Placed>, wrong: &mut Vec<String>) {
    for pool in &problem.pools {
        // Ends before starts at one tick: intervals are half open.
        let mut steps: Vec<(i64, i64)> = Vec::new();
        let mut starts: Vec<i64> = Vec::new();
        for task in &problem.tasks {
            let amount = task.pools.get(&pool.id).copied().unwrap_or(0);
            if let Some(one) = placed.get(task.id.as_str()).filter(|_| amount > 0) {
                steps.push((one.start, amount));
                steps.push((one.end, -amount));
                starts.push(one.start);
            }
        }
        let cuts: Vec<i64> = starts
            .into_iter()
            .chain(pool.reduced.iter().map(|r| r.start))
            .collect();
        for at in cuts {
            let used: i64 = steps
                .iter()
                .filter(|step| step.0 <= at)
                .map(|step| step.1)
                .sum();
            let less: i64 = pool
                .reduced
                .iter()
                .filter(|r| r.start <= at && at < r.end)
                .map(|r| r.by)
                .sum();
            if used > 0 && used > pool.capacity - less {
                wrong.push(format!(
                    "{} holds {used} at {at} and has {}.",
                    pool.id,
                    pool.capacity - less
                ));
            }
        }
    }
}

fn people(
    problem: &Problem,
    tasks: &HashMap<&str, &Task>,
    answer: &Answer,
    wrong: &mut Vec<String>,
) {
    for one in &answer.tasks {
        let slots: Vec<&str> = tasks[one.id.as_str()]
            .crew
            .iter()
            .flat_map(|hands| (0..hands.count).map(|_| hands.skill.as_str()))
            .collect();
        if slots.len() != one.crew.len() {
            wrong.push(format!(
                "{} needs {} people and has {}.",
                one.id,
                slots.len(),
                one.crew.len()
            ));
            continue;
        }
        if one.crew.iter().collect::<HashSet<_>>().len() != one.crew.len() {
            wrong.push(format!("{} has one person in two places.", one.id));
        }
        for (who, skill) in one.crew.iter().zip(slots) {
            match problem.crew.iter().find(|p| &p.id == who) {
                None => wrong.push(format!("{}: nobody is called {who}.", one.id)),
                Some(person) => {
                    if !person.skills.iter().any(|s| s == skill) {
                        wrong.push(format!("{}: {who} lacks {skill}.", one.id));
                    }
                    if person
                        .away
                        .iter()
                        .any(|a| a[0] < one.end && one.start < a[1])
                    {
                        wrong.push(format!("{}: {who} is away.", one.id));
                    }
                }
            }
        }
    }
    for person in &problem.crew {
        let mut busy: Vec<&Placed> = answer
            .tasks
            .iter()
            .filter(|t| t.crew.contains(&person.id))
            .collect();
        busy.sort_by_key(|t| t.start);
        for pair in busy.windows(2).filter(|pair| pair[1].start < pair[0].end) {
            wrong.push(format!(
                "{} is at {} and {} at once.",
                person.id, pair[0].id, pair[1].id
            ));
        }
    }
}

fn sums(
    problem: &Problem,
    answer: &Answer,
    placed: &HashMap<&str, &Placed>,
    wrong: &mut Vec<String>,
) {
    let value: i64 = problem
        .tasks
        .iter()
        .filter(|t| t.optional && placed.contains_key(t.id.as_str()))
        .map(|t| t.value)
        .sum();
    let finish = answer.tasks.iter().map(|t| t.end).max().unwrap_or(0);
    if answer.value != value || answer.finish != finish {
        wrong.push(format!(
            "Value {} and finish {} are {value} and {finish}.",
            answer.value, answer.finish
        ));
    }
    if answer.value_bound < value || answer.finish_bound > finish {
        wrong.push("A bound is beyond the plan itself.".into());
    }
    if answer.proven != (answer.value_bound == value && answer.finish_bound == finish) {
        wrong.push("Proven does not say whether the bounds meet the plan.".into());
    }
}
