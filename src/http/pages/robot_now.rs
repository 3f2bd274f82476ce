//! A robot at this moment, read once for everything a page says about it.

use super::parts::{
    call::{Answer, Call},
    clock::span,
    robot_row::RobotRow,
    signs::{Forecast, Sign},
    verdict::Verdict,
};
use super::reader::Reader;
use super::words;
use crate::pit::energy::{Energy, SourceNow, Standing, Verdict as EnergyVerdict, energy};
use crate::pit::exposure::WorkNow;
use crate::pit::hazards::{Hazard, hazards};
use crate::pit::ids::RobotId;
use crate::pit::logbook::bout;
use crate::pit::logbook::register::Slot;
use crate::pit::readiness::{self, HoldUp, Readiness, RestsOn, readiness};
use crate::pit::state::running_order::NextBout;
use crate::pit::state::{RobotFile, View};
use crate::pit::tasks::{Today, today, work};
use chrono::{DateTime, Utc};

/// A robot at this moment.
pub struct RobotNow<'a> {
    /// Which.
    pub id: RobotId,
    /// Its file.
    pub file: &'a RobotFile,
    /// Its tasks.
    pub today: Today,
    /// What the work says to its hazards.
    pub work: WorkNow,
    /// Its energy.
    pub energy: View<Energy>,
    /// What is wrong with it.
    pub hazards: Vec<Hazard>,
    /// Its next bout.
    pub next: Option<NextBout>,
    /// Its readiness for its next bout.
    pub ready: Option<Readiness>,
    now: DateTime<Utc>,
}

impl<'a> RobotNow<'a> {
    /// A robot as `reader` finds it; none if there is no such robot.
    pub fn of(reader: &'a Reader, id: RobotId) -> Option<Self> {
        let pit = &reader.pit;
        let now = reader.clock.now;
        let file = pit.robot(id)?;
        let today = today(pit, id)?;
        let work = work(pit, &today);
        let energy = energy(file, pit.settings(), now);
        let hazards = hazards(pit, id, &work, now).value;
        let ready = readiness(pit, id, &today, &hazards, now).map(|view| view.value);
        Some(Self {
            id,
            file,
            next: pit.next_bout(id),
            today,
            work,
            energy,
            hazards,
            ready,
            now,
        })
    }

    /// Whether nothing was ever said about it.
    pub fn is_silent(&self) -> bool {
        self.file.state.last_word.is_none()
            && self
                .energy
                .value
                .sources
                .iter()
                .all(|source| source.standing == Standing::Unknown)
    }

    /// Whether it is called and its call stands.
    pub fn is_called(&self) -> bool {
        self.next.as_ref().is_some_and(|next| {
            next.if_first.is_none() && next.bout.called_at.is_some_and(|at| at <= self.now)
        })
    }

    /// The word given for the next bout, by the crew or for it.
    pub fn answer(&self) -> Option<bout::Answer> {
        self.ready.as_ref()?.answer.map(|(answer, _)| answer)
    }

    /// Whether the next call was answered.
    pub fn has_answered(&self) -> bool {
        self.answer().is_some()
    }

    /// The sign of its verdict.
    pub fn sign(&self) -> Sign {
        match self.energy.value.verdict {
            EnergyVerdict::MadeSafe => Sign::MadeSafe,
            EnergyVerdict::LiveInArena => Sign::InArena,
            EnergyVerdict::Live => Sign::Live,
            EnergyVerdict::Unproved if self.is_silent() => Sign::NoWord,
            EnergyVerdict::Unproved => Sign::Unproved,
        }
    }

    /// Its forecast for the next call.
    pub fn forecast(&self) -> Forecast {
        if self.file.state.in_bout.is_some() {
            return Forecast::InArena;
        }
        match self.ready.as_ref().map(|ready| ready.forecast) {
            Some(readiness::Forecast::Ready) => Forecast::Ready,
            Some(readiness::Forecast::OnCourse) => Forecast::OnCourse,
            Some(readiness::Forecast::Tight) => Forecast::Tight,
            Some(readiness::Forecast::Late) => Forecast::Late,
            Some(readiness::Forecast::OnHold) => Forecast::OnHold,
            Some(readiness::Forecast::NoWord) => Forecast::NoWord,
            None if self.hazards.iter().any(Hazard::holds) => Forecast::OnHold,
            None if self.today.all_done() => Forecast::Ready,
            None => Forecast::NoWord,
        }
    }

    /// What the forecast rests on.
    pub fn basis(&self) -> String {
        match self.ready.as_ref().map(|ready| ready.rests_on) {
            Some(RestsOn::Reported(at)) => format!("Reported {}", words::ago(self.now - at)),
            Some(RestsOn::Assumed) => "Nothing reported, so assumed".to_owned(),
            None => "No bout to get ready for".to_owned(),
        }
    }

    /// The first thing that holds it up, in words.
    pub fn hold_up(&self, reader: &Reader) -> String {
        if self.file.state.in_bout.is_some() {
            return String::new();
        }
        match self
            .ready
            .as_ref()
            .and_then(|ready| ready.held_up_by.as_ref())
        {
            Some(HoldUp::Hazard { title, .. }) => (*title).to_owned(),
            Some(HoldUp::WillNotCome) => "will not be there".to_owned(),
            Some(HoldUp::Task {
                name, since, by, ..
            }) => {
                let who: Vec<String> = by.iter().map(|who| reader.name(Some(*who))).collect();
                let who = if who.is_empty() {
                    String::new()
                } else {
                    format!(", {}", words::list(&who))
                };
                let since =
                    since.map_or_else(String::new, |at| format!(", since {}", reader.clock.hm(at)));
                format!("{name}{who}{since}")
            }
            None => "nothing left to do".to_owned(),
        }
    }

    /// The verdict for its panel.
    pub fn verdict(&self, reader: &Reader, look: Option<String>) -> Verdict {
        let energy = &self.energy.value;
        let sign = match self.sign() {
            // On its own page a robot nobody has looked at is unproved, not merely quiet.
            Sign::NoWord => Sign::Unproved,
            sign => sign,
        };
        Verdict {
            sign,
            reason: self.reason(reader),
            oldest: energy.oldest,
            until: self.energy.changes_at.filter(|_| sign == Sign::MadeSafe),
            note: self.note(),
            look: look.filter(|_| sign != Sign::InArena),
        }
    }

    fn reason(&self, reader: &Reader) -> String {
        let energy = &self.energy.value;
        let worst = energy.sources.iter().max_by_key(|source| source.standing);
        match (energy.verdict, worst) {
            (EnergyVerdict::MadeSafe, _) => {
                let mut names: Vec<String> = Vec::new();
                for source in &energy.sources {
                    let name = reader.name(source.seen_by);
                    if !names.contains(&name) {
                        names.push(name);
                    }
                }
                let oldest = energy.oldest.map_or_else(String::new, |at| {
                    format!(" Oldest {}.", span(self.now - at))
                });
                format!(
                    "All {} sources seen isolated, by {}.{oldest}",
                    energy.sources.len(),
                    words::list(&names)
                )
            }
            (EnergyVerdict::LiveInArena, _) => {
                let bout = self
                    .file
                    .state
                    .in_bout
                    .and_then(|bout| reader.pit.bout(bout));
                bout.map_or_else(
                    || "In its bout. Nothing goes stale.".to_owned(),
                    |bout| format!("Bout {}. Nothing goes stale.", bout.number),
                )
            }
            (EnergyVerdict::Live, Some(source)) => {
                let who = reader.name(source.seen_by);
                let when = source
                    .seen_at
                    .map_or_else(String::new, |at| words::ago(self.now - at));
                format!(
                    "{}. {who} says so, {when}. Stay out of reach.",
                    words::source(self.file, source)
                )
            }
            (_, Some(source)) => words::doubt(reader, self.file, source, self.now),
            (_, None) => "Nobody has looked yet. Treat as live.".to_owned(),
        }
    }

    fn note(&self) -> String {
        let standing = |wanted: Standing| {
            self.energy
                .value
                .sources
                .iter()
                .filter(|s| s.standing == wanted)
                .count()
        };
        match self.energy.value.verdict {
            EnergyVerdict::Unproved => match standing(Standing::Isolated) {
                0 => "Nothing stands: look at every source".to_owned(),
                1 => "one other source stands".to_owned(),
                n => format!("{n} other sources stand"),
            },
            EnergyVerdict::Live => "till it is made safe and another person has seen it".to_owned(),
            EnergyVerdict::MadeSafe | EnergyVerdict::LiveInArena => String::new(),
        }
    }

    /// The call panel.
    pub fn call(&self, reader: &Reader) -> Call {
        let mut facts = Vec::new();
        let label = match &self.next {
            None => "Next call".to_owned(),
            Some(next) => match next.if_first {
                None => format!("Call, bout {}", next.bout.number),
                Some(slot) => {
                    facts.extend(self.either(reader, slot));
                    format!("Earlier call, bout {}", next.bout.number)
                }
            },
        };
        if let Some((from, at)) = self.next.as_ref().and_then(|next| next.bout.moved_from) {
            let was = reader.clock.hm(from);
            facts.push((
                "Was",
                format!("{was}, order changed {}", reader.clock.hm(at)),
            ));
        }
        let forecast = self.forecast();
        let held = matches!(
            forecast,
            Forecast::OnHold | Forecast::NoWord | Forecast::InArena
        );
        let ready = self.ready.as_ref().filter(|_| !held);
        if forecast == Forecast::OnHold {
            let until = self
                .hazards
                .iter()
                .find(|hazard| hazard.holds())
                .map(|h| h.clears_when.to_owned());
            facts.extend(until.map(|until| ("Until", until)));
        }
        let mut basis = self.basis();
        if let Some(moved) = words::last_move(reader) {
            basis = format!("{basis}. {moved}");
        }
        Call {
            label,
            at: self.next.as_ref().map(|next| next.bout.call),
            forecast,
            odds_percent: ready.and_then(|ready| ready.odds).map(percent),
            likely: ready.map(|ready| ready.likely),
            eight_in_ten: ready.and_then(|ready| ready.eight_in_ten),
            facts,
            basis,
            answer: match self.answer() {
                Some(answer) => Answer::Given(words::answer(answer)),
                None if self.is_called() => {
                    Answer::Asked(format!("{}/call", reader.bench(self.id)))
                }
                None => Answer::NotAsked,
            },
        }
    }

    /// "If won about 15:10", "if lost 14:40".
    fn either(&self, reader: &Reader, slot: Slot) -> Vec<(&'static str, String)> {
        let (Slot::Winner(of) | Slot::Loser(of)) = slot else {
            return Vec::new();
        };
        let call = |wanted: Slot| {
            reader
                .pit
                .running_order()
                .iter()
                .find(|bout| bout.slots.contains(&wanted))
                .map(|bout| format!("about {}", reader.clock.hm(bout.call)))
        };
        let out = || "no further bout".to_owned();
        vec![
            ("If won", call(Slot::Winner(of)).unwrap_or_else(out)),
            ("If lost", call(Slot::Loser(of)).unwrap_or_else(out)),
        ]
    }

    /// A row of a list.
    pub fn row(&self, reader: &Reader) -> RobotRow {
        let mut verdict = self.verdict(reader, None);
        verdict.sign = self.sign();
        let forecast = self.forecast();
        let held = matches!(
            forecast,
            Forecast::OnHold | Forecast::NoWord | Forecast::InArena
        );
        RobotRow {
            href: reader
                .sees_team(self.file.register.body.team)
                .then(|| reader.bench(self.id)),
            name: self.file.register.body.name.to_string(),
            bench: self.file.register.body.bench.map(|bench| bench.get()),
            verdict: Some(verdict),
            forecast,
            odds_percent: self
                .ready
                .as_ref()
                .filter(|_| !held)
                .and_then(|ready| ready.odds)
                .map(percent),
            eight_in_ten: self
                .ready
                .as_ref()
                .filter(|_| !held)
                .and_then(|ready| ready.eight_in_ten),
            hold_up: self.hold_up(reader),
            basis: self.basis(),
        }
    }

    /// Sources that stand isolated, stale ones too, so that one look can see them again.
    pub fn to_see_again(&self) -> bool {
        let sources: &[SourceNow] = &self.energy.value.sources;
        !sources.is_empty()
            && sources
                .iter()
                .all(|source| matches!(source.standing, Standing::Isolated | Standing::Stale))
    }
}

/// Odds in whole percent. Never 100 unless nothing is left to chance, nor 0 while there is one.
pub fn percent(odds: f64) -> u8 {
    let whole = (odds * 100.0).round().clamp(0.0, 100.0);
    let whole = if odds < 1.0 { whole.min(99.0) } else { whole };
    let whole = if odds > 0.0 { whole.max(1.0) } else { whole };
    // Clamped to 0..=100 just above.
    whole as u8
}
