//! What is known of a robot's bottles now, from what lines of its team say.

use crate::calc::units::Mass;
use crate::pit::gas::BottleLimits;
use crate::pit::ids::{BottleId, PersonId, RobotId};
use crate::pit::logbook::things::{Bottle, BottleState, Looks, ThingPlace};
use crate::pit::logbook::{Body, Line, Role};
use crate::pit::state::{Pit, RobotFile};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;
use std::sync::Arc;

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

/// The bottles that a robot's crew spoke of last.
pub fn bottles(pit: &Pit, robot: RobotId, file: &RobotFile) -> Vec<BottleNow> {
    let mut lines: Vec<(RobotId, &Arc<Line>)> = pit
        .robots_of(file.register.body.team)
        .flat_map(|(robot, file)| file.lines.iter().map(move |line| (robot, line)))
        .filter(|(_, line)| matches!(line.body, Body::Bottle(_)))
        .collect();
    lines.sort_by_key(|(_, line)| (line.at, line.id));
    let mut known = Known::default();
    for (robot, line) in lines {
        if let Body::Bottle(bottle) = &line.body {
            known.bottle(pit, robot, line, bottle);
        }
    }
    known
        .bottles
        .into_values()
        .filter(|bottle| bottle.robot == robot)
        .collect()
}

#[derive(Default)]
struct Known {
    bottles: BTreeMap<BottleId, BottleNow>,
}

impl Known {
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
}
