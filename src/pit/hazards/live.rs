//! H01 to H04: a machine that is live, or may be, where people are.

use super::matrix::at_place;
use super::{Finding, Scene, Severity};
use crate::pit::energy::{SourceOf, Standing};
use crate::pit::library::tasks::LinkIs;
use crate::pit::logbook::Body;
use crate::pit::logbook::machine::{Bar, Light, LinkState, System, Valve};
use crate::pit::state::Unsettled;
use chrono::{DateTime, Utc};

/// H01: armed outside the arena and the test area, without a marshal's leave. It stands until the
/// link is out by one person and seen so by another.
pub fn armed_outside(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    if may_be_live(scene) {
        return None;
    }
    let link = scene.energy.source(SourceOf::Link)?;
    let live = link.standing == Standing::Live || state.link.value() == Some(LinkState::In);
    let (since, why) = match &state.outside {
        Some(outside) if outside.right.is_some() && !live => {
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

/// H02: power on while a task that needs it off is under way; until the link is out by one person
/// and seen so by another, or the task is closed.
pub fn link_in_with_hands_in(scene: &Scene<'_>) -> Option<Finding> {
    let link = scene.energy.source(SourceOf::Link)?;
    let task = scene.exposure.hands_on.first()?;
    let everybody = || {
        let tasks = scene.exposure.hands_on.iter();
        tasks.flat_map(|task| task.people.clone()).collect()
    };
    if link.standing == Standing::Live {
        return Some(Finding {
            severity: Severity::StopNow,
            since: link.seen_at?.max(task.since),
            why: format!("Link in while under way: {}", task.task),
            people: everybody(),
        });
    }
    let open = unsettled_since(scene, task.since, |body| match body {
        Body::Link(link) => Some(link.state == LinkState::In),
        Body::PowerLight(light) if light.state == Light::Lit => Some(true),
        Body::PowerLight(light) if light.state == Light::Dark => Some(false),
        Body::Check(check) if check.what.as_str() == "zero_energy" => Some(false),
        Body::Looked(looked) => looked.link.map(|link| link == LinkState::In),
        _ => None,
    })?;
    Some(Finding {
        severity: Severity::StopNow,
        since: open.since,
        why: format!(
            "Link was in while under way: {}; another person has to look",
            task.task
        ),
        people: everybody(),
    })
}

/// H03: gas not proved at zero while hands are in, or gas that was live meanwhile and that another
/// person has not read at zero since. An account that was good and grew old is H28.
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
        Standing::Isolated | Standing::Stale => {
            let open = unsettled_since(scene, task.since, |body| match body {
                Body::Gas(gas) if gas.valve == Some(Valve::Open) => Some(true),
                Body::Gas(gas) => gas.system.map(|system| system == System::Live),
                Body::Looked(looked) if looked.valve == Some(Valve::Open) => Some(true),
                Body::Looked(looked) => looked.system.map(|system| system == System::Live),
                _ => None,
            })?;
            return Some(Finding {
                severity: Severity::StopNow,
                since: open.since,
                why: format!(
                    "Gas was live while under way: {}; another person has to read zero",
                    task.task
                ),
                people: task.people.clone(),
            });
        }
    };
    Some(Finding {
        severity: Severity::StopNow,
        since: gas.seen_at.map_or(task.since, |at| at.max(task.since)),
        why: format!("{why} while under way: {}", task.task),
        people: task.people.clone(),
    })
}

/// What was bad at some moment since `since`, and that two people have not seen put right.
/// `says` tells bad from right in a line that speaks of it.
fn unsettled_since(
    scene: &Scene<'_>,
    since: DateTime<Utc>,
    says: impl Fn(&Body) -> Option<bool>,
) -> Option<Unsettled> {
    let mut open = None;
    for line in scene.file.lines.iter().filter(|line| line.at >= since) {
        match says(&line.body) {
            Some(true) => Unsettled::raise(&mut open, line),
            Some(false) => Unsettled::settle(&mut open, line),
            None => {}
        }
    }
    open
}

/// H04: the weapon free outside the arena and the test area: reported off, until it is restrained by
/// one person and seen so by another; or in doubt while hands are in or the machine is moved.
pub fn weapon_not_restrained(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    if may_be_live(scene) {
        return None;
    }
    let bar = scene.energy.source(SourceOf::WeaponBar)?;
    let task = scene
        .exposure
        .hands_on
        .iter()
        .find(|task| task.needs_restraint);
    let restraint = scene.file.register.body.machine.restraint();
    let off = state.weapon_bar.value() == Some(Bar::Off) && bar.standing == Standing::Live;
    let doubt = matches!(bar.standing, Standing::Unknown | Standing::Disputed)
        && (task.is_some() || scene.exposure.moving);
    let (since, why) = match &state.free_outside {
        _ if off => (
            state.free_outside.as_ref().map(|open| open.since),
            format!("{restraint} off"),
        ),
        Some(open) => (
            Some(open.since),
            format!("{restraint} said to be on; another person has to look"),
        ),
        None if doubt => (
            None,
            format!("Nobody is sure that the {} is on", restraint.to_lowercase()),
        ),
        None => return clamped(scene),
    };
    let began = bar.seen_at.into_iter().chain(task.map(|task| task.since));
    Some(Finding {
        severity: Severity::StopNow,
        since: since
            .or_else(|| began.max())
            .or_else(|| scene.place_since())
            .unwrap_or(scene.now),
        why,
        people: task.map(|task| task.people.clone()).unwrap_or_default(),
    })
}

/// A clamp alone holds the weapon on its way or in the queue, where the event counts none. **Source**
/// R14; on the bench a clamp is what holds it for work.
fn clamped(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    let bar = state.weapon_bar.standing.as_ref()?;
    let clamp = state.held_by.as_ref()?.as_str().contains("clamp");
    let away = scene.exposure.moving || scene.exposure.departed;
    (bar.value == Bar::Held && clamp && away && !scene.pit.settings().clamp_as_restraint).then(
        || Finding {
            severity: Severity::Hold,
            since: bar.at,
            why: "Only a clamp holds the weapon: the event does not count it".to_owned(),
            people: Vec::new(),
        },
    )
}

/// Whether power and a free weapon are expected where it stands: the place asks for neither link out
/// nor restraint on, or a marshal allows it here. A place nobody named asks for both.
fn may_be_live(scene: &Scene<'_>) -> bool {
    let state = &scene.file.state;
    let place = state.place.as_ref().map(|place| place.value);
    let asked = place
        .and_then(|place| at_place(place.into()))
        .is_none_or(|row| row.asks.link == Some(LinkIs::Out));
    scene.exposure.in_bout || !asked || state.allowed_at(scene.now)
}
