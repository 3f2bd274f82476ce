//! The bouts a robot has in a double elimination.

use super::bouts::{DoubleEliminationAhead, whole};
use crate::calc::fault::Faults;

/// Notes what is wrong with a place in a double elimination, below `at`.
pub(super) fn check(ahead: &DoubleEliminationAhead, faults: &mut Faults, at: &str) {
    let rounds = ahead.winners_rounds;
    whole(faults, format!("{at}/winners_rounds"), rounds, 1, 7);
    faults.range(
        format!("{at}/win_probability"),
        ahead.win_probability,
        0.0,
        1.0,
    );
    let rounds = rounds.clamp(1, 7);
    match (ahead.next_winners_round, ahead.next_losers_round) {
        (Some(_), Some(_)) => faults.add(
            format!("{at}/next_losers_round"),
            "A robot stands on one side only: give next_winners_round or next_losers_round.",
        ),
        (Some(next), None) => {
            whole(
                faults,
                format!("{at}/next_winners_round"),
                next,
                1,
                rounds + 1,
            );
        }
        (None, Some(next)) => {
            let last = 2 * (rounds - 1) + 1;
            whole(faults, format!("{at}/next_losers_round"), next, 1, last);
        }
        (None, None) => {}
    }
}

/// Chance of exactly 0, 1, 2, ... bouts.
///
/// Who loses in winners' round 1 goes to losers' round 1, in round w > 1 to losers' round 2 (w - 1);
/// the losers' side has 2 (rounds - 1) rounds, and its winner meets the other side's in the final.
pub(super) fn chances(ahead: &DoubleEliminationAhead) -> Vec<f64> {
    let win = ahead.win_probability;
    let rounds = ahead.winners_rounds;
    let losers_rounds = 2 * (rounds - 1);
    // Bouts of a robot that waits for the final on the losers' side: one, or two if it wins the first.
    let final_from_losers = if ahead.second_final {
        vec![0.0, 1.0 - win, win]
    } else {
        vec![0.0, 1.0]
    };
    let final_from_winners = if ahead.second_final {
        vec![0.0, win, 1.0 - win]
    } else {
        vec![0.0, 1.0]
    };
    // losers[l] holds the chances from losers' round l + 1 on; the last entry is the final.
    let mut losers = vec![final_from_losers];
    for _ in 0..losers_rounds {
        let next = &losers[losers.len() - 1];
        losers.push(one_bout(win, next, &[1.0]));
    }
    losers.reverse();
    let mut here = final_from_winners;
    let first = ahead.next_winners_round.unwrap_or(1);
    if let Some(next) = ahead.next_losers_round {
        return losers.swap_remove(next as usize - 1);
    }
    for round in (first..=rounds).rev() {
        let drop_to = if round == 1 { 0 } else { 2 * (round - 1) - 1 };
        here = one_bout(win, &here, &losers[drop_to as usize]);
    }
    here
}

/// One bout, then what follows a win or a defeat.
fn one_bout(win: f64, if_won: &[f64], if_lost: &[f64]) -> Vec<f64> {
    let mut chances = vec![0.0; if_won.len().max(if_lost.len()) + 1];
    for (bouts, chance) in if_won.iter().enumerate() {
        chances[bouts + 1] += win * chance;
    }
    for (bouts, chance) in if_lost.iter().enumerate() {
        chances[bouts + 1] += (1.0 - win) * chance;
    }
    chances
}
