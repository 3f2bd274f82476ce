//! H06 and H07: no link plan to rely on, a link that takes too long to reach.

use super::{Finding, Scene, Severity};
use crate::pit::ids::PersonId;
use crate::pit::link_plan::Gap;
use crate::pit::logbook::machine::LinkState;
use std::collections::BTreeSet;

/// H06: no written link plan, one older than the last change, or one that its people have not read
/// back, when the robot is called, queued, tested or armed. Stop now once arming has begun.
pub fn no_plan_to_rely_on(scene: &Scene<'_>) -> Option<Finding> {
    let exposure = &scene.exposure;
    let state = &scene.file.state;
    let armed =
        exposure.arming || (exposure.in_test_area && state.link.value() == Some(LinkState::In));
    if exposure.in_bout || !(exposure.called || exposure.in_queue || exposure.in_test_area || armed)
    {
        return None;
    }
    let gap = scene.gaps.iter().find(|gap| gap.forbids_arming())?;
    let why = gap.why();
    let link = state.link.standing.as_ref();
    let place = state.place.as_ref();
    let since = if armed {
        link.map(|link| link.at).or(place.map(|place| place.at))
    } else {
        place.map(|place| place.at)
    };
    // One person may have two duties, and is named once.
    let not_read_by: BTreeSet<PersonId> = scene
        .gaps
        .iter()
        .filter_map(|gap| match gap {
            Gap::NotReadBack(_, person) => Some(*person),
            Gap::HandedOver { to, .. } => Some(*to),
            _ => None,
        })
        .collect();
    Some(Finding {
        severity: if armed {
            Severity::StopNow
        } else {
            Severity::Hold
        },
        since: since.unwrap_or(scene.now),
        why: if armed { format!("Armed: {why}") } else { why },
        people: not_read_by.into_iter().collect(),
    })
}

/// H07: the time to reach the link is not measured, or over the event's limit, at the same exposure
/// as H06. A hold where the event makes it a condition.
pub fn slow_to_reach(scene: &Scene<'_>) -> Option<Finding> {
    let exposure = &scene.exposure;
    let exposed = exposure.called || exposure.in_queue || exposure.in_test_area || exposure.arming;
    if exposure.in_bout || !exposed {
        return None;
    }
    let side = |inverted: bool| if inverted { "inverted" } else { "upright" };
    let why = scene.gaps.iter().find_map(|gap| match gap {
        Gap::ReachNotMeasured { inverted } => Some(format!(
            "Time to reach the link {} not measured",
            side(*inverted)
        )),
        Gap::ReachOverLimit {
            inverted,
            seconds,
            limit,
        } => Some(format!(
            "{seconds} s to reach the link {}, allowed {limit} s",
            side(*inverted)
        )),
        _ => None,
    })?;
    Some(Finding {
        severity: if scene.pit.settings().reach_is_condition {
            Severity::Hold
        } else {
            Severity::Warn
        },
        since: scene.place_since().unwrap_or(scene.now),
        why,
        people: Vec::new(),
    })
}
