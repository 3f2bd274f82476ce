//! Builds a team's problem robot by robot.

use super::hang::{after, kinds};
use super::left::{Basis, Left, left};
use super::names::{access, labelled, lent, name, open_members, three_points, ticks};
use super::problem::{Planned, Planning, TICK_S, TeamProblem};
use super::staff::{HANDS, LENT, Member, Places, places, word};
use super::today::{Progress, Today, Unit};
use crate::calc::turnaround::{After, Hands, LATEST, Person, Pool, Problem, Reduction, Task};
use crate::pit::ids::{PersonId, TeamId};
use crate::pit::library;
use crate::pit::library::tasks::{Amount, PoolOf, Skill, Whose};
use crate::pit::logbook::bout::Call;
use crate::pit::logbook::register;
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// People assumed where a team registered nobody. **Source** own starting value.
const ASSUMED_CREW: usize = 2;

/// The newcomer of a problem that asks what one more person would gain.
const ONE_MORE: &str = "one-more";
/// As many filling points as a team could use at once.
const ROOM_FOR_ALL: i64 = 100;

/// What a team has not, but might have.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct More {
    /// One more person with this skill.
    pub hand: Option<Skill>,
    /// One more charger channel.
    pub channel: bool,
    /// Nobody else at the gas bay.
    pub gas_bay_free: bool,
}

/// A problem under construction.
pub(super) struct Build<'a> {
    basis: &'a Basis,
    now: DateTime<Utc>,
    team: Vec<Member>,
    away: BTreeMap<String, Vec<[i64; 2]>>,
    lent: usize,
    pools: BTreeMap<String, Pool>,
    words: BTreeMap<String, BTreeSet<Skill>>,
    pub tasks: Vec<Task>,
    units: BTreeMap<String, Planning>,
    robots: Vec<Planned>,
}

impl<'a> Build<'a> {
    pub fn new(pit: &Pit, team: TeamId, basis: &'a Basis, more: More, now: DateTime<Utc>) -> Self {
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
        if let Some(skill) = more.hand {
            build.team.push(Member {
                id: ONE_MORE.to_owned(),
                person: None,
                skills: [skill].into(),
                present: true,
            });
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
            let size = match pool.id {
                PoolOf::ChargerChannel if more.channel => size + 1,
                PoolOf::GasBay if more.gas_bay_free => ROOM_FOR_ALL,
                _ => size,
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

    pub fn robot(
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
                let id = &names[number];
                let task = self.task(today, machine, unit, id, &left, after.collect());
                let requires = kinds[number]
                    .requires
                    .iter()
                    .filter(|&&other| in_plan[other] && kinds[other].optional())
                    .map(|&other| names[other].clone())
                    .collect();
                let packs = packs.filter(|(before, _)| unit.members.contains(before));
                // Other teams at a station come first: the pools here are this team's alone.
                let turn = self
                    .basis
                    .turn(today, unit)
                    .filter(|_| left.since.is_none());
                let release = packs.map(|(_, at)| at).max(turn);
                self.tasks.push(Task {
                    release: release.map_or(0, |at| self.tick_after(at)),
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
                Progress::Done { at, .. } => Some(at),
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
        machine: register::Machine,
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
                machine,
                task: first.map_or_else(String::new, |item| item.key.task.clone()),
                instance: first.and_then(|item| item.key.instance.clone()),
                single: open_members(today, unit).count() == 1,
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

    pub fn done(self, after_seq: i64) -> TeamProblem {
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
