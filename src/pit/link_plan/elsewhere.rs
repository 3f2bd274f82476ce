//! People of a plan who are on another machine.

use super::{Gap, readers};
use crate::pit::ids::{PersonId, RobotId};
use crate::pit::state::Pit;
use crate::pit::tasks::{Progress, today};
use std::collections::BTreeSet;

/// Gaps of a plan whose people are on a task of another robot of their team now. At the bench that
/// is no danger, so it is shown and alarms nobody; once it counts, H29 does.
pub fn elsewhere(pit: &Pit, robot: RobotId) -> Vec<Gap> {
    let Some(file) = pit.robot(robot) else {
        return Vec::new();
    };
    let Some((_, plan)) = file.state.link_plans.current() else {
        return Vec::new();
    };
    let body = &file.register.body;
    let named: BTreeSet<PersonId> = readers(&plan.value, body.driver)
        .into_iter()
        .map(|(_, person)| person)
        .chain(plan.value.holder)
        .collect();
    let others = pit.robots_of(body.team).filter(|(id, _)| *id != robot);
    let mut gaps = Vec::new();
    for today in others.filter_map(|(id, _)| today(pit, id)) {
        for item in &today.items {
            let Progress::Running { by, .. } = &item.progress else {
                continue;
            };
            gaps.extend(
                by.iter()
                    .filter(|who| named.contains(who))
                    .map(|who| Gap::Elsewhere {
                        person: *who,
                        robot: today.robot,
                        task: item.def.name.clone(),
                    }),
            );
        }
    }
    gaps
}
