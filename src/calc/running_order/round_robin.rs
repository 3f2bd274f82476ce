//! Everybody against everybody, in one arena, with as much rest as can be promised to all.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// Input of `round-robin`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(RoundRobinInput::example()))]
pub struct RoundRobinInput {
    /// The robots of the group (3 to 32).
    #[schema(min_items = 3, max_items = 32)]
    pub robots: Vec<String>,
}

impl RoundRobinInput {
    /// A group of five.
    pub fn example() -> Self {
        let robots = ["Thistle", "Bramble", "Nettle", "Burdock", "Sorrel"];
        Self {
            robots: robots.map(str::to_owned).to_vec(),
        }
    }
}

/// Output of `round-robin`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(round_robin(&RoundRobinInput::example()).ok()))]
pub struct RoundRobinOutput {
    /// The bouts in the order with the most rest.
    pub order: Vec<Pairing>,
    /// Fewest bouts of others between two bouts of one robot in that order.
    pub rest_bouts: u32,
    /// No order promises all robots more than this.
    pub best_possible_rest_bouts: u32,
    /// The same bouts in rounds, by the circle method; with an odd number of robots one of them
    /// rests in each round.
    pub rounds: Vec<Vec<Pairing>>,
    /// Fewest bouts of others between two bouts of one robot if the rounds are fought as they stand.
    pub rest_bouts_in_rounds: u32,
    /// Bouts of each robot.
    pub bouts_per_robot: u32,
}

/// Two robots that meet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Pairing {
    /// Name of one robot.
    pub one: String,
    /// Name of the other.
    pub other: String,
}

/// Sets up a round robin in one arena with the best rest that can be promised to every robot.
///
/// For an even number the circle method has it. For an odd number n = 2m + 1 the bouts run along the
/// m zigzag circuits through all robots, two steps at a time: any m bouts in a row then have 2m
/// different robots, also from one circuit to the next.
///
/// **Units**: rest in bouts of others in between.
/// **Assumptions**: one arena, bouts of equal length.
/// **Source**: circle method (folklore); zigzag circuits, Walecki in Lucas 1883; best possible rest
/// floor((n - 3) / 2), Suksompong, arXiv 1804.04504 (all from memory; n from 4 to 7 checked by
/// exhaustive search).
///
/// # Errors
/// Too few or too many robots, repeated names.
pub fn round_robin(input: &RoundRobinInput) -> Result<RoundRobinOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    let count = input.robots.len();
    names::count(&mut faults, "/robots", count, 3, 32, "robots");
    let robots = input.robots.iter().map(String::as_str);
    names::distinct(&mut faults, robots, |index| format!("/robots/{index}"));
    faults.check()?;

    let rounds = circle(count);
    let in_rounds: Vec<[usize; 2]> = rounds.iter().flatten().copied().collect();
    let order = if count.is_multiple_of(2) {
        in_rounds.clone()
    } else {
        zigzag(count)
    };
    let told = |pair: &[usize; 2]| Pairing {
        one: input.robots[pair[0]].clone(),
        other: input.robots[pair[1]].clone(),
    };
    Ok(RoundRobinOutput {
        order: order.iter().map(told).collect(),
        rest_bouts: least_rest(&order),
        best_possible_rest_bouts: (count as u32 - 3) / 2,
        rounds: rounds
            .iter()
            .map(|round| round.iter().map(told).collect())
            .collect(),
        rest_bouts_in_rounds: least_rest(&in_rounds),
        bouts_per_robot: count as u32 - 1,
    })
}

/// Rounds by the circle method: the first robot stays, the others move on by one place each round,
/// and pairs are taken from the outside in. An odd number is made even by an empty place.
fn circle(count: usize) -> Vec<Vec<[usize; 2]>> {
    let places = count + count % 2;
    let mut seats: Vec<usize> = (0..places).collect();
    let mut rounds = Vec::with_capacity(places - 1);
    for _ in 1..places {
        let pairs = (0..places / 2).map(|seat| [seats[seat], seats[places - 1 - seat]]);
        // The empty place of an odd number is the last one.
        rounds.push(
            pairs
                .filter(|pair| pair.iter().all(|robot| *robot < count))
                .collect(),
        );
        seats[1..].rotate_right(1);
    }
    rounds
}

/// The bouts of an odd number of robots along the zigzag circuits.
fn zigzag(count: usize) -> Vec<[usize; 2]> {
    let hub = count - 1;
    let mut order = Vec::with_capacity(count * (count - 1) / 2);
    for circuit in 0..hub / 2 {
        let mut stops = vec![hub];
        for step in 0..hub {
            let away = step.div_ceil(2);
            let stop = if step % 2 == 1 {
                circuit + away
            } else {
                circuit + hub - away
            };
            stops.push(stop % hub);
        }
        // Twice around, two stops at a time, is every leg of the circuit once.
        order.extend(
            (0..count).map(|bout| [stops[2 * bout % count], stops[(2 * bout + 1) % count]]),
        );
    }
    order
}

/// Fewest bouts of others between two bouts of one robot.
fn least_rest(order: &[[usize; 2]]) -> u32 {
    let mut least = order.len();
    let mut last = std::collections::BTreeMap::new();
    for (bout, pair) in order.iter().enumerate() {
        for robot in pair {
            if let Some(before) = last.insert(*robot, bout) {
                least = least.min(bout - before - 1);
            }
        }
    }
    least as u32
}
