//! A problem in numbers: indices for names, what is forced, heads and tails.

use std::collections::HashMap;

use super::problem::Problem;

/// Later than anything in a problem that passed its check. **Units** ticks.
pub(super) const FAR: i32 = 500_000_000;

/// A slot group of a task: so many people out of those able.
#[derive(Debug, Clone)]
pub(super) struct Slots {
    pub count: usize,
    /// Those able, the least versatile first.
    pub able: Vec<usize>,
}

/// Intervals `[start, end)` in which somebody is away.
pub(super) type Absences = Vec<(i32, i32)>;

/// A pool in numbers.
#[derive(Debug, Clone)]
pub(super) struct Capacity {
    pub size: i32,
    /// `(start, end, by)`.
    pub reduced: Vec<(i32, i32, i32)>,
}

/// A problem in numbers.
#[derive(Debug, Clone)]
pub(super) struct Model {
    pub n: usize,
    pub dur: Vec<i32>,
    pub release: Vec<i32>,
    /// The task's own latest end; [`FAR`] if it has none.
    pub deadline: Vec<i32>,
    /// May be left out, after those that mandatory tasks require are counted as mandatory.
    pub optional: Vec<bool>,
    /// What doing it is worth; 0 for mandatory ones.
    pub value: Vec<i64>,
    pub preds: Vec<Vec<(usize, i32)>>,
    pub succs: Vec<Vec<(usize, i32)>>,
    pub requires: Vec<Vec<usize>>,
    pub pools: Vec<Capacity>,
    pub holds: Vec<Vec<(usize, i32)>>,
    /// Intervals in which each person is away.
    pub away: Vec<Absences>,
    pub slots: Vec<Vec<Slots>>,
    pub call: Option<i32>,
    /// Tasks so that each comes after those it waits for.
    pub order: Vec<usize>,
    /// Everything can be done by then, one after the other, calendars over.
    pub horizon: i32,
}

impl Model {
    /// Reads a problem that passed its check.
    pub fn of(problem: &Problem) -> Self {
        let n = problem.tasks.len();
        let at: HashMap<&str, usize> = problem
            .tasks
            .iter()
            .enumerate()
            .map(|(i, t)| (t.id.as_str(), i))
            .collect();
        let pool_at: HashMap<&str, usize> = problem
            .pools
            .iter()
            .enumerate()
            .map(|(i, p)| (p.id.as_str(), i))
            .collect();
        let mut preds = vec![Vec::new(); n];
        let mut succs = vec![Vec::new(); n];
        for (index, task) in problem.tasks.iter().enumerate() {
            let mut longest: HashMap<usize, i32> = HashMap::new();
            for after in &task.after {
                let lag = longest.entry(at[after.task.as_str()]).or_insert(0);
                *lag = (*lag).max(after.lag as i32);
            }
            let mut arcs: Vec<(usize, i32)> = longest.into_iter().collect();
            arcs.sort_unstable();
            for &(other, lag) in &arcs {
                succs[other].push((index, lag));
            }
            preds[index] = arcs;
        }
        let mut requires: Vec<Vec<usize>> = problem
            .tasks
            .iter()
            .map(|t| t.requires.iter().map(|r| at[r.as_str()]).collect())
            .collect();
        for (index, list) in requires.iter_mut().enumerate() {
            list.sort_unstable();
            list.dedup();
            list.retain(|&other| other != index);
        }
        let optional = truly_optional(problem, &requires);
        let order = topological(&preds, &succs);
        let (slots, away) = staff(problem);
        let mut model = Self {
            n,
            dur: problem.tasks.iter().map(|t| t.duration as i32).collect(),
            release: problem.tasks.iter().map(|t| t.release as i32).collect(),
            deadline: problem
                .tasks
                .iter()
                .map(|t| t.deadline.map_or(FAR, |d| d as i32))
                .collect(),
            value: problem
                .tasks
                .iter()
                .map(|t| if t.optional { t.value } else { 0 })
                .collect(),
            optional,
            preds,
            succs,
            requires,
            pools: problem
                .pools
                .iter()
                .map(|p| Capacity {
                    size: p.capacity as i32,
                    reduced: p
                        .reduced
                        .iter()
                        .map(|r| (r.start as i32, r.end as i32, r.by as i32))
                        .collect(),
                })
                .collect(),
            holds: problem
                .tasks
                .iter()
                .map(|t| {
                    t.pools
                        .iter()
                        .filter(|(_, a)| **a > 0)
                        .map(|(p, a)| (pool_at[p.as_str()], *a as i32))
                        .collect()
                })
                .collect(),
            away,
            slots,
            call: problem.call.map(|c| c as i32),
            order,
            horizon: 0,
        };
        model.horizon = model.last_resort();
        model
    }

    /// The same problem seen from `end` backwards, for right-justifying.
    pub fn mirrored(&self, end: i32) -> Self {
        let mut back = self.clone();
        std::mem::swap(&mut back.preds, &mut back.succs);
        back.order.reverse();
        for i in 0..self.n {
            back.release[i] = if self.deadline[i] == FAR {
                0
            } else {
                (end - self.deadline[i]).max(0)
            };
            back.deadline[i] = FAR;
        }
        for pool in &mut back.pools {
            for cut in &mut pool.reduced {
                *cut = (end - cut.1, end - cut.0, cut.2);
            }
        }
        for person in &mut back.away {
            for gone in person.iter_mut() {
                *gone = (end - gone.1, end - gone.0);
            }
        }
        back
    }

    /// A moment by which everything can be done: all releases and calendars over, then one by one.
    fn last_resort(&self) -> i32 {
        let quiet = self
            .pools
            .iter()
            .flat_map(|p| p.reduced.iter().map(|r| r.1))
            .chain(self.away.iter().flatten().map(|a| a.1))
            .chain(self.release.iter().copied())
            .max()
            .unwrap_or(0)
            .max(0);
        let work: i32 = (0..self.n)
            .map(|i| self.dur[i] + self.preds[i].iter().map(|p| p.1).max().unwrap_or(0))
            .sum();
        quiet + work
    }

    /// Earliest starts by release and precedence among the tasks that are surely done.
    pub fn heads(&self, surely: &[bool]) -> Vec<i32> {
        let mut head = self.release.clone();
        for &i in &self.order {
            for &(before, lag) in &self.preds[i] {
                if surely[before] {
                    head[i] = head[i].max(head[before] + self.dur[before] + lag);
                }
            }
        }
        head
    }

    /// The least time from each task's end to the finish, by precedence among tasks surely done.
    pub fn tails(&self, surely: &[bool]) -> Vec<i32> {
        let mut tail = vec![0; self.n];
        for &i in self.order.iter().rev() {
            for &(after, lag) in &self.succs[i] {
                if surely[after] {
                    tail[i] = tail[i].max(lag + self.dur[after] + tail[after]);
                }
            }
        }
        tail
    }

    /// Latest ends by the call (or `limit`), own deadlines and precedence among tasks surely done.
    pub fn latest_ends(&self, surely: &[bool], limit: i32) -> Vec<i32> {
        let mut latest: Vec<i32> = self.deadline.iter().map(|&d| d.min(limit)).collect();
        for &i in self.order.iter().rev() {
            for &(after, lag) in &self.succs[i] {
                if surely[after] {
                    latest[i] = latest[i].min(latest[after] - self.dur[after] - lag);
                }
            }
        }
        latest
    }

    /// Adds to `on` everything that the tasks in it require.
    pub fn close(&self, on: &mut [bool]) {
        let mut open: Vec<usize> = (0..self.n).filter(|&i| on[i]).collect();
        while let Some(i) = open.pop() {
            for &other in &self.requires[i] {
                if !on[other] {
                    on[other] = true;
                    open.push(other);
                }
            }
        }
    }

    /// The tasks that are done in every plan.
    pub fn mandatory(&self) -> Vec<bool> {
        self.optional.iter().map(|o| !o).collect()
    }

    /// The value of the tasks in `on`.
    pub fn worth(&self, on: &[bool]) -> i64 {
        (0..self.n).filter(|&i| on[i]).map(|i| self.value[i]).sum()
    }
}

fn truly_optional(problem: &Problem, requires: &[Vec<usize>]) -> Vec<bool> {
    let mut optional: Vec<bool> = problem.tasks.iter().map(|t| t.optional).collect();
    let mut open: Vec<usize> = (0..optional.len()).filter(|&i| !optional[i]).collect();
    while let Some(i) = open.pop() {
        for &other in &requires[i] {
            if optional[other] {
                optional[other] = false;
                open.push(other);
            }
        }
    }
    optional
}

fn topological(preds: &[Vec<(usize, i32)>], succs: &[Vec<(usize, i32)>]) -> Vec<usize> {
    let mut waiting: Vec<usize> = preds.iter().map(Vec::len).collect();
    let mut order: Vec<usize> = (0..preds.len()).filter(|&i| waiting[i] == 0).collect();
    let mut done = 0;
    while done < order.len() {
        for &(next, _) in &succs[order[done]] {
            waiting[next] -= 1;
            if waiting[next] == 0 {
                order.push(next);
            }
        }
        done += 1;
    }
    order
}

/// Slot groups per task, and absences per person. The least versatile people come first, so that
/// those who can do most stay free for what only they can do.
fn staff(problem: &Problem) -> (Vec<Vec<Slots>>, Vec<Absences>) {
    let mut wanted: HashMap<&str, i64> = HashMap::new();
    for task in &problem.tasks {
        for hands in &task.crew {
            *wanted.entry(&hands.skill).or_default() += hands.count * task.duration;
        }
    }
    let versatile: Vec<i64> = problem
        .crew
        .iter()
        .map(|p| {
            let mut skills: Vec<&str> = p.skills.iter().map(String::as_str).collect();
            skills.sort_unstable();
            skills.dedup();
            skills
                .iter()
                .map(|s| wanted.get(s).copied().unwrap_or(0))
                .sum()
        })
        .collect();
    let mut able: HashMap<&str, Vec<usize>> = HashMap::new();
    for (who, person) in problem.crew.iter().enumerate() {
        for skill in &person.skills {
            let list = able.entry(skill).or_default();
            if list.last() != Some(&who) {
                list.push(who);
            }
        }
    }
    for list in able.values_mut() {
        list.sort_by_key(|&who| (versatile[who], who));
    }
    let slots = problem
        .tasks
        .iter()
        .map(|t| {
            t.crew
                .iter()
                .map(|h| Slots {
                    count: h.count as usize,
                    able: able.get(h.skill.as_str()).cloned().unwrap_or_default(),
                })
                .collect()
        })
        .collect();
    let away = problem
        .crew
        .iter()
        .map(|p| {
            let mut gone: Absences = p.away.iter().map(|a| (a[0] as i32, a[1] as i32)).collect();
            gone.sort_unstable();
            gone
        })
        .collect();
    (slots, away)
}
