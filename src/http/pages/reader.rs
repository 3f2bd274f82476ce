//! Whoever reads a page: what they may see, what people are called, and what frames their pages.

use super::parts::{
    banner::{Action, Banner, Loudness},
    clock::Clock,
    frame::{self, Emergency, Frame, Keys, Me, Stream, Tab},
};
use super::robot_now::RobotNow;
use crate::app::{App, AppError, Signed, people};
use crate::auth::Action as Right;
use crate::http::signed::Here;
use crate::pit::announcements;
use crate::pit::hazards::{self, Severity};
use crate::pit::ids::{LineId, PersonId, RobotId, TeamId};
use crate::pit::logbook::Role;
use crate::pit::state::Pit;
use chrono_tz::Tz;
use std::{collections::BTreeMap, sync::Arc};

/// A call that the order moved is new for this long.
const CALL_IS_NEW: chrono::TimeDelta = chrono::TimeDelta::minutes(20);

/// Whoever reads a page.
pub struct Reader {
    /// What is known.
    pub pit: Arc<Pit>,
    /// Who they are.
    pub signed: Signed,
    /// What people are called.
    pub names: BTreeMap<PersonId, String>,
    /// Now, in the hall.
    pub clock: Clock,
    /// The address of the event.
    pub base: String,
    seed: LineId,
}

/// Which tab a page stands under.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A robot's bench.
    Bench(RobotId),
    /// The team.
    Team,
    /// The board.
    Board,
    /// The marshal's round.
    Round,
    /// The stations.
    Stations,
    /// The logbook.
    Logbook,
    /// What exists.
    Register,
    /// None of them.
    Other,
}

impl Reader {
    /// The reader of a request.
    ///
    /// # Errors
    /// [`AppError::Unavailable`] where names cannot be read.
    pub async fn of(here: &Here, app: &App) -> Result<Self, AppError> {
        let names = people::all_names(app, here.event.id()).await?;
        Ok(Self::new(
            here.pit.clone(),
            here.signed,
            names,
            here.now,
            format!("/e/{}", here.event.id()),
            LineId(app.ids.id(here.now)),
        ))
    }

    /// A reader of `pit` at a moment; the lines of the page's forms get their ids from `seed`.
    pub fn new(
        pit: Arc<Pit>,
        signed: Signed,
        names: BTreeMap<PersonId, String>,
        now: chrono::DateTime<chrono::Utc>,
        base: String,
        seed: LineId,
    ) -> Self {
        let zone = pit
            .event
            .as_ref()
            .and_then(|event| event.body.time_zone.parse::<Tz>().ok())
            .unwrap_or(Tz::UTC);
        // The last sixteen bits are the forms' own.
        let seed = LineId(uuid::Uuid::from_u128(seed.0.as_u128() & !0xffff));
        Self {
            pit,
            signed,
            names,
            clock: Clock { now, zone },
            base,
            seed,
        }
    }

    /// The day it is in the hall.
    pub fn today(&self) -> chrono::NaiveDate {
        self.clock.now.with_timezone(&self.clock.zone).date_naive()
    }

    /// What somebody is called.
    pub fn name(&self, person: Option<PersonId>) -> String {
        person
            .and_then(|person| self.names.get(&person).cloned())
            .unwrap_or_else(|| "somebody".to_owned())
    }

    /// What the event is called.
    pub fn event_name(&self) -> String {
        self.pit
            .event
            .as_ref()
            .map_or_else(String::new, |event| event.body.name.to_string())
    }

    /// What a robot is called.
    pub fn robot(&self, robot: RobotId) -> String {
        self.pit.robot(robot).map_or_else(
            || "unknown robot".to_owned(),
            |file| file.register.body.name.to_string(),
        )
    }

    /// The address of the event in the API.
    pub fn api(&self) -> String {
        frame::api_of(&self.base)
    }

    /// The address of a robot's bench.
    pub fn bench(&self, robot: RobotId) -> String {
        format!("{}/robots/{robot}", self.base)
    }

    /// The name of a robot with its bench.
    pub fn robot_at_bench(&self, robot: RobotId) -> String {
        let bench = self
            .pit
            .robot(robot)
            .and_then(|file| file.register.body.bench);
        match bench {
            Some(bench) => format!("{}, bench {}", self.robot(robot), bench.get()),
            None => self.robot(robot),
        }
    }

    /// Whether they may see everything of a team.
    pub fn sees_team(&self, team: TeamId) -> bool {
        self.signed.may(Right::SeeTeam, Some(team))
    }

    /// Where they are sent when they open the event.
    pub fn home(&self) -> String {
        let base = &self.base;
        match self.signed.role {
            Role::Marshal => format!("{base}/marshal"),
            Role::Organiser => format!("{base}/board"),
            Role::Wall => format!("{base}/wall"),
            Role::Official => format!("{base}/stations"),
            Role::Program => format!("{base}/wall"),
            Role::Crew | Role::Lead => {
                let mut own = self
                    .signed
                    .team
                    .into_iter()
                    .flat_map(|team| self.pit.robots_of(team));
                match (own.next(), own.next()) {
                    (Some((only, _)), None) => self.bench(only),
                    _ => format!("{base}/team"),
                }
            }
        }
    }

    /// What frames a page.
    pub fn frame(&self, place: Place) -> Frame {
        let robot = match place {
            Place::Bench(robot) => Some(robot),
            _ => None,
        };
        Frame {
            clock: self.clock,
            base: self.base.clone(),
            me: self.me(),
            stream: Some(Stream {
                url: format!("{}/stream", self.api()),
                seq: self.pit.last_seq,
            }),
            emergency: self.emergency(robot),
            banners: self.banners(robot),
            tabs: self.tabs(place),
            keys: Keys::new(self.seed),
        }
    }

    fn me(&self) -> Option<Me> {
        match (self.signed.person, self.signed.role) {
            (Some(person), _) => Some(Me {
                id: person.to_string(),
                name: self.name(Some(person)),
            }),
            (None, Role::Wall | Role::Program) => None,
            (None, role) => Some(Me {
                id: self.signed.session.to_string(),
                name: capital(role.as_str()),
            }),
        }
    }

    fn emergency(&self, robot: Option<RobotId>) -> Emergency {
        // A page about no robot speaks for the only robot of the team, if there is only one.
        let own = || {
            let mut own = self
                .signed
                .team
                .into_iter()
                .flat_map(|team| self.pit.robots_of(team));
            match (own.next(), own.next()) {
                (Some((only, _)), None) => Some(only),
                (first, _) => first.map(|(id, _)| id),
            }
        };
        let robot = robot
            .or_else(own)
            .or_else(|| self.pit.robots.keys().next().copied());
        let who = self
            .me()
            .map_or_else(String::new, |me| format!(", from {}", me.name));
        let text = self.pit.event.as_ref().map_or_else(Vec::new, |event| {
            event
                .body
                .emergency
                .iter()
                .map(ToString::to_string)
                .collect()
        });
        let can_tell = self.signed.role != Role::Wall;
        Emergency {
            action: robot
                .filter(|_| can_tell)
                .map(|robot| format!("{}/danger", self.bench(robot))),
            about: robot.map_or_else(String::new, |robot| {
                format!("{}{who}", self.robot_at_bench(robot))
            }),
            text,
            answer: robot.and_then(|robot| {
                let state = &self.pit.robot(robot)?.state;
                let answered = state
                    .danger_answered
                    .as_ref()
                    .filter(|_| state.danger.is_some())?;
                Some(format!(
                    "{} is coming, said at {}.",
                    self.name(answered.seen_by),
                    self.clock.hm(answered.at)
                ))
            }),
        }
    }

    fn tabs(&self, place: Place) -> Vec<Tab> {
        let base = &self.base;
        let tab = |label, href: String, here: bool| Tab {
            label,
            href,
            current: here,
        };
        let logbook = tab(
            "Logbook",
            format!("{base}/logbook"),
            place == Place::Logbook,
        );
        match self.signed.role {
            Role::Crew | Role::Lead => {
                let bench = match place {
                    Place::Bench(robot) => Some(robot),
                    _ => self
                        .signed
                        .team
                        .and_then(|team| self.pit.robots_of(team).next().map(|(id, _)| id)),
                };
                let mut tabs: Vec<Tab> = bench
                    .map(|robot| tab("Bench", self.bench(robot), matches!(place, Place::Bench(_))))
                    .into_iter()
                    .collect();
                tabs.push(tab("Team", format!("{base}/team"), place == Place::Team));
                tabs.push(logbook);
                tabs
            }
            Role::Official => vec![
                tab(
                    "Stations",
                    format!("{base}/stations"),
                    place == Place::Stations,
                ),
                tab("Round", format!("{base}/marshal"), place == Place::Round),
                logbook,
            ],
            Role::Marshal => vec![
                tab("Round", format!("{base}/marshal"), place == Place::Round),
                tab("Board", format!("{base}/board"), place == Place::Board),
                tab(
                    "Stations",
                    format!("{base}/stations"),
                    place == Place::Stations,
                ),
                logbook,
            ],
            Role::Organiser => vec![
                tab("Board", format!("{base}/board"), place == Place::Board),
                tab("Round", format!("{base}/marshal"), place == Place::Round),
                tab(
                    "Register",
                    format!("{base}/register"),
                    place == Place::Register,
                ),
                logbook,
            ],
            Role::Wall | Role::Program => Vec::new(),
        }
    }

    /// What this reader has to know now, most urgent first.
    fn banners(&self, robot: Option<RobotId>) -> Vec<Banner> {
        let mut banners = Vec::new();
        if let Some((at, words)) = hazards::everyone_stop(&self.pit) {
            banners.push(Banner {
                loudness: Loudness::StopNow,
                title: "Everyone stop.".to_owned(),
                text: format!(
                    "Said at {}. {}",
                    self.clock.hm(at),
                    words.unwrap_or_default()
                ),
                href: "#main".to_owned(),
                actions: Vec::new(),
                joins_verdict: false,
            });
        }
        let mut found: Vec<(Severity, Banner)> = Vec::new();
        for id in self.watched(robot) {
            let Some(now) = RobotNow::of(self, id) else {
                continue;
            };
            let own = robot == Some(id);
            for hazard in &now.hazards {
                let severity = hazard.severity();
                let shown = severity == Severity::StopNow || own && hazard.holds();
                if shown {
                    found.push((severity, self.hazard_banner(&now, hazard, own)));
                }
            }
            if own {
                found.extend(
                    self.moved_banner(&now)
                        .map(|banner| (Severity::Note, banner)),
                );
            }
            if own && now.is_called() && !now.has_answered() {
                found.push((Severity::Warn, self.call_banner(&now)));
            }
        }
        found.sort_by_key(|(severity, _)| std::cmp::Reverse(*severity));
        banners.extend(found.into_iter().map(|(_, banner)| banner));
        banners.extend(self.announced());
        banners
    }

    /// The robots whose alarms reach this reader.
    fn watched(&self, robot: Option<RobotId>) -> Vec<RobotId> {
        match (self.signed.role, robot) {
            (Role::Marshal | Role::Organiser | Role::Official, _) => {
                self.pit.robots.keys().copied().collect()
            }
            (Role::Crew | Role::Lead, robot) => {
                let team = self
                    .signed
                    .team
                    .into_iter()
                    .flat_map(|team| self.pit.robots_of(team));
                let mut own: Vec<RobotId> = team.map(|(id, _)| id).collect();
                own.extend(robot.filter(|robot| !own.contains(robot)));
                own
            }
            (Role::Wall | Role::Program, robot) => robot.into_iter().collect(),
        }
    }

    fn hazard_banner(&self, now: &RobotNow<'_>, hazard: &hazards::Hazard, own: bool) -> Banner {
        let stop = hazard.severity() == Severity::StopNow;
        let people: Vec<String> = hazard
            .finding
            .people
            .iter()
            .map(|who| self.name(Some(*who)))
            .collect();
        let who = if people.is_empty() {
            String::new()
        } else {
            format!(" ({})", people.join(", "))
        };
        let open = hazard
            .life
            .seen_by
            .iter()
            .map(|word| self.name(Some(word.who)))
            .collect::<Vec<_>>();
        let answered = match open.as_slice() {
            [] if stop => " Nobody has it open yet: send a runner.".to_owned(),
            [] => String::new(),
            open => format!(" Open with {}.", open.join(", ")),
        };
        let (title, text) = match (stop, own) {
            (true, true) => (
                "Stop now. Hands out.".to_owned(),
                format!("{}{who}.", hazard.finding.why),
            ),
            (true, false) => {
                let place = now.file.register.body.bench.map_or_else(
                    || self.robot(now.id),
                    |bench| format!("bench {}", bench.get()),
                );
                (
                    format!("Stop now, {place}"),
                    format!(
                        "{}: {}{who}.{answered}",
                        self.robot(now.id),
                        hazard.finding.why
                    ),
                )
            }
            (false, _) => (
                "Hold. Hands out, one goes and looks.".to_owned(),
                format!("{}{who}.", hazard.finding.why),
            ),
        };
        let may_answer = stop && !own && hazard.rule != "danger";
        Banner {
            loudness: if stop {
                Loudness::StopNow
            } else {
                Loudness::Hold
            },
            title,
            text,
            href: if own {
                "#main".to_owned()
            } else {
                format!("{}/look", self.bench(now.id))
            },
            actions: may_answer
                .then(|| Action {
                    label: "I am going".to_owned(),
                    action: format!("{}/hazards", self.bench(now.id)),
                    fields: vec![
                        ("rule", hazard.rule.to_owned()),
                        ("said", "seen".to_owned()),
                    ],
                })
                .into_iter()
                .collect(),
            joins_verdict: own,
        }
    }

    /// What the organiser announced and this person has not seen: shown, never sounded.
    fn announced(&self) -> Vec<Banner> {
        let Some(person) = self.signed.person else {
            return Vec::new();
        };
        let who = (person, self.signed.role, self.signed.team);
        announcements::unseen(&self.pit, who, self.clock.now)
            .iter()
            .map(|one| Banner {
                loudness: Loudness::Note,
                title: format!("Announced {}", self.clock.hm(one.at())),
                text: one
                    .body()
                    .map_or_else(String::new, |body| body.text.to_string()),
                href: "#main".to_owned(),
                actions: vec![Action {
                    label: "I have seen it".to_owned(),
                    action: format!("{}/announcements/{}/seen", self.base, one.id),
                    fields: Vec::new(),
                }],
                joins_verdict: false,
            })
            .collect()
    }

    /// The order changed, and with it the call, not long ago.
    fn moved_banner(&self, now: &RobotNow<'_>) -> Option<Banner> {
        let next = now.next.as_ref()?;
        let (from, at) = next.bout.moved_from?;
        let new = next.bout.call;
        let sooner = match (from - new).num_minutes() {
            0 => return None,
            sooner @ 1.. => format!("{sooner} min sooner"),
            later => format!("{} min later", -later),
        };
        (self.clock.now - at < CALL_IS_NEW).then(|| Banner {
            loudness: Loudness::Note,
            title: format!("New call {}: {sooner}", self.clock.hm(new)),
            text: format!(
                "Bout {} was to be called at {}. The order was changed at {}.",
                next.bout.number,
                self.clock.hm(from),
                self.clock.hm(at)
            ),
            href: format!("{}/call", self.bench(now.id)),
            actions: Vec::new(),
            joins_verdict: false,
        })
    }

    fn call_banner(&self, now: &RobotNow<'_>) -> Banner {
        let text = now.next.as_ref().map_or_else(String::new, |next| {
            format!(
                "Bout {} at {}: coming, or need more",
                next.bout.number,
                self.clock.hm(next.bout.call)
            )
        });
        Banner {
            loudness: Loudness::Must,
            title: "Answer the call".to_owned(),
            text,
            href: format!("{}/call", self.bench(now.id)),
            actions: Vec::new(),
            joins_verdict: false,
        }
    }
}

/// With its first letter large.
pub fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
