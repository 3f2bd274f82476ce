//! A robot's visits to the stations: a fold over its lines in order of time.

use crate::pit::ids::LineId;
use crate::pit::logbook::machine::{LinkState, Place};
use crate::pit::logbook::station::{Station, Step};
use crate::pit::logbook::things::{BottleState, ChargeState, ThingPlace};
use crate::pit::logbook::work::ProofOf;
use crate::pit::logbook::{Body, Line};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Services that are remembered for each robot and station.
const REMEMBERED: usize = 5;

/// A robot that waits at a station, or is being served there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Visit {
    /// When it asked.
    pub asked_at: DateTime<Utc>,
    /// The line that says so: decides between two that asked at one moment.
    pub line: LineId,
    /// When the station said that it is next.
    pub next_since: Option<DateTime<Utc>>,
    /// Since when it is being served.
    pub serving_since: Option<DateTime<Utc>>,
    /// It, its bottle or its packs are there, not only asked for.
    pub here: bool,
}

/// A service that is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Service {
    /// When the robot asked.
    pub asked_at: DateTime<Utc>,
    /// When the service began, if anybody said so.
    pub since: Option<DateTime<Utc>>,
    /// When it was over.
    pub until: DateTime<Utc>,
}

/// What is known of a robot at the stations.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Visits {
    now: BTreeMap<Station, Visit>,
    served: BTreeMap<Station, Vec<Service>>,
}

/// The stations that a machine itself has to be brought to.
const MACHINE: [(Place, Station); 4] = [
    (Place::Scale, Station::Scale),
    (Place::Inspection, Station::Inspection),
    (Place::TestArea, Station::TestArea),
    (Place::Queue, Station::ArenaGate),
];

impl Visits {
    /// The visit to a station that is not over.
    pub fn at(&self, station: Station) -> Option<&Visit> {
        self.now.get(&station)
    }

    /// Visits that are not over.
    pub fn open(&self) -> impl Iterator<Item = (Station, &Visit)> {
        self.now.iter().map(|(station, visit)| (*station, visit))
    }

    /// The last services at a station, oldest first.
    pub fn served(&self, station: Station) -> &[Service] {
        self.served.get(&station).map_or(&[], Vec::as_slice)
    }

    /// Folds in the next line of the robot.
    pub fn take(&mut self, line: &Line) {
        match &line.body {
            Body::Station(at) => self.step(line, at.station, at.step),
            Body::Place(to) => self.go(line, to.place),
            Body::Stand(stand) => {
                if let Some(place) = stand.place {
                    self.go(line, place);
                }
            }
            Body::Link(link) => {
                if let Some(place) = link.place {
                    self.go(line, place);
                }
                let testing = self.now.get(&Station::TestArea).copied();
                match (link.state, testing) {
                    (LinkState::In, Some(visit)) if visit.here => {
                        self.step(line, Station::TestArea, Step::Serving);
                    }
                    // Made safe again: the next machine may go live.
                    (LinkState::Out, Some(visit)) if visit.serving_since.is_some() => {
                        self.end(line, Station::TestArea);
                    }
                    _ => {}
                }
            }
            Body::Bottle(bottle) => match (bottle.place, bottle.state) {
                (Some(ThingPlace::GasStation), _) => self.come(line, Station::GasBay),
                (Some(_), _) | (None, Some(BottleState::Filled | BottleState::Dumped)) => {
                    self.end(line, Station::GasBay);
                }
                _ => {}
            },
            Body::Pack(pack) => match pack.place {
                Some(ThingPlace::ChargingTable) => self.come(line, Station::ChargingTable),
                Some(ThingPlace::Machine) => self.end(line, Station::ChargingTable),
                _ => {}
            },
            Body::Charge(charge) => match charge.state {
                Some(ChargeState::Started) => {
                    self.step(line, Station::ChargingTable, Step::Serving);
                }
                Some(ChargeState::Ended) => self.end(line, Station::ChargingTable),
                // The set stays on its channel until somebody takes it off.
                Some(ChargeState::Interrupted) | None => {}
            },
            Body::Proof(proof) => match proof.what {
                ProofOf::Weight => self.end(line, Station::Scale),
                ProofOf::Inspection => self.end(line, Station::Inspection),
                ProofOf::Failsafe | ProofOf::Leak | ProofOf::Weapon => {}
            },
            Body::BoutStarted(_) => {
                self.end(line, Station::ArenaGate);
                self.now.clear();
            }
            _ => {}
        }
    }

    fn step(&mut self, line: &Line, station: Station, step: Step) {
        match step {
            Step::Asked => {
                self.ask(line, station);
            }
            Step::Next => self.ask(line, station).next_since = Some(line.at),
            Step::Serving => {
                let visit = self.ask(line, station);
                visit.serving_since.get_or_insert(line.at);
                visit.here = true;
            }
            Step::Served => self.end(line, station),
            Step::Left => {
                self.now.remove(&station);
            }
        }
    }

    /// Whoever asked keeps the place in the queue, however often they say it again.
    fn ask(&mut self, line: &Line, station: Station) -> &mut Visit {
        self.now.entry(station).or_insert(Visit {
            asked_at: line.at,
            line: line.id,
            next_since: None,
            serving_since: None,
            here: false,
        })
    }

    fn come(&mut self, line: &Line, station: Station) {
        self.ask(line, station).here = true;
    }

    /// The machine is at a place: there it waits, and elsewhere it does not stand any more.
    fn go(&mut self, line: &Line, to: Place) {
        for (place, station) in MACHINE {
            if place == to {
                self.come(line, station);
                continue;
            }
            let Some(visit) = self.now.get(&station).copied() else {
                continue;
            };
            match (station, to) {
                // Being placed and armed is what the gate serves; the start of the bout ends it.
                (Station::ArenaGate, Place::ArenaLoad | Place::Arena) => {
                    self.step(line, station, Step::Serving);
                }
                _ if visit.serving_since.is_some() => self.end(line, station),
                // Off to its bout, it wants nothing else.
                _ if visit.here || to == Place::Queue => {
                    self.now.remove(&station);
                }
                _ => {}
            }
        }
    }

    fn end(&mut self, line: &Line, station: Station) {
        let Some(visit) = self.now.remove(&station) else {
            return;
        };
        let served = self.served.entry(station).or_default();
        served.push(Service {
            asked_at: visit.asked_at,
            since: visit.serving_since,
            until: line.at,
        });
        if served.len() > REMEMBERED {
            served.remove(0);
        }
    }
}
