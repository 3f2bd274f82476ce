//! A swap before it is done: which spare it takes, and whether the robot stays within its limit.

use super::shelf;
use crate::pit::ids::{PartTypeId, RobotId};
use crate::pit::logbook::Body;
use crate::pit::logbook::work::ProofOf;
use crate::pit::state::Pit;
use crate::pit::weight;

/// What a swap would do to a robot's mass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Swap {
    /// How much heavier the robot gets with this spare than with the type that is on it.
    pub heavier_g: i32,
    /// What the robot would weigh.
    pub mass_g: i32,
    /// What its class allows.
    pub limit_g: i32,
    /// How far off the scale may be.
    pub uncertainty_g: i32,
}

impl Swap {
    /// Over the limit, or so close that the scale cannot tell: weigh before it is called. **Source**
    /// H21.
    pub fn may_be_over(self) -> bool {
        self.mass_g + self.uncertainty_g > self.limit_g
    }
}

/// The types of part that a repair of a robot can take, most spares that can be relied on first.
pub fn types_for(pit: &Pit, robot: RobotId, task: &str) -> Vec<PartTypeId> {
    let Some(file) = pit.robot(robot) else {
        return Vec::new();
    };
    let repair = task.split_once('-').map_or(task, |(_, repair)| repair);
    let mut types: Vec<(i32, PartTypeId)> = super::parts_of(pit, file.register.body.team)
        .filter(|(_, part)| {
            part.repair
                .as_ref()
                .is_some_and(|word| word.as_str() == repair)
                && part.fits.iter().any(|fit| fit.robot == robot)
        })
        .map(|(id, _)| (-shelf(pit, id).ready(), id))
        .collect();
    types.sort_unstable();
    types.into_iter().map(|(_, id)| id).collect()
}

/// What a swap to `spare` would do to the mass of `robot`, where that can be said: it was weighed,
/// and the masses of the spare and of what is on it are known.
///
/// **Assumptions**: the part on the robot is the type fitted last for the same repair, else the one
/// of which the register says that it sits on it.
pub fn swap(pit: &Pit, robot: RobotId, spare: PartTypeId) -> Option<Swap> {
    let file = pit.robot(robot)?;
    let limit_g = weight::limit(&file.register.body, pit.settings()).get();
    let weighed = file.state.proofs.get(&ProofOf::Weight)?;
    let mut mass_g = weighed.value.mass_g?.get();
    let part = &pit.part_types.get(&spare)?.body;
    let of_type = |id: &PartTypeId| Some(pit.part_types.get(id)?.body.mass_g?.get());
    let mut on = pit
        .part_types
        .iter()
        .find(|(_, known)| {
            known.body.repair == part.repair
                && known
                    .body
                    .fits
                    .iter()
                    .any(|fit| fit.robot == robot && fit.units.get() > 0)
        })
        .map(|(id, _)| *id)?;
    for line in &file.lines {
        let Body::Part(done) = &line.body else {
            continue;
        };
        let Some(fitted) = done.spare else { continue };
        if pit.part_types.get(&fitted).map(|known| &known.body.repair) != Some(&part.repair) {
            continue;
        }
        if line.at > weighed.at {
            mass_g += of_type(&fitted)? - of_type(&on)?;
        }
        on = fitted;
    }
    let heavier_g = part.mass_g?.get() - of_type(&on)?;
    Some(Swap {
        heavier_g,
        mass_g: mass_g + heavier_g,
        limit_g,
        uncertainty_g: pit.settings().scale_uncertainty_g.get(),
    })
}
