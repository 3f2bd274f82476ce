//! How many bouts the robots of a team have together, where two of them may meet.

use super::ahead::chance_to_win;
use crate::calc::spares::BoutsTogether;
use crate::pit::ids::{BoutId, RobotId};
use crate::pit::logbook::register::Slot;
use crate::pit::state::Pit;
use crate::pit::state::running_order::{BoutNow, Progress};
use std::collections::{BTreeMap, BTreeSet};

/// Ways the day may go, at most: the calculators take no more.
const MOST_WAYS: usize = 20_000;
/// Bouts of one robot, at most: the calculators take no more.
const MOST_BOUTS: u32 = 24;

/// Who of the team came out of a bout as winner and as loser, by place in the list of robots.
type Came = [Option<usize>; 2];

/// How far the day is followed: bouts of each robot, and who stands in slots that are still open.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Way {
    bouts: Vec<u32>,
    came: BTreeMap<BoutId, Came>,
}

/// How many bouts each of `robots` still has, all at once; nothing unless two of them may meet, for
/// then each has its own. Nothing either where there are too many ways to follow.
///
/// **Assumptions**: as `bouts_ahead`; where two of the team meet, the odds of their chances to win
/// are set against each other, `a (1 - b)` to `b (1 - a)`.
/// **Source** that ratio: Bradley and Terry 1952, Rank analysis of incomplete block designs (from
/// memory).
pub fn bouts_jointly(pit: &Pit, robots: &[RobotId]) -> Option<Vec<BoutsTogether>> {
    let order = pit.running_order();
    let wins: Vec<f64> = robots
        .iter()
        .map(|robot| chance_to_win(order, *robot))
        .collect();
    let open = in_turn(order);
    // A result matters where somebody waits for it.
    let awaited: BTreeSet<BoutId> = open
        .iter()
        .flat_map(|bout| waits_for(bout))
        .map(|(slot, _)| slot)
        .collect();
    let mut ways = BTreeMap::from([(
        Way {
            bouts: vec![0; robots.len()],
            came: BTreeMap::new(),
        },
        1.0,
    )]);
    let mut meet = false;
    for (n, bout) in open.iter().enumerate() {
        let later: BTreeSet<BoutId> = open
            .iter()
            .skip(n + 1)
            .flat_map(|bout| waits_for(bout))
            .map(|(of, _)| of)
            .collect();
        let mut next: BTreeMap<Way, f64> = BTreeMap::new();
        for (way, chance) in ways {
            let corners = [0, 1].map(|corner| stands(&way, bout, corner, robots));
            meet |= corners.iter().all(Option::is_some);
            for (mut way, share) in fought(way, bout.id, corners, &wins, &awaited) {
                way.came.retain(|of, _| later.contains(of));
                *next.entry(way).or_insert(0.0) += chance * share;
            }
        }
        if next.len() > MOST_WAYS {
            return None;
        }
        ways = next;
    }
    meet.then(|| {
        let mut together: BTreeMap<Vec<u32>, f64> = BTreeMap::new();
        for (way, chance) in ways {
            *together.entry(way.bouts).or_insert(0.0) += chance;
        }
        together
            .into_iter()
            .map(|(bouts, probability)| BoutsTogether { probability, bouts })
            .collect()
    })
}

/// Bouts that are not over, none before those it waits for. Bouts that wait for each other in a ring
/// are left out.
fn in_turn(order: &[BoutNow]) -> Vec<&BoutNow> {
    let mut waiting: Vec<&BoutNow> = order
        .iter()
        .filter(|bout| !matches!(bout.progress, Progress::Ended(_)))
        .collect();
    let mut turn = Vec::with_capacity(waiting.len());
    while !waiting.is_empty() {
        let before = waiting.clone();
        let (free, held): (Vec<_>, Vec<_>) = waiting.into_iter().partition(|bout| {
            waits_for(bout).all(|(of, _)| before.iter().all(|other| other.id != of))
        });
        if free.is_empty() {
            break;
        }
        turn.extend(free);
        waiting = held;
    }
    turn
}

/// The bouts whose winner or loser stands in a corner nobody is named for; 0 for winners.
fn waits_for(bout: &BoutNow) -> impl Iterator<Item = (BoutId, usize)> {
    [0, 1]
        .into_iter()
        .filter_map(|corner| match (bout.robots[corner], bout.slots[corner]) {
            (None, Slot::Winner(of)) => Some((of, 0)),
            (None, Slot::Loser(of)) => Some((of, 1)),
            _ => None,
        })
}

/// Which of the robots stands in a corner of a bout; nobody of the team, mostly.
fn stands(way: &Way, bout: &BoutNow, corner: usize, robots: &[RobotId]) -> Option<usize> {
    match (bout.robots[corner], bout.slots[corner]) {
        (Some(named), _) => robots.iter().position(|robot| *robot == named),
        (None, Slot::Winner(of)) => way.came.get(&of)?[0],
        (None, Slot::Loser(of)) => way.came.get(&of)?[1],
        (None, Slot::Robot(_)) => None,
    }
}

/// The ways a bout may end, with the chance of each.
fn fought(
    mut way: Way,
    bout: BoutId,
    corners: [Option<usize>; 2],
    wins: &[f64],
    awaited: &BTreeSet<BoutId>,
) -> Vec<(Way, f64)> {
    for robot in corners.into_iter().flatten() {
        way.bouts[robot] = (way.bouts[robot] + 1).min(MOST_BOUTS);
    }
    let first = match corners {
        [None, None] => return vec![(way, 1.0)],
        [Some(a), None] => wins[a],
        [None, Some(b)] => 1.0 - wins[b],
        [Some(a), Some(b)] => {
            let (for_a, for_b) = (wins[a] * (1.0 - wins[b]), wins[b] * (1.0 - wins[a]));
            for_a / (for_a + for_b)
        }
    };
    if !awaited.contains(&bout) {
        return vec![(way, 1.0)];
    }
    let [a, b] = corners;
    [([a, b], first), ([b, a], 1.0 - first)]
        .into_iter()
        .map(|(came, chance)| {
            let mut ended = way.clone();
            ended.came.insert(bout, came);
            (ended, chance)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::spares::BoutsAhead;
    use crate::pit::stock::bouts_ahead;
    use crate::pit::testing::hall::{Hall, bout, robot};
    use serde_json::json;

    fn winner(of: u128) -> serde_json::Value {
        json!({"winner": bout(of)})
    }

    fn loser(of: u128) -> serde_json::Value {
        json!({"loser": bout(of)})
    }

    fn chance(ways: &[BoutsTogether], bouts: [u32; 2]) -> f64 {
        let of = ways.iter().filter(|way| way.bouts == bouts);
        of.map(|way| way.probability).sum()
    }

    /// Two of four robots in a knock-out, in the two halves: each wins its first bout or not, and
    /// both fight the final only if both did. Nobody has fought, so all chances are even.
    #[test]
    fn two_that_may_meet_in_the_final_share_it() {
        let mut hall = Hall::with_robots(4);
        hall.meet(1, 1, 3, 60);
        hall.meet(2, 2, 4, 70);
        hall.bout(3, [winner(1), winner(2)], 90);
        let ways = bouts_jointly(&hall.pit, &[robot(1), robot(2)]).unwrap();
        for bouts in [[1, 1], [1, 2], [2, 1], [2, 2]] {
            assert!((chance(&ways, bouts) - 0.25).abs() < 1e-12, "{bouts:?}");
        }
    }

    /// They meet first: one of them has another bout, never both and never neither.
    #[test]
    fn two_that_meet_first_send_one_on() {
        let mut hall = Hall::with_robots(4);
        hall.meet(1, 1, 2, 60);
        hall.meet(2, 3, 4, 70);
        hall.bout(3, [winner(1), winner(2)], 90);
        hall.bout(4, [loser(1), loser(2)], 95);
        let robots = [robot(1), robot(2)];
        let ways = bouts_jointly(&hall.pit, &robots).unwrap();
        assert!(
            (chance(&ways, [2, 2]) - 1.0).abs() < 1e-12,
            "winner and loser go on"
        );
        let mut hall = Hall::with_robots(4);
        hall.meet(1, 1, 2, 60);
        hall.meet(2, 3, 4, 70);
        hall.bout(3, [winner(1), winner(2)], 90);
        let ways = bouts_jointly(&hall.pit, &robots).unwrap();
        assert!((chance(&ways, [2, 1]) - 0.5).abs() < 1e-12);
        assert!((chance(&ways, [1, 2]) - 0.5).abs() < 1e-12);
        assert_eq!(ways.len(), 2);
    }

    #[test]
    fn those_that_never_meet_have_their_own_bouts() {
        let mut hall = Hall::with_robots(6);
        hall.meet(1, 1, 3, 60);
        hall.meet(2, 2, 4, 70);
        hall.bout(3, [winner(1), json!({"robot": robot(5)})], 90);
        assert_eq!(bouts_jointly(&hall.pit, &[robot(1), robot(2)]), None);
    }

    /// One robot's own chances are what is left of the joint ones.
    #[test]
    fn each_alone_has_the_chances_it_has_by_itself() {
        let mut hall = Hall::with_robots(8);
        for n in 1..=4 {
            hall.meet(n, n, n + 4, 60 + i64::try_from(n).unwrap());
        }
        hall.bout(5, [winner(1), winner(2)], 80);
        hall.bout(6, [winner(3), winner(4)], 82);
        hall.bout(7, [winner(5), winner(6)], 99);
        let robots = [robot(1), robot(3)];
        let ways = bouts_jointly(&hall.pit, &robots).unwrap();
        for (place, robot) in robots.into_iter().enumerate() {
            let BoutsAhead::Given(own) = bouts_ahead(&hall.pit, robot) else {
                panic!("given as chances");
            };
            for (bouts, expected) in (0_u32..).zip(&own.probability_by_bouts) {
                let share: f64 = ways
                    .iter()
                    .filter(|way| way.bouts[place] == bouts)
                    .map(|way| way.probability)
                    .sum();
                assert!((share - expected).abs() < 1e-12, "{robot} {bouts}: {share}");
            }
        }
    }
}
