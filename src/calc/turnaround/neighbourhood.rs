//! Parts of a plan to search anew while the rest stays.
//!
//! **Source** large-neighbourhood search: Shaw 1998; for projects: Palpant, Artigues and Michelon 2004.

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::model::Model;
use super::schedule::Plan;

/// Draws neighbourhoods, larger ones after those that led nowhere.
pub(super) struct Neighbourhoods {
    rng: ChaCha8Rng,
    size: usize,
}

impl Neighbourhoods {
    pub fn new(model: &Model) -> Self {
        Self {
            rng: ChaCha8Rng::seed_from_u64(0x5eed ^ model.n as u64),
            size: 25,
        }
    }

    /// The tasks closest in time to one that is drawn.
    pub fn draw(&mut self, model: &Model, plan: &Plan) -> Vec<bool> {
        let on: Vec<usize> = (0..model.n).filter(|&i| plan.on[i]).collect();
        let mut free: Vec<bool> = plan.on.iter().map(|on| !on).collect();
        if on.is_empty() {
            return free;
        }
        let middle = |i: usize| 2 * plan.start[i] + model.dur[i];
        let seed = on[self.rng.random_range(0..on.len())];
        let mut near = on;
        near.sort_by_key(|&i| ((middle(i) - middle(seed)).abs(), i));
        for &i in near.iter().take(self.size) {
            free[i] = true;
        }
        free
    }

    /// Learns from how the last one ended.
    pub fn heed(&mut self, exhausted: bool, tasks: usize) {
        // One that is searched through to the end was too small, one that was not too large.
        let step = if exhausted { 1 } else { -1 };
        self.size = self
            .size
            .saturating_add_signed(step)
            .clamp(10, tasks.max(10));
    }
}
