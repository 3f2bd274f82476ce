//! A team's turnaround problem: its robots' open tasks, its people, and what they share.
//!
//! Tasks under way stand where they are: what they hold is taken off the pools and their people are
//! away for what is left of them, so no plan can move them. Times are ticks of 15 s from now.

use super::left::{Basis, Left, left};
use super::staff::{HANDS, LENT, Member, Places, places, word};
use super::today::{Item, Today, Unit, today};
use crate::calc::turnaround::{After, Hands, LATEST, Person, Pool, Problem, Reduction, Task};
use crate::pit::ids::{PersonId, RobotId, TeamId};
use crate::pit::library;
use crate::pit::library::tasks::{Amount, List, PoolOf, Skill, Whose};
use crate::pit::logbook::bout::Call;
use crate::pit::logbook::register::{self, ThreePoint};
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Length of a tick. **Units** seconds.
pub const TICK_S: i64 = 15;

/// People assumed where a team registered nobody. **Source** own starting value.
const ASSUMED_CREW: usize = 2;

/// A unit as it stands in the problem.
#[derive(Debug, Clone)]
pub(super) struct Planning {
    pub robot: RobotId,
    pub task: String,
    pub instance: Option<String>,
    /// May be left out and is shown as such; what hangs on it goes silently with it.
    pub optional: bool,
    pub missing: usize,
    pub running: Option<(DateTime<Utc>, Vec<PersonId>)>,
}

/// A robot in the problem.
#[derive(Debug, Clone)]
pub(super) struct Planned {
    pub robot: RobotId,
    pub turnaround: u32,
    pub call: Option<Call>,
    /// The task of the problem that ends its plan; none if it is done.
    pub last: Option<String>,
    pub done_at: Option<DateTime<Utc>>,
    pub left_out: Vec<String>,
}

/// A team's problem, and what its names stand for.
#[derive(Debug, Clone)]
pub struct TeamProblem {
    /// The problem as published.
    pub problem: Problem,
    pub(super) now: DateTime<Utc>,
    pub(super) after_seq: i64,
    pub(super) units: BTreeMap<String, Planning>,
    pub(super) robots: Vec<Planned>,
    pub(super) people: BTreeMap<String, PersonId>,
}

impl TeamProblem {
    /// The problem of `team` at `now`; none if there is nothing to plan.
    ///
    /// Robots that are in a bout are not planned, and those that only pack up wait while another of
    /// the team has a call.
    pub fn of(pit: &Pit, team: TeamId, basis: &Basis, now: DateTime<Utc>) -> Option<Self> {
        let mut lists: Vec<(Today, &RobotFile, Option<Call>)> = pit
            .robots_of(team)
            .filter(|(_, file)| file.state.in_bout.is_none())
            .filter_map(|(robot, file)| {
                let call = pit.next_bout(robot).map(|next| Call {
                    bout: next.bout.id,
                    at: next.bout.call,
                });
                Some((today(pit, robot)?, file, call))
            })
            .collect();
        if lists.iter().any(|(_, _, call)| call.is_some()) {
            lists.retain(|(today, _, _)| today.hand.list != List::EndOfDay);
        }
        let mut build = Build::new(pit, team, basis, now);
        for (today, file, call) in &mut lists {
            // The charging table owns the charge: the plan sees only when it has packs.
            let packs = basis
                .packs_ready
                .get(&today.robot)
                .and_then(|at| Some((today.gate.take()?.1, *at)));
            build.robot(today, file, *call, packs);
        }
        (!build.tasks.is_empty()).then(|| build.done(pit.last_seq))
    }

    /// The task of the problem that ends a robot's plan: its odds are those of this task.
    pub fn last_task(&self, robot: RobotId) -> Option<&str> {
        self.robots
            .iter()
            .find(|planned| planned.robot == robot)?
            .last
            .as_deref()
    }
}

struct Build<'a> {
    basis: &'a Basis,
    now: DateTime<Utc>,
    team: Vec<Member>,
    away: BTreeMap<String, Vec<[i64; 2]>>,
    lent: usize,
    pools: BTreeMap<String, Pool>,
    words: BTreeMap<String, BTreeSet<Skill>>,
    tasks: Vec<Task>,
    units: BTreeMap<String, Planning>,
    robots: Vec<Planned>,
}

impl<'a> Build<'a> {
    fn new(pit: &Pit, team: TeamId, basis: &'a Basis, now: DateTime<Utc>) -> Self {
        let mut build = Self {
            basis,
            now,
            team: Vec::new(),
            away: BTreeMap::new(),
            lent: usize::try_from(pit.settings().lent_hands.get()).unwrap_or(0),
            pools: BTreeMap::new(),
            words: BTreeMap::new(),
            tasks: Vec::new(),
            units: BTreeMap::new(),
            robots: Vec::new(),
        };
        let drivers: BTreeSet<PersonId> = pit
            .robots_of(team)
            .filter_map(|(_, file)| file.register.body.driver)
            .collect();
        for (id, person) in pit.people_of(team) {
            build.member(id, person, drivers.contains(&id));
        }
        if build.team.is_empty() {
            build.team.extend((1..=ASSUMED_CREW).map(|n| Member {
                id: format!("crew-{n}"),
                person: None,
                skills: Skill::ALL.into_iter().collect(),
                present: true,
            }));
        }
        let channels = pit
            .channels
            .values()
            .filter(|channel| channel.body.team == team && !channel.body.retired)
            .count();
        for pool in &library::data().tasks.pools {
            if pool.per == Whose::Robot {
                continue;
            }
            let size = match pool.id {
                PoolOf::ChargerChannel if channels > 0 => i64::try_from(channels).unwrap_or(1),
                PoolOf::ChargerChannel => i64::from(pit.settings().channels.get()).max(1),
                _ => i64::from(pool.capacity.of(register::Machine::SmallMachine)),
            };
            build.pool(pool.id.as_str().to_owned(), size);
        }
        build
    }

    fn member(&mut self, id: PersonId, person: &register::Person, drives: bool) {
        let mut skills: BTreeSet<Skill> = person
            .skills
            .iter()
            .filter_map(|skill| Skill::named(skill.as_str()))
            .collect();
        if drives {
            skills.insert(Skill::Driver);
        }
        let away: Vec<[i64; 2]> = person
            .away
            .iter()
            .map(|away| [self.tick(away.from), self.tick_after(away.to)])
            .filter(|[from, to]| from < to)
            .collect();
        self.team.push(Member {
            id: id.to_string(),
            person: Some(id),
            skills,
            present: !away.iter().any(|[from, to]| *from == 0 && *to > 0),
        });
        self.away.insert(id.to_string(), away);
    }

    fn pool(&mut self, id: String, capacity: i64) {
        self.pools.insert(
            id.clone(),
            Pool {
                id,
                capacity,
                reduced: Vec::new(),
            },
        );
    }

    fn tick(&self, at: DateTime<Utc>) -> i64 {
        ((at - self.now).num_seconds() / TICK_S).clamp(0, LATEST)
    }

    fn tick_after(&self, at: DateTime<Utc>) -> i64 {
        let seconds = (at - self.now).num_seconds();
        ((seconds + TICK_S - 1) / TICK_S).clamp(0, LATEST)
    }

    fn robot(
        &mut self,
        today: &Today,
        file: &RobotFile,
        call: Option<Call>,
        packs: Option<(usize, DateTime<Utc>)>,
    ) {
        let machine = file.register.body.machine;
        let size = library::data()
            .tasks
            .pools
            .iter()
            .find(|pool| pool.id == PoolOf::Access)
            .map_or(1, |pool| pool.capacity.of(machine));
        self.pool(access(today.robot), i64::from(size));

        let planned = today.planned();
        let units = today.units(&(0..today.items.len()).collect());
        let names: Vec<String> = units.iter().map(|unit| name(today, unit)).collect();
        let open = |unit: &Unit| {
            unit.members
                .iter()
                .any(|&index| !today.items[index].progress.is_done())
        };
        let in_plan: Vec<bool> = units
            .iter()
            .map(|unit| open(unit) && unit.members.iter().any(|index| planned.contains(index)))
            .collect();
        let kinds = kinds(today, &units);
        for (number, unit) in units.iter().enumerate().filter(|(_, unit)| open(unit)) {
            let mut left = left(today, file, unit, self.basis, self.now);
            // Somebody of another team who lends a hand is not in this plan.
            left.by
                .retain(|who| self.away.contains_key(&who.to_string()));
            if left.since.is_some() {
                self.hold(today, unit, &left);
            }
            if in_plan[number] {
                let after = after(&units, &in_plan, &kinds, number, left.since.is_some());
                let after = after.into_iter().map(|other| names[other].clone());
                let task = self.task(today, unit, &names[number], &left, after.collect());
                let requires = kinds[number]
                    .requires
                    .iter()
                    .filter(|&&other| in_plan[other] && kinds[other].optional())
                    .map(|&other| names[other].clone())
                    .collect();
                let release = packs.filter(|(before, _)| unit.members.contains(before));
                self.tasks.push(Task {
                    release: release.map_or(0, |(_, at)| self.tick_after(at)),
                    optional: kinds[number].optional(),
                    value: if kinds[number].repair {
                        kinds[number].value
                    } else {
                        0
                    },
                    requires,
                    ..task
                });
            }
        }
        let last = today
            .ends_with
            .and_then(|end| units.iter().position(|unit| unit.members.contains(&end)))
            .filter(|&unit| in_plan[unit])
            .map(|unit| names[unit].clone());
        if let (Some(call), Some(last)) = (call, &last) {
            let deadline = self.tick(call.at);
            if let Some(task) = self.tasks.iter_mut().find(|task| task.id == *last) {
                // A call that is too near for the last task alone is missed in any case.
                task.deadline = Some(deadline.max(task.release + task.duration));
            }
        }
        let done_at = today
            .ends_with
            .and_then(|end| match today.items[end].progress {
                super::Progress::Done { at, .. } => Some(at),
                _ => None,
            });
        self.robots.push(Planned {
            robot: today.robot,
            turnaround: today.hand.turnaround,
            call,
            last,
            done_at,
            left_out: today
                .left_out
                .iter()
                .map(|left| labelled(&left.key.task, left.key.instance.as_deref()))
                .collect(),
        });
    }

    /// Takes what a unit under way holds off the pools, and its people with it.
    fn hold(&mut self, today: &Today, unit: &Unit, left: &Left) {
        let end = ticks(left.minutes.likely);
        for (pool, amount) in self.takes(today, unit) {
            if let Some(pool) = self.pools.get_mut(&pool) {
                let held: i64 = pool.reduced.iter().map(|less| less.by).sum();
                let by = amount.min(pool.capacity - held);
                if by > 0 {
                    pool.reduced.push(Reduction { start: 0, end, by });
                }
            }
        }
        for who in &left.by {
            if let Some(away) = self.away.get_mut(&who.to_string()) {
                away.push([0, end]);
            }
        }
    }

    fn takes(&self, today: &Today, unit: &Unit) -> BTreeMap<String, i64> {
        let mut takes: BTreeMap<String, i64> = BTreeMap::new();
        for item in open_members(today, unit) {
            for take in &item.def.takes {
                let pool = match take.pool {
                    PoolOf::Access => access(today.robot),
                    other => other.as_str().to_owned(),
                };
                let capacity = self.pools.get(&pool).map_or(0, |pool| pool.capacity);
                let amount = match take.amount {
                    Amount::Some(count) => i64::from(count).min(capacity),
                    Amount::Whole(_) => capacity,
                };
                let most = takes.entry(pool).or_default();
                *most = (*most).max(amount);
            }
        }
        takes
    }

    fn task(
        &mut self,
        today: &Today,
        unit: &Unit,
        id: &str,
        left: &Left,
        after: Vec<String>,
    ) -> Task {
        let first = open_members(today, unit).next();
        let running = left.since.is_some();
        let hands = open_members(today, unit)
            .map(|item| item.def.hands)
            .max()
            .unwrap_or(0);
        let skills: BTreeSet<Skill> = open_members(today, unit)
            .flat_map(|item| item.def.skills.iter().copied())
            .collect();
        let places = places(&self.team, &skills, usize::try_from(hands).unwrap_or(0));
        self.units.insert(
            id.to_owned(),
            Planning {
                robot: today.robot,
                task: first.map_or_else(String::new, |item| item.key.task.clone()),
                instance: first.and_then(|item| item.key.instance.clone()),
                optional: first.is_some_and(|item| item.def.optional()),
                missing: if running { 0 } else { places.missing },
                running: left
                    .since
                    .map(|since| (since, left.by.iter().copied().collect())),
            },
        );
        Task {
            id: id.to_owned(),
            name: first.map_or_else(String::new, |item| item.def.name.clone()),
            duration: ticks(left.minutes.likely),
            three_point: Some(three_points(left.minutes)),
            release: 0,
            deadline: None,
            optional: false,
            value: 0,
            crew: if running {
                Vec::new()
            } else {
                self.crew(&places)
            },
            pools: if running {
                BTreeMap::new()
            } else {
                self.takes(today, unit)
            },
            after: after
                .into_iter()
                .map(|task| After { task, lag: 0 })
                .collect(),
            requires: Vec::new(),
        }
    }

    fn crew(&mut self, places: &Places) -> Vec<Hands> {
        let mut crew: Vec<Hands> = Vec::new();
        for group in &places.skilled {
            let skill = word(group);
            self.words.insert(skill.clone(), group.clone());
            crew.push(Hands { skill, count: 1 });
        }
        for (skill, count) in [(HANDS, places.any), (LENT, places.missing.min(self.lent))] {
            if count > 0 {
                crew.push(Hands {
                    skill: skill.to_owned(),
                    count: i64::try_from(count).unwrap_or(1),
                });
            }
        }
        crew
    }

    fn done(self, after_seq: i64) -> TeamProblem {
        let mut crew: Vec<Person> = self
            .team
            .iter()
            .map(|member| {
                let words = self.words.iter();
                let mut skills: Vec<String> = words
                    .filter(|(_, group)| group.is_subset(&member.skills))
                    .map(|(word, _)| word.clone())
                    .collect();
                skills.push(HANDS.to_owned());
                Person {
                    id: member.id.clone(),
                    skills,
                    away: self.away.get(&member.id).cloned().unwrap_or_default(),
                }
            })
            .collect();
        crew.extend((1..=self.lent).map(|n| Person {
            id: lent(n),
            skills: vec![LENT.to_owned()],
            away: Vec::new(),
        }));
        let calls: Vec<Option<i64>> = self
            .robots
            .iter()
            .filter(|robot| robot.last.is_some())
            .map(|robot| {
                let last = robot.last.as_deref()?;
                self.tasks.iter().find(|task| task.id == last)?.deadline
            })
            .collect();
        // One robot without a call leaves the plan without one; the others keep their deadlines.
        let call = if calls.contains(&None) {
            None
        } else {
            calls.into_iter().flatten().max()
        };
        let people = self
            .team
            .iter()
            .filter_map(|member| Some((member.id.clone(), member.person?)))
            .collect();
        TeamProblem {
            problem: Problem {
                tick_seconds: TICK_S,
                call,
                pools: self.pools.into_values().collect(),
                crew,
                tasks: self.tasks,
            },
            now: self.now,
            after_seq,
            units: self.units,
            robots: self.robots,
            people,
        }
    }
}

/// Whether a unit may be left out, and what goes with it.
#[derive(Debug, Clone, Default)]
struct Kind {
    repair: bool,
    conditional: bool,
    value: i64,
    requires: BTreeSet<usize>,
}

impl Kind {
    fn optional(&self) -> bool {
        self.repair || self.conditional
    }
}

/// A repair that may be left out takes with it what is on the list only because of it. What hangs
/// on it is worth nothing by itself, so it is in a plan exactly if something in the plan needs it.
fn kinds(today: &Today, units: &[Unit]) -> Vec<Kind> {
    let unit_of: BTreeMap<usize, usize> = units
        .iter()
        .enumerate()
        .flat_map(|(number, unit)| unit.members.iter().map(move |&index| (index, number)))
        .collect();
    let hang: BTreeSet<usize> = today.conditional.values().flatten().copied().collect();
    units
        .iter()
        .map(|unit| {
            let untouched = unit.members.iter().all(|&index| {
                matches!(
                    today.items[index].progress,
                    super::Progress::Open | super::Progress::Waiting(_)
                )
            });
            let only: Vec<&Item> = unit.members.iter().map(|&i| &today.items[i]).collect();
            let repair = untouched && only.iter().all(|item| item.def.optional());
            Kind {
                repair,
                conditional: !repair
                    && untouched
                    && unit.members.iter().all(|index| hang.contains(index)),
                value: only.iter().map(|item| i64::from(item.def.value)).sum(),
                requires: unit
                    .members
                    .iter()
                    .filter_map(|index| today.conditional.get(index))
                    .flatten()
                    .filter_map(|index| unit_of.get(index).copied())
                    .collect(),
            }
        })
        .collect()
}

/// Units that come before one: done ones are gone, and around one that may be left out its own
/// predecessors count as well.
fn after(
    units: &[Unit],
    in_plan: &[bool],
    kinds: &[Kind],
    number: usize,
    running: bool,
) -> BTreeSet<usize> {
    if running {
        return BTreeSet::new();
    }
    let mut after = BTreeSet::new();
    let mut seen = BTreeSet::new();
    let mut look: Vec<usize> = units[number].after.clone();
    while let Some(other) = look.pop() {
        if !seen.insert(other) {
            continue;
        }
        if in_plan[other] {
            after.insert(other);
        }
        if in_plan[other] && kinds[other].optional() {
            look.extend(units[other].after.iter().copied());
        }
    }
    after
}

fn open_members<'a>(today: &'a Today, unit: &'a Unit) -> impl Iterator<Item = &'a Item> {
    unit.members
        .iter()
        .map(|&index| &today.items[index])
        .filter(|item| !item.progress.is_done())
}

/// The name of a unit in the problem: robot, first task of it that is not done, area.
fn name(today: &Today, unit: &Unit) -> String {
    let first = open_members(today, unit)
        .next()
        .or_else(|| unit.members.first().map(|&index| &today.items[index]));
    first.map_or_else(String::new, |item| {
        unit_id(today.robot, &item.key.task, item.key.instance.as_deref())
    })
}

/// The name of a planned task in the problem.
pub(super) fn unit_id(robot: RobotId, task: &str, instance: Option<&str>) -> String {
    format!("{robot}/{}", labelled(task, instance))
}

/// A task with its area, as plans name what they leave out.
pub(super) fn labelled(task: &str, instance: Option<&str>) -> String {
    match instance {
        Some(area) => format!("{task}@{area}"),
        None => task.to_owned(),
    }
}

/// The name of somebody the hall lends.
pub(super) fn lent(n: usize) -> String {
    format!("lent-{n}")
}

fn access(robot: RobotId) -> String {
    format!("access:{robot}")
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes of a day, checked to be from 0 to 1440 each"
)]
fn ticks(minutes: f64) -> i64 {
    ((minutes * 60.0 / TICK_S as f64).ceil() as i64).max(1)
}

fn three_points(minutes: ThreePoint) -> [f64; 3] {
    let in_ticks = |minutes: f64| minutes * 60.0 / TICK_S as f64;
    [
        in_ticks(minutes.optimistic),
        in_ticks(minutes.likely),
        in_ticks(minutes.pessimistic),
    ]
}
