//! H25: stored mechanical energy.

use super::{Finding, Scene, Severity};
use crate::pit::energy::{SourceOf, Standing};
use crate::pit::logbook::machine::StoredIn;

/// H25: a rotor that turns, an arm up without a prop, a spring cocked, where people are; or, in a
/// machine with a spring or flywheel of its own, nobody knows while hands are in.
pub fn stored_energy(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    if scene.exposure.in_bout {
        return None;
    }
    let place = state.place.as_ref().map(|place| place.value);
    let inside = state
        .inside
        .as_ref()
        .is_some_and(|inside| inside.value.people.get() > 0);
    let hands = scene.exposure.hands_on.first();
    let reach = hands.is_some() || inside || !place.is_some_and(|place| place.may_be_live());
    if let Some((what, open)) = state.loaded.iter().next().filter(|_| reach) {
        let name = match what {
            StoredIn::Rotor => "Rotor turning",
            StoredIn::Arm => "Arm up without a prop",
            StoredIn::Spring => "Spring cocked",
        };
        return Some(Finding {
            severity: Severity::StopNow,
            since: open.since,
            why: match open.right {
                Some(_) => format!("{name}: said to be gone; another person has to look"),
                None => name.to_owned(),
            },
            people: hands.map(|task| task.people.clone()).unwrap_or_default(),
        });
    }
    let source = scene.energy.source(SourceOf::Stored)?;
    let task = hands?;
    let doubt = matches!(source.standing, Standing::Unknown | Standing::Disputed);
    doubt.then(|| Finding {
        severity: Severity::StopNow,
        since: source.seen_at.map_or(task.since, |at| at.max(task.since)),
        why: format!(
            "Nobody is sure that no energy is stored while under way: {}",
            task.task
        ),
        people: task.people.clone(),
    })
}
