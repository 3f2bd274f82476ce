//! Plays the demo: enters its past as it would have been entered, then goes on as time passes.

use super::cast::{EVENT, MARSHALS, OFFICIALS, ORGANISER, ROBOTS, TEAMS};
use super::day::{Day, Kit, Step};
use super::entry::{Cast, Entered, enter, harbour};
use super::plot;
use super::programme::{SPACING, programme};
use crate::app::door::{self, Enterer, MOST_LINES};
use crate::app::receive::receive;
use crate::app::sessions::CodeFor;
use crate::app::{App, AppError, Event, clock::Clock, people};
use crate::calc::units::Name;
use crate::pit::ids::{EventId, TeamId};
use crate::pit::logbook::{Author, Role, register};
use crate::pit::state::Pit;
use chrono::{DateTime, SubsecRound, TimeDelta, Utc};
use std::sync::{Arc, PoisonError, RwLock};
use std::time::{Duration, Instant};

/// From coming in to the first call.
const TO_FIRST_CALL: TimeDelta = TimeDelta::hours(4);
/// The bout whose robots have just been armed when the demo begins, counted from 0.
const BOUT_NOW: i32 = 15;
/// How long ago that bout was called.
const INTO_CALL: TimeDelta = TimeDelta::seconds(150);

/// A clock that goes faster than this computer's, and can be put back to where a demo ended.
#[derive(Debug)]
pub struct FastClock {
    /// What it showed, and when that was.
    set: RwLock<(DateTime<Utc>, Instant)>,
    speed: f64,
}

impl FastClock {
    /// A clock that shows `from` now and goes `speed` times as fast.
    #[must_use]
    pub fn new(from: DateTime<Utc>, speed: f64) -> Self {
        Self {
            set: RwLock::new((from, Instant::now())),
            speed,
        }
    }

    /// Goes on from `at`.
    pub fn put_to(&self, at: DateTime<Utc>) {
        *self.set.write().unwrap_or_else(PoisonError::into_inner) = (at, Instant::now());
    }
}

impl Clock for FastClock {
    fn now(&self) -> DateTime<Utc> {
        let (from, begun) = *self.set.read().unwrap_or_else(PoisonError::into_inner);
        let passed = begun.elapsed().mul_f64(self.speed);
        let passed = TimeDelta::from_std(passed).unwrap_or(TimeDelta::MAX);
        (from + passed).trunc_subsecs(6)
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

/// The day of the demo as it stands in the register, from the id of its event alone: that is what
/// lets another service take it up.
struct Begun {
    /// When the demo begins, in the middle of the day.
    now: DateTime<Utc>,
    /// When the crews come in.
    came: DateTime<Utc>,
    entered: Entered,
}

impl Begun {
    /// The day that belongs to this event; none if its id does not say when it was made.
    fn of(event: EventId) -> Option<Self> {
        let (seconds, nanos) = event.0.get_timestamp()?.to_unix();
        let now = DateTime::from_timestamp(i64::try_from(seconds).ok()?, nanos)?;
        let came = now - INTO_CALL - SPACING * BOUT_NOW - TO_FIRST_CALL;
        let bouts = programme(came + TO_FIRST_CALL);
        let cast = Cast {
            event: harbour(now),
            organiser: ORGANISER,
            marshals: &MARSHALS,
            officials: &OFFICIALS,
            teams: &TEAMS,
            robots: &ROBOTS,
            bouts: &bouts,
        };
        let [.., s0, s1, s2, s3] = *event.0.as_bytes();
        let entered = enter(&cast, came, u32::from_be_bytes([s0, s1, s2, s3]));
        Some(Self { now, came, entered })
    }

    fn day(self) -> Day {
        let turns = plot::turns(&self.entered.kit, self.now);
        Day::new(self.entered.kit, turns, self.came)
    }
}

impl Demo {
    /// The demo of this database: the last one, where its day is not over, goes on from the moment
    /// of its last line; otherwise a new one is founded.
    ///
    /// # Errors
    /// [`AppError::Unavailable`].
    pub async fn open(app: &App, clock: &FastClock) -> Result<Self, AppError> {
        match Self::take_up(app, clock).await? {
            Some(demo) => Ok(demo),
            None => Self::found(app).await,
        }
    }

    /// Founds the event and enters its past.
    async fn found(app: &App) -> Result<Self, AppError> {
        let id = EventId(app.ids.id(app.clock.now()));
        let begun = Begun::of(id).ok_or_else(|| AppError::bug("an id that tells no time"))?;
        let now = begun.now;
        let event = register(app, id, &begun.entered, begun.came).await?;
        let doors = open_doors(app, &event, &begun.entered.kit, now).await?;
        let told = plot::told(&begun.entered.kit, now, || app.ids.id(now));
        let mut demo = Self {
            event,
            doors,
            day: begun.day(),
        };
        while demo.day.next_at().is_some_and(|at| at <= now) {
            demo.step(None).await?;
        }
        for step in told {
            demo.enter(step.clone(), step.at).await?;
        }
        Ok(demo)
    }

    /// Takes up the last demo. Its time stood still while nobody served it.
    async fn take_up(app: &App, clock: &FastClock) -> Result<Option<Self>, AppError> {
        for id in app.events.all().await?.into_iter().rev() {
            let event = app.events.open(id).await?;
            let named = |event: &register::Event| event.name.as_str() == EVENT;
            let pit = event.pit();
            if !pit.event.as_ref().is_some_and(|known| named(&known.body)) {
                continue;
            }
            // A demo of another cast, left by another version, is left alone.
            let Some(begun) = Begun::of(id).filter(|begun| {
                let drafts = &begun.entered.drafts;
                drafts.iter().all(|draft| pit.knows(draft.subject))
            }) else {
                continue;
            };
            let lines = event.all_lines().await?;
            let Some(ended) = lines.iter().map(|line| line.recorded_at).max() else {
                continue;
            };
            let mut day = begun.day();
            day.replay(&lines);
            if day.next_at().is_none() {
                continue;
            }
            clock.put_to(ended);
            let kit = day.kit();
            let doors = open_doors(app, &event, kit, ended).await?;
            return Ok(Some(Self { event, doors, day }));
        }
        Ok(None)
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
        self.enter(step, now).await
    }

    async fn enter(&mut self, step: Step, now: DateTime<Utc>) -> Result<(), AppError> {
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
