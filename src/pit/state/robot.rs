//! What is known of one robot: a fold over its lines in order of time.

mod accounts;
mod clearance;
mod duties;

pub use clearance::{Asked, ChangedGround};

use super::Registered;
use super::link_plans::LinkPlans;
use super::sight::{Sight, Source};
use super::unsettled::Unsettled;
use crate::calc::units::Word;
use crate::pit::ids::{BottleId, BoutId, PersonId, RobotId, SetId};
use crate::pit::logbook::hall::{AllowedHere, Danger, DangerOf, Hazard, Inside, Said};
use crate::pit::logbook::machine::{
    Bar, Holder, Light, LinkState, PartOf, Place, Power, StoredIn, StoredState, System, Valve,
};
use crate::pit::logbook::work::{DutyOf, Proof, ProofOf};
use crate::pit::logbook::{Body, Line, Role, bout, register};
use crate::pit::settings::{BarOff, Settings};
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
    /// What holds the weapon while the bar is held by a second restraint, if anybody said.
    pub held_by: Option<Word>,
    /// The transmitter.
    pub transmitter: Source<Power>,
    /// The second transmitter, where there is one.
    pub second_transmitter: Source<Power>,
    /// Stored mechanical energy, as far as anybody said.
    pub stored: BTreeMap<StoredIn, Source<StoredState>>,
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
    /// The transmitter is in its box.
    pub transmitter_boxed: bool,
    /// Who has the second transmitter.
    pub second_transmitter_with: Option<PersonId>,
    /// Links missing when they were last counted.
    pub links_missing: Option<Sight<i32>>,
    /// People inside with it, and whether whoever arms is watched.
    pub inside: Option<Sight<Inside>>,
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
    /// To whom a duty is offered who has not taken it.
    pub duty_offers: BTreeMap<DutyOf, Sight<PersonId>>,
    /// Latest answer to a call, with the bout it was given for.
    pub answer: Option<(Option<BoutId>, Sight<bout::Answer>)>,
    /// What was asked and said about arming it since its last bout.
    pub clearance: Option<Asked>,
    /// Live by leave of a marshal.
    pub allowed_here: Option<Sight<AllowedHere>>,
    /// It was live where it may not be, and nobody but the one who pulled the link has looked since.
    pub outside: Option<Unsettled>,
    /// Its weapon was free where it may not be, and nobody but the one who restrained it has looked
    /// since.
    pub free_outside: Option<Unsettled>,
    /// Stored energy that two people have not yet seen gone.
    pub loaded: BTreeMap<StoredIn, Unsettled>,
    /// Bad parts that two people have not yet seen to work again.
    pub troubles: BTreeMap<PartOf, Unsettled>,
    /// Parts said to be as they should be.
    pub sound: BTreeMap<PartOf, Sight<()>>,
    /// The restraint came off before its step while it was being armed, and no marshal has said
    /// that this is settled.
    pub out_of_order: Option<Sight<()>>,
    /// Danger that nobody has said is over.
    pub danger: Option<Sight<Danger>>,
    /// Somebody answered the danger.
    pub danger_answered: Option<Sight<()>>,
    /// What people said about hazards, in order.
    pub words: Vec<Sight<Hazard>>,
    /// When its team, or somebody for it, last entered anything.
    pub last_word: Option<DateTime<Utc>>,
}

/// Whether a link state is the isolated one.
pub fn link_out(state: LinkState) -> bool {
    state == LinkState::Out
}

/// Whether a restraint keeps the weapon from moving.
pub fn restrained(bar: Bar) -> bool {
    matches!(bar, Bar::On | Bar::Held)
}

/// Whether stored energy is gone or held.
pub fn spent(stored: StoredState) -> bool {
    stored != StoredState::Loaded
}

/// Whether a line says that the weapon is restrained.
fn says_restrained(body: &Body) -> bool {
    match body {
        Body::WeaponBar(bar) => restrained(bar.state),
        Body::Looked(looked) => looked.weapon_bar.is_some_and(restrained),
        _ => false,
    }
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
    pub fn fold(
        robot: RobotId,
        register: &register::Robot,
        lines: &[Arc<Line>],
        settings: &Settings,
    ) -> Self {
        let mut state = Self::default();
        let window = TimeDelta::seconds(i64::from(settings.dispute_s.get()));
        for line in lines {
            let bar = state.weapon_bar.value();
            let from = state.place.as_ref().map(|place| place.value);
            state.take(robot, line, window);
            state.ask_by_coming(line, from);
            state.watch_clearance(line, from);
            state.watch_outside(line);
            if bar != Some(Bar::Off) && state.weapon_bar.value() == Some(Bar::Off) {
                state.watch_order(register, line, settings);
            }
        }
        state
    }

    fn take(&mut self, robot: RobotId, line: &Line, window: TimeDelta) {
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
                let shown = gas
                    .regulated
                    .filter(|regulated| regulated.shows_pressure())
                    .map(|_| System::Live);
                if let Some(system) = gas.system.or(shown) {
                    self.take_system(line, system, window);
                }
            }
            Body::WeaponBar(bar) => {
                self.held_by.clone_from(&bar.second);
                self.weapon_bar
                    .take(Sight::of(line, bar.state), restrained, window);
            }
            Body::Transmitter(tx) if tx.second => {
                self.take_second_transmitter(line, tx.state, window);
                self.second_transmitter_with = tx.with.or(self.second_transmitter_with);
            }
            Body::Transmitter(tx) => {
                self.take_transmitter(line, tx.state, window);
                self.transmitter_with = tx.with.or(self.transmitter_with);
                self.transmitter_boxed = tx.boxed == Some(true);
            }
            Body::PowerLight(light) => {
                self.take_light(line, light.state, window);
                if let Some(power) = light.transmitter {
                    self.take_transmitter(line, power, window);
                }
            }
            Body::Stand(stand) => {
                if let Some(place) = stand.place {
                    self.go(line, place);
                }
                self.on_stand = Some(Sight::of(line, stand.clear));
            }
            Body::Place(to) => self.go(line, to.place),
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
            Body::Duty(duty) => self.take_duty(line, duty),
            Body::LinkPlan(plan) => self.link_plans.take(line, plan),
            Body::Answered(answered) => {
                self.answer = Some((answered.bout, Sight::of(line, answered.answer)));
            }
            Body::AllowedHere(allowed) => {
                self.allowed_here = Some(Sight::of(line, allowed.clone()))
            }
            Body::Clearance(word) => self.take_clearance(line, word),
            Body::Danger(danger) => self.take_danger(line, danger),
            Body::Hazard(word) => {
                let marshal = matches!(line.entered_by.role, Role::Marshal | Role::Organiser);
                if marshal && word.said == Said::Cleared && word.rule.as_str() == "H05" {
                    self.out_of_order = None;
                }
                self.words.push(Sight::of(line, word.clone()));
            }
            Body::Called(called) if called.robot.is_none_or(|called| called == robot) => {}
            Body::BoutStarted(_) => self.begin_bout(line),
            Body::BoutEnded(_) => self.end_bout(line),
            Body::Stored(stored) => self.take_stored(line, stored.what, stored.state, window),
            Body::Trouble(trouble) => self.take_trouble(line, trouble),
            Body::Inside(inside) => self.inside = Some(Sight::of(line, inside.clone())),
            Body::Count(count) if count.what.as_str() == "links" => {
                self.links_missing = Some(Sight::of(line, count.missing.get()));
                if let Some(holder) = count.holder {
                    self.holder = Some(Sight::of(line, holder));
                }
            }
            _ => {}
        }
    }

    /// A link in, or a weapon free, where neither may be stays a matter until it is put right by
    /// one person and seen so by another. **Source** H01, H04, R4, R5, R7, R8.
    fn watch_outside(&mut self, line: &Line) {
        let may = self.in_bout.is_some()
            || self
                .place
                .as_ref()
                .is_some_and(|place| place.value.may_be_live())
            || self.allowed_at(line.at);
        if may {
            self.outside = None;
            self.free_outside = None;
            return;
        }
        if self.link.value() == Some(LinkState::In) {
            Unsettled::raise(&mut self.outside, line);
        } else if says_dead(&line.body) {
            Unsettled::settle(&mut self.outside, line);
        }
        if self.weapon_bar.value() == Some(Bar::Off) {
            Unsettled::raise(&mut self.free_outside, line);
        } else if says_restrained(&line.body) {
            Unsettled::settle(&mut self.free_outside, line);
        }
    }

    /// The restraint came off while it was being armed: before the link went in, or before the gas
    /// where the event has it last. **Source** H05, R1, R4; the forum is split on the order (F1).
    fn watch_order(&mut self, register: &register::Robot, line: &Line, settings: &Settings) {
        let arming = self
            .place
            .as_ref()
            .is_some_and(|place| place.value == Place::ArenaLoad);
        let gas_first = settings.bar_off == BarOff::AfterGas && register.machine.has_gas();
        let too_early = self.link.value() != Some(LinkState::In)
            || gas_first && self.valve.value() != Some(Valve::Open);
        if arming && too_early {
            self.out_of_order = Some(Sight::of(line, ()));
        }
    }

    /// It goes somewhere. What was said about its stand was said where it stood before.
    fn go(&mut self, line: &Line, to: Place) {
        let stays = self.place.as_ref().is_some_and(|from| from.value == to);
        if !stays {
            self.on_stand = None;
            self.inside = None;
        }
        self.place = Some(Sight::of(line, to));
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
        self.go(line, Place::Arena);
        self.out_of_order = None;
        self.clearance = None;
        if let crate::pit::ids::Subject::Bout(bout) = line.subject {
            self.in_bout = Some(bout);
        }
        self.wipe();
    }

    fn end_bout(&mut self, line: &Line) {
        self.go(line, Place::ArenaRecovery);
        self.in_bout = None;
        self.turnaround += 1;
        self.turnaround_began = Some(line.at);
        self.allowed_here = None;
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
        if self.second_transmitter.value() == Some(Power::Off) {
            self.second_transmitter.forget();
        }
        self.stored
            .retain(|_, source| source.value() == Some(StoredState::Loaded));
        self.loaded.clear();
        if self.power_light.value() == Some(Light::Dark) {
            self.power_light.forget();
        }
        self.packs_out.forget();
        self.bottle_out.forget();
        self.holder = None;
        self.zero_proved = None;
    }
}
