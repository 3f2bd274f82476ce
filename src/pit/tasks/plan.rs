//! From a solved problem back to people and times, and from a published plan to a start for the next.

use super::names::{labelled, lent, pool_name, unit_id};
use super::problem::{TICK_S, TeamProblem};
use crate::calc::turnaround::{Answer, Deciding, Placed, Verdict, WaitsFor as Waits, chain_to};
use crate::pit::ids::RobotId;
use crate::pit::logbook::work::{ChainLink, Planned, PlannedRobot, PlannedTask, WaitsFor};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

impl TeamProblem {
    /// The problem again without the calls that cannot be met, if `answer` misses some: a robot that
    /// is late in any case must not cost another its call or its repairs.
    ///
    /// The late robots' own optional tasks are left out.
    pub fn without_missed(&self, answer: &Answer) -> Option<Self> {
        if answer.verdict == Verdict::OnTime {
            return None;
        }
        let ends = |id: &str| answer.tasks.iter().find(|t| t.id == id).map(|t| t.end);
        let mut relaxed = self.clone();
        let mut late = BTreeSet::new();
        for task in &mut relaxed.problem.tasks {
            let missed = task
                .deadline
                .is_some_and(|deadline| ends(&task.id).is_none_or(|end| end > deadline));
            if missed {
                task.deadline = None;
                late.extend(self.units.get(&task.id).map(|unit| unit.robot));
            }
        }
        let in_time = self.robots.iter().any(|robot| {
            !late.contains(&robot.robot) && robot.call.is_some() && robot.last.is_some()
        });
        if late.is_empty() || !in_time {
            return None;
        }
        relaxed.problem.call = None;
        let gone: BTreeSet<String> = relaxed
            .problem
            .tasks
            .iter()
            .filter(|task| task.optional && late.contains(&self.units[&task.id].robot))
            .map(|task| task.id.clone())
            .collect();
        relaxed
            .problem
            .tasks
            .retain(|task| !gone.contains(&task.id));
        for task in &mut relaxed.problem.tasks {
            task.after.retain(|after| !gone.contains(&after.task));
            task.requires.retain(|other| !gone.contains(other));
        }
        Some(relaxed)
    }

    /// The problem with every call later by `by`; none without a call.
    pub(super) fn later(&self, by: TimeDelta) -> Option<Self> {
        let mut changed = self.clone();
        for robot in &mut changed.robots {
            if let Some(call) = &mut robot.call {
                call.at += by;
            }
        }
        let mut latest = None;
        for robot in &changed.robots {
            let (Some(last), Some(call)) = (&robot.last, changed.call_of(robot.robot)) else {
                continue;
            };
            let task = changed.problem.tasks.iter_mut().find(|t| t.id == *last)?;
            let deadline = call.max(task.release + task.duration);
            task.deadline = Some(deadline);
            latest = latest.max(Some(deadline));
        }
        changed.problem.call = changed.problem.call.and(latest);
        latest.map(|_| changed)
    }

    /// The plan to publish. Odds are the caller's to add.
    pub fn planned(&self, answer: &Answer) -> Planned {
        let chains: BTreeMap<RobotId, Vec<Deciding>> = self
            .robots
            .iter()
            .filter_map(|robot| {
                let last = robot.last.as_deref()?;
                Some((robot.robot, chain_to(&self.problem, answer, last)))
            })
            .collect();
        let decides = |robot: RobotId, task: &str| {
            chains
                .get(&robot)
                .is_some_and(|chain| chain.iter().any(|link| link.task == task))
        };
        let mut tasks: Vec<PlannedTask> = answer
            .tasks
            .iter()
            .filter_map(|placed| {
                let unit = self.units.get(&placed.id)?;
                let (start, people) = match &unit.running {
                    Some((since, by)) => (*since, by.clone()),
                    None => (
                        self.at(placed.start),
                        placed
                            .crew
                            .iter()
                            .filter_map(|who| self.people.get(who).copied())
                            .collect(),
                    ),
                };
                Some(PlannedTask {
                    robot: unit.robot,
                    task: unit.task.clone(),
                    instance: unit.instance.clone(),
                    start,
                    end: self.at(placed.end),
                    eight_in_ten: None,
                    people,
                    borrowed_hands: u32::try_from(unit.missing).unwrap_or(u32::MAX),
                    decides: decides(unit.robot, &placed.id),
                })
            })
            .collect();
        tasks.sort_by(|a, b| {
            (a.start, a.robot, &a.task, &a.instance).cmp(&(b.start, b.robot, &b.task, &b.instance))
        });
        let placed: BTreeSet<&str> = answer.tasks.iter().map(|t| t.id.as_str()).collect();
        let robots = self
            .robots
            .iter()
            .map(|robot| {
                let mut left_out = robot.left_out.clone();
                left_out.extend(
                    self.units
                        .iter()
                        .filter(|(id, unit)| {
                            unit.robot == robot.robot
                                && unit.optional
                                && !placed.contains(id.as_str())
                        })
                        .map(|(_, unit)| labelled(&unit.task, unit.instance.as_deref())),
                );
                PlannedRobot {
                    robot: robot.robot,
                    turnaround: robot.turnaround,
                    call: robot.call,
                    likely: self.likely(robot.last.as_deref(), answer, robot.done_at),
                    eight_in_ten: None,
                    odds: None,
                    left_out,
                    chain: chains
                        .get(&robot.robot)
                        .into_iter()
                        .flatten()
                        .filter_map(|link| self.link(link))
                        .collect(),
                }
            })
            .collect();
        Planned {
            after_seq: self.after_seq,
            robots,
            tasks,
            proven: answer.proven,
            learned: Vec::new(),
        }
    }

    /// The published task that the problem calls `id`.
    pub fn published<'a>(&self, planned: &'a mut Planned, id: &str) -> Option<&'a mut PlannedTask> {
        let unit = self.units.get(id)?;
        planned.tasks.iter_mut().find(|task| {
            (task.robot, &task.task, &task.instance) == (unit.robot, &unit.task, &unit.instance)
        })
    }

    fn link(&self, link: &Deciding) -> Option<ChainLink> {
        let unit = self.units.get(&link.task)?;
        let known = |person: &String| self.people.get(person).copied();
        let waits_for = match &link.waits_for {
            Waits::Start => None,
            Waits::Release => Some(WaitsFor::Release),
            Waits::Task { .. } => Some(WaitsFor::Task),
            Waits::Person { person, .. } => Some(WaitsFor::Person {
                person: known(person),
            }),
            Waits::Return { person } => Some(WaitsFor::Return {
                person: known(person),
            }),
            Waits::Place { pool, .. } => Some(WaitsFor::Place {
                pool: pool_name(pool),
            }),
            Waits::Reduced { pool } => Some(WaitsFor::Taken {
                pool: pool_name(pool),
            }),
        };
        Some(ChainLink {
            robot: unit.robot,
            task: unit.task.clone(),
            instance: unit.instance.clone(),
            waits_for,
        })
    }

    /// The moment of a fraction of a tick, such as a quantile of an end.
    pub fn moment(&self, ticks: f64) -> DateTime<Utc> {
        #[expect(clippy::cast_possible_truncation, reason = "a day has few ticks")]
        let whole = ticks.ceil() as i64;
        self.at(whole)
    }

    fn likely(
        &self,
        last: Option<&str>,
        answer: &Answer,
        done_at: Option<DateTime<Utc>>,
    ) -> DateTime<Utc> {
        let placed = last.and_then(|id| answer.tasks.iter().find(|task| task.id == id));
        match placed {
            Some(placed) => self.at(placed.end),
            None => done_at.unwrap_or(self.now),
        }
    }

    fn at(&self, tick: i64) -> DateTime<Utc> {
        self.now + TimeDelta::seconds(tick.saturating_mul(TICK_S))
    }

    /// The last published plan in terms of this problem, to start from: a plan that is still as good
    /// stays.
    pub fn previous(&self, planned: &Planned) -> Answer {
        let tasks = planned
            .tasks
            .iter()
            .map(|task| {
                let mut crew: Vec<String> = task.people.iter().map(ToString::to_string).collect();
                crew.extend((1..=task.borrowed_hands as usize).map(lent));
                let tick = |at: DateTime<Utc>| (at - self.now).num_seconds() / TICK_S;
                Placed {
                    id: unit_id(task.robot, &task.task, task.instance.as_deref()),
                    start: tick(task.start),
                    end: tick(task.end),
                    crew,
                }
            })
            .collect();
        Answer {
            verdict: Verdict::OnTime,
            value: 0,
            value_bound: 0,
            finish: 0,
            finish_bound: 0,
            proven: false,
            tasks,
            left_out: Vec::new(),
            deciding_chain: Vec::new(),
        }
    }
}
