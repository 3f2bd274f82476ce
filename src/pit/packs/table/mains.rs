//! What channels draw through leads, circuits and generators: now, and by what is to be charged.

use super::ask::till;
use super::{ChannelNow, ToCharge, channels};
use crate::calc::battery::{
    FeedLoad, MainsFeed, MainsLoad, MainsLoadInput, MainsPlaceOutput, MainsVerdict, SupplyKind,
    SupplyPlace, mains_load,
};
use crate::pit::ids::{ChannelId, ChargerId, CircuitId, PackId, TeamId};
use crate::pit::logbook::register;
use crate::pit::packs::Packs;
use crate::pit::packs::build::build;
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// How long the rest of what hangs on a circuit is taken to draw. **Units** min. **Source** own value:
/// longer than the three hours from which a load counts as continuous.
const ALL_DAY_MIN: f64 = 720.0;

/// A load over time: from when so many amperes flow, each step until the next.
pub type MainsCurve = Vec<(DateTime<Utc>, f64)>;

/// A circuit, lead or generator.
#[derive(Debug, Clone, PartialEq)]
pub struct MainsNow {
    /// Which.
    pub id: CircuitId,
    /// What it is.
    pub kind: SupplyKind,
    /// Whether it carries what runs and what is to come; none if its rating is not known.
    pub verdict: Option<MainsVerdict>,
    /// Its rating. **Units** A; nothing if that is not known.
    pub rating_a: f64,
    /// What is planned with. **Units** A.
    pub planned_a: f64,
    /// Highest current, and when that begins. **Units** A.
    pub peak: (f64, Option<DateTime<Utc>>),
    /// Everything that runs and is to come.
    pub all: MainsCurve,
    /// What runs now, without what is to come.
    pub running: MainsCurve,
}

/// The way of a channel to the mains.
pub(super) struct Way {
    /// Names of its feeds for the calculator.
    pub feeds: Vec<String>,
    /// Circuits from the plug on.
    circuits: Vec<CircuitId>,
}

/// What a channel draws through: its charger's own limit, then lead, circuit, generator.
pub(super) fn way(pit: &Pit, channel: &register::Channel) -> Way {
    let charger = channel
        .charger
        .and_then(|id| Some((id, &pit.chargers.get(&id)?.body)));
    let mut way = Way {
        feeds: Vec::new(),
        circuits: Vec::new(),
    };
    let Some((id, charger)) = charger else {
        return way;
    };
    if charger.input_limit_w.is_some() {
        way.feeds.push(charger_name(id));
    }
    let mut next = charger.circuit;
    while let Some(id) = next.filter(|id| !way.circuits.contains(id)) {
        let Some(circuit) = pit.circuits.get(&id) else {
            break;
        };
        way.circuits.push(id);
        if rating_a(&circuit.body).is_some() {
            way.feeds.push(id.to_string());
        }
        next = circuit.body.fed_by;
    }
    way
}

fn charger_name(id: ChargerId) -> String {
    format!("charger {id}")
}

fn volts(circuit: &register::Circuit) -> f64 {
    (f64::from(circuit.mains_mv.get()) / 1000.0).clamp(90.0, 260.0)
}

/// What a circuit or generator is rated at. **Units** A.
fn rating_a(circuit: &register::Circuit) -> Option<f64> {
    let rated = match circuit.kind {
        SupplyKind::Generator => f64::from(circuit.rating_va.map(|va| va.get())?) / volts(circuit),
        SupplyKind::Circuit | SupplyKind::Lead => f64::from(circuit.carries_ma()?.get()) / 1000.0,
    };
    (rated >= 1.0).then_some(rated.min(400.0))
}

fn planned_share(pit: &Pit, circuit: &register::Circuit) -> f64 {
    let percent = circuit
        .continuous_percent
        .unwrap_or(pit.settings().continuous_percent);
    (f64::from(percent.get()) / 100.0).clamp(0.1, 1.0)
}

/// Output over input power of a charger, where its entry says.
pub(super) fn efficiency(charger: &register::Charger) -> Option<f64> {
    let percent = charger.efficiency_percent?;
    Some((f64::from(percent.get()) / 100.0).clamp(0.3, 1.0))
}

/// Power factor of a charger: as entered, 0.95 with correction, 0.60 without.
///
/// **Source** as the calculator of mains loads.
pub(super) fn power_factor(charger: &register::Charger) -> f64 {
    match charger.power_factor_percent {
        Some(percent) => (f64::from(percent.get()) / 100.0).clamp(0.3, 1.0),
        None if charger.power_factor_corrected => 0.95,
        None => 0.60,
    }
}

/// Something that draws through a channel. **Units** W at the pack; min from now.
struct Draw {
    channel: ChannelId,
    output_w: f64,
    from_min: f64,
    to_min: f64,
}

/// Highest power of a channel at a pack: the lesser of its watts and its amperes times full volts.
fn output_w(pit: &Pit, channel: ChannelId, pack: PackId, amps: Option<f64>) -> Option<f64> {
    let body = &pit.channels.get(&channel)?.body;
    let pack = build(&pit.packs.get(&pack)?.body);
    let most_a = f64::from(body.max_current_ma.get()) / 1000.0;
    let full_v = f64::from(pack.series_cells) * pack.chemistry.full_v();
    let watts = amps.unwrap_or(most_a).min(most_a) * full_v;
    Some(watts.min(f64::from(body.max_power_w.get())))
}

/// What runs on the channels of every team, each until its time is over.
fn running(
    pit: &Pit,
    own: TeamId,
    channels_of_own: &[ChannelNow],
    now: DateTime<Utc>,
) -> Vec<Draw> {
    let mut draws = Vec::new();
    let mut add = |team: &[ChannelNow]| {
        for channel in team {
            // Packs that share a channel share its current: the most demanding stands for all.
            let strongest = channel
                .running
                .iter()
                .filter_map(|running| {
                    let watts = output_w(pit, channel.id, running.pack, None)?;
                    Some((watts, till(running.until, now).max(1.0)))
                })
                .max_by(|a, b| a.0.total_cmp(&b.0));
            draws.extend(strongest.map(|(output_w, to_min)| Draw {
                channel: channel.id,
                output_w,
                from_min: 0.0,
                to_min,
            }));
        }
    };
    add(channels_of_own);
    for team in pit.teams.keys().filter(|team| **team != own) {
        add(&channels(pit, *team, &Packs::of(pit, *team, now)));
    }
    draws
}

/// The feeds of a team's channels, with everything that draws through them already.
pub(super) fn feeds(
    pit: &Pit,
    own: &[ChannelNow],
    team: TeamId,
    now: DateTime<Utc>,
) -> Vec<MainsFeed> {
    let mut feeds: BTreeMap<String, MainsFeed> = BTreeMap::new();
    let bodies = own
        .iter()
        .filter_map(|channel| pit.channels.get(&channel.id));
    for body in bodies.map(|channel| &channel.body) {
        let way = way(pit, body);
        for id in &way.circuits {
            let Some(circuit) = pit.circuits.get(id).map(|circuit| &circuit.body) else {
                continue;
            };
            let Some(rating_a) = rating_a(circuit) else {
                continue;
            };
            let other_w = circuit
                .other_load_w
                .map_or(0.0, |watts| f64::from(watts.get()));
            feeds.entry(id.to_string()).or_insert(MainsFeed {
                name: id.to_string(),
                volts_v: volts(circuit),
                rating_a,
                planned_share: Some(planned_share(pit, circuit)),
                other_a: other_w / volts(circuit),
                loads: Vec::new(),
            });
        }
        let Some((id, charger)) = body
            .charger
            .and_then(|id| Some((id, &pit.chargers.get(&id)?.body)))
        else {
            continue;
        };
        let Some(limit_w) = charger.input_limit_w else {
            continue;
        };
        let volts_v = charger
            .circuit
            .and_then(|id| pit.circuits.get(&id))
            .map_or(230.0, |circuit| volts(&circuit.body));
        // The limit is of real power: as amperes at this charger's power factor.
        let rating_a = f64::from(limit_w.get()) / power_factor(charger) / volts_v;
        feeds.entry(charger_name(id)).or_insert(MainsFeed {
            name: charger_name(id),
            volts_v,
            rating_a: rating_a.clamp(1.0, 3000.0),
            planned_share: Some(1.0),
            other_a: 0.0,
            loads: Vec::new(),
        });
    }
    for draw in running(pit, team, own, now) {
        let Some(channel) = pit.channels.get(&draw.channel).map(|known| &known.body) else {
            continue;
        };
        let Some(charger) = channel.charger.and_then(|id| pit.chargers.get(&id)) else {
            continue;
        };
        let volt_amperes = draw.output_w
            / efficiency(&charger.body).unwrap_or(ASSUMED_EFFICIENCY)
            / power_factor(&charger.body);
        for name in way(pit, channel).feeds {
            if let Some(feed) = feeds.get_mut(&name) {
                feed.loads.push(FeedLoad {
                    from_min: draw.from_min,
                    to_min: draw.to_min,
                    load_a: volt_amperes / feed.volts_v,
                });
            }
        }
    }
    feeds.into_values().collect()
}

/// Output over input power of a charger that does not say. **Source** as the calculator's.
const ASSUMED_EFFICIENCY: f64 = 0.85;

/// The circuits of a team's channels over time.
pub(super) fn mains(
    pit: &Pit,
    team: TeamId,
    own: &[ChannelNow],
    to_charge: &[ToCharge],
    now: DateTime<Utc>,
) -> Vec<MainsNow> {
    let mut circuits: BTreeSet<CircuitId> = BTreeSet::new();
    for channel in own {
        if let Some(known) = pit.channels.get(&channel.id) {
            circuits.extend(way(pit, &known.body).circuits);
        }
    }
    let draws = running(pit, team, own, now);
    let to_come = to_charge.iter().filter_map(|charge| {
        Some(Draw {
            channel: charge.channel,
            output_w: output_w(pit, charge.channel, charge.pack, Some(charge.amps))?,
            from_min: till(charge.from, now),
            to_min: till(charge.to, now),
        })
    });
    let with: Vec<MainsLoad> = draws
        .iter()
        .map(|draw| load(pit, draw))
        .chain(to_come.map(|draw| load(pit, &draw)))
        .flatten()
        .collect();
    let without: Vec<MainsLoad> = draws.iter().filter_map(|draw| load(pit, draw)).collect();
    let over_time = |loads: Vec<MainsLoad>| places(pit, &circuits, loads);
    let (all, running) = (over_time(with), over_time(without));
    let curve = |place: Option<&MainsPlaceOutput>| -> MainsCurve {
        place.map_or_else(Vec::new, |place| {
            place
                .steps
                .iter()
                .map(|step| (at(step.from_min, now), step.load_a))
                .collect()
        })
    };
    circuits
        .iter()
        .filter_map(|id| {
            let circuit = &pit.circuits.get(id)?.body;
            let place = all.get(id);
            Some(MainsNow {
                id: *id,
                kind: circuit.kind,
                verdict: place.map(|place| place.verdict),
                rating_a: place.map_or(0.0, |place| place.rating_a),
                planned_a: place.map_or(0.0, |place| place.planned_a),
                peak: place.map_or((0.0, None), |place| {
                    (place.peak_a, place.peak_from_min.map(|min| at(min, now)))
                }),
                all: curve(place),
                running: curve(running.get(id)),
            })
        })
        .collect()
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes of a day, bounded by the calculator"
)]
fn at(minutes: f64, now: DateTime<Utc>) -> DateTime<Utc> {
    now + TimeDelta::seconds((minutes.clamp(0.0, 20_000.0) * 60.0).round() as i64)
}

/// A draw at the first circuit of its way whose rating is known.
fn load(pit: &Pit, draw: &Draw) -> Option<MainsLoad> {
    let channel = &pit.channels.get(&draw.channel)?.body;
    let charger = &pit.chargers.get(&channel.charger?)?.body;
    let rated = |id: &&CircuitId| {
        pit.circuits
            .get(id)
            .is_some_and(|circuit| rating_a(&circuit.body).is_some())
    };
    let way = way(pit, channel);
    let first = way.circuits.iter().find(rated)?;
    (draw.to_min > draw.from_min).then(|| MainsLoad {
        name: channel.label.to_string(),
        at: first.to_string(),
        output_w: draw.output_w,
        efficiency: efficiency(charger),
        power_factor: Some(power_factor(charger)),
        power_factor_corrected: false,
        from_min: draw.from_min,
        to_min: draw.to_min,
    })
}

/// Every circuit with a known rating over time, by its id.
fn places(
    pit: &Pit,
    circuits: &BTreeSet<CircuitId>,
    mut loads: Vec<MainsLoad>,
) -> BTreeMap<CircuitId, MainsPlaceOutput> {
    let rated: BTreeMap<CircuitId, &register::Circuit> = circuits
        .iter()
        .filter_map(|id| Some((*id, &pit.circuits.get(id)?.body)))
        .filter(|(_, circuit)| rating_a(circuit).is_some())
        .collect();
    for (id, circuit) in &rated {
        if let Some(watts) = circuit.other_load_w.filter(|watts| watts.get() > 0) {
            loads.push(MainsLoad {
                name: "everything else on it".to_owned(),
                at: id.to_string(),
                output_w: f64::from(watts.get()),
                efficiency: Some(1.0),
                power_factor: Some(1.0),
                power_factor_corrected: false,
                from_min: 0.0,
                to_min: ALL_DAY_MIN,
            });
        }
    }
    loads.retain(|load| rated.keys().any(|id| id.to_string() == load.at));
    let places = rated
        .iter()
        .map(|(id, circuit)| SupplyPlace {
            name: id.to_string(),
            kind: circuit.kind,
            volts_v: volts(circuit),
            rating_a: (circuit.kind != SupplyKind::Generator)
                .then(|| rating_a(circuit))
                .flatten(),
            rating_kva: (circuit.kind == SupplyKind::Generator)
                .then(|| circuit.rating_va.map(|va| f64::from(va.get()) / 1000.0))
                .flatten(),
            planned_share: Some(planned_share(pit, circuit)),
            fed_by: circuit
                .fed_by
                .filter(|up| rated.contains_key(up))
                .map(|up| up.to_string()),
        })
        .collect();
    let Ok(output) = mains_load(&MainsLoadInput { places, loads }) else {
        return BTreeMap::new();
    };
    rated.keys().copied().zip(output.places).collect()
}
