//! H23, H24 and H26: the stand, a lift, hot work.

use super::{Finding, Scene, Severity};
use crate::pit::energy::{SourceOf, Standing};
use crate::pit::logbook::machine::Place;

/// H23: wheels not clear of the ground on the bench or with the inspector; in doubt only while hands
/// are in.
pub fn off_its_stand(scene: &Scene<'_>) -> Option<Finding> {
    if !(scene.at(Place::PitBench) || scene.at(Place::Inspection)) || scene.exposure.in_bout {
        return None;
    }
    let task = scene.exposure.hands_on.first();
    let (since, why) = match &scene.file.state.on_stand {
        Some(stand) if stand.value => return None,
        Some(stand) => (stand.at, "Wheels on the ground"),
        None => (
            task?.since,
            "Nobody said that the wheels are clear of the ground",
        ),
    };
    let live = scene.energy.standing(SourceOf::Link) == Standing::Live;
    Some(Finding {
        severity: if live { Severity::Hold } else { Severity::Warn },
        since,
        why: why.to_owned(),
        people: Vec::new(),
    })
}

/// H24: a lift under way with fewer people named than it takes, and nothing that takes the mass.
pub fn lift_too_few(scene: &Scene<'_>) -> Option<Finding> {
    let lift = scene.work.running.iter().find(|task| {
        let named = u32::try_from(task.people.len()).unwrap_or(u32::MAX);
        task.lift && !task.aid && named < task.hands
    })?;
    Some(Finding {
        severity: Severity::Warn,
        since: lift.since,
        why: format!(
            "{} named of {} for: {}",
            lift.people.len(),
            lift.hands,
            lift.task
        ),
        people: lift.people.clone(),
    })
}

/// H26: grinding, welding or straightening with packs or a bottle in the machine, or beside a
/// charge. What nobody said is out counts as in.
pub fn hot_work(scene: &Scene<'_>) -> Option<Finding> {
    let task = scene.work.running.iter().find(|task| task.hot)?;
    let state = &scene.file.state;
    let out = |known: Option<bool>| known == Some(true);
    let gas = scene.file.register.body.machine.has_gas();
    let charging = scene.pit.settings().hot_work_by_charging && scene.charges().next().is_some();
    let beside = if !out(state.packs_out.value()) {
        "packs in the machine"
    } else if gas && !out(state.bottle_out.value()) {
        "the bottle in the machine"
    } else if charging {
        "packs on charge beside it"
    } else {
        return None;
    };
    Some(Finding {
        severity: Severity::Hold,
        since: task.since,
        why: format!("{} with {beside}", task.task),
        people: task.people.clone(),
    })
}
