//! Sets of packs in words.

use super::super::parts::clock::Clock;
use crate::calc::battery::{HealthVerdict, ServingVerdict, SetPartVerdict};
use crate::pit::packs::{Packs, ReadBack, SetNow};

/// Reasons that stand in a row of a list; the rest are counted.
const REASONS_SHOWN: usize = 1;

/// What a set holds, whether it serves the next bout, and what stands against it.
pub fn set_detail(set: &SetNow, packs: &Packs, clock: Clock) -> String {
    let own = || set.body.packs.iter().filter_map(|id| packs.packs.get(id));
    let mut parts: Vec<String> = Vec::new();
    let lowest = own()
        .map(|pack| pack.soc())
        .collect::<Option<Vec<_>>>()
        .and_then(|all| {
            all.into_iter()
                .min_by(|a, b| a.low_fraction.total_cmp(&b.low_fraction))
        });
    let known = lowest.is_some();
    parts.push(match lowest {
        Some(soc) => format!(
            "holds {:.0} to {:.0} %",
            100.0 * soc.low_fraction,
            100.0 * soc.high_fraction
        ),
        None => "charge not known: measure the cells".to_owned(),
    });
    parts.push(
        match set.serves {
            ServingVerdict::Serves => "serves the next bout",
            ServingVerdict::Unproved => "not proved for the next bout",
            ServingVerdict::DoesNotServe => "does not serve the next bout as it is",
        }
        .to_owned(),
    );
    if let Some(charge) = set.charge(&packs.packs) {
        if let Some(cut) = charge.interrupted {
            parts.push(format!(
                "mains off at {}: read the charger's settings back",
                clock.hm(cut)
            ));
        } else if !matches!(charge.read_back, ReadBack::Done(..)) {
            parts.push("settings not read back by a second person".to_owned());
        }
    }
    let mut against: Vec<String> = Vec::new();
    for pack in own() {
        let label = &pack.body.label;
        if let Some(suspect) = &pack.story.suspect {
            against.push(match suspect.observe_until {
                None => format!("{label} is suspect: set it aside"),
                Some(until) if until > clock.now => {
                    format!("{label} is watched till {}", clock.hm(until))
                }
                Some(_) if suspect.is_for_good() => format!("{label} was swollen: scrap it"),
                Some(_) => format!("{label} is still set aside until two people clear it"),
            });
        }
        if let Some(cool) = pack.cooling.and_then(|cooling| cooling.cool_at) {
            against.push(format!("{label} is warm, cool about {}", clock.hm(cool)));
        }
        if pack.condition.verdict >= HealthVerdict::BalanceFirst {
            let worst = pack.condition.reasons.first();
            against.extend(worst.map(|reason| format!("{label}: {}", stopless(&reason.detail))));
        }
    }
    match &set.arithmetic {
        Ok(given) => against.extend(
            given
                .parts
                .iter()
                .filter(|part| part.verdict == SetPartVerdict::AboveLimit)
                .map(|part| format!("{}: {}", part.name, stopless(&part.detail))),
        ),
        Err(faults) => against.extend(faults.iter().map(|fault| stopless(fault).to_owned())),
    }
    // What follows from a charge nobody knows says nothing.
    if known {
        against.extend(set.reasons.iter().map(|reason| stopless(reason).to_owned()));
    }
    let more = against.len().saturating_sub(REASONS_SHOWN);
    parts.extend(against.into_iter().take(REASONS_SHOWN));
    if more > 0 {
        parts.push(format!("{more} more"));
    }
    parts.join("; ")
}

/// A sentence without its full stop, to stand in a row.
fn stopless(sentence: &str) -> &str {
    sentence.strip_suffix('.').unwrap_or(sentence)
}
