//! How many bouts a robot still has, from the running order and its results.

use crate::calc::spares::{BoutsAhead, GivenBouts};
use crate::pit::ids::{BoutId, RobotId};
use crate::pit::logbook::register::Slot;
use crate::pit::state::Pit;
use crate::pit::state::running_order::{BoutNow, Progress};

/// Bouts beyond this are not counted: the calculators take no more.
const MOST_BOUTS: usize = 24;

/// Rounds followed into "winner of" and "loser of".
const MOST_ROUNDS: usize = 12;

/// How many bouts a robot still has, the one it is in included.
///
/// Bouts it is named for are certain; slots "winner of" and "loser of" follow with the chance that
/// it wins, which is learned from its results.
///
/// **Assumptions**: bouts are won independently with one chance, `(won + 1) / (fought + 2)`.
/// **Source** Laplace's rule of succession, Essai philosophique sur les probabilités, 1814 (from
/// memory); running order as registered.
pub fn bouts_ahead(pit: &Pit, robot: RobotId) -> BoutsAhead {
    let order = pit.running_order();
    let win = chance_to_win(order, robot);
    let mut chances = vec![1.0];
    for bout in order.iter().filter(|bout| {
        bout.robots.contains(&Some(robot)) && !matches!(bout.progress, Progress::Ended(_))
    }) {
        chances = sum(&chances, &from(order, bout.id, win, MOST_ROUNDS));
    }
    BoutsAhead::Given(GivenBouts {
        probability_by_bouts: chances,
    })
}

/// The chance that a robot wins a bout, from its results.
pub(super) fn chance_to_win(order: &[BoutNow], robot: RobotId) -> f64 {
    let fought = order.iter().filter(|bout| {
        matches!(bout.progress, Progress::Ended(_)) && bout.robots.contains(&Some(robot))
    });
    let (mut bouts, mut won) = (0.0, 0.0);
    for bout in fought.filter(|bout| bout.winner.is_some()) {
        bouts += 1.0;
        if bout.winner == Some(robot) {
            won += 1.0;
        }
    }
    (won + 1.0) / (bouts + 2.0)
}

/// Chances of 0, 1, 2, ... bouts from `bout` on, for a robot that is in it.
fn from(order: &[BoutNow], bout: BoutId, win: f64, rounds: usize) -> Vec<f64> {
    let mut ahead = vec![0.0];
    if rounds == 0 {
        return vec![0.0, 1.0];
    }
    for (slot, chance) in [(Slot::Winner(bout), win), (Slot::Loser(bout), 1.0 - win)] {
        let next = order
            .iter()
            .find(|next| next.slots.contains(&slot) && next.robots.contains(&None));
        let after = next.map_or_else(|| vec![1.0], |next| from(order, next.id, win, rounds - 1));
        if ahead.len() < after.len() {
            ahead.resize(after.len(), 0.0);
        }
        for (sum, part) in ahead.iter_mut().zip(after) {
            *sum += chance * part;
        }
    }
    ahead.insert(0, 0.0);
    ahead
}

/// The distribution of the sum of two independent numbers; what is beyond the most is the most.
fn sum(a: &[f64], b: &[f64]) -> Vec<f64> {
    let mut sum = vec![0.0; (a.len() + b.len() - 1).min(MOST_BOUTS + 1)];
    let most = sum.len() - 1;
    for (i, x) in a.iter().enumerate() {
        for (j, y) in b.iter().enumerate() {
            sum[(i + j).min(most)] += x * y;
        }
    }
    sum
}
