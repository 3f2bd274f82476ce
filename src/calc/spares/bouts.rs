//! How many bouts a robot still has: a distribution, since winners fight on.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::double_elimination;
use crate::calc::fault::{Fault, Faults};

/// Most bouts a robot may have ahead.
pub(super) const MOST_BOUTS: u32 = 24;

/// Most rounds of a knock-out still ahead.
const MOST_ROUNDS: u32 = 10;

/// What is known about the bouts a robot still has, the next one included.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum BoutsAhead {
    /// A number that does not depend on results.
    Certain(CertainBouts),
    /// A knock-out: one bout a round for as long as it wins.
    KnockOut(KnockOutAhead),
    /// A group stage, then perhaps a knock-out.
    GroupThenKnockOut(GroupThenKnockOut),
    /// Double elimination: out with the second bout lost.
    DoubleElimination(DoubleEliminationAhead),
    /// Chances worked out elsewhere.
    Given(GivenBouts),
}

/// A certain number of bouts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CertainBouts {
    /// Bouts still to come (0 to 24).
    #[schema(minimum = 0, maximum = 24)]
    pub bouts: u32,
}

/// A knock-out still to be fought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct KnockOutAhead {
    /// Rounds left, the final included (1 to 10); a bye takes one off.
    #[schema(minimum = 1, maximum = 10)]
    pub rounds_left: u32,
    /// Chance of winning the next bout, the one after it, ...; the last one holds for all later.
    #[schema(min_items = 1, max_items = 10)]
    pub win_probability_by_round: Vec<f64>,
}

/// A group stage that leads to a knock-out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GroupThenKnockOut {
    /// Bouts left in the group (0 to 14), fought whatever happens.
    #[schema(minimum = 0, maximum = 14)]
    pub group_bouts_left: u32,
    /// Chance of going on to the knock-out (0 to 1).
    #[schema(minimum = 0, maximum = 1)]
    pub advance_probability: f64,
    /// Rounds of the knock-out (1 to 10).
    #[schema(minimum = 1, maximum = 10)]
    pub rounds: u32,
    /// Chance of winning in its first round, its second, ...; the last one holds for all later.
    #[schema(min_items = 1, max_items = 10)]
    pub win_probability_by_round: Vec<f64>,
}

/// A place in a double elimination.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DoubleEliminationAhead {
    /// Rounds on the winners' side: 3 for 8 robots (1 to 7).
    #[schema(minimum = 1, maximum = 7)]
    pub winners_rounds: u32,
    /// Chance of winning a bout (0 to 1).
    #[schema(minimum = 0, maximum = 1)]
    pub win_probability: f64,
    /// Next round on the winners' side (1 to winners_rounds, or one more for the final).
    #[serde(default)]
    pub next_winners_round: Option<u32>,
    /// Next round on the losers' side (1 to 2 (winners_rounds - 1), or one more for the final).
    #[serde(default)]
    pub next_losers_round: Option<u32>,
    /// Whether a first defeat in the final is followed by a second final.
    #[serde(default)]
    pub second_final: bool,
}

/// Chances given as they are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GivenBouts {
    /// Chance of exactly 0, 1, 2, ... bouts; they sum to 1 (up to 25 of them).
    #[schema(min_items = 1, max_items = 25)]
    pub probability_by_bouts: Vec<f64>,
}

impl BoutsAhead {
    /// Notes what is wrong, below `pointer`.
    pub(super) fn check(&self, faults: &mut Faults, pointer: &str) {
        match self {
            Self::Certain(ahead) => whole(
                faults,
                format!("{pointer}/certain/bouts"),
                ahead.bouts,
                0,
                MOST_BOUTS,
            ),
            Self::KnockOut(ahead) => {
                let at = format!("{pointer}/knock_out");
                whole(
                    faults,
                    format!("{at}/rounds_left"),
                    ahead.rounds_left,
                    1,
                    MOST_ROUNDS,
                );
                wins(faults, &at, &ahead.win_probability_by_round);
            }
            Self::GroupThenKnockOut(ahead) => {
                let at = format!("{pointer}/group_then_knock_out");
                whole(
                    faults,
                    format!("{at}/group_bouts_left"),
                    ahead.group_bouts_left,
                    0,
                    MOST_BOUTS - MOST_ROUNDS,
                );
                faults.range(
                    format!("{at}/advance_probability"),
                    ahead.advance_probability,
                    0.0,
                    1.0,
                );
                whole(faults, format!("{at}/rounds"), ahead.rounds, 1, MOST_ROUNDS);
                wins(faults, &at, &ahead.win_probability_by_round);
            }
            Self::DoubleElimination(ahead) => {
                double_elimination::check(ahead, faults, &format!("{pointer}/double_elimination"));
            }
            Self::Given(ahead) => {
                let at = format!("{pointer}/given/probability_by_bouts");
                sums_to_one(faults, &at, &ahead.probability_by_bouts);
            }
        }
    }

    /// Chance of exactly 0, 1, 2, ... bouts, once checked.
    pub(super) fn chances(&self) -> Vec<f64> {
        match self {
            Self::Certain(ahead) => {
                let mut chances = vec![0.0; ahead.bouts as usize + 1];
                chances[ahead.bouts as usize] = 1.0;
                chances
            }
            Self::KnockOut(ahead) => {
                knock_out(0, ahead.rounds_left, &ahead.win_probability_by_round)
            }
            Self::GroupThenKnockOut(ahead) => {
                let before = ahead.group_bouts_left;
                let mut chances = knock_out(before, ahead.rounds, &ahead.win_probability_by_round);
                for chance in &mut chances {
                    *chance *= ahead.advance_probability;
                }
                chances[before as usize] += 1.0 - ahead.advance_probability;
                chances
            }
            Self::DoubleElimination(ahead) => double_elimination::chances(ahead),
            Self::Given(ahead) => {
                let sum: f64 = ahead.probability_by_bouts.iter().sum();
                ahead.probability_by_bouts.iter().map(|p| p / sum).collect()
            }
        }
    }
}

/// Notes a fault unless the chances are from 0 to 1, sum to 1 and are not too many.
fn sums_to_one(faults: &mut Faults, pointer: &str, chances: &[f64]) {
    if chances.is_empty() || chances.len() > MOST_BOUTS as usize + 1 {
        faults.add(
            pointer,
            format!("From 1 to {} chances are taken.", MOST_BOUTS + 1),
        );
        return;
    }
    for (index, chance) in chances.iter().enumerate() {
        faults.range(format!("{pointer}/{index}"), *chance, 0.0, 1.0);
    }
    let sum: f64 = chances.iter().sum();
    if !is_one(sum) {
        faults.add(pointer, format!("The chances sum to {sum}, not to 1."));
    }
}

/// Whether chances that sum to `sum` may be taken to sum to 1.
pub(super) fn is_one(sum: f64) -> bool {
    (sum - 1.0).abs() <= 1.0e-6
}

fn wins(faults: &mut Faults, at: &str, chances: &[f64]) {
    let at = format!("{at}/win_probability_by_round");
    if chances.is_empty() || chances.len() > MOST_ROUNDS as usize {
        faults.add(&at, format!("From 1 to {MOST_ROUNDS} chances are taken."));
    }
    for (index, chance) in chances.iter().enumerate() {
        faults.range(format!("{at}/{index}"), *chance, 0.0, 1.0);
    }
}

/// Notes a fault unless `value` is from `min` to `max`.
pub(super) fn whole(faults: &mut Faults, pointer: String, value: u32, min: u32, max: u32) {
    faults.range(pointer, f64::from(value), f64::from(min), f64::from(max));
}

/// Chance of exactly b bouts: `before` certain ones, then one a round for as long as it wins.
fn knock_out(before: u32, rounds: u32, wins: &[f64]) -> Vec<f64> {
    let mut chances = vec![0.0; (before + rounds) as usize + 1];
    let mut there = 1.0;
    for round in 0..rounds as usize {
        let fought = before as usize + round + 1;
        if round + 1 == rounds as usize {
            chances[fought] = there;
        } else {
            let win = wins[round.min(wins.len() - 1)];
            chances[fought] = there * (1.0 - win);
            there *= win;
        }
    }
    chances
}

/// Input of `remaining-bouts`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(RemainingBoutsInput::example()))]
pub struct RemainingBoutsInput {
    /// What is known about the bouts still to come.
    pub bouts_ahead: BoutsAhead,
}

impl RemainingBoutsInput {
    /// Three group bouts, then even odds of a knock-out of eight.
    pub fn example() -> Self {
        Self {
            bouts_ahead: BoutsAhead::GroupThenKnockOut(GroupThenKnockOut {
                group_bouts_left: 3,
                advance_probability: 0.5,
                rounds: 3,
                win_probability_by_round: vec![0.55],
            }),
        }
    }
}

/// Output of `remaining-bouts`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(remaining_bouts(&RemainingBoutsInput::example()).ok()))]
pub struct RemainingBoutsOutput {
    /// Chance of exactly 0, 1, 2, ... bouts.
    pub probability_by_bouts: Vec<f64>,
    /// Mean number of bouts.
    pub mean_bouts: f64,
    /// Variance of the number of bouts, in bouts squared.
    pub variance_bouts2: f64,
    /// Most bouts that can come.
    pub most_bouts: u32,
}

/// Works out how many bouts a robot still has, with the chance of each number.
///
/// **Units**: bouts; chances from 0 to 1.
/// **Assumptions**: results are independent, with the chances given.
/// **Source**: counting; for double elimination a walk over the rounds of both sides.
///
/// # Errors
/// Every value out of its range.
pub fn remaining_bouts(input: &RemainingBoutsInput) -> Result<RemainingBoutsOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    input.bouts_ahead.check(&mut faults, "/bouts_ahead");
    faults.check()?;
    let chances = input.bouts_ahead.chances();
    let moment = |power: i32| -> f64 {
        (0_i32..)
            .zip(&chances)
            .map(|(bouts, chance)| f64::from(bouts).powi(power) * chance)
            .sum()
    };
    let mean = moment(1);
    let most = (0..).zip(&chances).filter(|(_, chance)| **chance > 0.0);
    Ok(RemainingBoutsOutput {
        mean_bouts: mean,
        variance_bouts2: (moment(2) - mean * mean).max(0.0),
        most_bouts: most.map(|(bouts, _)| bouts).last().unwrap_or(0),
        probability_by_bouts: chances,
    })
}
