//! Will a robot be ready for its next bout? Forecast, what it rests on, and what holds it up.
//!
//! In this order: on hold, ready, late, tight, on course. Slack is to the call at the arena queue.

use super::hazards::{Hazard, hazards};
use super::ids::{PersonId, RobotId};
use super::logbook::bout::{self, Call};
use super::logbook::register::Slot;
use super::logbook::work::{Planned, PlannedRobot};
use super::logbook::{Body, Role};
use super::state::sight::earliest;
use super::state::{Pit, RobotFile, View};
use super::tasks::left::shortest;
use super::tasks::{self, Basis, Progress, TaskKey, Today, after_next_bout};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;

/// With odds below this of being ready by the call a robot's time is tight.
/// **Source** own starting value.
const ODDS_TIGHT: f64 = 0.8;

/// A forecast for a robot's next bout.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Forecast {
    /// Nothing is left to do.
    Ready,
    /// There is time.
    OnCourse,
    /// There is little time, or the odds are poor.
    Tight,
    /// The call is missed, as things go.
    Late,
    /// Something stands that no planned task clears.
    OnHold,
    /// Its team entered nothing for long.
    NoWord,
}

impl Forecast {
    /// The words on pages.
    pub fn words(self) -> &'static str {
        match self {
            Self::Ready => "ready",
            Self::OnCourse => "on course",
            Self::Tight => "tight",
            Self::Late => "late",
            Self::OnHold => "on hold",
            Self::NoWord => "no word",
        }
    }
}

/// What a forecast rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RestsOn {
    /// What was reported, last at this time.
    Reported(DateTime<Utc>),
    /// The library's minutes alone: nobody has entered anything since the list began.
    Assumed,
}

/// The first thing that holds a robot up.
#[derive(Debug, Clone, PartialEq)]
pub enum HoldUp {
    /// A hazard.
    Hazard {
        /// Id of its rule.
        rule: &'static str,
        /// What it is called.
        title: &'static str,
    },
    /// A task that is not done.
    Task {
        /// Which.
        key: TaskKey,
        /// What it is called.
        name: String,
        /// Since when somebody is on it.
        since: Option<DateTime<Utc>>,
        /// Who.
        by: Vec<PersonId>,
    },
    /// Somebody said that it will not be there.
    WillNotCome,
}

/// A robot's readiness for its next bout.
#[derive(Debug, Clone, PartialEq)]
pub struct Readiness {
    /// The bout and its call.
    pub call: Call,
    /// What has to happen before it is this robot's bout.
    pub if_first: Option<Slot>,
    /// The forecast.
    pub forecast: Forecast,
    /// What it rests on.
    pub rests_on: RestsOn,
    /// When it is likely to be reported in the arena queue.
    pub likely: DateTime<Utc>,
    /// From then to the call; negative if late.
    pub slack: TimeDelta,
    /// When it is by eight times in ten, by the last plan.
    pub eight_in_ten: Option<DateTime<Utc>>,
    /// Chance of being ready by the call, by the last plan.
    pub odds: Option<f64>,
    /// The first thing that holds it up.
    pub held_up_by: Option<HoldUp>,
    /// The last answer to the call.
    pub answer: Option<(bout::Answer, DateTime<Utc>)>,
}

/// Readiness of `robot` for its next bout at `now`; none without a next bout.
///
/// `today` is its list, `hazards` what stands against it.
pub fn readiness(
    pit: &Pit,
    robot: RobotId,
    today: &Today,
    hazards: &[Hazard],
    now: DateTime<Utc>,
) -> Option<View<Readiness>> {
    let file = pit.robot(robot)?;
    let next = pit.next_bout(robot)?;
    let call = Call {
        bout: next.bout.id,
        at: next.bout.call,
    };
    let likely = likely(pit, robot, file, today, call, now);
    let answer = answer(file, call);
    let settings = pit.settings();
    let tight = TimeDelta::minutes(i64::from(settings.tight_min.get()));

    let heard = heard(file, today, answer);
    let no_word = TimeDelta::minutes(i64::from(settings.no_word_min.get()));
    let quiet_until = silence_from(file, today, answer) + no_word;
    let word_due = at_work_until(today).map_or(quiet_until, |until| until.max(quiet_until));
    let silent = now >= word_due && file.state.in_bout.is_none();
    let slack = call.at - likely.at;
    let hold = hazards.iter().find(|hazard| hazard.holds());
    let said_ready = matches!(answer, Some((bout::Answer::Ready, _, official)) if official);
    let all_done = today.all_done() && file.state.in_bout.is_none();
    let poor = likely.odds.is_some_and(|odds| odds < ODDS_TIGHT);
    let forecast = if hold.is_some() {
        Forecast::OnHold
    } else if all_done || said_ready {
        Forecast::Ready
    } else if silent {
        Forecast::NoWord
    } else if slack < TimeDelta::zero() || matches!(answer, Some((bout::Answer::Not, ..))) {
        Forecast::Late
    } else if slack < tight || poor {
        Forecast::Tight
    } else {
        Forecast::OnCourse
    };
    let held_up_by = match forecast {
        Forecast::OnHold => hold.map(|hazard| HoldUp::Hazard {
            rule: hazard.rule,
            title: hazard.title,
        }),
        Forecast::Ready => None,
        _ if matches!(answer, Some((bout::Answer::Not, ..))) => Some(HoldUp::WillNotCome),
        _ => first_task(&likely, pit, today, file, now),
    };
    let changes_at = earliest(likely.changes_at, Some(word_due).filter(|due| now < *due));
    Some(View {
        value: Readiness {
            call,
            if_first: next.if_first,
            forecast,
            rests_on: heard,
            likely: likely.at,
            slack,
            eight_in_ten: likely.eight_in_ten,
            odds: likely.odds,
            held_up_by,
            answer: answer.map(|(answer, at, _)| (answer, at)),
        },
        changes_at,
    })
}

/// Readiness of every robot that has a next bout, at `now`.
pub fn of_all(pit: &Pit, now: DateTime<Utc>) -> View<BTreeMap<RobotId, Readiness>> {
    let mut all = View {
        value: BTreeMap::new(),
        changes_at: None,
    };
    for (robot, file) in &pit.robots {
        let Some(today) = tasks::today(pit, *robot).filter(|_| !file.register.body.retired) else {
            continue;
        };
        let found = hazards(pit, *robot, &tasks::work(pit, &today), now);
        if let Some(ready) = readiness(pit, *robot, &today, &found.value, now) {
            let changes_at = earliest(found.changes_at, ready.changes_at);
            all.changes_at = earliest(all.changes_at, changes_at);
            all.value.insert(*robot, ready.value);
        }
    }
    all
}

/// When a robot is likely to be ready, and where that comes from.
struct Likely<'a> {
    at: DateTime<Utc>,
    odds: Option<f64>,
    eight_in_ten: Option<DateTime<Utc>>,
    plan: Option<&'a Planned>,
    changes_at: Option<DateTime<Utc>>,
}

fn likely<'a>(
    pit: &'a Pit,
    robot: RobotId,
    file: &RobotFile,
    today: &Today,
    call: Call,
    now: DateTime<Utc>,
) -> Likely<'a> {
    let settings = pit.settings();
    let basis = Basis::published(pit, file.register.body.team);
    let mut likely = Likely {
        at: now,
        odds: None,
        eight_in_ten: None,
        plan: None,
        changes_at: None,
    };
    if let Some(bout) = pit.current_bout(robot) {
        // Its next list is not known yet: the bout, then a turnaround in which nothing broke.
        let began = match bout.progress {
            super::state::running_order::Progress::Started(at) => at,
            _ => now,
        };
        let over = began + TimeDelta::minutes(i64::from(settings.bout_min.get()));
        let clean = after_next_bout(pit, robot);
        let minutes = clean.map_or(0.0, |clean| shortest(&clean, file, &basis, now).0);
        likely.at = over.max(now) + minutes_long(minutes);
        likely.changes_at = Some(over.max(now + TimeDelta::minutes(1)));
        return likely;
    }
    let (minutes, _) = shortest(today, file, &basis.with_queues(pit, now), now);
    let soonest = now + minutes_long(minutes);
    likely.at = soonest;
    if let Some((plan, planned)) = plan_for(pit, file, robot, today) {
        likely.plan = Some(plan);
        if planned.call == Some(call) {
            likely.odds = planned.odds;
        }
        likely.eight_in_ten = planned.eight_in_ten;
        likely.at = planned.likely.max(soonest);
    }
    if let Some((bout::Answer::Need(need), at, _)) = answer(file, call) {
        likely.at = likely
            .at
            .max(at + TimeDelta::minutes(i64::from(need.get())));
    }
    if !today.all_done() {
        // The plan runs out of its own time once the longest chain reaches past it.
        likely.changes_at = Some(if likely.at > soonest {
            now + (likely.at - soonest).min(TimeDelta::hours(24))
        } else {
            now + TimeDelta::minutes(1)
        });
    }
    likely
}

/// The last published plan, if it is for the list in hand.
fn plan_for<'a>(
    pit: &'a Pit,
    file: &RobotFile,
    robot: RobotId,
    today: &Today,
) -> Option<(&'a Planned, &'a PlannedRobot)> {
    let line = pit.plans.get(&file.register.body.team)?;
    let Body::Planned(plan) = &line.body else {
        return None;
    };
    let planned = plan
        .robots
        .iter()
        .find(|planned| planned.robot == robot && planned.turnaround == today.hand.turnaround)?;
    Some((plan, planned))
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes of a list of tasks of at most a day each"
)]
fn minutes_long(minutes: f64) -> TimeDelta {
    TimeDelta::seconds((minutes * 60.0).round() as i64)
}

/// The last answer for this bout, when it was given, and whether an official gave it.
fn answer(file: &RobotFile, call: Call) -> Option<(bout::Answer, DateTime<Utc>, bool)> {
    let (bout, sight) = file.state.answer.as_ref()?;
    let since = file.state.turnaround_began;
    let meant = match bout {
        Some(bout) => *bout == call.bout,
        None => since.is_none_or(|since| sight.at >= since),
    };
    let official = matches!(
        sight.entered_by.role,
        Role::Official | Role::Marshal | Role::Organiser
    );
    meant.then_some((sight.value, sight.at, official))
}

type Given = Option<(bout::Answer, DateTime<Utc>, bool)>;

fn heard(file: &RobotFile, today: &Today, answer: Given) -> RestsOn {
    let word = file
        .state
        .last_word
        .filter(|at| today.hand.facts_from.is_none_or(|from| *at >= from));
    match word.max(answer.map(|(_, at, _)| at)) {
        Some(at) => RestsOn::Reported(at),
        None => RestsOn::Assumed,
    }
}

/// Since when nothing was heard: the last word, the beginning of the list, or the registration.
fn silence_from(file: &RobotFile, today: &Today, answer: Given) -> DateTime<Utc> {
    [
        file.state.last_word,
        today.hand.began,
        answer.map(|(_, at, _)| at),
    ]
    .into_iter()
    .flatten()
    .fold(file.register.recorded_at, DateTime::max)
}

/// Until when somebody who said that they are on a task need not say it again: it may take its time.
fn at_work_until(today: &Today) -> Option<DateTime<Utc>> {
    let running = today.items.iter().filter_map(|item| match &item.progress {
        Progress::Running { since, .. } => {
            Some(*since + minutes_long(item.def.minutes.pessimistic))
        }
        _ => None,
    });
    running.max()
}

/// The task that holds a robot up first: of the plan's deciding chain, or of the longest.
fn first_task(
    likely: &Likely<'_>,
    pit: &Pit,
    today: &Today,
    file: &RobotFile,
    now: DateTime<Utc>,
) -> Option<HoldUp> {
    let open = |id: &str, area: Option<&str>| {
        today
            .open()
            .find(|(_, item)| item.is(id, area))
            .map(|(index, _)| index)
    };
    let decides = likely.plan.and_then(|plan| {
        plan.tasks
            .iter()
            .filter(|task| task.robot == today.robot && task.decides)
            .filter_map(|task| Some((task.start, open(&task.task, task.instance.as_deref())?)))
            .min_by_key(|(start, _)| *start)
            .map(|(_, index)| index)
    });
    let index = decides.or_else(|| {
        let basis = Basis::published(pit, file.register.body.team).with_queues(pit, now);
        shortest(today, file, &basis, now).1
    })?;
    let item = &today.items[index];
    let (since, by) = match &item.progress {
        Progress::Running { since, by, .. } => (Some(*since), by.clone()),
        _ => (None, Vec::new()),
    };
    Some(HoldUp::Task {
        key: item.key.clone(),
        name: item.def.name.clone(),
        since,
        by,
    })
}

#[cfg(test)]
mod tests;
