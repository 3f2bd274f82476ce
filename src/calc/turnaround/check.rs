//! Every fault of a problem, before anything is computed from it.

use std::collections::{BTreeSet, HashMap, HashSet};

use super::problem::{Problem, Task};
use crate::calc::fault::{Fault, Faults};

/// The most tasks a problem may have.
pub const MOST_TASKS: usize = 10_000;
/// The longest a task or a lag may be. **Units** ticks.
pub const LONGEST: i64 = 100_000;
/// The latest moment a problem may speak of. **Units** ticks.
pub const LATEST: i64 = 1_000_000;
/// The longest all tasks may take one after the other, lags included. **Units** ticks.
pub const LONGEST_WORK: i64 = 100_000_000;
/// The most pools, and the most people.
pub const MOST_SHARED: usize = 500;
/// The most intervals of one calendar.
pub const MOST_INTERVALS: usize = 200;
/// The most people at one task.
pub const MOST_HANDS: i64 = 50;
/// The most arcs between tasks.
pub const MOST_ARCS: usize = 100_000;
const GREATEST: i64 = 1_000_000;

/// Checks a problem as a whole: sizes, ranges, names, and whether each task can be done at all.
///
/// # Errors
/// Every fault, each with the JSON pointer of the field.
pub fn check(problem: &Problem) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    sizes(problem, &mut faults);
    if !faults.is_empty() {
        return faults.check();
    }
    let names = Names::of(problem, &mut faults);
    whole(&mut faults, "/tick_seconds", problem.tick_seconds, 1, 3600);
    if let Some(call) = problem.call {
        whole(&mut faults, "/call", call, 0, LATEST);
    }
    shared(problem, &mut faults);
    for (index, task) in problem.tasks.iter().enumerate() {
        one_task(problem, &names, index, task, &mut faults);
    }
    if faults.is_empty() {
        length(problem, &mut faults);
        cycles(problem, &names, &mut faults);
    }
    faults.check()
}

fn sizes(problem: &Problem, faults: &mut Faults) {
    let arcs: usize = problem
        .tasks
        .iter()
        .map(|t| t.after.len() + t.requires.len())
        .sum();
    let asked: usize = problem
        .tasks
        .iter()
        .map(|t| t.pools.len() + t.crew.len())
        .sum();
    for (pointer, what, size, most) in [
        ("/tasks", "tasks", problem.tasks.len(), MOST_TASKS),
        ("/pools", "pools", problem.pools.len(), MOST_SHARED),
        ("/crew", "people", problem.crew.len(), MOST_SHARED),
        ("/tasks", "arcs between tasks", arcs, MOST_ARCS),
        ("/tasks", "demands of tasks", asked, MOST_ARCS),
    ] {
        if size > most {
            faults.add(pointer, format!("{size} {what} are more than {most}."));
        }
    }
    for (index, pool) in problem.pools.iter().enumerate() {
        if pool.reduced.len() > MOST_INTERVALS {
            faults.add(
                format!("/pools/{index}/reduced"),
                format!("More than {MOST_INTERVALS} intervals."),
            );
        }
    }
    for (index, person) in problem.crew.iter().enumerate() {
        if person.away.len() > MOST_INTERVALS {
            faults.add(
                format!("/crew/{index}/away"),
                format!("More than {MOST_INTERVALS} intervals."),
            );
        }
        if person.skills.len() > MOST_INTERVALS {
            faults.add(
                format!("/crew/{index}/skills"),
                format!("More than {MOST_INTERVALS} skills."),
            );
        }
    }
}

/// Where each name stands, and who has which skill.
struct Names<'a> {
    tasks: HashMap<&'a str, usize>,
    pools: HashMap<&'a str, usize>,
    able: HashMap<&'a str, Vec<usize>>,
}

impl<'a> Names<'a> {
    fn of(problem: &'a Problem, faults: &mut Faults) -> Self {
        let tasks = index("tasks", problem.tasks.iter().map(|t| t.id.as_str()), faults);
        let pools = index("pools", problem.pools.iter().map(|p| p.id.as_str()), faults);
        index("crew", problem.crew.iter().map(|p| p.id.as_str()), faults);
        let mut able: HashMap<&str, Vec<usize>> = HashMap::new();
        for (who, person) in problem.crew.iter().enumerate() {
            for skill in person
                .skills
                .iter()
                .map(String::as_str)
                .collect::<BTreeSet<_>>()
            {
                able.entry(skill).or_default().push(who);
            }
        }
        Self { tasks, pools, able }
    }
}

fn index<'a>(
    list: &str,
    ids: impl Iterator<Item = &'a str>,
    faults: &mut Faults,
) -> HashMap<&'a str, usize> {
    let mut found = HashMap::new();
    for (index, id) in ids.enumerate() {
        if id.is_empty() {
            faults.add(format!("/{list}/{index}/id"), "An id is needed.");
        }
        if let Some(first) = found.insert(id, index) {
            faults.add(
                format!("/{list}/{index}/id"),
                format!("{id:?} is also the id of /{list}/{first}."),
            );
            found.insert(id, first);
        }
    }
    found
}

fn whole(faults: &mut Faults, pointer: impl Into<String>, value: i64, min: i64, max: i64) {
    if value < min || value > max {
        faults.add(pointer, format!("{value} is not from {min} to {max}."));
    }
}

fn interval(faults: &mut Faults, pointer: &str, start: i64, end: i64) {
    if start < 0 || end > LATEST || start >= end {
        faults.add(
            pointer,
            format!("[{start}, {end}) is not an interval within 0 to {LATEST}."),
        );
    }
}

fn shared(problem: &Problem, faults: &mut Faults) {
    for (index, pool) in problem.pools.iter().enumerate() {
        whole(
            faults,
            format!("/pools/{index}/capacity"),
            pool.capacity,
            0,
            GREATEST,
        );
        for (at, less) in pool.reduced.iter().enumerate() {
            let pointer = format!("/pools/{index}/reduced/{at}");
            interval(faults, &pointer, less.start, less.end);
            whole(faults, format!("{pointer}/by"), less.by, 0, GREATEST);
        }
    }
    for (index, person) in problem.crew.iter().enumerate() {
        for (at, away) in person.away.iter().enumerate() {
            interval(
                faults,
                &format!("/crew/{index}/away/{at}"),
                away[0],
                away[1],
            );
        }
    }
}

fn one_task(problem: &Problem, names: &Names<'_>, index: usize, task: &Task, faults: &mut Faults) {
    let at = format!("/tasks/{index}");
    let id = &task.id;
    let mut ranged = |field: &str, value: i64, min: i64, max: i64| {
        if value < min || value > max {
            faults.add(
                format!("{at}/{field}"),
                format!("Task {id:?}: {value} is not from {min} to {max}."),
            );
        }
    };
    ranged("duration", task.duration, 1, LONGEST);
    ranged("release", task.release, 0, LATEST);
    ranged("value", task.value, 0, GREATEST);
    if let Some(deadline) = task.deadline {
        ranged("deadline", deadline, 0, LATEST);
        if (0..=LATEST).contains(&deadline) && deadline < task.release.saturating_add(task.duration)
        {
            faults.add(
                format!("{at}/deadline"),
                format!("Task {id:?} cannot end by {deadline} when it starts at {} or later and takes {}.", task.release, task.duration),
            );
        }
    }
    if let Some([low, likely, high]) = task.three_point {
        let ordered = 0.0 <= low && low <= likely && likely <= high && high <= LONGEST as f64;
        if !(ordered && high > 0.0) {
            faults.add(
                format!("{at}/three_point"),
                format!("Task {id:?}: shortest, most likely and longest must rise from 0 or more to {LONGEST} or less, the longest above 0."),
            );
        }
    }
    demands(problem, names, &at, task, faults);
    links(names, &at, index, task, faults);
}

fn demands(problem: &Problem, names: &Names<'_>, at: &str, task: &Task, faults: &mut Faults) {
    let id = &task.id;
    for (pool, &amount) in &task.pools {
        let pointer = format!("{at}/pools/{}", pool.replace('~', "~0").replace('/', "~1"));
        match names.pools.get(pool.as_str()) {
            None => faults.add(pointer, format!("Task {id:?}: there is no pool {pool:?}.")),
            Some(&found) => {
                let capacity = problem.pools[found].capacity;
                if amount < 0 || amount > capacity {
                    faults.add(
                        pointer,
                        format!("Task {id:?} asks for {amount} of {pool:?}, which has {capacity}."),
                    );
                }
            }
        }
    }
    let mut sound = true;
    let mut seen = HashSet::new();
    for (slot, hands) in task.crew.iter().enumerate() {
        let pointer = format!("{at}/crew/{slot}");
        let able = names.able.get(hands.skill.as_str()).map_or(0, Vec::len);
        if !seen.insert(hands.skill.as_str()) {
            faults.add(
                pointer.clone(),
                format!(
                    "Task {id:?} asks for {:?} twice; add the counts.",
                    hands.skill
                ),
            );
            sound = false;
        }
        if hands.count < 1 || hands.count > MOST_HANDS {
            faults.add(
                format!("{pointer}/count"),
                format!(
                    "Task {id:?}: {} is not from 1 to {MOST_HANDS}.",
                    hands.count
                ),
            );
            sound = false;
        } else if able == 0 {
            faults.add(
                format!("{pointer}/skill"),
                format!("Task {id:?}: nobody has the skill {:?}.", hands.skill),
            );
            sound = false;
        } else if able < hands.count as usize {
            faults.add(
                format!("{pointer}/count"),
                format!(
                    "Task {id:?} asks for {} people with the skill {:?}; there are {able}.",
                    hands.count, hands.skill
                ),
            );
            sound = false;
        }
    }
    if sound && !task.crew.is_empty() && !can_be_staffed(names, task) {
        faults.add(
            format!("{at}/crew"),
            format!("Task {id:?}: the crew has too few different people for all it asks for."),
        );
    }
}

/// Whether different people can fill every slot of a task (Hall's condition, by augmenting paths).
fn can_be_staffed(names: &Names<'_>, task: &Task) -> bool {
    let slots: Vec<&[usize]> = task
        .crew
        .iter()
        .flat_map(|hands| {
            std::iter::repeat_n(
                names.able[hands.skill.as_str()].as_slice(),
                hands.count as usize,
            )
        })
        .collect();
    super::staff::assign(&slots).is_some()
}

fn links(names: &Names<'_>, at: &str, index: usize, task: &Task, faults: &mut Faults) {
    let id = &task.id;
    for (arc, after) in task.after.iter().enumerate() {
        let pointer = format!("{at}/after/{arc}");
        match names.tasks.get(after.task.as_str()) {
            None => faults.add(
                format!("{pointer}/task"),
                format!("Task {id:?}: there is no task {:?}.", after.task),
            ),
            Some(&other) if other == index => {
                faults.add(
                    format!("{pointer}/task"),
                    format!("Task {id:?} cannot come after itself."),
                );
            }
            Some(_) => {}
        }
        if after.lag < 0 || after.lag > LONGEST {
            faults.add(
                format!("{pointer}/lag"),
                format!("Task {id:?}: {} is not from 0 to {LONGEST}.", after.lag),
            );
        }
    }
    for (arc, other) in task.requires.iter().enumerate() {
        if !names.tasks.contains_key(other.as_str()) {
            faults.add(
                format!("{at}/requires/{arc}"),
                format!("Task {id:?}: there is no task {other:?}."),
            );
        }
    }
}

fn length(problem: &Problem, faults: &mut Faults) {
    let work: i64 = problem
        .tasks
        .iter()
        .map(|t| t.duration + t.after.iter().map(|a| a.lag).max().unwrap_or(0))
        .sum();
    if work > LONGEST_WORK {
        faults.add("/tasks", format!("All tasks one after the other take {work} ticks; at most {LONGEST_WORK} are allowed."));
    }
}

/// Finds what lies on a circle of `after`: peels off tasks with nothing left before them (Kahn 1962).
fn cycles(problem: &Problem, names: &Names<'_>, faults: &mut Faults) {
    let n = problem.tasks.len();
    let mut waiting = vec![0usize; n];
    let mut next: Vec<Vec<usize>> = vec![Vec::new(); n];
    for (index, task) in problem.tasks.iter().enumerate() {
        for after in &task.after {
            next[names.tasks[after.task.as_str()]].push(index);
            waiting[index] += 1;
        }
    }
    peel(&next, &mut waiting);
    // What only follows a circle is no fault of its own: peel again from the other end.
    let mut previous: Vec<Vec<usize>> = vec![Vec::new(); n];
    let mut followed = vec![usize::MAX; n];
    for at in (0..n).filter(|&i| waiting[i] > 0) {
        followed[at] = next[at].iter().filter(|&&to| waiting[to] > 0).count();
        for &to in next[at].iter().filter(|&&to| waiting[to] > 0) {
            previous[to].push(at);
        }
    }
    peel(&previous, &mut followed);
    for index in (0..n).filter(|&i| waiting[i] > 0 && followed[i] > 0) {
        faults.add(
            format!("/tasks/{index}/after"),
            format!(
                "Task {:?} comes after itself by way of other tasks.",
                problem.tasks[index].id
            ),
        );
    }
}

fn peel(next: &[Vec<usize>], waiting: &mut [usize]) {
    let mut free: Vec<usize> = (0..next.len()).filter(|&i| waiting[i] == 0).collect();
    while let Some(done) = free.pop() {
        for &to in &next[done] {
            waiting[to] -= 1;
            if waiting[to] == 0 {
                free.push(to);
            }
        }
    }
}
