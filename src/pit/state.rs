//! The fold: everything that is known about an event, as a function of its lines.
//!
//! Each thing has a file: the facts about it, in order of time. What is known of a thing is a fold
//! over its file, made anew when a line reaches that file. So the order in which lines arrive makes
//! no difference, and nothing else has to be kept in step.

pub mod link_plans;
pub mod robot;
pub mod running_order;
pub mod sight;
pub mod unsettled;

pub use robot::{RobotFile, RobotState};
pub use sight::{Dispute, Sight, Source, View};
pub use unsettled::Unsettled;

use crate::pit::ids::{
    BottleId, BoutId, ChannelId, ChargerId, CircuitId, LineId, PackId, PartTypeId, PersonId,
    RobotId, SetId, Subject, SupplyId, TeamId,
};
use crate::pit::logbook::{Author, Body, Family, Kind, Line, register};
use crate::pit::settings::Settings;
use chrono::{DateTime, Utc};
use running_order::BoutNow;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Something that exists, as its last register line has it.
#[derive(Debug, Clone, PartialEq)]
pub struct Registered<T> {
    /// What it is.
    pub body: T,
    /// `seq` of that line: the revision to name when changing it.
    pub revision: i64,
    /// When that line was recorded.
    pub recorded_at: DateTime<Utc>,
    /// That line.
    pub line: LineId,
    /// Who entered it.
    pub entered_by: Author,
}

/// A line as first entered, and the correction of it that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// As first entered.
    pub first: Arc<Line>,
    /// The correction with the greatest id.
    pub correction: Option<Arc<Line>>,
}

impl Entry {
    /// The line that counts, if it was not taken back.
    pub fn effective(&self) -> Option<Arc<Line>> {
        match &self.correction {
            None => Some(self.first.clone()),
            Some(correction) if correction.kind() == Kind::Void => None,
            Some(correction) => Some(correction.clone()),
        }
    }
}

/// Everything known about an event.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pit {
    /// `seq` of the last line folded in.
    pub last_seq: i64,
    /// The event itself, once registered.
    pub event: Option<Registered<register::Event>>,
    /// Teams.
    pub teams: BTreeMap<TeamId, Registered<register::Team>>,
    /// People, without their names.
    pub people: BTreeMap<PersonId, Registered<register::Person>>,
    /// Packs.
    pub packs: BTreeMap<PackId, Registered<register::Pack>>,
    /// Sets of packs.
    pub sets: BTreeMap<SetId, Registered<register::Set>>,
    /// Charger channels.
    pub channels: BTreeMap<ChannelId, Registered<register::Channel>>,
    /// Chargers.
    pub chargers: BTreeMap<ChargerId, Registered<register::Charger>>,
    /// Generators, mains circuits and leads.
    pub circuits: BTreeMap<CircuitId, Registered<register::Circuit>>,
    /// Supply cylinders.
    pub supplies: BTreeMap<SupplyId, Registered<register::Supply>>,
    /// Types of part.
    pub part_types: BTreeMap<PartTypeId, Registered<register::PartType>>,
    /// Bottles.
    pub bottles: BTreeMap<BottleId, Registered<register::Bottle>>,
    /// Bouts.
    pub bouts: BTreeMap<BoutId, Registered<register::Bout>>,
    /// Teams' own changes to task libraries, with the revision of each.
    pub libraries: BTreeMap<(TeamId, register::Machine), Registered<register::Library>>,
    /// Robots and what is known of them.
    pub robots: BTreeMap<RobotId, Arc<RobotFile>>,
    /// The last plan published for each team.
    pub plans: BTreeMap<TeamId, Arc<Line>>,
    /// The plan that was shown before it.
    pub plans_before: BTreeMap<TeamId, Arc<Line>>,
    /// Every fact as entered and as it counts, by what it is about.
    pub files: BTreeMap<Subject, Arc<BTreeMap<LineId, Entry>>>,
    settings: Arc<Settings>,
    /// The call each bout was first registered with, and the line that did it.
    printed: Arc<BTreeMap<BoutId, (i64, DateTime<Utc>)>>,
    /// The running order, worked out when a bout or a call changes.
    order: Arc<Vec<BoutNow>>,
    /// Starts and ends of bouts, by the robots that were in them.
    bout_lines: Arc<BTreeMap<RobotId, Vec<Arc<Line>>>>,
}

impl Pit {
    /// What is known after `lines`.
    pub fn fold<'a>(lines: impl IntoIterator<Item = &'a Line>) -> Self {
        let mut pit = Self::default();
        pit.take(lines.into_iter().map(|line| Arc::new(line.clone())));
        pit
    }

    /// What is known after one more line.
    #[must_use]
    pub fn with(&self, line: &Line) -> Self {
        self.with_all([line])
    }

    /// What is known after some more lines.
    #[must_use]
    pub fn with_all<'a>(&self, lines: impl IntoIterator<Item = &'a Line>) -> Self {
        let mut pit = self.clone();
        pit.take(lines.into_iter().map(|line| Arc::new(line.clone())));
        pit
    }

    /// The settings of the event; the defaults before it is registered.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// What is known of a robot.
    pub fn robot(&self, id: RobotId) -> Option<&RobotFile> {
        self.robots.get(&id).map(Arc::as_ref)
    }

    /// Robots of a team that are still at the event.
    pub fn robots_of(&self, team: TeamId) -> impl Iterator<Item = (RobotId, &RobotFile)> {
        self.robots
            .iter()
            .filter(move |(_, file)| file.register.body.team == team && !file.register.body.retired)
            .map(|(id, file)| (*id, file.as_ref()))
    }

    /// People of a team that are still at the event.
    pub fn people_of(&self, team: TeamId) -> impl Iterator<Item = (PersonId, &register::Person)> {
        self.people
            .iter()
            .filter(move |(_, person)| person.body.team == Some(team) && !person.body.retired)
            .map(|(id, person)| (*id, &person.body))
    }

    /// The team a subject belongs to, if it belongs to one.
    pub fn team_of(&self, subject: Subject) -> Option<TeamId> {
        match subject {
            Subject::Event | Subject::Bout(_) => None,
            Subject::Team(id) => Some(id),
            Subject::Person(id) => self.people.get(&id)?.body.team,
            Subject::Robot(id) => Some(self.robots.get(&id)?.register.body.team),
            Subject::Pack(id) => Some(self.packs.get(&id)?.body.team),
            Subject::Set(id) => Some(self.sets.get(&id)?.body.team),
            Subject::Channel(id) => Some(self.channels.get(&id)?.body.team),
            Subject::Charger(id) => Some(self.chargers.get(&id)?.body.team),
            Subject::Circuit(id) => self.circuits.get(&id)?.body.team,
            Subject::Bottle(id) => Some(self.bottles.get(&id)?.body.team),
            Subject::Supply(id) => self.supplies.get(&id)?.body.team,
            Subject::Part(id) => Some(self.part_types.get(&id)?.body.team),
        }
    }

    /// Whether a subject exists.
    pub fn knows(&self, subject: Subject) -> bool {
        match subject {
            Subject::Event => true,
            Subject::Team(id) => self.teams.contains_key(&id),
            Subject::Person(id) => self.people.contains_key(&id),
            Subject::Robot(id) => self.robots.contains_key(&id),
            Subject::Pack(id) => self.packs.contains_key(&id),
            Subject::Set(id) => self.sets.contains_key(&id),
            Subject::Channel(id) => self.channels.contains_key(&id),
            Subject::Charger(id) => self.chargers.contains_key(&id),
            Subject::Circuit(id) => self.circuits.contains_key(&id),
            Subject::Bottle(id) => self.bottles.contains_key(&id),
            Subject::Supply(id) => self.supplies.contains_key(&id),
            Subject::Part(id) => self.part_types.contains_key(&id),
            Subject::Bout(id) => self.bouts.contains_key(&id),
        }
    }

    /// The revision of what a register line of `kind` about `subject` would change.
    pub fn revision(&self, subject: Subject, body: &Body) -> Option<i64> {
        match (subject, body) {
            (Subject::Team(team), Body::RegisterLibrary(library)) => self
                .libraries
                .get(&(team, library.machine))
                .map(|known| known.revision),
            (Subject::Event, _) => self.event.as_ref().map(|known| known.revision),
            (Subject::Team(id), _) => self.teams.get(&id).map(|known| known.revision),
            (Subject::Person(id), _) => self.people.get(&id).map(|known| known.revision),
            (Subject::Robot(id), _) => self.robots.get(&id).map(|known| known.register.revision),
            (Subject::Pack(id), _) => self.packs.get(&id).map(|known| known.revision),
            (Subject::Set(id), _) => self.sets.get(&id).map(|known| known.revision),
            (Subject::Channel(id), _) => self.channels.get(&id).map(|known| known.revision),
            (Subject::Charger(id), _) => self.chargers.get(&id).map(|known| known.revision),
            (Subject::Circuit(id), _) => self.circuits.get(&id).map(|known| known.revision),
            (Subject::Bottle(id), _) => self.bottles.get(&id).map(|known| known.revision),
            (Subject::Supply(id), _) => self.supplies.get(&id).map(|known| known.revision),
            (Subject::Part(id), _) => self.part_types.get(&id).map(|known| known.revision),
            (Subject::Bout(id), _) => self.bouts.get(&id).map(|known| known.revision),
        }
    }

    fn take(&mut self, lines: impl Iterator<Item = Arc<Line>>) {
        let mut stale = Refold::default();
        for line in lines {
            self.last_seq = self.last_seq.max(line.seq);
            match line.kind().family() {
                Family::Register => self.register(&line, &mut stale),
                Family::Plan => {
                    if let Subject::Team(team) = line.subject {
                        self.plan(team, line);
                    }
                }
                Family::Fact => self.note(line, &mut stale),
            }
        }
        self.refold(stale);
    }

    /// Keeps the last two plans, in whatever order they come.
    fn plan(&mut self, team: TeamId, line: Arc<Line>) {
        let older = match self.plans.get(&team) {
            Some(last) if last.seq == line.seq => None,
            Some(last) if last.seq > line.seq => Some(line),
            _ => self.plans.insert(team, line),
        };
        if let Some(older) = older
            && self
                .plans_before
                .get(&team)
                .is_none_or(|known| known.seq < older.seq)
        {
            self.plans_before.insert(team, older);
        }
    }

    fn register(&mut self, line: &Arc<Line>, stale: &mut Refold) {
        fn put<K: Ord, T: Clone>(
            things: &mut BTreeMap<K, Registered<T>>,
            id: K,
            body: &T,
            line: &Line,
        ) {
            let newer = things
                .get(&id)
                .is_none_or(|known| known.revision < line.seq);
            if newer {
                things.insert(id, registered(body, line));
            }
        }
        match (&line.body, line.subject) {
            (Body::RegisterEvent(event), _) => {
                let newer = self
                    .event
                    .as_ref()
                    .is_none_or(|known| known.revision < line.seq);
                if newer {
                    self.settings = Arc::new(event.settings.clone());
                    self.event = Some(registered(event, line));
                    stale.all = true;
                }
            }
            (Body::RegisterTeam(body), Subject::Team(id)) => put(&mut self.teams, id, body, line),
            (Body::RegisterPerson(body), Subject::Person(id)) => {
                put(&mut self.people, id, body, line)
            }
            (Body::RegisterPack(body), Subject::Pack(id)) => put(&mut self.packs, id, body, line),
            (Body::RegisterSet(body), Subject::Set(id)) => put(&mut self.sets, id, body, line),
            (Body::RegisterChannel(body), Subject::Channel(id)) => {
                put(&mut self.channels, id, body, line);
            }
            (Body::RegisterCharger(body), Subject::Charger(id)) => {
                put(&mut self.chargers, id, body, line);
            }
            (Body::RegisterCircuit(body), Subject::Circuit(id)) => {
                put(&mut self.circuits, id, body, line);
            }
            (Body::RegisterSupply(body), Subject::Supply(id)) => {
                put(&mut self.supplies, id, body, line);
            }
            (Body::RegisterPartType(body), Subject::Part(id)) => {
                put(&mut self.part_types, id, body, line);
            }
            (Body::RegisterBottle(body), Subject::Bottle(id)) => {
                put(&mut self.bottles, id, body, line)
            }
            (Body::RegisterLibrary(body), Subject::Team(id)) => {
                put(&mut self.libraries, (id, body.machine), body, line);
            }
            (Body::RegisterBout(body), Subject::Bout(id)) => {
                put(&mut self.bouts, id, body, line);
                let first = (line.seq, body.call_at);
                let printed = Arc::make_mut(&mut self.printed);
                let known = printed.entry(id).or_insert(first);
                *known = first.min(*known);
                stale.all = true;
            }
            (Body::RegisterRobot(body), Subject::Robot(id)) => {
                let known = self.robots.get(&id);
                if known.is_none_or(|known| known.register.revision < line.seq) {
                    let file = RobotFile {
                        register: registered(body, line),
                        lines: known.map(|known| known.lines.clone()).unwrap_or_default(),
                        state: known.map(|known| known.state.clone()).unwrap_or_default(),
                    };
                    self.robots.insert(id, Arc::new(file));
                    stale.robots.insert(id);
                }
            }
            _ => {}
        }
    }

    /// Files a fact, or the correction of one, which is about the same thing as the line it corrects.
    fn note(&mut self, line: Arc<Line>, stale: &mut Refold) {
        stale.file(line.subject);
        let file = Arc::make_mut(self.files.entry(line.subject).or_default());
        let id = line.id;
        let mut root = line.corrects;
        // A correction of a correction corrects the first line.
        while let Some(earlier) = root
            .and_then(|id| file.get(&id))
            .and_then(|e| e.first.corrects)
        {
            root = Some(earlier);
        }
        if let Some(entry) = root.and_then(|id| file.get_mut(&id))
            && entry.correction.as_ref().is_none_or(|known| known.id < id)
        {
            entry.correction = Some(line.clone());
        }
        file.insert(
            id,
            Entry {
                first: line,
                correction: None,
            },
        );
    }

    fn refold(&mut self, stale: Refold) {
        if stale.all {
            self.bout_lines = Arc::new(self.lines_of_bouts());
        }
        if stale.all || stale.calls {
            self.order = Arc::new(self.work_out_order());
        }
        let robots: Vec<RobotId> = if stale.all {
            self.robots.keys().copied().collect()
        } else {
            stale.robots.into_iter().collect()
        };
        for robot in robots {
            let Some(file) = self.robots.get(&robot) else {
                continue;
            };
            let mut lines = self.facts(Subject::Robot(robot));
            lines.extend(self.bout_lines.get(&robot).into_iter().flatten().cloned());
            lines.sort_by_key(|line| (line.at, line.id));
            let state = RobotState::fold(robot, &file.register.body, &lines, &self.settings);
            let register = file.register.clone();
            self.robots.insert(
                robot,
                Arc::new(RobotFile {
                    register,
                    lines,
                    state,
                }),
            );
        }
    }

    /// The facts about a subject that count, in order of time.
    pub fn facts(&self, subject: Subject) -> Vec<Arc<Line>> {
        let mut lines: Vec<_> = self
            .files
            .get(&subject)
            .into_iter()
            .flat_map(|file| file.values())
            .filter(|entry| entry.first.corrects.is_none())
            .filter_map(Entry::effective)
            .collect();
        lines.sort_by_key(|line| (line.at, line.id));
        lines
    }

    /// A fact by its id, as entered and as it counts.
    pub fn entry(&self, id: LineId) -> Option<&Entry> {
        self.files.values().find_map(|file| file.get(&id))
    }
}

fn registered<T: Clone>(body: &T, line: &Line) -> Registered<T> {
    Registered {
        body: body.clone(),
        revision: line.seq,
        recorded_at: line.recorded_at,
        line: line.id,
        entered_by: line.entered_by,
    }
}

/// Which robots have to be folded anew.
#[derive(Default)]
struct Refold {
    all: bool,
    calls: bool,
    robots: BTreeSet<RobotId>,
}

impl Refold {
    fn file(&mut self, subject: Subject) {
        match subject {
            Subject::Robot(robot) => {
                self.robots.insert(robot);
            }
            // Who fights in a bout depends on the bouts before it.
            Subject::Bout(_) => self.all = true,
            Subject::Event => self.calls = true,
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests;
