//! Packs and sets of packs in words.

use super::super::parts::clock::Clock;
use super::super::reader::Reader;
use crate::calc::battery::{HealthVerdict, ServingVerdict, SetPartVerdict, SocInterval};
use crate::pit::packs::{Matching, OnCharge, PackNow, Packs, ReadBack, SetNow, SocBasis, Suspect};

/// Reasons that stand in a row of a list; the rest are counted.
const REASONS_SHOWN: usize = 1;

/// "62 to 74 %".
pub fn soc(soc: SocInterval) -> String {
    let percent = |fraction: f64| format!("{:.0}", 100.0 * fraction);
    let (low, high) = (percent(soc.low_fraction), percent(soc.high_fraction));
    if low == high {
        format!("{low} %")
    } else {
        format!("{low} to {high} %")
    }
}

/// What a state of charge rests on.
pub fn soc_basis(basis: SocBasis, clock: Clock) -> String {
    match basis {
        SocBasis::Rested(at) => format!("by its cells at rest, {}", clock.hm(at)),
        SocBasis::Unrested(at) => format!(
            "by its cells, read too soon after use, {}: read them again at rest",
            clock.hm(at)
        ),
        SocBasis::Charged(at) => format!("reckoned from the charge that was over {}", clock.hm(at)),
        SocBasis::Fought(at) => format!(
            "reckoned: less what the bout till {} is likely to have taken",
            clock.hm(at)
        ),
    }
}

/// How healthy.
pub fn health(verdict: HealthVerdict) -> &'static str {
    match verdict {
        HealthVerdict::Fit => "Nothing against it",
        HealthVerdict::Unproved => "Not proved",
        HealthVerdict::Watch => "Use it, look again soon",
        HealthVerdict::BalanceFirst => "Balance it before use",
        HealthVerdict::Hold => "Not to be used until somebody has looked",
        HealthVerdict::Retire => "No more bouts",
        HealthVerdict::Quarantine => "Away from everything else",
    }
}

/// Whether a set serves the next bout.
pub fn serves(verdict: ServingVerdict) -> &'static str {
    match verdict {
        ServingVerdict::Serves => "serves the next bout",
        ServingVerdict::Unproved => "not proved for the next bout",
        ServingVerdict::DoesNotServe => "does not serve the next bout as it is",
    }
}

/// Whether a part accepts a set.
pub fn accepts(verdict: SetPartVerdict) -> &'static str {
    match verdict {
        SetPartVerdict::Accepted => "accepts it",
        SetPartVerdict::Unproved => "not known",
        SetPartVerdict::AboveRating => "above its rating",
        SetPartVerdict::StopsEarly => "stops early",
        SetPartVerdict::AboveLimit => "must not see it",
    }
}

/// How the packs of a set compare, and whether that stands against using them together.
pub fn matching(matching: Matching, most_mv: i32, clock: Clock) -> (String, bool) {
    match matching {
        Matching::Unlike => (
            "packs of different kinds: not to be used together".to_owned(),
            true,
        ),
        Matching::SaidUnlike(at) => (
            format!("said not to match, {}: read their cells", clock.hm(at)),
            true,
        ),
        Matching::Unread => (
            "not read since the last charge or bout: read their cells".to_owned(),
            false,
        ),
        Matching::Read { apart_mv, at } => (
            format!(
                "{apart_mv} mV a cell apart, {}; at most {most_mv} mV",
                clock.hm(at)
            ),
            apart_mv > most_mv,
        ),
    }
}

/// What still ends a suspicion: never time alone.
pub fn still_to_do(suspect: &Suspect, reader: &Reader) -> String {
    let clock = reader.clock;
    let minutes = reader.pit.settings().observation_min.get();
    match suspect.observe_until {
        None => format!(
            "Put it into the observation box, away from everything else. From then it is watched for {minutes} min."
        ),
        Some(until) if until > clock.now => format!(
            "It is watched till {}. Then two people look, each on their own word, before it is used again.",
            clock.hm(until)
        ),
        Some(_) if suspect.is_for_good() => {
            "It was swollen: nothing makes it good again. Scrap it as the fire lead says."
                .to_owned()
        }
        Some(_) => match suspect.cleared_by {
            Some(first) => format!(
                "{} found nothing wrong. A second person has to look too.",
                reader.name(Some(first))
            ),
            None => {
                "Watched long enough. Two people look, each on their own word, or it is scrapped."
                    .to_owned()
            }
        },
    }
}

/// What stands against the settings of a charge.
pub fn settings_wanted(charge: &OnCharge, reader: &Reader) -> Option<String> {
    if let Some(cut) = charge.interrupted {
        return Some(format!(
            "mains off at {}: read the charger's settings back",
            reader.clock.hm(cut)
        ));
    }
    match charge.read_back {
        ReadBack::Done(..) => None,
        ReadBack::Named(who) => Some(format!(
            "settings read back by {}, who was only named",
            reader.name(Some(who))
        )),
        ReadBack::Nobody => Some("settings not read back by a second person".to_owned()),
    }
}

/// What stands against a pack, the worst first.
pub fn against(pack: &PackNow, clock: Clock) -> Vec<String> {
    let mut against = Vec::new();
    if let Some(suspect) = &pack.story.suspect {
        against.push(match suspect.observe_until {
            None => "suspect: set it aside".to_owned(),
            Some(until) if until > clock.now => format!("watched till {}", clock.hm(until)),
            Some(_) if suspect.is_for_good() => "was swollen: scrap it".to_owned(),
            Some(_) => "still set aside until two people clear it".to_owned(),
        });
    }
    if let Some(cool) = pack.cooling.and_then(|cooling| cooling.cool_at) {
        against.push(format!("warm, cool about {}", clock.hm(cool)));
    }
    if pack.condition.verdict >= HealthVerdict::BalanceFirst {
        let worst = pack.condition.reasons.first();
        against.extend(worst.map(|reason| stopless(&reason.detail).to_owned()));
    }
    against
}

/// What a set holds, whether it serves the next bout, and what stands against it.
pub fn set_detail(set: &SetNow, packs: &Packs, reader: &Reader) -> String {
    let own = || set.body.packs.iter().filter_map(|id| packs.packs.get(id));
    let mut parts: Vec<String> = Vec::new();
    let lowest = set.holds(&packs.packs);
    parts.push(match lowest {
        Some(holds) => format!("holds {}", soc(holds)),
        None => "charge not known: measure the cells".to_owned(),
    });
    parts.push(serves(set.serves).to_owned());
    if let Some(charge) = set.charge(&packs.packs) {
        parts.extend(settings_wanted(charge, reader));
    }
    let mut reasons: Vec<String> = Vec::new();
    for pack in own() {
        let label = &pack.body.label;
        let own = against(pack, reader.clock).into_iter();
        reasons.extend(own.map(|reason| format!("{label}: {reason}")));
    }
    match &set.arithmetic {
        Ok(given) => reasons.extend(
            given
                .parts
                .iter()
                .filter(|part| part.verdict == SetPartVerdict::AboveLimit)
                .map(|part| format!("{}: {}", part.name, stopless(&part.detail))),
        ),
        Err(faults) => reasons.extend(faults.iter().map(|fault| stopless(fault).to_owned())),
    }
    // What follows from a charge nobody knows says nothing.
    if lowest.is_some() {
        reasons.extend(set.reasons.iter().map(|reason| stopless(reason).to_owned()));
    }
    let more = reasons.len().saturating_sub(REASONS_SHOWN);
    parts.extend(reasons.into_iter().take(REASONS_SHOWN));
    if more > 0 {
        parts.push(format!("{more} more"));
    }
    parts.join("; ")
}

/// A sentence without its full stop, to stand in a row.
pub fn stopless(sentence: &str) -> &str {
    sentence.strip_suffix('.').unwrap_or(sentence)
}
