//! The fold itself: each line changes what is known of the packs it speaks of.

use super::{Place, Reading, Resistance, SocBasis, Story};
use crate::calc::battery::{RestAfter, SocInterval};
use crate::pit::ids::{PackId, RobotId, SetId, TeamId};
use crate::pit::library;
use crate::pit::logbook::hall::{Hazard, Said};
use crate::pit::logbook::register::{self, Chemistry};
use crate::pit::logbook::things::{Looks, Pack, ThingPlace};
use crate::pit::logbook::{Body, Line};
use crate::pit::packs::build::{UNKNOWN_START, capacity_ah, soc_of};
use crate::pit::state::{Pit, Registered};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Share of its capacity a bout takes where nothing is known. **Source** own value, safe side.
pub(in crate::pit::packs) const ASSUMED_USE: f64 = 0.5;

/// How much more, and how much less, a bout may take than is likely. **Source** a quarter more as in
/// the calculator of bout use; half as much: own value.
const USE_AT_MOST: f64 = 1.25;
const USE_AT_LEAST: f64 = 0.5;

/// What a charge that ran its time leaves in a pack. **Source** own value: to a tenth of 1C the
/// calculators end at 0.95 to 0.99.
pub(in crate::pit::packs) const CHARGED: SocInterval = SocInterval {
    low_fraction: 0.93,
    likely_fraction: 0.97,
    high_fraction: 1.0,
};

/// Cells at or above this are taken for charged when somebody keyed them in.
///
/// **Units** millivolts. **Source** own starting value: below the full charge of the chemistries
/// used (3.60 V resting for iron phosphate, 4.15 to 4.20 V for the others).
const CHARGED_MV: i32 = 4_100;
const CHARGED_LFP_MV: i32 = 3_350;

/// The story of every pack of a team.
pub fn stories(pit: &Pit, team: TeamId) -> BTreeMap<PackId, Story> {
    let mut teller = Teller {
        pit,
        team,
        stories: pit
            .packs
            .iter()
            .filter(|(_, pack)| pack.body.team == team)
            .map(|(id, _)| (*id, Story::default()))
            .collect(),
        fitted: BTreeMap::new(),
    };
    let mut lines: Vec<(RobotId, &Arc<Line>)> = pit
        .robots
        .iter()
        .filter(|(_, file)| file.register.body.team == team)
        .flat_map(|(robot, file)| file.lines.iter().map(move |line| (*robot, line)))
        .collect();
    lines.sort_by_key(|(_, line)| (line.at, line.id));
    for (robot, line) in lines {
        match &line.body {
            Body::Pack(pack) => teller.pack(robot, line, pack),
            Body::Charge(charge) => teller.charge(line, charge),
            Body::BoutEnded(_) => teller.fought(robot, line),
            Body::Damage(damage) => teller.damage(robot, line, damage.kind.as_str()),
            Body::Hazard(word) => teller.word(robot, line, word),
            _ => {}
        }
    }
    teller.stories
}

/// Tells the story, line by line.
pub(super) struct Teller<'a> {
    pub(super) pit: &'a Pit,
    team: TeamId,
    pub(super) stories: BTreeMap<PackId, Story>,
    /// What went into each machine last.
    fitted: BTreeMap<RobotId, BTreeSet<PackId>>,
}

impl<'a> Teller<'a> {
    pub(super) fn registered(&self, pack: PackId) -> Option<&'a register::Pack> {
        self.pit.packs.get(&pack).map(|known| &known.body)
    }

    pub(super) fn set(&self, set: SetId) -> Option<&'a register::Set> {
        let own = |known: &&Registered<register::Set>| known.body.team == self.team;
        self.pit.sets.get(&set).filter(own).map(|known| &known.body)
    }

    /// The packs a line speaks of.
    fn spoken_of(&self, line: &Pack) -> Vec<PackId> {
        match (line.pack, line.set, line.sets) {
            (Some(pack), _, _) => vec![pack],
            (None, Some(set), _) => self.set(set).map_or_else(Vec::new, |set| set.packs.clone()),
            (None, None, Some(_)) => self.stories.keys().copied().collect(),
            (None, None, None) => Vec::new(),
        }
    }

    fn pack(&mut self, robot: RobotId, line: &Line, said: &Pack) {
        let packs = self.spoken_of(said);
        let alone = packs.len() == 1 && said.sets.is_none();
        let observed = self.observed();
        if said.place == Some(ThingPlace::Machine) {
            let fitted = self.fitted.entry(robot).or_default();
            fitted.retain(|id| self.stories.get(id).is_some_and(|pack| pack.is_in(robot)));
            fitted.extend(&packs);
        }
        for id in &packs {
            let Some(story) = self.stories.get_mut(id) else {
                continue;
            };
            story.lines.push(line.id);
            if said.sets.is_none() || story.robot.is_none() {
                story.robot = Some(robot);
            }
            let before = story.place.map(|is| is.place);
            if let Some(place) = said.place {
                story.place = Some(Place {
                    place,
                    robot,
                    since: line.at,
                    by: line.seen_by,
                });
                if let Some(charge) = &mut story.charge {
                    if place == ThingPlace::ChargingTable {
                        charge.in_machine = false;
                    } else {
                        story.end_charge(line.at, None);
                    }
                }
            }
            let moved = said.place.is_some() && said.place != before;
            story.look(line, said, moved, alone, observed);
            if let Some(matched) = said.matched {
                story.matched = Some((matched, line.at));
                if matched {
                    story.said_charged = Some(true);
                }
            }
            if let Some(warm) = said.pack_c {
                story.warm.push((line.at, f64::from(warm.get())));
            }
            if let Some(uohm) = said.cell_resistance_uohm {
                let soc = story.soc.map(|(soc, _)| soc.likely_fraction);
                story.resistances.push(Resistance {
                    at: line.at,
                    mohm: f64::from(uohm.get()) / 1000.0,
                    pack_c: said.pack_c.map(|warm| f64::from(warm.get())),
                    soc,
                });
            }
        }
        if let Some(cells) = &said.cells_mv {
            let millivolts: Vec<i32> = cells.iter().map(|cell| cell.get()).collect();
            self.read(line, &packs, &millivolts);
        }
    }

    /// How long a suspect pack is watched.
    fn observed(&self) -> TimeDelta {
        TimeDelta::minutes(self.pit.settings().observation_min.get().into())
    }

    /// Damage to a pack makes those suspect that went into the machine last.
    fn damage(&mut self, robot: RobotId, line: &Line, kind: &str) {
        let Some(file) = self.pit.robot(robot) else {
            return;
        };
        let hit = library::damage(file.register.body.machine)
            .kind(kind)
            .is_some_and(|kind| kind.calls.iter().any(|task| task.ends_with("suspect_pack")));
        if !hit {
            return;
        }
        let looks = if kind == "pack_swollen" {
            Looks::Swollen
        } else {
            Looks::Hit
        };
        let observed = self.observed();
        for id in self.fitted.get(&robot).into_iter().flatten() {
            if let Some(story) = self.stories.get_mut(id) {
                story.lines.push(line.id);
                story.robot = Some(robot);
                story.found_wrong(line, Some(looks), observed);
            }
        }
    }

    /// What is said of a robot's suspect packs under H17 is said of each of them.
    fn word(&mut self, robot: RobotId, line: &Line, word: &Hazard) {
        if word.rule.as_str() != "H17" || word.said != Said::Cleared {
            return;
        }
        for story in self.stories.values_mut() {
            if story.robot == Some(robot) && story.suspect.is_some() {
                story.lines.push(line.id);
                story.said_good(line);
            }
        }
    }

    /// Deals the cells of a reading out to the packs it is of, in the order of the set.
    fn read(&mut self, line: &Line, packs: &[PackId], millivolts: &[i32]) {
        let cells = |id: &PackId| {
            let count = self.registered(*id).map_or(0, |pack| pack.cells.get());
            usize::try_from(count).unwrap_or(0)
        };
        let counts: Vec<usize> = packs.iter().map(cells).collect();
        let wanted: usize = counts.iter().sum();
        let mut rest = millivolts;
        for (id, count) in packs.iter().zip(counts) {
            let body = self.registered(*id);
            let (Some(story), Some(body)) = (self.stories.get_mut(id), body) else {
                continue;
            };
            if wanted != millivolts.len() {
                story.doubtful = Some(format!(
                    "{} cell voltages were entered for {wanted} cells: read them again.",
                    millivolts.len()
                ));
                continue;
            }
            let (own, others) = rest.split_at(count);
            rest = others;
            story.read(line, body, own);
        }
    }

    /// The packs in a robot have been through a bout.
    fn fought(&mut self, robot: RobotId, line: &Line) {
        let electrics = self
            .pit
            .robot(robot)
            .and_then(|file| file.register.body.electrics.as_ref());
        let of_pack = electrics
            .and_then(|electrics| electrics.bout_charge_mah)
            .map(|mah| f64::from(mah.get()) / 1000.0);
        let in_it: Vec<PackId> = self
            .stories
            .iter()
            .filter(|(_, story)| story.is_in(robot))
            .map(|(id, _)| *id)
            .collect();
        for id in in_it {
            let (Some(body), Some(story)) = (self.registered(id), self.stories.get_mut(&id)) else {
                continue;
            };
            let capacity = capacity_ah(body);
            let used = story
                .counted_bouts_ah
                .last()
                .copied()
                .or(of_pack)
                .unwrap_or(ASSUMED_USE * capacity);
            story.lines.push(line.id);
            story.fight(line.at, used, capacity);
        }
    }
}

impl Story {
    fn read(&mut self, line: &Line, body: &register::Pack, cells_mv: &[i32]) {
        let last_current = self.fought_at.max(self.charged_at);
        let after = if self.fought_at.is_some() && self.fought_at == last_current {
            RestAfter::Bout
        } else {
            RestAfter::Gentle
        };
        // A pack nobody has used at this event has rested since before it.
        let rested_min = match (&self.charge, last_current) {
            (Some(_), _) => Some(0.0),
            (None, Some(since)) => Some((line.at - since).as_seconds_f64().max(0.0) / 60.0),
            (None, None) => Some(60.0),
        };
        let mut reading = Reading {
            at: line.at,
            by: line.seen_by,
            cells_mv: cells_mv.to_vec(),
            rested: false,
            rest: self.discharges_ah.len() + usize::from(self.charged_at > self.fought_at),
        };
        match soc_of(body, reading.volts(), rested_min, after) {
            Some((soc, rested)) => {
                reading.rested = rested;
                self.doubtful = None;
                let basis = if rested {
                    SocBasis::Rested(line.at)
                } else {
                    SocBasis::Unrested(line.at)
                };
                // On charge the voltage says what the charger holds, not what the pack has.
                if self.charge.is_none() {
                    self.soc = Some((soc, basis));
                }
            }
            None => {
                self.doubtful = Some("No such pack shows these cells: read them again.".to_owned());
            }
        }
        let full = if body.chemistry == Chemistry::Lfp {
            CHARGED_LFP_MV
        } else {
            CHARGED_MV
        };
        self.said_charged = Some(cells_mv.iter().all(|cell| *cell >= full));
        self.readings.push(reading);
    }

    /// Takes what the charger counted for what the bouts since the last charge took.
    pub(super) fn count(&mut self, charged_ah: Option<f64>) {
        let bouts = usize::try_from(self.bouts_since_charge).unwrap_or(0);
        let Some(charged_ah) = charged_ah.filter(|_| bouts > 0 && self.charge.is_some()) else {
            return;
        };
        let each = charged_ah / bouts as f64;
        let from = self.discharges_ah.len().saturating_sub(bouts);
        for discharge in &mut self.discharges_ah[from..] {
            *discharge = each;
        }
        self.counted_bouts_ah.push(each);
    }

    /// The charge is over: by its time, unless somebody says that it ended full or was cut short.
    pub(super) fn end_charge(&mut self, at: DateTime<Utc>, full: Option<bool>) {
        let Some(charge) = self.charge.take() else {
            return;
        };
        let ran = (at - charge.since).as_seconds_f64() / 60.0 / charge.likely_min.max(1.0);
        let start = self.soc.map_or(
            SocInterval {
                low_fraction: 0.0,
                likely_fraction: UNKNOWN_START,
                high_fraction: 1.0,
            },
            |(soc, _)| soc,
        );
        let by_time = ran >= 1.0 && charge.interrupted.is_none();
        let soc = if full.unwrap_or(by_time) {
            CHARGED
        } else {
            // Cut short: no less than before, how much more nobody measured.
            let gained = ran.clamp(0.0, 1.0) * (CHARGED.likely_fraction - start.likely_fraction);
            SocInterval {
                low_fraction: start.low_fraction,
                likely_fraction: start.likely_fraction + gained.max(0.0),
                high_fraction: 1.0,
            }
        };
        self.soc = Some((soc, SocBasis::Charged(at)));
        self.charged_at = Some(at);
        self.bouts_since_charge = 0;
    }

    fn fight(&mut self, at: DateTime<Utc>, used_ah: f64, capacity_ah: f64) {
        self.end_charge(at, None);
        self.bouts += 1;
        self.bouts_since_charge += 1;
        self.fought_at = Some(at);
        self.matched = None;
        self.said_charged = Some(false);
        self.warm.clear();
        self.discharges_ah.push(used_ah);
        let used = used_ah / capacity_ah;
        self.soc = self.soc.map(|(soc, _)| {
            let left = SocInterval {
                low_fraction: (soc.low_fraction - USE_AT_MOST * used).max(0.0),
                likely_fraction: (soc.likely_fraction - used).max(0.0),
                high_fraction: (soc.high_fraction - USE_AT_LEAST * used).max(0.0),
            };
            (left, SocBasis::Fought(at))
        });
    }
}
