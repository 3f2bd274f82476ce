//! H01 to H04: a machine that is live, or may be, where people are.

use super::{Finding, Scene, Severity};
use crate::pit::energy::{SourceOf, Standing};
use crate::pit::logbook::machine::{Bar, LinkState};

/// H01: armed outside the arena and the test area, without a marshal's leave. It stands until the
/// link is out by one person and seen so by another.
pub fn armed_outside(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    let may = state.in_bout.is_some()
        || state
            .place
            .as_ref()
            .is_some_and(|place| place.value.may_be_live())
        || state.allowed_at(scene.now);
    if may {
        return None;
    }
    let link = scene.energy.source(SourceOf::Link)?;
    let live = link.standing == Standing::Live || state.link.value() == Some(LinkState::In);
    let (since, why) = match &state.outside {
        Some(outside) if outside.out.is_some() && !live => {
            (outside.since, "Link out again; a second person has to look")
        }
        Some(outside) => (
            outside.since,
            "Link in, outside the arena and the test area",
        ),
        None if live => (
            link.seen_at?,
            "Power on, outside the arena and the test area",
        ),
        None => return None,
    };
    Some(Finding {
        severity: Severity::StopNow,
        since,
        why: why.to_owned(),
        people: link.seen_by.into_iter().collect(),
    })
}

/// H02: power on while a task that needs it off is under way.
pub fn link_in_with_hands_in(scene: &Scene<'_>) -> Option<Finding> {
    let link = scene.energy.source(SourceOf::Link)?;
    let task = scene.exposure.hands_on.first()?;
    if link.standing != Standing::Live {
        return None;
    }
    Some(Finding {
        severity: Severity::StopNow,
        since: link.seen_at?.max(task.since),
        why: format!("Link in while under way: {}", task.task),
        people: scene
            .exposure
            .hands_on
            .iter()
            .flat_map(|task| task.people.clone())
            .collect(),
    })
}

/// H03: gas not proved at zero while hands are in. An account that was good and grew old is H28.
pub fn gas_not_zero_with_hands_in(scene: &Scene<'_>) -> Option<Finding> {
    let gas = scene.energy.source(SourceOf::Gas)?;
    let task = scene
        .exposure
        .hands_on
        .iter()
        .find(|task| task.needs_gas_zero)?;
    let why = match gas.standing {
        Standing::Live => "Gas live",
        Standing::Unknown => "Nobody has read the gauge at zero",
        Standing::Disputed => "Two accounts of the gas",
        Standing::Isolated | Standing::Stale => return None,
    };
    Some(Finding {
        severity: Severity::StopNow,
        since: gas.seen_at.map_or(task.since, |at| at.max(task.since)),
        why: format!("{why} while under way: {}", task.task),
        people: task.people.clone(),
    })
}

/// H04: the weapon free outside the arena and the test area: reported off, or in doubt while hands
/// are in or the machine is moved.
pub fn weapon_not_restrained(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    let may = state.in_bout.is_some()
        || state
            .place
            .as_ref()
            .is_some_and(|place| place.value.may_be_live())
        || state.allowed_at(scene.now);
    if may {
        return None;
    }
    let bar = scene.energy.source(SourceOf::WeaponBar)?;
    let task = scene
        .exposure
        .hands_on
        .iter()
        .find(|task| task.needs_restraint);
    let off = state.weapon_bar.value() == Some(Bar::Off) && bar.standing == Standing::Live;
    let doubt = matches!(bar.standing, Standing::Unknown | Standing::Disputed);
    if !(off || doubt && (task.is_some() || scene.exposure.moving)) {
        return None;
    }
    let restraint = scene.file.register.body.machine.restraint();
    let since = bar
        .seen_at
        .into_iter()
        .chain(task.map(|task| task.since))
        .max();
    Some(Finding {
        severity: Severity::StopNow,
        since: since
            .or_else(|| state.place.as_ref().map(|place| place.at))
            .unwrap_or(scene.now),
        why: if off {
            format!("{restraint} off")
        } else {
            format!("Nobody is sure that the {} is on", restraint.to_lowercase())
        },
        people: task.map(|task| task.people.clone()).unwrap_or_default(),
    })
}
