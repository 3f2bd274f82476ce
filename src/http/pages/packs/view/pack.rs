//! One pack in the words of its page.

use super::{back, burning, channel_names, enters, found, kind, ready, state};
use crate::calc::battery::{HealthVerdict, SocInterval};
use crate::http::pages::packs::label::Label;
use crate::http::pages::packs::pack::{Cells, Fact, PackPage, SayForm};
use crate::http::pages::parts::fields::{Chip, Typed};
use crate::http::pages::reader::{Reader, capital};
use crate::http::pages::register::card::draw_qr;
use crate::http::pages::words;
use crate::pit::ids::PackId;
use crate::pit::logbook::things::ThingPlace;
use crate::pit::packs::{PackNow, ReadBack, SocBasis};

/// A pack, with what came back from its form.
pub fn of(reader: &Reader, id: PackId, typed: Typed) -> Option<PackPage> {
    let pack = PackNow::at(&reader.pit, id, reader.clock.now)?;
    let team = pack.body.team;
    let mut sets: Vec<(String, String)> = reader
        .pit
        .sets
        .iter()
        .filter(|(_, set)| set.body.packs.contains(&id) && !set.body.retired)
        .map(|(id, set)| {
            let href = format!("{}/sets/{id}", reader.base);
            (set.body.label.to_string(), href)
        })
        .collect();
    sets.sort();
    let suspect = pack.story.suspect.as_ref();
    Some(PackPage {
        label: pack.body.label.to_string(),
        kind: kind(&pack.body),
        back: back(reader, team),
        suspect: suspect
            .zip(found(reader, &pack))
            .map(|(suspect, found)| (capital(&found), words::packs::still_to_do(suspect, reader))),
        doubtful: pack.story.doubtful.clone(),
        facts: facts(reader, &pack),
        cells: cells(reader, &pack),
        health: words::packs::health(pack.condition.verdict),
        reasons: pack
            .condition
            .reasons
            .iter()
            .map(|reason| reason.detail.clone())
            .collect(),
        measures: measures(&pack),
        sets,
        print: format!("{}/packs/labels?pack={id}", reader.base),
        log: log(reader, &pack),
        form: enters(reader, team).then(|| form(reader, id, &pack, typed)),
        burning: burning(reader),
    })
}

fn form(reader: &Reader, id: PackId, pack: &PackNow, typed: Typed) -> SayForm {
    let own = reader.signed.team.is_some();
    let people = if own {
        words::team_mates(reader, pack.body.team)
    } else {
        Vec::new()
    };
    let aside = pack.story.place.map(|is| is.place) == Some(ThingPlace::Quarantine);
    SayForm {
        action: format!("{}/packs/{id}", reader.base),
        people: people
            .into_iter()
            .map(|(id, name)| Chip::new(id.to_string(), name))
            .collect(),
        who: reader
            .signed
            .person
            .map_or_else(String::new, |person| person.to_string()),
        to_set_aside: !aside,
        should_be_aside: pack.story.suspect.is_some(),
        typed,
    }
}

/// What was said of it, newest first.
fn log(reader: &Reader, pack: &PackNow) -> Vec<crate::http::pages::bench::LogLine> {
    let mut lines = pack.story.lines.clone();
    lines.dedup();
    lines
        .iter()
        .rev()
        .filter_map(|line| reader.pit.entry(*line))
        .map(|entry| words::log_line(reader, entry))
        .collect()
}

fn facts(reader: &Reader, pack: &PackNow) -> Vec<Fact> {
    let clock = reader.clock;
    let mut facts: Vec<Fact> = vec![("Where", capital(&state(reader, pack)), String::new())];
    facts.push(match pack.story.soc {
        Some((soc, basis)) => ("Holds", holds(soc), words::packs::soc_basis(basis, clock)),
        None => (
            "Holds",
            "not known".to_owned(),
            "nobody read its cells here, nor saw a charge of it end".to_owned(),
        ),
    });
    if let Some(charge) = &pack.story.charge {
        facts.push((
            "Ready",
            ready(reader, pack).map_or_else(String::new, |ready| capital(&ready)),
            format!(
                "planned from {:.0} %; likely {:.0} min from {}",
                100.0 * charge.start_soc,
                charge.likely_min,
                clock.hm(charge.since)
            ),
        ));
        let (word, detail) = match charge.read_back {
            ReadBack::Done(who, at) if charge.interrupted.is_none() => (
                format!("read back by {}", reader.name(Some(who))),
                clock.hm(at),
            ),
            _ => (
                words::packs::settings_wanted(charge, reader).unwrap_or_default(),
                channel_names(reader, charge),
            ),
        };
        facts.push(("Charger", capital(&word), detail));
        facts.push((
            "Watched by",
            match charge.watcher {
                Some(who) => reader.name(Some(who)),
                None => "nobody is named".to_owned(),
            },
            charge
                .watched_at
                .map_or_else(String::new, |at| format!("said at {}", clock.hm(at))),
        ));
    }
    if let Some(cooling) = pack.cooling {
        facts.push((
            "Warm",
            format!("{:.0} °C at {}", cooling.measured_c, clock.hm(cooling.at)),
            match cooling.cool_at {
                Some(at) => format!("cool enough to charge about {}", clock.hm(at)),
                None => "the air is too warm for it ever to cool enough to charge".to_owned(),
            },
        ));
    } else if let Some((at, warm)) = pack.story.warm.last() {
        facts.push((
            "Measured",
            format!("{warm:.0} °C at {}", clock.hm(*at)),
            "cool enough to charge by now".to_owned(),
        ));
    }
    facts.push((
        "Bouts here",
        pack.story.bouts.to_string(),
        match pack.story.bouts_since_charge {
            0 => "none since its last charge".to_owned(),
            n => format!("{n} since its last charge"),
        },
    ));
    facts
}

/// "62 to 74 %, likely 68".
fn holds(soc: SocInterval) -> String {
    format!(
        "{}, likely {:.0}",
        words::packs::soc(soc),
        100.0 * soc.likely_fraction
    )
}

fn cells(reader: &Reader, pack: &PackNow) -> Option<Cells> {
    let reading = pack.story.last_reading()?;
    let clock = reader.clock;
    let how = match pack.story.soc {
        _ if pack.story.doubtful.is_some() => "doubtful",
        Some((_, SocBasis::Unrested(at))) if at == reading.at => "not rested",
        _ if reading.rested => "at rest",
        _ => "not rested",
    };
    let least = reading.cells_mv.iter().min().copied();
    let uneven = pack
        .condition
        .reasons
        .iter()
        .any(|reason| reason.verdict >= HealthVerdict::Watch)
        && pack.condition.spread_mv.is_some_and(|spread| spread > 10.0);
    Some(Cells {
        read: format!(
            "{}, {}, {how}{}",
            reader.name(reading.by),
            clock.hm(reading.at),
            pack.condition
                .spread_mv
                .map_or_else(String::new, |spread| format!(", {spread:.0} mV apart"))
        ),
        volts: reading
            .cells_mv
            .iter()
            .map(|mv| {
                let low = uneven && Some(*mv) == least;
                (format!("{:.3}", f64::from(*mv) / 1000.0), low)
            })
            .collect(),
    })
}

fn measures(pack: &PackNow) -> Vec<Fact> {
    let story = &pack.story;
    let label_ah = f64::from(pack.body.capacity_mah.get()) / 1000.0;
    let mut measures: Vec<Fact> = vec![match pack.condition.capacity {
        Some(found) => (
            "Capacity",
            format!("{:.1} ± {:.1} Ah", found.capacity_ah, 2.0 * found.sigma_ah),
            format!(
                "{label_ah} Ah on its label; by {} counted from rest to full",
                match found.charges_used {
                    1 => "one charge".to_owned(),
                    n => format!("{n} charges"),
                }
            ),
        ),
        None => (
            "Capacity",
            format!("{label_ah} Ah on its label"),
            "not measured: that takes a charge from a rest to full, with the mAh put in".to_owned(),
        ),
    }];
    measures.push(match story.resistances.last() {
        Some(read) => (
            "Resistance",
            format!("{:.1} mΩ a cell", read.mohm),
            match pack.condition.resistance_ratio {
                Some(ratio) => format!("{ratio:.2} times what it was; as a charger reads it"),
                None => "as a charger reads it; compared once it was read more often, as warm and as full".to_owned(),
            },
        ),
        None => match pack.body.cell_resistance_uohm {
            Some(uohm) => (
                "Resistance",
                format!("{:.1} mΩ a cell", f64::from(uohm.get()) / 1000.0),
                "as it was entered, never read here".to_owned(),
            ),
            None => ("Resistance", "not known".to_owned(), "charges are planned with a general estimate".to_owned()),
        },
    });
    measures.push((
        "Full cycles",
        format!("{:.1}", pack.condition.full_cycles),
        "discharged over the label’s capacity, those before the event counted".to_owned(),
    ));
    measures
}

/// The label of a pack; the code on it opens `address`.
///
/// # Errors
/// The address is too long for a code.
pub fn label(
    reader: &Reader,
    pack: &crate::pit::logbook::register::Pack,
    address: &str,
) -> Result<Label, qrcode::types::QrError> {
    // Without a word of its own, a pack is charged with its capacity in one hour.
    let most_ma = pack
        .max_charge_ma
        .map_or(pack.capacity_mah.get(), |most| most.get());
    Ok(Label {
        name: pack.label.to_string(),
        team: reader
            .pit
            .teams
            .get(&pack.team)
            .map_or_else(String::new, |team| team.body.name.to_string()),
        kind: kind(pack),
        charge: format!("charge with at most {:.1} A", f64::from(most_ma) / 1000.0),
        qr: draw_qr(address)?,
    })
}
