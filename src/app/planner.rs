//! Publishes turnaround plans and wakes the pages when something changes by time alone.
//!
//! One task per open event. A plan is made anew when a line about the team arrives or a minute has
//! passed, and published only if people would notice the difference.

use super::{App, AppError, Event};
use crate::live::Change;
use crate::pit::hazards::hazards;
use crate::pit::ids::{EventId, LineId, RobotId, Subject, TeamId};
use crate::pit::logbook::{Author, Body, Draft, Role};
use crate::pit::readiness::readiness;
use crate::pit::state::Pit;
use crate::pit::state::sight::earliest;
use crate::pit::tasks::{self, publish};
use crate::store::logbook::Entry;
use crate::store::turn::Turn;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, Weak};
use std::time::{Duration, Instant};
use tokio::sync::broadcast::error::RecvError;

/// How often to look whether something is due: the clock of a demo may run fast.
const LOOK: Duration = Duration::from_millis(250);
/// A plan is made anew after this time although nobody entered anything.
const AGAIN: TimeDelta = TimeDelta::minutes(1);
/// Time the solver may take for one plan, whatever its steps are worth on this computer.
const TIME: Duration = Duration::from_millis(150);

/// Watches over every event that is open, until the app ends.
pub async fn watch_all(app: Arc<App>) {
    let mut watched: BTreeSet<EventId> = BTreeSet::new();
    loop {
        for event in app.events.all_open() {
            if watched.insert(event.id()) {
                tokio::spawn(watch(app.clone(), Arc::downgrade(&event)));
            }
        }
        tokio::time::sleep(Duration::from_secs(1)).await;
    }
}

/// Watches over one event as long as it is open.
async fn watch(app: Arc<App>, event: Weak<Event>) {
    let Some(mut changes) = event.upgrade().map(|event| event.hub().listen()) else {
        return;
    };
    let mut due = Due::default();
    let mut turn: Option<Turn> = None;
    let mut known = 0;
    loop {
        let heard = tokio::time::timeout(LOOK, changes.recv()).await;
        let Some(event) = event.upgrade() else { return };
        let now = app.clock.now();
        let pit = event.pit();
        match heard {
            // Word without a new line is this watch's own: time passed, nobody entered anything.
            Ok(Ok(change)) if change.last_seq <= known => {}
            Ok(Ok(change)) => {
                known = change.last_seq;
                due.touch(&pit, &change.subjects);
            }
            // Changes were missed, or nothing was heard yet: everything may have changed.
            Ok(Err(RecvError::Lagged(_))) => due = Due::default(),
            Ok(Err(RecvError::Closed)) => return,
            Err(_) => {}
        }
        due.wake(&event, &pit, now);
        let teams = due.teams_to_plan(&pit, now);
        if teams.is_empty() || !have_turn(&app, &event, &mut turn).await {
            continue;
        }
        for team in teams {
            if let Err(cause) = plan_anew(&event, team, now).await {
                tracing::warn!(%cause, team.id = %team, "a plan could not be published");
            }
        }
    }
}

/// Whether this process publishes the plans of the event: one does it for all.
async fn have_turn(app: &App, event: &Event, turn: &mut Option<Turn>) -> bool {
    if let Some(kept) = turn
        && kept.lasts().await
    {
        return true;
    }
    *turn = Turn::take(app.pool.access(), event.id())
        .await
        .unwrap_or_default();
    turn.is_some()
}

/// What is due when.
#[derive(Default)]
struct Due {
    /// When each robot changes by time alone; absent: not looked at since it was touched.
    robots: BTreeMap<RobotId, Option<DateTime<Utc>>>,
    /// When each team was planned last; absent: it is to be planned now.
    planned: BTreeMap<TeamId, DateTime<Utc>>,
}

impl Due {
    fn touch(&mut self, pit: &Pit, subjects: &[Subject]) {
        for subject in subjects {
            match (subject, pit.team_of(*subject)) {
                (Subject::Robot(robot), team) => {
                    self.robots.remove(robot);
                    team.map(|team| self.planned.remove(&team));
                }
                // A published plan is about its team, and no reason for another.
                (Subject::Team(_), _) => {}
                (_, Some(team)) => {
                    self.planned.remove(&team);
                }
                (_, None) => *self = Self::default(),
            }
        }
    }

    /// Tells whoever looks at a robot that it is not the same any more, by time alone.
    fn wake(&mut self, event: &Event, pit: &Pit, now: DateTime<Utc>) {
        let mut woken = Vec::new();
        for robot in pit.robots.keys() {
            match self.robots.get(robot) {
                Some(None) => continue,
                Some(Some(at)) if *at > now => continue,
                Some(Some(_)) => woken.push(Subject::Robot(*robot)),
                None => {}
            }
            self.robots.insert(*robot, changes_at(pit, *robot, now));
        }
        if !woken.is_empty() {
            event.hub().publish(Change {
                last_seq: pit.last_seq,
                subjects: woken.into(),
            });
        }
    }

    fn teams_to_plan(&mut self, pit: &Pit, now: DateTime<Utc>) -> Vec<TeamId> {
        let teams: Vec<TeamId> = pit
            .teams
            .keys()
            .filter(|team| self.planned.get(team).is_none_or(|at| now - *at >= AGAIN))
            .copied()
            .collect();
        for team in &teams {
            self.planned.insert(*team, now);
        }
        teams
    }
}

/// When what is said of a robot changes although nobody enters anything.
fn changes_at(pit: &Pit, robot: RobotId, now: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let today = tasks::today(pit, robot)?;
    let hazards = hazards(pit, robot, &tasks::work(pit, &today), now);
    let ready = readiness(pit, robot, &today, &hazards.value, now);
    earliest(hazards.changes_at, ready.and_then(|view| view.changes_at))
}

/// Makes a team's plan and publishes it if people would notice the difference.
async fn plan_anew(event: &Event, team: TeamId, now: DateTime<Utc>) -> Result<(), AppError> {
    let pit = event.pit();
    let planning = {
        let pit = pit.clone();
        tokio::task::spawn_blocking(move || {
            let begun = Instant::now();
            publish::plan(&pit, team, now, &|| begun.elapsed() > TIME)
        })
    };
    let Some(planned) = planning.await.map_err(AppError::bug)? else {
        return Ok(());
    };
    if publish::last_plan(&pit, team).is_some_and(|last| !publish::differs(last, &planned)) {
        return Ok(());
    }
    let entry = Entry {
        at: now,
        clock_doubtful: false,
        recorded_at: now,
        entered_by: Author {
            person: None,
            role: Role::Program,
        },
        draft: Draft {
            id: plan_id(team, now),
            at: now,
            seen_by: None,
            subject: Subject::Team(team),
            how: None,
            corrects: None,
            if_revision: None,
            body: Body::Planned(planned),
        },
    };
    event.record(vec![entry]).await?;
    Ok(())
}

/// The id of a team's plan of a moment.
fn plan_id(team: TeamId, now: DateTime<Utc>) -> LineId {
    let since_epoch_ms = u64::try_from(now.timestamp_millis()).unwrap_or(0);
    let [.., a, b, c, d, e, f] = *team.0.as_bytes();
    let [.., x, y] = now.timestamp_subsec_micros().to_be_bytes();
    let bits = [0xfe, a, b, c, d, e, f, x, y, 0];
    LineId(uuid::Builder::from_unix_timestamp_millis(since_epoch_ms, &bits).into_uuid())
}
