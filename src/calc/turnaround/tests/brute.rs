//! Small random problems with every feature, against trying everything.

use std::collections::BTreeMap;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::pit::{Optimum, contradicts};
use crate::calc::turnaround::{
    After, Answer, Budget, Hands, Person, Pool, Problem, Reduction, Task, Verdict, check, solve,
    validate,
};

/// A small problem with optional tasks, skills, calendars, deadlines and lags.
fn problem(rng: &mut ChaCha8Rng) -> Problem {
    let skills = ["drive", "weld", "wire"];
    let n = rng.random_range(1..=5);
    let pools = (0..rng.random_range(0..=2))
        .map(|i| Pool {
            id: format!("p{i}"),
            capacity: rng.random_range(1..=3),
            reduced: (0..rng.random_range(0..=2)).map(|_| cut(rng)).collect(),
        })
        .collect::<Vec<_>>();
    let crew: Vec<Person> = (0..rng.random_range(0..=3))
        .map(|i| Person {
            id: format!("who{i}"),
            skills: skills
                .iter()
                .filter(|_| rng.random_bool(0.6))
                .map(|s| (*s).to_string())
                .collect(),
            away: (0..rng.random_range(0..=1))
                .map(|_| {
                    let start = rng.random_range(0..6);
                    [start, start + rng.random_range(1..4)]
                })
                .collect(),
        })
        .collect();
    let mut tasks = Vec::new();
    for i in 0..n {
        let able = |skill: &str| {
            crew.iter()
                .filter(|p| p.skills.iter().any(|s| s == skill))
                .count()
        };
        let wanted = skills
            .iter()
            .filter(|s| able(s) > 0 && rng.random_bool(0.35))
            .copied()
            .collect::<Vec<_>>();
        let hands = wanted
            .into_iter()
            .map(|skill| Hands {
                skill: skill.into(),
                count: rng.random_range(1..=able(skill) as i64),
            })
            .collect();
        let duration = rng.random_range(1..=4);
        let release = if rng.random_bool(0.3) {
            rng.random_range(0..5)
        } else {
            0
        };
        let deadline = rng
            .random_bool(0.2)
            .then(|| release + duration + rng.random_range(0..8));
        let mut held = BTreeMap::new();
        for pool in &pools {
            if rng.random_bool(0.6) {
                held.insert(pool.id.clone(), rng.random_range(0..=pool.capacity));
            }
        }
        let mut after = Vec::new();
        for other in 0..i {
            if rng.random_bool(0.3) {
                let lag = if rng.random_bool(0.3) {
                    rng.random_range(0..3)
                } else {
                    0
                };
                after.push(After {
                    task: format!("t{other}"),
                    lag,
                });
            }
        }
        tasks.push(Task {
            id: format!("t{i}"),
            name: String::new(),
            duration,
            three_point: None,
            release,
            deadline,
            optional: rng.random_bool(0.4),
            value: rng.random_range(0..9),
            crew: hands,
            pools: held,
            after,
            requires: (0..n)
                .filter(|_| rng.random_bool(0.1))
                .map(|other| format!("t{other}"))
                .collect(),
        });
    }
    Problem {
        tick_seconds: 60,
        call: rng.random_bool(0.8).then(|| rng.random_range(2..16)),
        pools,
        crew,
        tasks,
    }
}

fn cut(rng: &mut ChaCha8Rng) -> Reduction {
    let start = rng.random_range(0..7);
    Reduction {
        start,
        end: start + rng.random_range(1..4),
        by: rng.random_range(1..3),
    }
}

/// Tries every start and every person for the chosen tasks.
struct Everything<'a> {
    problem: &'a Problem,
    chosen: Vec<usize>,
    limit: i64,
    deadlines: bool,
    placed: BTreeMap<usize, (i64, Vec<usize>)>,
    best: Option<i64>,
}

impl Everything<'_> {
    fn end(&self, i: usize) -> Option<i64> {
        self.placed
            .get(&i)
            .map(|p| p.0 + self.problem.tasks[i].duration)
    }

    fn go(&mut self, at: usize, finish: i64) {
        let Some(&i) = self.chosen.get(at) else {
            self.best = Some(finish);
            return;
        };
        let task = self.problem.tasks[i].clone();
        let index = |id: &str| id[1..].parse::<usize>().expect("a task's number");
        let ready = task
            .after
            .iter()
            .filter_map(|a| self.end(index(&a.task)).map(|end| end + a.lag))
            .fold(task.release, i64::max);
        let own = task.deadline.filter(|_| self.deadlines).unwrap_or(i64::MAX);
        let mut start = ready;
        // Only an earlier finish than the best so far is of interest.
        while start + task.duration
            <= self
                .limit
                .min(own)
                .min(self.best.map_or(i64::MAX, |b| b - 1))
        {
            if self.has_room(&task, start) {
                let slots: Vec<&str> = task
                    .crew
                    .iter()
                    .flat_map(|h| (0..h.count).map(|_| h.skill.as_str()))
                    .collect();
                for crew in self.crews(&slots, start, start + task.duration) {
                    if self
                        .best
                        .is_some_and(|b| finish.max(start + task.duration) >= b)
                    {
                        break;
                    }
                    self.placed.insert(i, (start, crew));
                    self.go(at + 1, finish.max(start + task.duration));
                    self.placed.remove(&i);
                }
            }
            start += 1;
        }
    }

    fn has_room(&self, task: &Task, start: i64) -> bool {
        self.problem.pools.iter().all(|pool| {
            let amount = task.pools.get(&pool.id).copied().unwrap_or(0);
            amount == 0
                || (start..start + task.duration).all(|now| {
                    let held: i64 = self
                        .placed
                        .iter()
                        .filter(|(i, p)| p.0 <= now && now < p.0 + self.problem.tasks[**i].duration)
                        .map(|(i, _)| {
                            self.problem.tasks[*i]
                                .pools
                                .get(&pool.id)
                                .copied()
                                .unwrap_or(0)
                        })
                        .sum();
                    let less: i64 = pool
                        .reduced
                        .iter()
                        .filter(|r| r.start <= now && now < r.end)
                        .map(|r| r.by)
                        .sum();
                    held + amount <= (pool.capacity - less).max(0)
                })
        })
    }

    fn crews(&self, slots: &[&str], from: i64, to: i64) -> Vec<Vec<usize>> {
        let free: Vec<usize> = (0..self.problem.crew.len())
            .filter(|who| {
                self.problem.crew[*who]
                    .away
                    .iter()
                    .all(|a| a[1] <= from || to <= a[0])
                    && self.placed.iter().all(|(i, p)| {
                        !p.1.contains(who)
                            || p.0 + self.problem.tasks[*i].duration <= from
                            || to <= p.0
                    })
            })
            .collect();
        let mut crews: Vec<Vec<usize>> = vec![Vec::new()];
        for skill in slots {
            crews = crews
                .into_iter()
                .flat_map(|crew| {
                    let able = free
                        .iter()
                        .filter(|&&who| self.problem.crew[who].skills.iter().any(|s| s == skill));
                    able.filter(|who| !crew.contains(who))
                        .map(|&who| [crew.clone(), vec![who]].concat())
                        .collect::<Vec<_>>()
                })
                .collect();
        }
        // Who stands in which slot does not matter to the others.
        for crew in &mut crews {
            crew.sort_unstable();
        }
        crews.sort();
        crews.dedup();
        crews
    }
}

fn earliest(problem: &Problem, chosen: &[usize], limit: i64, deadlines: bool) -> Option<i64> {
    let mut all = Everything {
        problem,
        chosen: chosen.to_vec(),
        limit,
        deadlines,
        placed: BTreeMap::new(),
        best: None,
    };
    all.go(0, 0);
    all.best
}

fn by_trying_everything(problem: &Problem) -> Optimum {
    let n = problem.tasks.len();
    let index = |id: &String| id[1..].parse::<usize>().expect("a task's number");
    let closed = |set: u32| {
        (0..n).filter(|i| set >> i & 1 == 1).all(|i| {
            problem.tasks[i]
                .requires
                .iter()
                .all(|r| set >> index(r) & 1 == 1)
        })
    };
    let must: u32 = (0..n)
        .filter(|&i| !problem.tasks[i].optional)
        .map(|i| 1 << i)
        .sum();
    let members = |set: u32| (0..n).filter(|i| set >> i & 1 == 1).collect::<Vec<_>>();
    let value = |set: u32| {
        members(set)
            .iter()
            .filter(|&&i| problem.tasks[i].optional)
            .map(|&i| problem.tasks[i].value)
            .sum::<i64>()
    };
    let far = 60;
    let mut sets: Vec<u32> = (0..1u32 << n)
        .filter(|set| set & must == must && closed(*set))
        .collect();
    sets.sort_by_key(|set| (-value(*set), set.count_ones()));
    let mut best: Option<(i64, i64)> = None;
    for &set in &sets {
        if best.is_some_and(|b| value(set) < b.0) {
            break;
        }
        if let Some(finish) = earliest(problem, &members(set), problem.call.unwrap_or(far), true)
            && best.is_none_or(|b| finish < b.1)
        {
            best = Some((value(set), finish));
        }
    }
    if let Some((value, finish)) = best {
        return Optimum {
            verdict: Verdict::OnTime,
            value,
            finish,
        };
    }
    let least = sets
        .into_iter()
        .min_by_key(|set| set.count_ones())
        .expect("all tasks are one set");
    let finish = earliest(problem, &members(least), far, true)
        .or_else(|| earliest(problem, &members(least), far, false))
        .expect("without limits everything fits");
    Optimum {
        verdict: Verdict::Late,
        value: value(least),
        finish,
    }
}

#[test]
fn plans_are_as_good_as_trying_everything() {
    let mut verdicts = BTreeMap::new();
    for seed in 0..rounds() {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        let problem = problem(&mut rng);
        if check(&problem).is_err() {
            continue;
        }
        let best = by_trying_everything(&problem);
        let text = || serde_json::to_string(&problem).expect("writes");
        for steps in [0, 3, 1_000_000] {
            let answer = solve(&problem, Budget::steps(steps)).expect("no fault");
            assert_eq!(
                validate(&problem, &answer),
                Vec::<String>::new(),
                "{seed}: {}",
                text()
            );
            assert_eq!(
                contradicts(&answer, &best),
                None,
                "{seed} at {steps}: {}",
                text()
            );
            if steps == 1_000_000 {
                stays(&problem, &answer, &best, seed);
                assert!(answer.proven, "{seed}: {answer:?}\n{}", text());
                assert_eq!(answer.verdict, best.verdict, "{seed}: {}", text());
                *verdicts.entry(format!("{:?}", best.verdict)).or_insert(0) += 1;
            }
        }
    }
    assert!(
        verdicts["OnTime"] > 50 && verdicts["Late"] > 50,
        "both verdicts occur: {verdicts:?}"
    );
}

/// A plan that is the best stays as it is, and one that is not makes nothing worse.
fn stays(problem: &Problem, answer: &Answer, best: &Optimum, seed: u64) {
    let kept = |before: &Answer, steps: u64| {
        let kept = solve(problem, Budget::steps(steps).keeping(before)).expect("no fault");
        assert_eq!(validate(problem, &kept), Vec::<String>::new(), "{seed}");
        kept
    };
    for steps in [0, 1_000_000] {
        assert_eq!(kept(answer, steps).tasks, answer.tasks, "{seed} at {steps}");
    }
    let quick = solve(problem, Budget::steps(0)).expect("no fault");
    let from_quick = kept(&quick, 1_000_000);
    assert_eq!(contradicts(&from_quick, best), None, "{seed}");
    assert!(from_quick.proven, "{seed}");
}

/// How many problems are tried; more on request.
fn rounds() -> u64 {
    std::env::var("LINKOUT_ROUNDS")
        .ok()
        .and_then(|r| r.parse().ok())
        .unwrap_or(500)
}
