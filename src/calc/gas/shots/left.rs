//! How many shots a bottle still has.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::Series;
use crate::calc::gas::system::gauge;
use crate::calc::gas::vessel::Held;

/// Shots until the bottle stands below the need, counted while it is at or above it when fired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasShotsLeft {
    /// The fewer of the two counts: plan with this one.
    pub fewest: u32,
    /// The more of the two counts.
    pub most: u32,
    /// Fired at once, no heat from outside; at most 500.
    pub without_warming: u32,
    /// Fired so slowly that the bottle stays as warm as its surroundings; at most 500.
    pub fully_warmed: u32,
}

/// Counting ends here.
const MOST_SHOTS: u32 = 500;

impl Series {
    /// Shots left from `start` until the bottle is below `need` bar gauge.
    pub(super) fn left(&self, start: Held, need: f64) -> GasShotsLeft {
        let cold = self.count(start, need, |held| self.fire(held).ok());
        let warm_start = Held {
            temperature: self.around.temperature,
            ..start
        };
        let warm = self.count(warm_start, need, |held| {
            let mass = held.mass - self.shot.total_mass(&self.vessel.content(held));
            (mass > 0.0).then_some(Held { mass, ..held })
        });
        GasShotsLeft {
            fewest: cold.min(warm),
            most: cold.max(warm),
            without_warming: cold,
            fully_warmed: warm,
        }
    }

    fn count(&self, start: Held, need: f64, fire: impl Fn(Held) -> Option<Held>) -> u32 {
        let mut here = start;
        for shots in 0..MOST_SHOTS {
            if gauge(&self.vessel.content(here)) < need {
                return shots;
            }
            match fire(here) {
                Some(held) if held.mass < here.mass => here = held,
                _ => return shots,
            }
        }
        MOST_SHOTS
    }
}
