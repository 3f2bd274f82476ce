//! H08, H09 and H11: the link, the transmitter and the power light, and who has them.

use super::matrix::{Site, at_place};
use super::{Finding, Scene, Severity};
use crate::pit::energy::{SourceOf, Standing};
use crate::pit::library::tasks::TransmitterIs;
use crate::pit::logbook::machine::{Light, LinkState, Place};
use crate::pit::logbook::work::DutyOf;

/// H08: a link that is out and with nobody, or missing when they were counted.
pub fn link_unaccounted(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    if scene.exposure.in_bout {
        return None;
    }
    let severity = if scene.exposure.hands_on.is_empty() {
        Severity::Hold
    } else {
        Severity::StopNow
    };
    if let Some(missing) = state.links_missing.as_ref().filter(|count| count.value > 0) {
        return Some(Finding {
            severity,
            since: missing.at,
            why: match missing.value {
                1 => "One link is missing".to_owned(),
                n => format!("{n} links are missing"),
            },
            people: missing.seen_by.into_iter().collect(),
        });
    }
    let link = state.link.standing.as_ref()?;
    let nobody = link.value == LinkState::Out && state.holder.is_none();
    (nobody && scene.exposure.to_doubt()).then(|| Finding {
        severity,
        since: link.at,
        why: "Link out, and nobody said who has it".to_owned(),
        people: link.seen_by.into_iter().collect(),
    })
}

/// H09: a transmitter that is on where it is off, or, while hands are in, with somebody other than
/// the driver.
pub fn transmitter_loose(scene: &Scene<'_>) -> Option<Finding> {
    on_where_off(scene).or_else(|| not_with_driver(scene))
}

fn on_where_off(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    let place = state.place.as_ref()?.value;
    // The inspector asks for it; everywhere else the place matrix decides.
    let off = place != Place::Inspection
        && at_place(Site::from(place))?.asks.transmitter == Some(TransmitterIs::Off);
    if !off || scene.exposure.in_bout || state.allowed_at(scene.now) {
        return None;
    }
    let on = [SourceOf::Transmitter, SourceOf::SecondTransmitter]
        .into_iter()
        .filter_map(|of| scene.energy.source(of))
        .find(|source| source.standing == Standing::Live)?;
    let link = scene.energy.standing(SourceOf::Link) == Standing::Live;
    Some(Finding {
        severity: if link {
            Severity::StopNow
        } else {
            Severity::Hold
        },
        since: on.seen_at.unwrap_or(scene.now),
        why: if link {
            "Transmitter on with the link in".to_owned()
        } else {
            "Transmitter on".to_owned()
        },
        people: on.seen_by.into_iter().collect(),
    })
}

fn not_with_driver(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    let task = scene.exposure.hands_on.first()?;
    let driver = state
        .duties
        .get(&DutyOf::Driver)
        .copied()
        .or(scene.file.register.body.driver);
    let operator = state.duties.get(&DutyOf::WeaponOperator).copied();
    let loose = |with, whose: Option<_>| match (with, whose) {
        (Some(with), Some(whose)) if with != whose => Some(with),
        _ => None,
    };
    let first = loose(state.transmitter_with, driver).filter(|_| !state.transmitter_boxed);
    let with = first.or_else(|| loose(state.second_transmitter_with, operator))?;
    let seen = state.transmitter.standing.as_ref();
    Some(Finding {
        severity: Severity::Hold,
        since: seen.map_or(task.since, |seen| seen.at.max(task.since)),
        why: "Transmitter neither boxed nor with its driver".to_owned(),
        people: vec![with],
    })
}

/// H11: no power light to be seen, or one that says other than the link does. The light speaks only
/// of the link as it was when the light was seen.
pub fn light_disagrees(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    if scene.exposure.in_bout {
        return None;
    }
    let light = state.power_light.standing.as_ref()?;
    let link = state
        .link
        .standing
        .as_ref()
        .filter(|link| light.at >= link.at)
        .map(|link| link.value);
    let why = match (light.value, link) {
        (Light::Absent, _) => "No power light to be seen",
        (Light::Lit, Some(LinkState::Out)) => "Power light lit, link said to be out",
        (Light::Dark, Some(LinkState::In)) => "Power light dark, link said to be in",
        _ => return None,
    };
    let lit = light.value == Light::Lit && !scene.exposure.hands_on.is_empty();
    Some(Finding {
        severity: if lit {
            Severity::StopNow
        } else {
            Severity::Hold
        },
        since: light.at,
        why: why.to_owned(),
        people: light.seen_by.into_iter().collect(),
    })
}
