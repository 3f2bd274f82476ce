//! H05 and H27: arming out of order, and people inside with something live.

use super::{Finding, Scene, Severity};
use crate::pit::energy::{SourceOf, Standing};
use crate::pit::ids::RobotId;
use crate::pit::logbook::machine::{Bar, LinkState, Place};
use crate::pit::logbook::work::DutyOf;

/// Where a machine stands while people go in to it.
fn inside_place(place: Place) -> bool {
    matches!(
        place,
        Place::TestArea | Place::ArenaLoad | Place::Arena | Place::ArenaRecovery
    )
}

/// H05: the restraint came off before its step, or with more people inside than may be. It stands
/// until a marshal says that it is settled, or the restraint is on again.
pub fn out_of_order(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    if state.in_bout.is_some() || !scene.at(Place::ArenaLoad) {
        return None;
    }
    let bar = state.weapon_bar.standing.as_ref()?;
    if bar.value != Bar::Off {
        return None;
    }
    let restraint = scene.file.register.body.machine.restraint();
    if let Some(early) = &state.out_of_order {
        return Some(Finding {
            severity: Severity::StopNow,
            since: early.at,
            why: format!("{restraint} off before its step"),
            people: early.seen_by.into_iter().collect(),
        });
    }
    let may = scene.pit.settings().arming_people;
    let inside = state.inside.as_ref()?;
    let since = bar.at.max(inside.at);
    (inside.value.people > may && !scene.settled_by_a_marshal("H05", since)).then(|| Finding {
        severity: Severity::StopNow,
        since,
        why: format!(
            "{restraint} off with {} people inside",
            inside.value.people.get()
        ),
        people: inside.seen_by.into_iter().collect(),
    })
}

/// H27: people are inside while another machine is armed, or somebody arms with nobody watching. A
/// marshal's word, given after it began, holds it off.
pub fn not_alone(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    let here = state.place.as_ref().map(|place| place.value)?;
    if state.in_bout.is_some() || !inside_place(here) {
        return None;
    }
    let finding = with_another(scene, here).or_else(|| alone(scene))?;
    (!scene.settled_by_a_marshal("H27", finding.since)).then_some(finding)
}

fn with_another(scene: &Scene<'_>, here: Place) -> Option<Finding> {
    let inside = scene.file.state.inside.as_ref()?;
    if inside.value.people.get() == 0 {
        return None;
    }
    let (other, since) = other_armed(scene, here)?;
    Some(Finding {
        severity: Severity::StopNow,
        since: since.max(inside.at),
        why: format!(
            "{} inside while {} is armed",
            inside.value.people.get(),
            scene.pit.robot(other)?.register.body.name
        ),
        people: inside.seen_by.into_iter().collect(),
    })
}

/// Another machine in the same area whose link is in.
fn other_armed(scene: &Scene<'_>, here: Place) -> Option<(RobotId, chrono::DateTime<chrono::Utc>)> {
    let test = here == Place::TestArea;
    scene.pit.robots.iter().find_map(|(id, file)| {
        let state = &file.state;
        let there = state.place.as_ref()?.value;
        let same = inside_place(there) && (there == Place::TestArea) == test;
        let link = state.link.standing.as_ref()?;
        (*id != scene.robot && same && link.value == LinkState::In).then_some((*id, link.at))
    })
}

fn alone(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    let arming = scene.at(Place::ArenaLoad) || scene.at(Place::TestArea);
    let link = scene.energy.source(SourceOf::Link)?;
    if !arming || link.standing != Standing::Live {
        return None;
    }
    let watched = state
        .inside
        .as_ref()
        .and_then(|inside| inside.value.watched);
    let named = state.duties.contains_key(&DutyOf::SecondPerson)
        || state
            .link_plans
            .current()
            .is_some_and(|(_, plan)| plan.value.verifier.is_some());
    let nobody = match watched {
        Some(watched) => !watched,
        None => !named,
    };
    nobody.then(|| Finding {
        severity: Severity::StopNow,
        since: link.seen_at.unwrap_or(scene.now),
        why: "Link in, and nobody watches whoever arms".to_owned(),
        people: link.seen_by.into_iter().collect(),
    })
}
