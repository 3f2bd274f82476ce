//! What was said about arming a machine, and what has happened to it since.

use super::RobotState;
use crate::pit::logbook::hall::{ArmedAt, Clearance, Clearing};
use crate::pit::logbook::link_plan::LinkPlan;
use crate::pit::logbook::machine::{Bar, LinkState, Place, Power, System, Valve};
use crate::pit::logbook::work::DutyOf;
use crate::pit::logbook::{Body, Line, Role};
use crate::pit::state::sight::Sight;

/// A clearance to arm, asked for since the last bout.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Where it is to be armed.
    pub place: ArmedAt,
    /// Who asked, if anybody did before it was answered.
    pub asked: Option<Sight<()>>,
    /// What the marshal said since.
    pub answer: Option<Sight<Clearance>>,
    /// What changed its grounds after it was confirmed.
    pub changed: Option<Sight<ChangedGround>>,
}

/// What changes the grounds of a clearance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ChangedGround {
    /// It went somewhere else.
    Moved,
    /// A source was live before it stood where it is armed.
    Live,
    /// Damage was found.
    Damage,
    /// Something on it was changed.
    Machine,
    /// The link plan was written anew.
    LinkPlan,
    /// Somebody else has a part in arming.
    Duty,
    /// A part does not work.
    Trouble,
}

impl ArmedAt {
    /// Whether a machine that is armed here may stand at `place` with power on.
    pub fn holds(self, place: Place) -> bool {
        match self {
            Self::Arena => matches!(place, Place::ArenaLoad | Place::Arena),
            Self::TestArea => place == Place::TestArea,
        }
    }

    /// Whether `place` is on the way there.
    fn leads_from(self, place: Place) -> bool {
        self.holds(place)
            || place == Place::Transport
            || self == Self::Arena && place == Place::Queue
    }
}

impl RobotState {
    pub(super) fn take_clearance(&mut self, line: &Line, word: &Clearance) {
        if word.said == Clearing::Asked {
            self.ask(line, word.place);
            return;
        }
        let asked = self
            .clearance
            .take()
            .filter(|asked| asked.place == word.place);
        self.clearance = Some(Asked {
            place: word.place,
            asked: asked.and_then(|asked| asked.asked),
            answer: Some(Sight::of(line, word.clone())),
            changed: None,
        });
    }

    /// A crew that comes to the arena queue asks by coming: one tap less.
    pub(super) fn ask_by_coming(&mut self, line: &Line, from: Option<Place>) {
        let to = self.place.as_ref().map(|place| place.value);
        if to != Some(Place::Queue) || from == to {
            return;
        }
        let crew = matches!(line.entered_by.role, Role::Crew | Role::Lead);
        if crew
            && self
                .clearance
                .as_ref()
                .is_none_or(|asked| asked.place != ArmedAt::Arena)
        {
            self.ask(line, ArmedAt::Arena);
        }
    }

    fn ask(&mut self, line: &Line, place: ArmedAt) {
        self.clearance = Some(Asked {
            place,
            asked: Some(Sight::of(line, ())),
            answer: None,
            changed: None,
        });
    }

    /// Notes the first thing since the marshal's word that changes what it rests on.
    pub(super) fn watch_clearance(&mut self, line: &Line, from: Option<Place>) {
        let Some(asked) = &self.clearance else {
            return;
        };
        let confirmed = asked.answer.as_ref().is_some_and(|answer| {
            answer.value.said == Clearing::Confirmed && answer.line != line.id
        });
        if !confirmed || asked.changed.is_some() {
            return;
        }
        let to = self.place.as_ref().map(|place| place.value);
        let moved = to != from && to.is_none_or(|to| !asked.place.leads_from(to));
        let in_place = to.is_some_and(|to| asked.place.holds(to));
        let changed = match &line.body {
            _ if moved => Some(ChangedGround::Moved),
            Body::Damage(_) => Some(ChangedGround::Damage),
            Body::Changed(_) => Some(ChangedGround::Machine),
            Body::LinkPlan(LinkPlan::Saved(_)) => Some(ChangedGround::LinkPlan),
            Body::Trouble(_) => Some(ChangedGround::Trouble),
            Body::Duty(duty) if duty.duty != DutyOf::PackWatcher => Some(ChangedGround::Duty),
            _ if !in_place && self.something_live() => Some(ChangedGround::Live),
            _ => None,
        };
        let changed = changed.map(|what| Sight::of(line, what));
        if let Some(asked) = &mut self.clearance {
            asked.changed = changed;
        }
    }

    fn something_live(&self) -> bool {
        self.link.value() == Some(LinkState::In)
            || self.valve.value() == Some(Valve::Open)
            || self.system.value() == Some(System::Live)
            || self.weapon_bar.value() == Some(Bar::Off)
            || self.transmitter.value() == Some(Power::On)
            || self.second_transmitter.value() == Some(Power::On)
    }
}
