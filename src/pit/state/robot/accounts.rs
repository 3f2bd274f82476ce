//! What an account of a source does to what is known of a robot.

use super::{RobotState, link_out, restrained, spent};
use crate::pit::logbook::Line;
use crate::pit::logbook::machine::{
    Light, Link, LinkState, Looked, Power, StoredIn, StoredState, System, Trouble, Valve,
};
use crate::pit::logbook::things::{Bottle, Pack, ThingPlace};
use crate::pit::state::sight::Sight;
use crate::pit::state::unsettled::{raise, settle};
use chrono::TimeDelta;

impl RobotState {
    pub(super) fn take_link(&mut self, line: &Line, link: &Link, window: TimeDelta) {
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
            self.go(line, place);
        }
    }

    pub(super) fn take_valve(&mut self, line: &Line, valve: Valve, window: TimeDelta) {
        self.valve
            .take(Sight::of(line, valve), |v| v == Valve::Shut, window);
        // An open valve fills the system, whatever the gauge showed before.
        if valve == Valve::Open && self.system.value() == Some(System::Zero) {
            self.system.forget();
        }
    }

    pub(super) fn take_system(&mut self, line: &Line, system: System, window: TimeDelta) {
        self.system
            .take(Sight::of(line, system), |s| s == System::Zero, window);
    }

    pub(super) fn take_transmitter(&mut self, line: &Line, power: Power, window: TimeDelta) {
        self.transmitter
            .take(Sight::of(line, power), |p| p == Power::Off, window);
    }

    pub(super) fn take_second_transmitter(&mut self, line: &Line, power: Power, window: TimeDelta) {
        self.second_transmitter
            .take(Sight::of(line, power), |p| p == Power::Off, window);
    }

    /// Energy that is reported stored stays a matter until it is gone by one person's word and seen
    /// so by another. **Source** H25, R4, R22.
    pub(super) fn take_stored(
        &mut self,
        line: &Line,
        what: StoredIn,
        stored: StoredState,
        window: TimeDelta,
    ) {
        self.stored
            .entry(what)
            .or_default()
            .take(Sight::of(line, stored), spent, window);
        if spent(stored) {
            settle(&mut self.loaded, what, line);
        } else {
            raise(&mut self.loaded, what, line);
        }
    }

    /// A part that is bad stays a matter until it works by one person's word and is seen so by
    /// another. **Source** H14, H15.
    pub(super) fn take_trouble(&mut self, line: &Line, trouble: &Trouble) {
        if trouble.bad {
            raise(&mut self.troubles, trouble.what, line);
        } else {
            settle(&mut self.troubles, trouble.what, line);
            self.sound.insert(trouble.what, Sight::of(line, ()));
        }
    }

    pub(super) fn take_light(&mut self, line: &Line, light: Light, window: TimeDelta) {
        self.power_light
            .take(Sight::of(line, light), |l| l == Light::Dark, window);
    }

    pub(super) fn take_look(&mut self, line: &Line, looked: &Looked, window: TimeDelta) {
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
        if let Some(power) = looked.second_transmitter {
            self.take_second_transmitter(line, power, window);
        }
        if let Some(stored) = looked.stored {
            for what in StoredIn::ALL {
                self.take_stored(line, what, stored, window);
            }
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

    pub(super) fn take_pack(&mut self, line: &Line, pack: &Pack, window: TimeDelta) {
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

    pub(super) fn take_bottle(&mut self, line: &Line, bottle: &Bottle, window: TimeDelta) {
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
}
