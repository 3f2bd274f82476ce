//! The running order of the demo: who meets whom, and when the calls are.

use super::cast::{HEAVY, ROBOTS};
use chrono::{DateTime, TimeDelta, Utc};

/// Who is in a corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Corner {
    /// Place in [`ROBOTS`].
    Robot(usize),
    /// Winner of the bout at this place.
    Winner(usize),
    /// Loser of the bout at this place.
    Loser(usize),
}

/// A bout of the programme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BoutCast {
    /// The corners.
    pub corners: [Corner; 2],
    /// When both are to be in the arena queue.
    pub call_at: DateTime<Utc>,
}

/// Bouts of the demo.
pub const BOUTS: usize = 27;
/// Time between two calls.
pub const SPACING: TimeDelta = TimeDelta::minutes(14);
/// Rounds in which everyone meets somebody.
const ROUNDS: usize = 3;

/// The programme, from the call of its first bout.
///
/// Three rounds of the circle method (heavyweights and small machines apart), then six bouts of
/// winners and losers of the last round. Everyone rests for six bouts.
pub fn programme(first_call: DateTime<Utc>) -> Vec<BoutCast> {
    let mut corners: Vec<[Corner; 2]> = Vec::with_capacity(BOUTS);
    for round in 0..ROUNDS {
        let heavy = circle(0, HEAVY, round);
        let small = circle(HEAVY, ROBOTS.len() - HEAVY, round);
        // Small machines between the heavyweights: the arena is reset faster.
        let mut small = small.into_iter();
        for (n, pair) in heavy.into_iter().enumerate() {
            corners.push(pair.map(Corner::Robot));
            if n % 2 == 1 {
                corners.extend(small.next().map(|pair| pair.map(Corner::Robot)));
            }
        }
        corners.extend(small.map(|pair| pair.map(Corner::Robot)));
    }
    let last = corners.len() - 7;
    // The last round holds heavyweights at 0, 1, 3, 4 and 6, small machines at 2 and 5.
    corners.push([Corner::Winner(last), Corner::Winner(last + 1)]);
    corners.push([Corner::Winner(last + 2), Corner::Winner(last + 5)]);
    corners.push([Corner::Winner(last + 3), Corner::Winner(last + 4)]);
    corners.push([Corner::Loser(last), Corner::Loser(last + 6)]);
    corners.push([Corner::Loser(last + 2), Corner::Loser(last + 5)]);
    corners.push([Corner::Winner(last + 7), Corner::Winner(last + 9)]);
    corners
        .into_iter()
        .zip(0i32..)
        .map(|(corners, n)| BoutCast {
            corners,
            call_at: first_call + SPACING * n,
        })
        .collect()
}

/// Pairs of one round of the circle method among `count` robots from `first` on.
/// **Source** round-robin by a fixed first entry and a turning rest; common practice, no source.
fn circle(first: usize, count: usize, round: usize) -> Vec<[usize; 2]> {
    let turn = |place: usize| {
        if place == 0 {
            0
        } else {
            (place - 1 + count - 1 - round % (count - 1)) % (count - 1) + 1
        }
    };
    (0..count / 2)
        .map(|n| [first + turn(n), first + turn(count - 1 - n)])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    fn day() -> Vec<BoutCast> {
        programme(DateTime::from_timestamp(1_800_000_000, 0).unwrap())
    }

    #[test]
    fn everyone_meets_somebody_else_each_round() {
        let bouts = day();
        assert_eq!(bouts.len(), BOUTS);
        let mut pairs = BTreeSet::new();
        for round in bouts[..21].chunks(7) {
            let mut seen = BTreeSet::new();
            for bout in round {
                let [Corner::Robot(a), Corner::Robot(b)] = bout.corners else {
                    panic!("{bout:?}")
                };
                assert!(seen.insert(a) && seen.insert(b), "once a round");
                assert!(pairs.insert((a.min(b), a.max(b))), "nobody twice");
                assert_eq!(a < HEAVY, b < HEAVY, "of one class");
            }
            assert_eq!(seen.len(), ROBOTS.len());
        }
    }

    #[test]
    fn nobody_waits_for_a_bout_that_comes_later() {
        for (n, bout) in day().iter().enumerate() {
            for corner in bout.corners {
                if let Corner::Winner(before) | Corner::Loser(before) = corner {
                    assert!(before < n);
                }
            }
        }
    }
}
