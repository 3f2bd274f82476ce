//! What a team's own work teaches about how long its tasks take.
//!
//! Per team, machine type and task. A time teaches only if somebody said when it began and when it
//! ended, at about those moments; the rest is counted and shown, and teaches nothing.

use super::problem::{TICK_S, TeamProblem};
use super::today::{Item, Progress, Today, lists};
use crate::calc::durations::{Learned, PertBeta};
use crate::calc::turnaround::{Day, Draw};
use crate::pit::ids::{PersonId, RobotId, TeamId};
use crate::pit::logbook::register::{Machine, ThreePoint};
use crate::pit::logbook::work::{LearnedMinutes, TaskState};
use crate::pit::logbook::{Body, Line};
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;

/// A word that reaches the logbook later than this after its moment is from memory.
/// **Source** own starting value.
const LATE: TimeDelta = TimeDelta::minutes(2);
/// What one person ends within this of something else was closed together with it.
/// **Source** own starting value.
const TOGETHER: TimeDelta = TimeDelta::seconds(20);
/// Shorter than a quarter of the shortest minutes, or longer than three times the longest, is no
/// account of the task. **Source** own starting values.
const PLAUSIBLE: (f64, f64) = (0.25, 3.0);
/// How a day goes before anything is known: all tasks of a turnaround a tenth longer or shorter.
/// Worth two turnarounds. **Source** own starting values.
const DAY_SPREAD: f64 = 0.1;
const DAY_WORTH: f64 = 2.0;
/// The shortest, likely and longest minutes of a learned task are these quantiles of it.
const POINTS: [f64; 3] = [0.02, 0.5, 0.98];
/// Longer minutes are no minutes of a task.
const MOST_MIN: f64 = 1_440.0;

/// Why a time teaches nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Untaught {
    /// Nobody said when it began.
    NotTimed,
    /// It was entered from memory, or after its person had begun something else.
    TickedLate,
    /// It was closed together with other tasks.
    ClosedTogether,
    /// It is far from anything the task can take.
    Implausible,
}

/// What is known of a task's duration.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// What it is called.
    pub name: String,
    /// The library's minutes.
    pub library: ThreePoint,
    /// How many times taught.
    pub used: u32,
    /// How many did not, and why.
    pub unused: BTreeMap<Untaught, u32>,
    learned: Option<Learned>,
}

impl Lesson {
    /// The time that is not passed with chance `p`, once something is learned. **Units** minutes.
    pub fn quantile(&self, p: f64) -> Option<f64> {
        let learned = self.learned.filter(|_| self.used > 0)?;
        Some(learned.quantile(p).min(MOST_MIN))
    }

    /// The minutes to plan with, once something is learned.
    ///
    /// **Assumptions** a learned time has no mean, so its points are quantiles.
    pub fn minutes(&self) -> Option<ThreePoint> {
        let [optimistic, likely, pessimistic] = POINTS.map(|p| self.quantile(p));
        Some(ThreePoint {
            optimistic: optimistic?,
            likely: likely?,
            pessimistic: pessimistic?,
        })
    }
}

/// A task of a machine type, and the minutes it took once.
type Time = ((Machine, String), f64);

/// Everything a team's work teaches.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lessons {
    /// By machine type and id in the library; every task that was ever ended.
    pub tasks: BTreeMap<(Machine, String), Lesson>,
    /// Lists with at least two times that teach: how the day goes is learned from them.
    pub lists: usize,
    /// Spread of the logarithm of the factor by which a whole turnaround is longer or shorter.
    pub day_spread: f64,
}

impl Lessons {
    /// Reads what a team's robots have behind them, and the list in hand.
    pub fn of(pit: &Pit, team: TeamId) -> Self {
        let mut lessons = Self::default();
        let mut times: BTreeMap<(RobotId, u32), Vec<Time>> = BTreeMap::new();
        for (robot, file) in pit.robots_of(team) {
            let machine = file.register.body.machine;
            for list in lists(pit, robot, file) {
                let ended = ended(&list, file);
                for one in &ended {
                    let key = (machine, one.item.key.task.clone());
                    let lesson = lessons.lesson(&key, one.item);
                    match one.teaches(&ended, file) {
                        Ok(minutes) => {
                            lesson.used += 1;
                            lesson.learned =
                                lesson.learned.map(|learned| learned.after(&[minutes]));
                            times
                                .entry((robot, list.hand.turnaround))
                                .or_default()
                                .push((key, minutes));
                        }
                        Err(why) => *lesson.unused.entry(why).or_default() += 1,
                    }
                }
            }
        }
        lessons.learn_day(times.into_values());
        lessons
    }

    fn lesson(&mut self, key: &(Machine, String), item: &Item) -> &mut Lesson {
        self.tasks.entry(key.clone()).or_insert_with(|| Lesson {
            name: item.def.name.clone(),
            library: item.def.minutes,
            used: 0,
            unused: BTreeMap::new(),
            learned: first_guess(item.def.minutes),
        })
    }

    /// The spread between whole turnarounds, what tasks differ within one taken off, and pulled
    /// towards the starting value as long as there are few.
    fn learn_day(&mut self, lists: impl Iterator<Item = Vec<Time>>) {
        let days: Vec<Vec<(f64, f64)>> = lists
            .map(|times| {
                let pair =
                    |(key, minutes): Time| Some((self.tasks.get(&key)?.quantile(0.5)?, minutes));
                times.into_iter().filter_map(pair).collect()
            })
            .filter(|pairs: &Vec<_>| pairs.len() >= 2)
            .collect();
        self.lists = days.len();
        let mut seen = 0.0;
        let mut worth = DAY_WORTH;
        // One turnaround alone says nothing about how turnarounds differ.
        if days.len() >= 2 {
            let day = Day::learned(&days);
            seen = days.len() as f64 * day.deviation_of_log.powi(2);
            worth += days.len() as f64;
        }
        self.day_spread = ((DAY_WORTH * DAY_SPREAD.powi(2) + seen) / worth).sqrt();
    }

    /// Minutes to plan with, of the tasks of which something is learned.
    pub(super) fn minutes(&self) -> BTreeMap<(Machine, String), ThreePoint> {
        self.tasks
            .iter()
            .filter_map(|(key, lesson)| Some((key.clone(), lesson.minutes()?)))
            .collect()
    }

    /// The same, as a published plan names them.
    pub(super) fn published(&self) -> Vec<LearnedMinutes> {
        self.tasks
            .iter()
            .filter_map(|((machine, task), lesson)| {
                Some(LearnedMinutes {
                    machine: *machine,
                    task: task.clone(),
                    minutes: lesson.minutes()?,
                    used: lesson.used,
                })
            })
            .collect()
    }

    /// How to draw for a team's problem. What is under way draws from what is left of its points.
    pub(super) fn draw(&self, team: &TeamProblem, samples: usize) -> Draw {
        let ticks_a_minute = 60.0 / TICK_S as f64;
        let learned = team
            .units
            .iter()
            .filter(|(_, unit)| unit.single && unit.running.is_none())
            .filter_map(|(id, unit)| {
                let lesson = self.tasks.get(&(unit.machine, unit.task.clone()))?;
                let learned = lesson.learned.filter(|_| lesson.used > 0)?;
                Some((id.clone(), learned.times(ticks_a_minute)?))
            })
            .collect();
        Draw {
            samples,
            day: Day {
                mean_of_log: 0.0,
                deviation_of_log: self.day_spread,
            },
            learned,
            ..Draw::default()
        }
    }
}

/// What the library's minutes say before anything is learned.
fn first_guess(minutes: ThreePoint) -> Option<Learned> {
    let points = [minutes.optimistic, minutes.likely, minutes.pessimistic];
    let (p10, p90) = match PertBeta::new(points) {
        Some(pert) => (pert.quantile(0.1), pert.quantile(0.9)),
        // A task that is said to take always the same may still differ by a fifth.
        None => (minutes.likely / 1.2, minutes.likely * 1.2),
    };
    Learned::from_p10_p90(p10, p90)
}

/// A task that ended.
struct Ended<'a> {
    item: &'a Item,
    since: Option<DateTime<Utc>>,
    at: DateTime<Utc>,
    by: Option<PersonId>,
    line: Option<&'a Line>,
}

fn ended<'a>(list: &'a Today, file: &'a RobotFile) -> Vec<Ended<'a>> {
    list.items
        .iter()
        // What goes on by itself is the charger's to say, not the crew's.
        .filter(|item| !item.def.passive)
        .filter_map(|item| match &item.progress {
            Progress::Done {
                since,
                at,
                by,
                line,
            } => Some(Ended {
                item,
                since: *since,
                at: *at,
                by: *by,
                line: file
                    .lines
                    .iter()
                    .find(|known| known.id == *line)
                    .map(AsRef::as_ref),
            }),
            _ => None,
        })
        .collect()
}

impl Ended<'_> {
    /// The minutes it took, if they teach.
    fn teaches(&self, all: &[Ended<'_>], file: &RobotFile) -> Result<f64, Untaught> {
        let since = self.since.ok_or(Untaught::NotTimed)?;
        let alone = !all.iter().any(|other| {
            !std::ptr::eq(self, other)
                && other.by == self.by
                && (other.at - self.at).abs() <= TOGETHER
        });
        if !alone {
            return Err(Untaught::ClosedTogether);
        }
        let begun = file
            .lines
            .iter()
            .find(|line| line.at == since && self.is_begun_by(line));
        let fresh = |line: &Line| !line.clock_doubtful && line.recorded_at - line.at <= LATE;
        let overtaken = all.iter().any(|other| {
            !std::ptr::eq(self, other)
                && other.by == self.by
                && other
                    .since
                    .is_some_and(|began| since < began && began < self.at)
        });
        if overtaken || !self.line.is_some_and(fresh) || !begun.is_some_and(|line| fresh(line)) {
            return Err(Untaught::TickedLate);
        }
        let minutes = super::left::minutes_between(since, self.at);
        let library = self.item.def.minutes;
        let least = PLAUSIBLE.0 * library.optimistic;
        let most = PLAUSIBLE.1 * library.pessimistic;
        if minutes < least || minutes > most || minutes <= 0.0 {
            return Err(Untaught::Implausible);
        }
        Ok(minutes)
    }

    fn is_begun_by(&self, line: &Line) -> bool {
        match &line.body {
            Body::Task(task) => {
                task.state == TaskState::Started
                    && self.item.is(
                        task.task.as_str(),
                        task.instance.as_ref().map(|area| area.as_str()),
                    )
            }
            _ => false,
        }
    }
}

#[cfg(test)]
mod tests;
