//! One set in the words of its page.

use super::{back, burning, enters, keypad};
use crate::calc::battery::PackSetOutput;
use crate::http::pages::packs::pack::Fact;
use crate::http::pages::packs::set::SetPage;
use crate::http::pages::reader::{Reader, capital};
use crate::http::pages::words;
use crate::pit::ids::{LineId, PackId, SetId};
use crate::pit::packs::{Packs, ReadBack, SetNow};

/// Lines of a set's packs that its page shows.
const LINES_SHOWN: usize = 12;

/// A set.
pub fn of(reader: &Reader, id: SetId) -> Option<SetPage> {
    let team = reader.pit.sets.get(&id)?.body.team;
    let packs = Packs::of(&reader.pit, team, reader.clock.now);
    let set = packs.sets.get(&id)?;
    let most_mv = reader.pit.settings().pack_difference_mv.get();
    let (matching, unmatched) = words::packs::matching(set.matching, most_mv, reader.clock);
    let sub = match set.body.robot {
        Some(robot) => format!("for {}", reader.robot(robot)),
        None => "for any robot of the team".to_owned(),
    };
    Some(SetPage {
        label: set.body.label.to_string(),
        sub,
        back: back(reader, team),
        serves: capital(words::packs::serves(set.serves)),
        reasons: set.reasons.clone(),
        facts: facts(reader, set, &packs),
        matching: capital(&matching),
        unmatched,
        strings: set
            .strings
            .iter()
            .map(|string| string.iter().map(|id| named(reader, *id)).collect())
            .collect(),
        together: match &set.arithmetic {
            Ok(given) => Ok(together(set, given)),
            Err(faults) => Err(faults.clone()),
        },
        parts: set.arithmetic.as_ref().map_or_else(
            |_| Vec::new(),
            |given| {
                given
                    .parts
                    .iter()
                    .map(|part| {
                        let word = words::packs::accepts(part.verdict);
                        (part.name.clone(), word, part.detail.clone())
                    })
                    .collect()
            },
        ),
        keypad: enters(reader, team).then(|| keypad(reader, id, set)),
        log: log(reader, set, &packs),
        burning: burning(reader),
    })
}

fn named(reader: &Reader, id: PackId) -> (String, String) {
    let label = reader
        .pit
        .packs
        .get(&id)
        .map_or_else(|| "?".to_owned(), |pack| pack.body.label.to_string());
    (label, format!("{}/packs/{id}", reader.base))
}

fn facts(reader: &Reader, set: &SetNow, packs: &Packs) -> Vec<Fact> {
    let clock = reader.clock;
    let mut facts: Vec<Fact> = vec![match set.holds(&packs.packs) {
        Some(soc) => (
            "Holds",
            words::packs::soc(soc),
            "the emptiest of its packs, by its lowest cell".to_owned(),
        ),
        None => (
            "Holds",
            "not known".to_owned(),
            "measure the cells of every pack".to_owned(),
        ),
    }];
    if let Some(charge) = set.charge(&packs.packs) {
        let ready = set
            .ready_at
            .map_or_else(|| "not known".to_owned(), |at| clock.hm(at));
        facts.push((
            "Ready",
            ready,
            format!("on charge since {}", clock.hm(charge.since)),
        ));
        let read = match charge.read_back {
            ReadBack::Done(who, at) if charge.interrupted.is_none() => {
                format!("Read back by {}, {}", reader.name(Some(who)), clock.hm(at))
            }
            _ => capital(&words::packs::settings_wanted(charge, reader).unwrap_or_default()),
        };
        facts.push(("Charger", read, String::new()));
        facts.push((
            "Watched by",
            match charge.watcher {
                Some(who) => reader.name(Some(who)),
                None => "nobody is named".to_owned(),
            },
            String::new(),
        ));
    }
    facts
}

fn together(set: &SetNow, given: &PackSetOutput) -> Vec<Fact> {
    let wired = match (set.body.strings, set.strings.len()) {
        (None, _) => "nobody said how it is wired: all in series is taken".to_owned(),
        (Some(_), 1) => "one string".to_owned(),
        (Some(_), strings) => format!("{strings} strings side by side"),
    };
    vec![
        (
            "In series",
            format!("{} cells", given.series_cells),
            wired,
        ),
        (
            "Nominal",
            format!("{:.1} V", given.nominal_v),
            format!(
                "{:.1} V full, {:.1} V with every cell at its floor under load",
                given.full_v, given.floor_v
            ),
        ),
        (
            "Capacity",
            format!("{:.1} Ah", given.capacity_ah),
            format!("{:.0} Wh; the least pack of each string counts", given.energy_wh),
        ),
        (
            "Resistance",
            format!("{:.0} mΩ", given.set_mohm),
            "without leads and plugs".to_owned(),
        ),
        (
            "Before plugging in",
            format!("measure: at most {:.1} V", given.full_v),
            "much less or much more: a pack is wired side by side that should be in series, or the other way round".to_owned(),
        ),
    ]
}

fn log(reader: &Reader, set: &SetNow, packs: &Packs) -> Vec<crate::http::pages::bench::LogLine> {
    let mut lines: Vec<LineId> = set
        .body
        .packs
        .iter()
        .filter_map(|id| packs.packs.get(id))
        .flat_map(|pack| pack.story.lines.iter().copied())
        .collect();
    lines.sort_unstable();
    lines.dedup();
    let mut entries: Vec<_> = lines
        .into_iter()
        .filter_map(|line| reader.pit.entry(line))
        .collect();
    entries.sort_by_key(|entry| std::cmp::Reverse((entry.first.at, entry.first.id)));
    entries
        .into_iter()
        .take(LINES_SHOWN)
        .map(|entry| words::log_line(reader, entry))
        .collect()
}
