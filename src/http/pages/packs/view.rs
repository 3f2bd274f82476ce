//! Packs and sets in the words of their pages.

pub mod pack;
pub mod set;

use super::{Aside, PackRow, PacksPage, SetRow};
use crate::auth::rights::{Reach, may_write_kind};
use crate::calc::battery::StorageStep;
use crate::http::pages::reader::Reader;
use crate::http::pages::words;
use crate::pit::ids::{PackId, SetId, TeamId};
use crate::pit::logbook::{Kind, register};
use crate::pit::packs::{OnCharge, PackNow, Packs, SetNow, storage};

/// The packs of a team.
pub fn of_team(reader: &Reader, team: TeamId) -> Option<PacksPage> {
    let name = reader.pit.teams.get(&team)?.body.name.to_string();
    let packs = Packs::of(&reader.pit, team, reader.clock.now);
    let mut shown: Vec<(&PackId, &PackNow)> = packs.packs.iter().collect();
    shown.sort_by_key(|(_, pack)| {
        let sound = words::packs::against(pack, reader.clock).is_empty();
        (sound, pack.body.label.to_string())
    });
    let mut sets: Vec<(&SetId, &SetNow)> = packs.sets.iter().collect();
    sets.sort_by_key(|(_, set)| set.body.label.to_string());
    Some(PacksPage {
        sub: name,
        back: reader.sees_team(team).then(|| match reader.signed.team {
            Some(_) => format!("{}/team", reader.base),
            None => format!("{}/team?team={team}", reader.base),
        }),
        aside: shown
            .iter()
            .filter_map(|(id, pack)| aside(reader, **id, pack))
            .collect(),
        sets: sets
            .into_iter()
            .map(|(id, set)| set_row(reader, *id, set, &packs))
            .collect(),
        night: night(reader, team, &packs),
        charging: reader
            .pit
            .channels
            .values()
            .any(|channel| channel.body.team == team && !channel.body.retired)
            .then(|| format!("{}/charging?team={team}", reader.base)),
        labels: (!shown.is_empty()).then(|| format!("{}/packs/labels?team={team}", reader.base)),
        packs: shown
            .into_iter()
            .map(|(id, pack)| row(reader, *id, pack))
            .collect(),
        teams: Vec::new(),
        burning: burning(reader),
    })
}

/// The teams that have packs, for those who see several.
pub fn teams(reader: &Reader) -> PacksPage {
    let mut teams: Vec<(String, String)> = reader
        .pit
        .teams
        .iter()
        .filter(|(id, _)| {
            let mut packs = reader.pit.packs.values();
            packs.any(|pack| pack.body.team == **id && !pack.body.retired)
        })
        .map(|(id, team)| {
            let href = format!("{}/packs?team={id}", reader.base);
            (team.body.name.to_string(), href)
        })
        .collect();
    teams.sort();
    PacksPage {
        sub: "of which team?".to_owned(),
        back: Some(reader.home()),
        aside: Vec::new(),
        sets: Vec::new(),
        packs: Vec::new(),
        night: Vec::new(),
        charging: None,
        labels: None,
        teams,
        burning: burning(reader),
    }
}

/// What each pack needs for the night; nothing while a robot of the team still has a bout to come.
fn night(reader: &Reader, team: TeamId, packs: &Packs) -> Vec<(String, String)> {
    let pit = &reader.pit;
    let fought = packs.packs.values().any(|pack| pack.story.bouts > 0);
    let to_come = pit
        .robots_of(team)
        .any(|(id, _)| pit.next_bout(id).is_some());
    if to_come || !fought {
        return Vec::new();
    }
    let mut night: Vec<(String, String)> = packs
        .packs
        .values()
        .map(|pack| {
            let words = match storage(pack) {
                Some(output) => match output.step {
                    StorageStep::Leave => "leave it as it is".to_owned(),
                    StorageStep::Charge => format!(
                        "put {:.1} Ah in, about {:.0} min",
                        output.moved_ah,
                        output.minutes.unwrap_or_default()
                    ),
                    StorageStep::Discharge => format!("take {:.1} Ah out", output.moved_ah),
                },
                None if pack.story.charge.is_some() => "take it off the charger first".to_owned(),
                None if pack.story.soc.is_none() => "read its cells first".to_owned(),
                None => "apart from the others, as the fire lead says".to_owned(),
            };
            (pack.body.label.to_string(), words)
        })
        .collect();
    night.sort();
    night
}

/// What the event says about a burning pack.
pub fn burning(reader: &Reader) -> Option<String> {
    let words = reader.pit.settings().burning_pack.as_ref()?;
    Some(words.to_string())
}

/// Whether the reader may enter something about packs of `team`.
pub fn enters(reader: &Reader, team: TeamId) -> bool {
    match may_write_kind(reader.signed.role, Kind::Pack) {
        Reach::Everything => true,
        Reach::OwnTeam => reader.signed.team == Some(team),
        Reach::Nothing => false,
    }
}

/// All packs of the team a pack or set belongs to.
pub fn back(reader: &Reader, team: TeamId) -> String {
    match reader.signed.team {
        Some(_) => format!("{}/packs", reader.base),
        None => format!("{}/packs?team={team}", reader.base),
    }
}

/// "6 cells, 5000 mAh, lithium polymer".
pub fn kind(pack: &register::Pack) -> String {
    let cells = pack.cells.get();
    let built = match pack.parallel_cells.get() {
        1 => format!("{cells} cells"),
        parallel => format!("{cells} × {parallel} cells"),
    };
    let chemistry = match pack.chemistry {
        register::Chemistry::Lipo => "lithium polymer",
        register::Chemistry::Nmc => "lithium NMC",
        register::Chemistry::Lfp => "lithium iron phosphate",
    };
    format!("{built}, {} mAh, {chemistry}", pack.capacity_mah.get())
}

/// The channels of a charge by their labels.
pub fn channel_names(reader: &Reader, charge: &OnCharge) -> String {
    let labels: Vec<String> = charge
        .channels
        .iter()
        .filter_map(|id| reader.pit.channels.get(id))
        .map(|channel| channel.body.label.to_string())
        .collect();
    if labels.is_empty() {
        "channel not said".to_owned()
    } else {
        labels.join(" and ")
    }
}

/// Where a pack is, on which channel.
fn state(reader: &Reader, pack: &PackNow) -> String {
    let clock = reader.clock;
    if let Some(charge) = &pack.story.charge {
        return format!(
            "on charge since {}, {}",
            clock.hm(charge.since),
            channel_names(reader, charge)
        );
    }
    match pack.story.place {
        Some(is) => format!(
            "{}, {}, {}, {}",
            words::thing_place(is.place),
            reader.robot(is.robot),
            reader.name(is.by),
            clock.hm(is.since)
        ),
        None => "nobody said where it is".to_owned(),
    }
}

/// "ready about 14:44", with what that rests on.
fn ready(reader: &Reader, pack: &PackNow) -> Option<String> {
    let charge = pack.story.charge.as_ref()?;
    let at = pack.ready_at?;
    let clock = reader.clock;
    Some(if at <= clock.now {
        format!("its time was over at {}: look", clock.hm(at))
    } else if charge.said {
        format!("ready about {}, as was said", clock.hm(at))
    } else {
        format!("ready by {}, with a margin", clock.hm(at))
    })
}

fn row(reader: &Reader, id: PackId, pack: &PackNow) -> PackRow {
    let mut notes: Vec<String> = ready(reader, pack).into_iter().collect();
    if let Some(charge) = &pack.story.charge {
        notes.extend(words::packs::settings_wanted(charge, reader));
    }
    notes.extend(words::packs::against(pack, reader.clock));
    let low = pack.story.last_reading().and_then(|read| read.lowest_v());
    let shown = pack.story.doubtful.is_none();
    PackRow {
        label: pack.body.label.to_string(),
        href: format!("{}/packs/{id}", reader.base),
        state: state(reader, pack),
        notes,
        holds: pack.soc().map_or_else(|| "?".to_owned(), words::packs::soc),
        basis: pack.story.soc.map_or_else(
            || "what it holds is not known: read its cells".to_owned(),
            |(_, basis)| words::packs::soc_basis(basis, reader.clock),
        ),
        low: match low {
            Some(volts) if shown => format!("{volts:.2} V low"),
            Some(_) => "doubtful".to_owned(),
            None => String::new(),
        },
    }
}

fn set_row(reader: &Reader, id: SetId, set: &SetNow, packs: &Packs) -> SetRow {
    let labels: Vec<String> = set
        .body
        .packs
        .iter()
        .filter_map(|id| packs.packs.get(id))
        .map(|pack| pack.body.label.to_string())
        .collect();
    let robot = match set.body.robot {
        Some(robot) => format!("for {}", reader.robot(robot)),
        None => "for any robot".to_owned(),
    };
    SetRow {
        label: set.body.label.to_string(),
        href: format!("{}/sets/{id}", reader.base),
        of: format!("{robot}: {}", labels.join(", ")),
        detail: words::packs::set_detail(set, packs, reader),
        ready: set
            .ready_at
            .map_or_else(String::new, |at| reader.clock.hm(at)),
        keypad: enters(reader, set.body.team).then(|| keypad(reader, id, set)),
    }
}

/// The keypad for the cells of a set.
fn keypad(reader: &Reader, id: SetId, set: &SetNow) -> String {
    let robot = set
        .robot
        .map_or_else(String::new, |robot| format!("?robot={robot}"));
    format!("{}/sets/{id}/volts{robot}", reader.base)
}

fn aside(reader: &Reader, id: PackId, pack: &PackNow) -> Option<Aside> {
    let suspect = pack.story.suspect.as_ref()?;
    let watcher = match suspect.watcher {
        Some(who) => format!("watched by {}", reader.name(Some(who))),
        None => "nobody is named to watch it".to_owned(),
    };
    Some(Aside {
        label: pack.body.label.to_string(),
        href: format!("{}/packs/{id}", reader.base),
        found: found(reader, pack)?,
        place: format!("{}; {watcher}", state(reader, pack)),
        still: words::packs::still_to_do(suspect, reader),
    })
}

/// "swollen, seen by Ana, 13:51".
fn found(reader: &Reader, pack: &PackNow) -> Option<String> {
    let suspect = pack.story.suspect.as_ref()?;
    let looks = suspect.looks.map_or("set aside", words::looks);
    Some(format!(
        "{}, {}, {}",
        looks,
        reader.name(suspect.by),
        reader.clock.hm(suspect.since)
    ))
}
