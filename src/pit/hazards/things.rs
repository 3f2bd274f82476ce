//! What is known of a robot's sets and bottles now, from what lines of its team say.

use crate::calc::units::{CellVoltage, Count, Current, Mass};
use crate::pit::gas::BottleLimits;
use crate::pit::ids::{BottleId, PersonId, RobotId, SetId};
use crate::pit::library;
use crate::pit::logbook::register::Chemistry;
use crate::pit::logbook::things::{
    Bottle, BottleState, Charge, ChargeState, Looks, Pack, ThingPlace,
};
use crate::pit::logbook::{Body, Line, Role};
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Why a set is suspect.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who said so.
    pub by: Option<PersonId>,
    /// Swollen, hot or smelling: worse than a knock.
    pub certain: bool,
}

/// Whether the settings of a charger were read back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadBack {
    /// By nobody.
    Nobody,
    /// Somebody was named for it, which is no second person.
    Named,
    /// By another person, on their own word.
    Done,
}

/// A charge under way.
#[derive(Debug, Clone, PartialEq)]
pub struct ChargeNow {
    /// Since when.
    pub since: DateTime<Utc>,
    /// Who started it.
    pub by: Option<PersonId>,
    /// Who watches it.
    pub watcher: Option<PersonId>,
    /// When that was last said.
    pub watched_at: Option<DateTime<Utc>>,
    /// Whether somebody else read the settings back, since the mains last failed.
    pub read_back: ReadBack,
    /// What the charger is set to.
    pub chemistry: Option<Chemistry>,
    /// The same.
    pub cells: Option<Count>,
    /// The same.
    pub current: Option<Current>,
    /// When the mains failed, and nobody has read the settings back since.
    pub reset: Option<DateTime<Utc>>,
}

/// A set of packs.
#[derive(Debug, Clone, PartialEq)]
pub struct SetNow {
    /// Which.
    pub id: SetId,
    /// The robot whose crew spoke of it last.
    pub robot: RobotId,
    /// Where it is, and since when.
    pub place: Option<(ThingPlace, DateTime<Utc>)>,
    /// It is suspect.
    pub suspect: Option<Suspect>,
    /// It is set aside since then.
    pub aside: Option<DateTime<Utc>>,
    /// It is on charge.
    pub charge: Option<ChargeNow>,
    /// Rest voltages, not older than its last charge or bout.
    pub cells: Option<(Vec<CellVoltage>, DateTime<Utc>)>,
    /// Somebody compared its packs.
    pub matched: Option<(bool, DateTime<Utc>)>,
}

/// A bottle.
#[derive(Debug, Clone, PartialEq)]
pub struct BottleNow {
    /// Which.
    pub id: BottleId,
    /// Where it is, and since when.
    pub place: Option<(ThingPlace, DateTime<Utc>)>,
    /// How it looks, and since when.
    pub looks: Option<(Looks, DateTime<Utc>)>,
    /// What it was filled or weighed to, when; no mass if none was logged.
    pub charge: Option<(Option<Mass>, DateTime<Utc>)>,
    /// It was over its permitted fill, since when and by whose word; another has to weigh it.
    pub over: Option<(DateTime<Utc>, Option<PersonId>)>,
    robot: RobotId,
}

impl BottleNow {
    /// It is at the gas bay.
    pub fn at_the_bay(&self) -> bool {
        self.is_at(ThingPlace::GasStation)
    }

    /// Whether it is at `place`.
    pub fn is_at(&self, place: ThingPlace) -> bool {
        self.place.is_some_and(|(at, _)| at == place)
    }
}

/// The sets and bottles that a robot's crew spoke of last.
pub fn things(pit: &Pit, robot: RobotId, file: &RobotFile) -> (Vec<SetNow>, Vec<BottleNow>) {
    let mut lines: Vec<(RobotId, &Arc<Line>)> = pit
        .robots_of(file.register.body.team)
        .flat_map(|(robot, file)| file.lines.iter().map(move |line| (robot, line)))
        .filter(|(_, line)| {
            matches!(
                line.body,
                Body::Pack(_)
                    | Body::Charge(_)
                    | Body::Bottle(_)
                    | Body::Damage(_)
                    | Body::BoutEnded(_)
            )
        })
        .collect();
    lines.sort_by_key(|(_, line)| (line.at, line.id));
    let mut known = Known::default();
    for (robot, line) in lines {
        match &line.body {
            Body::Pack(pack) => known.pack(pit, robot, line, pack),
            Body::Charge(charge) => known.charge(robot, line, charge),
            Body::Bottle(bottle) => known.bottle(pit, robot, line, bottle),
            Body::Damage(damage) => known.damage(pit, robot, line, damage.kind.as_str()),
            _ => known.fought(robot),
        }
    }
    let sets = known.sets.into_values().filter(|set| set.robot == robot);
    let bottles = known
        .bottles
        .into_values()
        .filter(|bottle| bottle.robot == robot);
    (sets.collect(), bottles.collect())
}

#[derive(Default)]
struct Known {
    sets: BTreeMap<SetId, SetNow>,
    bottles: BTreeMap<BottleId, BottleNow>,
    fitted: BTreeMap<RobotId, SetId>,
}

impl Known {
    fn set(&mut self, robot: RobotId, id: SetId) -> &mut SetNow {
        let set = self.sets.entry(id).or_insert_with(|| SetNow {
            id,
            robot,
            place: None,
            suspect: None,
            aside: None,
            charge: None,
            cells: None,
            matched: None,
        });
        set.robot = robot;
        set
    }

    fn pack(&mut self, pit: &Pit, robot: RobotId, line: &Line, pack: &Pack) {
        let of_pack = pack.pack.and_then(|id| {
            pit.sets
                .iter()
                .find(|(_, set)| set.body.packs.contains(&id))
                .map(|(set, _)| *set)
        });
        let Some(id) = pack.set.or(of_pack) else {
            return;
        };
        if pack.place == Some(ThingPlace::Machine) {
            self.fitted.insert(robot, id);
        }
        let watch = TimeDelta::minutes(i64::from(pit.settings().observation_min.get()));
        let set = self.set(robot, id);
        if let Some(place) = pack.place {
            let stays = set.place.is_some_and(|(before, _)| before == place);
            if !stays {
                set.place = Some((place, line.at));
                // Fetched back before its time, it begins anew.
                if set.aside.is_some_and(|aside| line.at < aside + watch) {
                    set.aside = None;
                }
            }
            match place {
                ThingPlace::Quarantine => {
                    set.aside.get_or_insert(line.at);
                    suspect(set, line, false);
                }
                ThingPlace::Machine => set.charge = None,
                _ => {}
            }
        }
        match pack.looks {
            Some(Looks::Swollen | Looks::Hot | Looks::Smells) => suspect(set, line, true),
            Some(Looks::Hit) => suspect(set, line, false),
            Some(Looks::Fine) | None => {}
        }
        if let Some(cells) = &pack.cells_mv {
            set.cells = Some((cells.clone(), line.at));
        }
        if let Some(matched) = pack.matched {
            set.matched = Some((matched, line.at));
        }
    }

    fn charge(&mut self, robot: RobotId, line: &Line, charge: &Charge) {
        let Some(id) = charge.set else { return };
        let set = self.set(robot, id);
        if charge.state == Some(ChargeState::Ended) {
            set.charge = None;
            set.cells = None;
            set.matched = None;
            return;
        }
        if charge.state == Some(ChargeState::Started) {
            set.charge = Some(ChargeNow {
                since: line.at,
                by: line.seen_by,
                watcher: None,
                watched_at: None,
                read_back: ReadBack::Nobody,
                chemistry: None,
                cells: None,
                current: None,
                reset: None,
            });
        }
        let Some(now) = set.charge.as_mut() else {
            return;
        };
        if charge.watcher.is_some() {
            now.watcher = charge.watcher;
            now.watched_at = Some(line.at);
        }
        now.chemistry = charge.chemistry.or(now.chemistry);
        now.cells = charge.cells.or(now.cells);
        now.current = charge.current_ma.or(now.current);
        if charge.state == Some(ChargeState::Interrupted) {
            now.reset = Some(line.at);
            now.read_back = ReadBack::Nobody;
        }
        let Some(reader) = charge.read_back_by else {
            return;
        };
        // Only who says so on their own word is a second person.
        if line.entered_by.person != Some(reader) {
            if now.read_back == ReadBack::Nobody {
                now.read_back = ReadBack::Named;
            }
        } else if now.by != Some(reader) {
            now.read_back = ReadBack::Done;
            now.reset = None;
        }
    }

    fn bottle(&mut self, pit: &Pit, robot: RobotId, line: &Line, bottle: &Bottle) {
        let Some(id) = bottle.bottle else {
            // All of the team's are handed back.
            if let Some(place) = bottle.place {
                for known in self.bottles.values_mut() {
                    known.place = Some((place, line.at));
                }
            }
            return;
        };
        let known = self.bottles.entry(id).or_insert_with(|| BottleNow {
            id,
            place: None,
            looks: None,
            charge: None,
            over: None,
            robot,
        });
        known.robot = robot;
        if let Some(place) = bottle.place {
            known.place = Some((place, line.at));
        }
        if let Some(looks) = bottle.looks {
            known.looks = Some((looks, line.at));
        }
        if bottle.state == Some(BottleState::Dumped) {
            known.charge = None;
        } else if bottle.state.is_some() || bottle.mass_g.is_some() {
            known.charge = Some((bottle.mass_g, line.at));
        }
        let Some(register) = pit.bottles.get(&id).map(|bottle| &bottle.body) else {
            return;
        };
        let permitted = |_| BottleLimits::permitted(register, line.at.date_naive());
        if let (Some(mass), Some(permitted)) = (bottle.mass_g, bottle.mass_g.and_then(permitted)) {
            let hung = register.fittings_g.map_or(0, Mass::get);
            if mass.get() - register.tare_g.get() - hung > permitted {
                known.over.get_or_insert((line.at, line.seen_by));
            } else if let Some((_, by)) = known.over {
                let official = line.entered_by.role == Role::Official;
                if official || line.seen_by.is_some() && line.seen_by != by {
                    known.over = None;
                }
            }
        }
    }

    /// Damage to a pack makes the set that was in the machine suspect.
    fn damage(&mut self, pit: &Pit, robot: RobotId, line: &Line, kind: &str) {
        let Some(file) = pit.robot(robot) else { return };
        let hit = library::damage(file.register.body.machine)
            .kind(kind)
            .is_some_and(|kind| kind.calls.iter().any(|task| task.ends_with("suspect_pack")));
        if let Some(id) = self.fitted.get(&robot).copied().filter(|_| hit) {
            let certain = kind == "pack_swollen";
            suspect(self.set(robot, id), line, certain);
        }
    }

    /// A bout takes charge out of what was in the machine.
    fn fought(&mut self, robot: RobotId) {
        if let Some(id) = self.fitted.get(&robot).copied() {
            let set = self.set(robot, id);
            set.cells = None;
            set.matched = None;
        }
    }
}

/// A set is suspect until two people have cleared it: what looks fine later does not end it.
fn suspect(set: &mut SetNow, line: &Line, certain: bool) {
    match &mut set.suspect {
        Some(known) => known.certain |= certain,
        None => {
            set.suspect = Some(Suspect {
                since: line.at,
                by: line.seen_by,
                certain,
            });
            if set
                .place
                .is_none_or(|(place, _)| place != ThingPlace::Quarantine)
            {
                set.aside = None;
            }
        }
    }
}
