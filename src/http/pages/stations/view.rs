//! What the pages of the stations show, made of what is known.

use super::gas_bay;
use super::work::{Gate, Scale, Work};
use super::{InHand, Inside, Join, Overview, Short, StationPage, Waiting};
use crate::http::pages::parts::fields::{Chip, Typed};
use crate::http::pages::reader::Reader;
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::words;
use crate::pit::ids::RobotId;
use crate::pit::logbook::machine::{LinkState, Place};
use crate::pit::logbook::station::Station;
use crate::pit::logbook::things::BottleState;
use crate::pit::logbook::work::ProofOf;
use crate::pit::logbook::{Body, Line};
use crate::pit::state::RobotFile;
use crate::pit::stations::{Entry, Queue, queue};
use crate::pit::weight;
use chrono::{DateTime, Utc};
use std::cmp::Reverse;

/// Results shown at a station.
const RESULTS: usize = 5;

/// The people of the stations enter results for every team.
pub fn serves(reader: &Reader) -> bool {
    reader.signed.role.speaks_for_the_event()
}

/// Every station.
pub fn overview(reader: &Reader) -> Overview {
    Overview {
        stations: Station::ALL
            .into_iter()
            .map(|station| {
                let queue = queue(&reader.pit, station, reader.clock.now);
                Short {
                    name: words::stations::name(station),
                    href: address(reader, station),
                    queue: waiting_words(&queue),
                    own: own(reader, &queue),
                }
            })
            .collect(),
    }
}

/// The address of a station's page.
pub fn address(reader: &Reader, station: Station) -> String {
    format!("{}/stations/{}", reader.base, station.as_str())
}

fn waiting_words(queue: &Queue) -> String {
    match queue.entries.len() {
        0 => "nobody waits".to_owned(),
        1 => "1 there".to_owned(),
        n => format!("{n} there"),
    }
}

/// "Pewter Finch: place 2, about 14:20", for the robots of the reader's team.
pub fn own(reader: &Reader, queue: &Queue) -> Vec<String> {
    queue
        .entries
        .iter()
        .filter(|entry| is_own(reader, entry.robot))
        .map(|entry| {
            format!(
                "{}: {}",
                reader.robot(entry.robot),
                place_words(reader, entry)
            )
        })
        .collect()
}

/// "place 2, about 14:20".
pub fn place_words(reader: &Reader, entry: &Entry) -> String {
    if entry.is_served() {
        "being served".to_owned()
    } else if entry.visit.next_since.is_some() {
        "next: go there now".to_owned()
    } else {
        format!(
            "place {}, about {}",
            entry.place,
            reader.clock.hm(entry.starts)
        )
    }
}

fn is_own(reader: &Reader, robot: RobotId) -> bool {
    reader.pit.robot(robot).is_some_and(|file| {
        reader.signed.team.is_some() && reader.signed.team == Some(file.register.body.team)
    })
}

/// The page of a station.
pub fn station(reader: &Reader, station: Station, typed: Typed) -> StationPage {
    let now = reader.clock.now;
    let queue = queue(&reader.pit, station, now);
    let serves = serves(reader);
    let shown = match station {
        Station::ArenaGate => 2,
        Station::ChargingTable => 12,
        _ => 1,
    };
    let waits = |robot: RobotId| queue.of(robot).is_some();
    let wants =
        |file: &RobotFile| station != Station::GasBay || file.register.body.machine.has_gas();
    let robots = || {
        reader
            .pit
            .robots
            .iter()
            .filter(|(id, file)| {
                !file.register.body.retired && !waits(**id) && wants(file.as_ref())
            })
            .map(|(id, _)| *id)
    };
    let mut add: Vec<Chip> = robots()
        .map(|id| Chip::new(id.to_string(), reader.robot_at_bench(id)))
        .collect();
    add.sort_by(|a, b| a.label.cmp(&b.label));
    StationPage {
        name: words::stations::name(station),
        sub: sub(&queue),
        address: address(reader, station),
        in_hand: queue
            .entries
            .iter()
            .filter(|_| serves)
            .take(shown)
            .filter_map(|entry| in_hand(reader, station, entry))
            .collect(),
        queue: queue
            .entries
            .iter()
            .map(|entry| waiting(reader, entry))
            .collect(),
        join: robots()
            .filter(|id| is_own(reader, *id) && !serves)
            .map(|id| Join {
                robot: id.to_string(),
                name: reader.robot(id),
                starts: queue.free_at.max(now),
            })
            .collect(),
        add,
        serves,
        air: (station == Station::GasBay).then(|| gas_bay::air(reader, &address(reader, station))),
        inside: if station == Station::TestArea {
            inside(reader)
        } else {
            Vec::new()
        },
        results: if serves {
            results(reader, station)
        } else {
            Vec::new()
        },
        typed,
    }
}

fn sub(queue: &Queue) -> String {
    let waiting = waiting_words(queue);
    match queue.measured {
        0 => waiting,
        n => format!("{waiting}, times from the last {n}"),
    }
}

/// A robot in a queue, as rows show it.
pub fn waiting(reader: &Reader, entry: &Entry) -> Waiting {
    let visit = &entry.visit;
    let state = match (visit.serving_since, visit.next_since) {
        (Some(since), _) => format!("being served since {}", reader.clock.hm(since)),
        (None, Some(since)) => format!("told to come at {}", reader.clock.hm(since)),
        (None, None) if visit.here => format!("there since {}", reader.clock.hm(visit.asked_at)),
        (None, None) => format!("asked at {}", reader.clock.hm(visit.asked_at)),
    };
    Waiting {
        place: entry.place,
        robot: entry.robot.to_string(),
        name: reader.robot(entry.robot),
        bench: bench(reader, entry.robot),
        state,
        starts: entry.starts,
        served: entry.is_served(),
        next: visit.next_since.is_some(),
        own: is_own(reader, entry.robot),
    }
}

fn bench(reader: &Reader, robot: RobotId) -> Option<i32> {
    reader
        .pit
        .robot(robot)
        .and_then(|file| file.register.body.bench.map(|bench| bench.get()))
}

fn in_hand(reader: &Reader, station: Station, entry: &Entry) -> Option<InHand> {
    let file = reader.pit.robot(entry.robot)?;
    Some(InHand {
        robot: entry.robot.to_string(),
        name: reader.robot(entry.robot),
        bench: bench(reader, entry.robot),
        state: waiting(reader, entry).state,
        served: entry.is_served(),
        work: match station {
            Station::GasBay => Work::Bottle(gas_bay::filling(reader, file)),
            Station::Scale => Work::Scale(Scale {
                limit_g: weight::limit(&file.register.body, reader.pit.settings()).get(),
                counts: weight::on_the_scale(file.register.body.machine, reader.pit.settings()),
            }),
            Station::Inspection => Work::Inspection,
            Station::ChargingTable => Work::Charging(sets(reader, entry.robot, file)),
            Station::ArenaGate => Work::Gate(Box::new(gate(reader, entry.robot)?)),
            Station::TestArea => Work::Test,
        },
    })
}

fn sets(reader: &Reader, robot: RobotId, file: &RobotFile) -> Vec<Chip> {
    let team = file.register.body.team;
    reader
        .pit
        .sets
        .iter()
        .filter(|(_, set)| {
            set.body.team == team
                && !set.body.retired
                && set.body.robot.is_none_or(|only| only == robot)
        })
        .map(|(id, set)| Chip::new(id.to_string(), format!("set {}", set.body.label)))
        .collect()
}

fn gate(reader: &Reader, robot: RobotId) -> Option<Gate> {
    let now = RobotNow::of(reader, robot)?;
    let mut verdict = now.verdict(reader, None);
    verdict.sign = now.sign();
    let state = &now.file.state;
    Some(Gate {
        verdict,
        holder: state
            .holder
            .as_ref()
            .map_or_else(String::new, |holder| words::holder(reader, holder.value)),
        armed: state
            .place
            .as_ref()
            .is_some_and(|place| place.value == Place::Arena),
    })
}

/// Machines in the test area, by when they came.
fn inside(reader: &Reader) -> Vec<Inside> {
    let mut inside: Vec<(DateTime<Utc>, Inside)> = reader
        .pit
        .robots
        .iter()
        .filter_map(|(id, file)| {
            let place = file.state.place.as_ref()?;
            (place.value == Place::TestArea).then(|| {
                let link = &file.state.link;
                let out = link.value() == Some(LinkState::Out);
                let state = match link.value() {
                    Some(LinkState::Out) => "link out",
                    Some(LinkState::In) => "link in",
                    None => "nobody said where its link is",
                };
                let inside = Inside {
                    name: reader.robot(*id),
                    state: format!("{state}, in since {}", reader.clock.hm(place.at)),
                    may_be_live: !out,
                };
                (place.at, inside)
            })
        })
        .collect();
    inside.sort_by_key(|(at, _)| *at);
    inside.into_iter().map(|(_, inside)| inside).collect()
}

fn is_result(station: Station, line: &Line) -> bool {
    match (station, &line.body) {
        (Station::GasBay, Body::Bottle(bottle)) => matches!(
            bottle.state,
            Some(BottleState::Filled | BottleState::Weighed | BottleState::Dumped)
        ),
        (Station::Scale, Body::Proof(proof)) => proof.what == ProofOf::Weight,
        (Station::Inspection, Body::Proof(proof)) => proof.what == ProofOf::Inspection,
        (Station::TestArea, Body::Proof(proof)) => matches!(
            proof.what,
            ProofOf::Failsafe | ProofOf::Leak | ProofOf::Weapon
        ),
        (Station::ChargingTable, Body::Charge(charge)) => charge.state.is_some(),
        _ => false,
    }
}

fn results(reader: &Reader, station: Station) -> Vec<crate::http::pages::bench::LogLine> {
    let mut lines: Vec<_> = reader
        .pit
        .robots
        .iter()
        .flat_map(|(id, file)| file.lines.iter().map(move |line| (*id, line)))
        .filter(|(_, line)| is_result(station, line))
        .collect();
    lines.sort_by_key(|(_, line)| Reverse((line.at, line.id)));
    lines
        .into_iter()
        .take(RESULTS)
        .filter_map(|(robot, line)| {
            let mut shown = words::log_line(reader, reader.pit.entry(line.id)?);
            shown.what = format!(
                "{}: {}{}",
                reader.robot(robot),
                shown.what,
                gas_bay::over(reader, line)
            );
            Some(shown)
        })
        .collect()
}
