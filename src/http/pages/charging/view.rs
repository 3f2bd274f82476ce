//! The charging table in the words of its page.

mod drawn;

use super::{Charging, ForBout, OnCharge, Start};
use crate::calc::battery::LateCause;
use crate::http::pages::packs::view::{burning, channel_names, enters};
use crate::http::pages::parts::fields::{Chip, Typed};
use crate::http::pages::reader::Reader;
use crate::http::pages::words;
use crate::pit::ids::{ChannelId, SetId, TeamId};
use crate::pit::logbook::register;
use crate::pit::packs::table::{BoutPacks, Table};
use crate::pit::packs::{OnCharge as Charge, Packs, ReadBack, SetNow};
use crate::pit::settings::{ChargingAt, ChargingWatch};
use chrono::TimeDelta;

/// The charging table of a team.
pub fn of_team(reader: &Reader, team: TeamId, typed: Typed) -> Option<Charging> {
    let name = reader.pit.teams.get(&team)?.body.name.to_string();
    let now = reader.clock.now;
    let packs = Packs::of(&reader.pit, team, now);
    let table = Table::of(&reader.pit, team, now);
    let used = table
        .channels
        .iter()
        .filter(|channel| !channel.running.is_empty())
        .count();
    let own = reader.signed.team.is_some();
    let people = if own {
        words::team_mates(reader, team)
    } else {
        Vec::new()
    };
    Some(Charging {
        sub: format!("{name}, {used} of {} channels in use", table.channels.len()),
        back: Some(if own {
            format!("{}/packs", reader.base)
        } else {
            format!("{}/packs?team={team}", reader.base)
        }),
        action: enters(reader, team).then(|| format!("{}/charging", reader.base)),
        team: team.to_string(),
        rules: rules(reader),
        running: packs
            .sets
            .iter()
            .filter_map(|(id, set)| on_charge(reader, *id, set, &packs))
            .collect(),
        bouts: table
            .bouts
            .iter()
            .map(|bout| for_bout(reader, bout, &table, &packs))
            .collect(),
        lanes: drawn::lanes(reader, &table),
        curves: table
            .mains
            .iter()
            .map(|mains| drawn::curve(reader, mains))
            .collect(),
        faults: table.faults.clone(),
        people: people
            .into_iter()
            .map(|(id, name)| Chip::new(id.to_string(), name))
            .collect(),
        who: reader
            .signed
            .person
            .map_or_else(String::new, |person| person.to_string()),
        teams: Vec::new(),
        typed,
        burning: burning(reader),
    })
}

/// The teams that have channels, for those who see several.
pub fn teams(reader: &Reader) -> Charging {
    let mut teams: Vec<(String, String)> = reader
        .pit
        .teams
        .iter()
        .filter(|(id, _)| {
            let mut channels = reader.pit.channels.values();
            channels.any(|channel| channel.body.team == **id && !channel.body.retired)
        })
        .map(|(id, team)| {
            let href = format!("{}/charging?team={id}", reader.base);
            (team.body.name.to_string(), href)
        })
        .collect();
    teams.sort();
    Charging {
        sub: "of which team?".to_owned(),
        back: Some(reader.home()),
        action: None,
        team: String::new(),
        rules: rules(reader),
        running: Vec::new(),
        bouts: Vec::new(),
        lanes: None,
        curves: Vec::new(),
        faults: Vec::new(),
        people: Vec::new(),
        who: String::new(),
        teams,
        typed: Typed::default(),
        burning: burning(reader),
    }
}

/// Where packs are charged at this event, and who watches them.
fn rules(reader: &Reader) -> String {
    let settings = reader.pit.settings();
    let place = match settings.charging_at {
        ChargingAt::Bench => "on the team’s own bench",
        ChargingAt::Area => "in the area set apart for it",
        ChargingAt::StaffedTable => "at the event’s staffed table",
        ChargingAt::Outside => "outside",
        ChargingAt::SwapDesk => "nowhere in the pits: packs are exchanged at the desk",
    };
    let watch = match (settings.charging_watch, settings.watcher_may_work) {
        (ChargingWatch::Staff, _) => "the event’s staff watch",
        (ChargingWatch::Team, true) => "somebody of the team watches, in sight of it",
        (ChargingWatch::Team, false) => "somebody of the team watches and does nothing else",
    };
    format!("Charging is {place}; {watch}.")
}

fn on_charge(reader: &Reader, id: SetId, set: &SetNow, packs: &Packs) -> Option<OnCharge> {
    let charge = set.charge(&packs.packs)?;
    let clock = reader.clock;
    let first = set.body.packs.iter().find_map(|id| packs.packs.get(id))?;
    let ready = match set.ready_at {
        Some(at) if at <= clock.now => format!("its time was over at {}: look", clock.hm(at)),
        Some(at) if charge.said => format!("ready about {}, as was said", clock.hm(at)),
        Some(at) => format!("ready by {}, with a margin", clock.hm(at)),
        None => String::new(),
    };
    Some(OnCharge {
        set: id.to_string(),
        label: set.body.label.to_string(),
        href: format!("{}/sets/{id}", reader.base),
        on: format!(
            "{}, since {}",
            channel_names(reader, charge),
            clock.hm(charge.since)
        ),
        ready,
        watch: watch(reader, charge),
        must: must(&first.body, charge),
        settings: match charge.read_back {
            ReadBack::Done(who, at) if charge.interrupted.is_none() => {
                format!("read back by {}, {}", reader.name(Some(who)), clock.hm(at))
            }
            _ => words::packs::settings_wanted(charge, reader).unwrap_or_default(),
        },
        to_read_back: words::packs::settings_wanted(charge, reader).is_some(),
        interrupted: charge.interrupted.is_some(),
    })
}

fn watch(reader: &Reader, charge: &Charge) -> String {
    match (charge.watcher, charge.watched_at) {
        (Some(who), Some(at)) => {
            format!(
                "by {}, said {}",
                reader.name(Some(who)),
                reader.clock.hm(at)
            )
        }
        (Some(who), None) => format!("by {}", reader.name(Some(who))),
        (None, _) => "nobody is named".to_owned(),
    }
}

/// Most current a pack may be charged with: its label's, else its capacity in one hour.
fn most_ma(pack: &register::Pack) -> i32 {
    pack.max_charge_ma
        .map_or(pack.capacity_mah.get(), |most| most.get())
}

/// What the charger must be set to for each pack.
fn must(pack: &register::Pack, charge: &Charge) -> String {
    let chemistry = match pack.chemistry {
        register::Chemistry::Lipo => "LiPo",
        register::Chemistry::Nmc => "NMC",
        register::Chemistry::Lfp => "LFP",
    };
    let amps = |ma: i32| format!("{:.1} A", f64::from(ma) / 1000.0);
    let current = match charge.current {
        Some(set) => amps(set.get()),
        None => format!("at most {}", amps(most_ma(pack))),
    };
    format!("{chemistry}, {} cells, {current} a pack", pack.cells.get())
}

fn for_bout(reader: &Reader, bout: &BoutPacks, table: &Table, packs: &Packs) -> ForBout {
    let clock = reader.clock;
    let set = bout.set.and_then(|id| Some((id, packs.sets.get(&id)?)));
    let spare = bout.slack.map(|slack| {
        let minutes = slack.num_minutes();
        if slack < TimeDelta::zero() {
            format!("{} min late for fitting", -minutes.min(-1))
        } else {
            format!("{minutes} min before it is to be fitted")
        }
    });
    let late = bout.late.map(|cause| {
        match cause {
            LateCause::Channel => "every channel is taken",
            LateCause::Mains => "the mains carry no more",
            LateCause::CoolDown => "it is back or cool too late",
            LateCause::ChargeTime => "the charge alone takes too long",
            LateCause::NoPack => "no set of this robot can serve",
        }
        .to_owned()
    });
    let waits = (!bout.charges && bout.set.is_some()).then(|| "needs no charge".to_owned());
    let parts: Vec<String> = [
        Some(format!("call {}", clock.hm(bout.call))),
        waits,
        spare,
        late,
    ]
    .into_iter()
    .flatten()
    .collect();
    ForBout {
        title: format!("Bout {}, {}", bout.number, reader.robot(bout.robot)),
        set: set.map(|(id, set)| {
            let href = format!("{}/sets/{id}", reader.base);
            (set.body.label.to_string(), href)
        }),
        detail: parts.join("; "),
        ready: match bout.ready_at {
            Some(at) if at <= clock.now + TimeDelta::minutes(1) => "ready".to_owned(),
            Some(at) => clock.hm(at),
            None => "none".to_owned(),
        },
        start: set.and_then(|(id, set)| start(reader, bout, id, set, table)),
    }
}

/// The charge that may begin now: every pack of the set has its channel and its turn.
fn start(
    reader: &Reader,
    bout: &BoutPacks,
    id: SetId,
    set: &SetNow,
    table: &Table,
) -> Option<Start> {
    let soon = reader.clock.now + TimeDelta::minutes(1);
    let mut channels = Vec::new();
    let mut least_a = f64::INFINITY;
    for pack in &set.body.packs {
        let charge = table
            .to_charge
            .iter()
            .find(|charge| charge.bout == bout.bout && charge.pack == *pack)?;
        if charge.from > soon {
            return None;
        }
        channels.push(charge.channel);
        least_a = least_a.min(charge.amps);
    }
    Some(Start {
        set: id.to_string(),
        on: names(reader, &channels),
        channels: channels.iter().map(ToString::to_string).collect(),
        current_ma: milliamps(least_a),
    })
}

/// Rounded down to a tenth of an ampere: chargers are set in such steps.
#[expect(
    clippy::cast_possible_truncation,
    reason = "amperes of a charger, bounded by the calculator"
)]
fn milliamps(amps: f64) -> i32 {
    (amps.clamp(0.05, 200.0) * 10.0).floor().max(1.0) as i32 * 100
}

fn names(reader: &Reader, channels: &[ChannelId]) -> String {
    let mut labels: Vec<String> = channels
        .iter()
        .filter_map(|id| reader.pit.channels.get(id))
        .map(|channel| channel.body.label.to_string())
        .collect();
    labels.dedup();
    words::list(&labels)
}
