//! Plays the demo: enters its past as it would have been entered, then goes on as time passes.

use super::cast::{MARSHALS, OFFICIALS, ORGANISER, ROBOTS, TEAMS};
use super::day::{Day, Kit};
use super::entry::{Cast, Entered, enter, harbour};
use super::plot;
use super::programme::{SPACING, programme};
use crate::app::door::{self, Enterer, MOST_LINES};
use crate::app::receive::receive;
use crate::app::sessions::CodeFor;
use crate::app::{App, AppError, Event, clock::Clock, people};
use crate::calc::units::Name;
use crate::pit::ids::{EventId, TeamId};
use crate::pit::logbook::{Author, Role};
use crate::pit::state::Pit;
use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// From coming in to the first call.
const TO_FIRST_CALL: TimeDelta = TimeDelta::hours(4);
/// The bout whose robots have just been armed when the demo begins, counted from 0.
const BOUT_NOW: i32 = 15;
/// How long ago that bout was called.
const INTO_CALL: TimeDelta = TimeDelta::seconds(150);

/// A clock that goes faster than this computer's.
#[derive(Debug, Clone, Copy)]
pub struct FastClock {
    from: DateTime<Utc>,
    begun: Instant,
    speed: f64,
}

impl FastClock {
    /// A clock that shows `from` now and goes `speed` times as fast.
    #[must_use]
    pub fn new(from: DateTime<Utc>, speed: f64) -> Self {
        Self {
            from,
            begun: Instant::now(),
            speed,
        }
    }
}

impl Clock for FastClock {
    fn now(&self) -> DateTime<Utc> {
        let passed = self.begun.elapsed().mul_f64(self.speed);
        let passed = TimeDelta::from_std(passed).unwrap_or(TimeDelta::MAX);
        (self.from + passed).trunc_subsecs(6)
    }
}

/// A demo whose past is entered.
pub struct Demo {
    /// The event.
    pub event: Arc<Event>,
    /// A role in words, and the code that signs in to it.
    pub doors: Vec<(String, String)>,
    day: Day,
}

impl Demo {
    /// Founds the event and enters its past.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn found(app: &App) -> Result<Self, AppError> {
        let now = app.clock.now();
        let began = now - INTO_CALL - SPACING * BOUT_NOW - TO_FIRST_CALL;
        let bouts = programme(began + TO_FIRST_CALL);
        let cast = Cast {
            event: harbour(now),
            organiser: ORGANISER,
            marshals: &MARSHALS,
            officials: &OFFICIALS,
            teams: &TEAMS,
            robots: &ROBOTS,
            bouts: &bouts,
        };
        let id = EventId(app.ids.id(now));
        let [.., s0, s1, s2, s3] = *id.0.as_bytes();
        let entered = enter(&cast, began, u32::from_be_bytes([s0, s1, s2, s3]));
        let event = register(app, id, &entered, began).await?;
        let doors = open_doors(app, &event, &entered.kit, now).await?;
        let turns = plot::turns(&entered.kit, now);
        let told = plot::told(&entered.kit, now, || app.ids.id(now));
        let mut demo = Self {
            event,
            doors,
            day: Day::new(entered.kit, turns, began),
        };
        while demo.day.next_at().is_some_and(|at| at <= now) {
            demo.step(None).await?;
        }
        for step in told {
            door::hand_in(&demo.event, step.who, step.drafts, None, step.at, "/lines").await?;
        }
        Ok(demo)
    }

    /// Goes on until the day is over, as `app`'s clock passes.
    pub async fn go_on(mut self, app: Arc<App>, speed: f64) {
        while let Some(at) = self.day.next_at() {
            let wait = (at - app.clock.now()).to_std().unwrap_or(Duration::ZERO);
            tokio::time::sleep(wait.div_f64(speed)).await;
            if let Err(cause) = self.step(Some(app.clock.now())).await {
                tracing::warn!(%cause, "the demo could not enter something");
            }
        }
        tracing::info!("the day of the demo is over");
    }

    /// Enters what happens next, at `now`, or at its own time if that lies in the past.
    async fn step(&mut self, now: Option<DateTime<Utc>>) -> Result<(), AppError> {
        let Some(step) = self.day.next(&self.event.pit()) else {
            return Ok(());
        };
        let now = now.unwrap_or(step.at);
        door::hand_in(&self.event, step.who, step.drafts, None, now, "/lines").await?;
        Ok(())
    }
}

/// Enters the register, as the organiser did before the day.
async fn register(
    app: &App,
    id: EventId,
    entered: &Entered,
    began: DateTime<Utc>,
) -> Result<Arc<Event>, AppError> {
    let who = Enterer {
        author: Author {
            person: None,
            role: Role::Organiser,
        },
        team: None,
    };
    let mut drafts = entered.drafts.clone();
    let rest = drafts.split_off(1);
    let first = drafts
        .into_iter()
        .map(|draft| receive(draft, None, began, who.author, Pit::default().settings()))
        .collect();
    app.events.found(id, began, None, first).await?;
    let event = app.events.open(id).await?;
    for some in rest.chunks(MOST_LINES) {
        door::hand_in(&event, who, some.to_vec(), None, began, "/lines").await?;
    }
    for (person, name) in &entered.names {
        let name = Name::new(name).map_err(AppError::bug)?;
        people::name(app, &event, *person, &name).await?;
    }
    Ok(event)
}

/// A way in for each role.
async fn open_doors(
    app: &App,
    event: &Event,
    kit: &Kit,
    now: DateTime<Utc>,
) -> Result<Vec<(String, String)>, AppError> {
    let first: Option<TeamId> = kit.teams.first().map(|team| team.id);
    let of = |role: &str| match TEAMS.first() {
        Some(team) => format!("{role} of {}", team.name),
        None => role.to_owned(),
    };
    let mut doors = Vec::new();
    for (name, role, team) in [
        (of("crew"), Role::Crew, first),
        (of("lead"), Role::Lead, first),
        ("official".to_owned(), Role::Official, None),
        ("marshal".to_owned(), Role::Marshal, None),
        ("organiser".to_owned(), Role::Organiser, None),
        ("wall".to_owned(), Role::Wall, None),
    ] {
        let what = CodeFor {
            event: event.id(),
            team,
            role,
            expires_at: now + TimeDelta::days(14),
            uses: None,
        };
        doors.push((name, app.sessions.make_code(None, what).await?));
    }
    Ok(doors)
}
