//! Counting the bouts of a knock-out.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::{Fault, Faults};

/// Input of `knock-out`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(KnockOutInput::example()))]
pub struct KnockOutInput {
    /// Robots entered (2 to 1024).
    #[schema(minimum = 2, maximum = 1024)]
    pub robots: u32,
}

impl KnockOutInput {
    /// Eleven robots.
    pub fn example() -> Self {
        Self { robots: 11 }
    }
}

/// Output of `knock-out`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(knock_out(&KnockOutInput::example()).ok()))]
pub struct KnockOutOutput {
    /// Rounds, the final included.
    pub rounds: u32,
    /// Robots that go on without a bout in the first round.
    pub byes: u32,
    /// Bouts in all.
    pub bouts: u32,
    /// Bouts of the first round.
    pub first_round_bouts: u32,
    /// Bouts in all if a robot is out with its second defeat, without a second final.
    pub double_elimination_bouts: u32,
    /// The same with a second final.
    pub double_elimination_bouts_with_second_final: u32,
}

/// Counts rounds, byes and bouts of a knock-out.
///
/// **Units**: rounds, robots, bouts.
/// **Source**: counting: every bout puts one robot out.
///
/// # Errors
/// A number of robots out of its range.
pub fn knock_out(input: &KnockOutInput) -> Result<KnockOutOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/robots", f64::from(input.robots), 2.0, 1024.0);
    faults.check()?;
    let robots = input.robots;
    let places = robots.next_power_of_two();
    Ok(KnockOutOutput {
        rounds: places.ilog2(),
        byes: places - robots,
        bouts: robots - 1,
        first_round_bouts: robots - places / 2,
        double_elimination_bouts: 2 * robots - 2,
        double_elimination_bouts_with_second_final: 2 * robots - 1,
    })
}
