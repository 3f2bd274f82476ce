//! What is known of one robot: a fold over its lines in order of time.

use super::Registered;
use super::link_plans::LinkPlans;
use super::sight::{Sight, Source};
use crate::pit::ids::{BottleId, BoutId, PersonId, RobotId, SetId};
use crate::pit::logbook::hall::{AllowedHere, Danger, DangerOf, Hazard};
use crate::pit::logbook::machine::{Bar, Holder, Light, LinkState, Place, Power, System, Valve};
use crate::pit::logbook::things::ThingPlace;
use crate::pit::logbook::work::{DutyOf, Proof, ProofOf};
use crate::pit::logbook::{Body, How, Line, Role, bout, register};
use crate::pit::settings::Settings;
use crate::pit::stations::Visits;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A robot: what it is, what was said of it, and what follows from that.
#[derive(Debug, Clone, PartialEq)]
pub struct RobotFile {
    /// What it is.
    pub register: Registered<register::Robot>,
    /// Facts about it in order of time: corrections applied, what was taken back left out, the
    /// starts and ends of its bouts among them.
    pub lines: Vec<Arc<Line>>,
    /// What follows.
    pub state: RobotState,
}

/// What is known of a robot.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RobotState {
    /// Where it is.
    pub place: Option<Sight<Place>>,
    /// The links.
    pub link: Source<LinkState>,
    /// The bottle's valve.
    pub valve: Source<Valve>,
    /// The pressure of the gas system.
    pub system: Source<System>,
    /// The weapon's restraint.
    pub weapon_bar: Source<Bar>,
    /// The transmitter.
    pub transmitter: Source<Power>,
    /// The power light, witness of the link.
    pub power_light: Source<Light>,
    /// The packs are out of the machine.
    pub packs_out: Source<bool>,
    /// The bottle is out of the machine.
    pub bottle_out: Source<bool>,
    /// Who has the link.
    pub holder: Option<Sight<Holder>>,
    /// Who has the transmitter.
    pub transmitter_with: Option<PersonId>,
    /// The wheels are clear of the ground.
    pub on_stand: Option<Sight<bool>>,
    /// Zero energy was proved by a meter or a look inside.
    pub zero_proved: Option<Sight<()>>,
    /// The set in the machine, or the last one that was.
    pub fitted_set: Option<SetId>,
    /// The bottle in the machine, or the last one that was.
    pub fitted_bottle: Option<BottleId>,
    /// Bouts it has behind it: the number of the turnaround in hand, 0 before its first bout.
    pub turnaround: u32,
    /// When the turnaround in hand began.
    pub turnaround_began: Option<DateTime<Utc>>,
    /// The bout it is in now.
    pub in_bout: Option<BoutId>,
    /// Its link plans.
    pub link_plans: LinkPlans,
    /// Latest proof of each thing.
    pub proofs: BTreeMap<ProofOf, Sight<Proof>>,
    /// Where it waits or is served, and where it was.
    pub visits: Visits,
    /// Who has which duty.
    pub duties: BTreeMap<DutyOf, PersonId>,
    /// Latest answer to a call, with the bout it was given for.
    pub answer: Option<(Option<BoutId>, Sight<bout::Answer>)>,
    /// Live by leave of a marshal.
    pub allowed_here: Option<Sight<AllowedHere>>,
    /// It was live where it may not be, and nobody but the one who pulled the link has looked since.
    pub outside: Option<Outside>,
    /// Danger that nobody has said is over.
    pub danger: Option<Sight<Danger>>,
    /// Somebody answered the danger.
    pub danger_answered: Option<Sight<()>>,
    /// What people said about hazards, in order.
    pub words: Vec<Sight<Hazard>>,
    /// When its team, or somebody for it, last entered anything.
    pub last_word: Option<DateTime<Utc>>,
}

/// A link that went in outside the arena and the test area.
#[derive(Debug, Clone, PartialEq)]
pub struct Outside {
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who said that it is out again.
    pub out: Option<Sight<()>>,
}

/// Whether a link state is the isolated one.
pub fn link_out(state: LinkState) -> bool {
    state == LinkState::Out
}

/// Whether a restraint keeps the weapon from moving.
pub fn restrained(bar: Bar) -> bool {
    matches!(bar, Bar::On | Bar::Held)
}

/// Whether a line says that main power is off: the link out or the light dark.
fn says_dead(body: &Body) -> bool {
    match body {
        Body::Link(link) => link.state == LinkState::Out,
        Body::PowerLight(light) => light.state == Light::Dark,
        Body::Looked(looked) => {
            looked.link == Some(LinkState::Out) || looked.power_light == Some(Light::Dark)
        }
        _ => false,
    }
}

impl RobotState {
    /// Folds the lines of `robot`, in order of time.
    pub fn fold(robot: RobotId, lines: &[Arc<Line>], settings: &Settings) -> Self {
        let mut state = Self::default();
        let window = TimeDelta::seconds(i64::from(settings.dispute_s.get()));
        for line in lines {
            state.take(robot, line, window);
        }
        state
    }

    fn take(&mut self, robot: RobotId, line: &Line, window: TimeDelta) {
        let see = |value| Sight::of(line, value);
        self.visits.take(line);
        if matches!(line.entered_by.role, Role::Crew | Role::Lead) {
            self.last_word = Some(line.at);
        }
        match &line.body {
            Body::Link(link) => self.take_link(line, link, window),
            Body::Gas(gas) => {
                if let Some(valve) = gas.valve {
                    self.take_valve(line, valve, window);
                }
                if let Some(system) = gas.system {
                    self.take_system(line, system, window);
                }
            }
            Body::WeaponBar(bar) => {
                self.weapon_bar
                    .take(Sight::of(line, bar.state), restrained, window);
            }
            Body::Transmitter(tx) => {
                self.take_transmitter(line, tx.state, window);
                self.transmitter_with = tx.with.or(self.transmitter_with);
            }
            Body::PowerLight(light) => {
                self.take_light(line, light.state, window);
                if let Some(power) = light.transmitter {
                    self.take_transmitter(line, power, window);
                }
            }
            Body::Stand(stand) => {
                self.on_stand = Some(Sight::of(line, stand.clear));
                if let Some(place) = stand.place {
                    self.place = Some(see(place));
                }
            }
            Body::Place(to) => self.place = Some(see(to.place)),
            Body::Looked(looked) => self.take_look(line, looked, window),
            Body::Pack(pack) => self.take_pack(line, pack, window),
            Body::Bottle(bottle) => self.take_bottle(line, bottle, window),
            Body::Check(check) if check.what.as_str() == "zero_energy" => {
                self.zero_proved = Some(Sight::of(line, ()));
            }
            Body::Proof(proof) => {
                // An official's result counts; a team's own does not replace it.
                let kept = self.proofs.get(&proof.what).is_some_and(|before| {
                    before.entered_by.role.speaks_for_the_event()
                        && !line.entered_by.role.speaks_for_the_event()
                        && self.turnaround_began.is_none_or(|began| before.at >= began)
                });
                if !kept {
                    self.proofs
                        .insert(proof.what, Sight::of(line, proof.clone()));
                }
            }
            Body::Duty(duty) => match duty.who {
                Some(who) => {
                    self.duties.insert(duty.duty, who);
                }
                None => {
                    self.duties.remove(&duty.duty);
                }
            },
            Body::LinkPlan(plan) => self.link_plans.take(line, plan),
            Body::Answered(answered) => {
                self.answer = Some((answered.bout, Sight::of(line, answered.answer)));
            }
            Body::AllowedHere(allowed) => {
                self.allowed_here = Some(Sight::of(line, allowed.clone()))
            }
            Body::Danger(danger) => self.take_danger(line, danger),
            Body::Hazard(word) => self.words.push(Sight::of(line, word.clone())),
            Body::Called(called) if called.robot.is_none_or(|called| called == robot) => {}
            Body::BoutStarted(_) => self.begin_bout(line),
            Body::BoutEnded(_) => self.end_bout(line),
            _ => {}
        }
        self.watch_outside(line);
    }

    /// A link in where no machine may be live stays a matter until it is out by one person and seen
    /// so by another. **Source** H01, R4, R5, R8.
    fn watch_outside(&mut self, line: &Line) {
        let may = self.in_bout.is_some()
            || self
                .place
                .as_ref()
                .is_some_and(|place| place.value.may_be_live())
            || self.allowed_at(line.at);
        if may {
            self.outside = None;
        } else if self.link.value() == Some(LinkState::In) {
            let since = self
                .outside
                .as_ref()
                .map_or(line.at, |outside| outside.since);
            self.outside = Some(Outside { since, out: None });
        } else if let Some(outside) = &mut self.outside
            && line.seen_by.is_some()
            && says_dead(&line.body)
        {
            match &outside.out {
                None => outside.out = Some(Sight::of(line, ())),
                Some(out) => {
                    let another = out.seen_by != line.seen_by
                        && (out.entered_by.person != line.entered_by.person
                            || line.entered_by.role == Role::Marshal);
                    if another && line.how == Some(How::Saw) {
                        self.outside = None;
                    }
                }
            }
        }
    }

    /// Whether a marshal allows it to be live where it is, at `now`.
    pub fn allowed_at(&self, now: DateTime<Utc>) -> bool {
        self.allowed_here.as_ref().is_some_and(|allowed| {
            let until = allowed.at + TimeDelta::minutes(i64::from(allowed.value.for_min.get()));
            let here = self
                .place
                .as_ref()
                .is_none_or(|place| place.value == allowed.value.place);
            here && allowed.at <= now && now < until
        })
    }

    fn take_link(
        &mut self,
        line: &Line,
        link: &crate::pit::logbook::machine::Link,
        window: TimeDelta,
    ) {
        self.link
            .take(Sight::of(line, link.state), link_out, window);
        match (link.state, link.holder) {
            (LinkState::In, _) => self.holder = None,
            (LinkState::Out, Some(holder)) => self.holder = Some(Sight::of(line, holder)),
            (LinkState::Out, None) => {}
        }
        if let Some(light) = link.light {
            self.take_light(line, light, window);
        }
        if let Some(place) = link.place {
            self.place = Some(Sight::of(line, place));
        }
    }

    fn take_valve(&mut self, line: &Line, valve: Valve, window: TimeDelta) {
        self.valve
            .take(Sight::of(line, valve), |v| v == Valve::Shut, window);
        // An open valve fills the system, whatever the gauge showed before.
        if valve == Valve::Open && self.system.value() == Some(System::Zero) {
            self.system.forget();
        }
    }

    fn take_system(&mut self, line: &Line, system: System, window: TimeDelta) {
        self.system
            .take(Sight::of(line, system), |s| s == System::Zero, window);
    }

    fn take_transmitter(&mut self, line: &Line, power: Power, window: TimeDelta) {
        self.transmitter
            .take(Sight::of(line, power), |p| p == Power::Off, window);
    }

    fn take_light(&mut self, line: &Line, light: Light, window: TimeDelta) {
        self.power_light
            .take(Sight::of(line, light), |l| l == Light::Dark, window);
    }

    fn take_look(
        &mut self,
        line: &Line,
        looked: &crate::pit::logbook::machine::Looked,
        window: TimeDelta,
    ) {
        if let Some(link) = looked.link {
            self.link.take(Sight::of(line, link), link_out, window);
        }
        if let Some(holder) = looked.holder {
            self.holder = Some(Sight::of(line, holder));
        }
        if let Some(valve) = looked.valve {
            self.take_valve(line, valve, window);
        }
        if let Some(system) = looked.system {
            self.take_system(line, system, window);
        }
        if let Some(bar) = looked.weapon_bar {
            self.weapon_bar
                .take(Sight::of(line, bar), restrained, window);
        }
        if let Some(power) = looked.transmitter {
            self.take_transmitter(line, power, window);
        }
        if let Some(light) = looked.power_light {
            self.take_light(line, light, window);
        }
        if let Some(out) = looked.packs_out {
            self.packs_out.take(Sight::of(line, out), |out| out, window);
        }
        if let Some(out) = looked.bottle_out {
            self.bottle_out
                .take(Sight::of(line, out), |out| out, window);
        }
    }

    fn take_pack(
        &mut self,
        line: &Line,
        pack: &crate::pit::logbook::things::Pack,
        window: TimeDelta,
    ) {
        let (Some(place), Some(set)) = (pack.place, pack.set) else {
            return;
        };
        if place == ThingPlace::Machine {
            self.fitted_set = Some(set);
            self.packs_out
                .take(Sight::of(line, false), |out| out, window);
        } else if self.fitted_set.is_none_or(|fitted| fitted == set) {
            self.fitted_set = Some(set);
            if self.packs_out.value() != Some(true) {
                self.packs_out
                    .take(Sight::of(line, true), |out| out, window);
            }
        }
    }

    fn take_bottle(
        &mut self,
        line: &Line,
        bottle: &crate::pit::logbook::things::Bottle,
        window: TimeDelta,
    ) {
        let (Some(place), Some(id)) = (bottle.place, bottle.bottle) else {
            return;
        };
        if place == ThingPlace::Machine {
            self.fitted_bottle = Some(id);
            self.bottle_out
                .take(Sight::of(line, false), |out| out, window);
            if let Some(valve) = bottle.valve {
                self.take_valve(line, valve, window);
            }
        } else if self.fitted_bottle.is_none_or(|fitted| fitted == id) {
            self.fitted_bottle = Some(id);
            if self.bottle_out.value() != Some(true) {
                self.bottle_out
                    .take(Sight::of(line, true), |out| out, window);
            }
        }
    }

    fn take_danger(&mut self, line: &Line, danger: &Danger) {
        match danger.what {
            // Only those who answer for safety may say that it is over.
            DangerOf::Over if matches!(line.entered_by.role, Role::Marshal | Role::Organiser) => {
                self.danger = None;
                self.danger_answered = None;
            }
            DangerOf::Over => {}
            DangerOf::Coming => self.danger_answered = Some(Sight::of(line, ())),
            _ => self.danger = Some(Sight::of(line, danger.clone())),
        }
    }

    /// A bout wipes out every isolation seen before it.
    fn begin_bout(&mut self, line: &Line) {
        self.place = Some(Sight::of(line, Place::Arena));
        if let crate::pit::ids::Subject::Bout(bout) = line.subject {
            self.in_bout = Some(bout);
        }
        self.wipe();
    }

    fn end_bout(&mut self, line: &Line) {
        self.place = Some(Sight::of(line, Place::ArenaRecovery));
        self.in_bout = None;
        self.turnaround += 1;
        self.turnaround_began = Some(line.at);
        self.allowed_here = None;
        self.on_stand = None;
    }

    fn wipe(&mut self) {
        if self.link.value() == Some(LinkState::Out) {
            self.link.forget();
        }
        if self.valve.value() == Some(Valve::Shut) {
            self.valve.forget();
        }
        if self.system.value() == Some(System::Zero) {
            self.system.forget();
        }
        if self.weapon_bar.value().is_some_and(restrained) {
            self.weapon_bar.forget();
        }
        if self.transmitter.value() == Some(Power::Off) {
            self.transmitter.forget();
        }
        if self.power_light.value() == Some(Light::Dark) {
            self.power_light.forget();
        }
        self.packs_out.forget();
        self.bottle_out.forget();
        self.holder = None;
        self.zero_proved = None;
    }
}
