//! What lines about charges change in the story of a pack.

use super::tell::Teller;
use super::{OnCharge, Place, ReadBack, SocBasis, Story};
use crate::calc::battery::CapacityCharge;
use crate::pit::ids::{ChannelId, SetId, Subject};
use crate::pit::logbook::Line;
use crate::pit::logbook::register;
use crate::pit::logbook::things::{Charge, ChargeState, ThingPlace};
use crate::pit::packs::build::{Share, UNKNOWN_START, cell_mohm, charge_min};

/// What a channel without an entry of its own is taken to give. **Source** own starting value.
const ASSUMED_CHANNEL: Share = Share {
    amps: 5.0,
    watts: 100.0,
};

impl Teller<'_> {
    pub(super) fn charge(&mut self, line: &Line, said: &Charge) {
        if said.running.is_some_and(|running| running.get() == 0) {
            for story in self.stories.values_mut() {
                if story.charge.is_some() {
                    story.lines.push(line.id);
                }
                story.end_charge(line.at, None);
            }
        }
        let Some((id, set)) = said.set.and_then(|id| Some((id, self.set(id)?))) else {
            return;
        };
        for pack in &set.packs {
            if let Some(story) = self.stories.get_mut(pack) {
                story.lines.push(line.id);
            }
        }
        match said.state {
            Some(ChargeState::Started) => self.start(line, said, id, set),
            Some(ChargeState::Ended) => {
                let each = said
                    .charged_mah
                    .map(|mah| f64::from(mah.get()) / 1000.0 / set.packs.len().max(1) as f64);
                for pack in &set.packs {
                    if let Some(story) = self.stories.get_mut(pack) {
                        story.learn(each, said.full);
                        story.count(each);
                        story.end_charge(line.at, said.full);
                        story.charged_at = Some(line.at);
                        story.matched = None;
                        story.said_charged = Some(true);
                    }
                }
            }
            Some(ChargeState::Interrupted) => {
                for charge in self.charges_of(id) {
                    charge.interrupted = Some(line.at);
                    charge.read_back = ReadBack::Nobody;
                }
            }
            None => {
                let channels = said.channels.clone();
                let read_back = said.read_back_by.map(|_| read_back(line, said));
                for charge in self.charges_of(id) {
                    charge.set_to(line, said);
                    if let Some(channels) = &channels {
                        charge.channels.clone_from(channels);
                    }
                    if let Some(read_back) = read_back {
                        charge.read_by(read_back);
                    }
                }
            }
        }
    }

    fn charges_of(&mut self, set: SetId) -> impl Iterator<Item = &mut OnCharge> {
        self.stories
            .values_mut()
            .filter_map(|story| story.charge.as_mut())
            .filter(move |charge| charge.set == Some(set))
    }

    fn start(&mut self, line: &Line, said: &Charge, id: SetId, set: &register::Set) {
        let channels = said.channels.clone().unwrap_or_default();
        // Whatever was on these channels before is off them.
        for story in self.stories.values_mut() {
            let taken = story.charge.as_ref().is_some_and(|charge| {
                charge.set != Some(id) && charge.channels.iter().any(|c| channels.contains(c))
            });
            if taken {
                story.end_charge(line.at, None);
            }
        }
        let share = self.share(&channels, set.packs.len());
        for pack in &set.packs {
            let body = self.registered(*pack);
            let (Some(story), Some(body)) = (self.stories.get_mut(pack), body) else {
                continue;
            };
            let measured = story.resistances.last().map(|reading| reading.mohm);
            let start_soc = story.soc.map_or(UNKNOWN_START, |(soc, _)| soc.low_fraction);
            let mohm = cell_mohm(body, measured);
            let (likely_min, ready_min) = charge_min(body, mohm, start_soc, share);
            let expected = said.expected_min.map(|min| f64::from(min.get()));
            let mut charge = OnCharge {
                set: Some(id),
                channels: channels.clone(),
                since: line.at,
                by: line.seen_by,
                entered_by: line.entered_by.person,
                watcher: None,
                watched_at: None,
                chemistry: None,
                cells: None,
                current: None,
                in_machine: story
                    .place
                    .is_some_and(|is| is.place == ThingPlace::Machine),
                read_back: ReadBack::Nobody,
                interrupted: None,
                start_soc,
                likely_min: expected.unwrap_or(likely_min),
                ready_min: expected.unwrap_or(ready_min),
                said: expected.is_some(),
            };
            charge.set_to(line, said);
            if said.read_back_by.is_some() {
                charge.read_by(read_back(line, said));
            }
            story.charge = Some(charge);
            story.said_charged = Some(false);
            let Subject::Robot(robot) = line.subject else {
                continue;
            };
            story.robot = Some(robot);
            story.place = Some(Place {
                place: ThingPlace::ChargingTable,
                robot,
                since: line.at,
                by: line.seen_by,
            });
        }
    }

    /// What each of `packs` gets of the channels: those that share one share its current and power.
    fn share(&self, channels: &[ChannelId], packs: usize) -> Share {
        let known: Vec<Share> = channels
            .iter()
            .filter_map(|id| self.pit.channels.get(id))
            .map(|channel| Share {
                amps: f64::from(channel.body.max_current_ma.get()) / 1000.0,
                watts: f64::from(channel.body.max_power_w.get()),
            })
            .collect();
        let weakest = known
            .iter()
            .copied()
            .min_by(|a, b| a.watts.total_cmp(&b.watts))
            .unwrap_or(ASSUMED_CHANNEL);
        let on_each = packs.div_ceil(known.len().max(1)).max(1) as f64;
        Share {
            amps: weakest.amps / on_each,
            watts: weakest.watts / on_each,
        }
    }
}

/// Whose word a line about a read-back is: only who enters it is a second person.
fn read_back(line: &Line, said: &Charge) -> ReadBack {
    match said.read_back_by {
        Some(who) if line.entered_by.person == Some(who) => ReadBack::Done(who, line.at),
        Some(who) => ReadBack::Named(who),
        None => ReadBack::Nobody,
    }
}

impl OnCharge {
    /// What a line says of its watcher and of what its charger is set to.
    fn set_to(&mut self, line: &Line, said: &Charge) {
        if said.watcher.is_some() {
            self.watcher = said.watcher;
            self.watched_at = Some(line.at);
        }
        self.chemistry = said.chemistry.or(self.chemistry);
        self.cells = said.cells.or(self.cells);
        self.current = said.current_ma.or(self.current);
    }

    fn read_by(&mut self, read: ReadBack) {
        match read {
            // Whoever set the charger up does not read it back to themselves.
            ReadBack::Done(who, _) if [self.by, self.entered_by].contains(&Some(who)) => {}
            ReadBack::Done(..) => {
                self.read_back = read;
                self.interrupted = None;
            }
            ReadBack::Named(_) if !matches!(self.read_back, ReadBack::Done(..)) => {
                self.read_back = read;
            }
            ReadBack::Named(_) | ReadBack::Nobody => {}
        }
    }
}

impl Story {
    /// Takes what a counted charge tells of the capacity: it has to begin at a known charge.
    ///
    /// **Source** the careful interval is taken for two standard deviations to either side; a
    /// charger that ends by itself is taken to end full, within a hundredth.
    pub(super) fn learn(&mut self, charged_ah: Option<f64>, full: Option<bool>) {
        let begun = self
            .charge
            .as_ref()
            .filter(|charge| charge.interrupted.is_none());
        let (Some(charged_ah), Some(_), Some((soc, basis))) = (charged_ah, begun, self.soc) else {
            return;
        };
        self.counted_charges.push(CapacityCharge {
            charged_ah,
            start_soc_fraction: soc.likely_fraction,
            end_soc_fraction: 1.0,
            start_sigma_fraction: ((soc.high_fraction - soc.low_fraction) / 4.0).clamp(0.001, 0.5),
            end_sigma_fraction: 0.01,
            ended_at_c20: full == Some(true),
            start_rested: matches!(basis, SocBasis::Rested(_)),
        });
    }
}
