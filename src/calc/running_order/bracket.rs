//! A drawn knock-out: how far each robot comes, how many bouts it has.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::{Fault, Faults};
use crate::calc::names;
use crate::calc::spares::BoutsTogether;

/// Most places of a bracket.
const MOST_PLACES: usize = 64;

/// Most robots whose bouts are worked out jointly.
const MOST_OURS: usize = 4;

/// Input of `bracket-outlook`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(BracketOutlookInput::example()))]
pub struct BracketOutlookInput {
    /// The places from top to bottom: 2, 4, 8, 16, 32 or 64 of them, nothing for a bye. Neighbours
    /// meet in the first round, their winners in the next.
    #[schema(min_items = 2, max_items = 64)]
    pub places: Vec<Option<BracketRobot>>,
    /// Names of up to 4 robots of one team, whose numbers of bouts are worked out jointly.
    #[serde(default)]
    #[schema(max_items = 4)]
    pub ours: Vec<String>,
}

/// A robot in a bracket.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BracketRobot {
    /// Name of the robot.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// Strength (0.001 to 1000): of strengths a and b, a wins with chance a / (a + b).
    #[schema(minimum = 0.001, maximum = 1000)]
    pub strength: f64,
}

impl BracketOutlookInput {
    /// Three robots and a bye, two robots of one team.
    pub fn example() -> Self {
        let robot = |name: &str, strength| {
            Some(BracketRobot {
                name: name.to_owned(),
                strength,
            })
        };
        Self {
            places: vec![
                robot("Thistle", 3.0),
                None,
                robot("Bramble", 2.0),
                robot("Nettle", 2.0),
            ],
            ours: vec!["Thistle".to_owned(), "Bramble".to_owned()],
        }
    }
}

/// Output of `bracket-outlook`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(bracket_outlook(&BracketOutlookInput::example()).ok()))]
pub struct BracketOutlookOutput {
    /// The robots, from top to bottom.
    pub robots: Vec<RobotOutlook>,
    /// Every combination of numbers of bouts of our robots, with its chance; goes as it is into
    /// bouts_jointly of a spares forecast. Empty if no robots are named as ours.
    pub ours_jointly: Vec<BoutsTogether>,
}

/// How far a robot comes.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct RobotOutlook {
    /// Name of the robot.
    pub name: String,
    /// Chance of being through the first round, the second, ...; the last is that of winning it all.
    pub through_round_probability: Vec<f64>,
    /// Mean number of bouts.
    pub expected_bouts: f64,
    /// Chance of exactly 0, 1, 2, ... bouts.
    pub probability_by_bouts: Vec<f64>,
}

/// Works out how far each robot of a drawn knock-out comes and how many bouts it has.
///
/// **Units**: chances from 0 to 1, bouts.
/// **Assumptions**: results are independent, with chances from strengths that stay the same all day.
/// **Source**: Bradley and Terry 1952 (from memory); sums over the tree.
///
/// # Errors
/// A number of places that is no power of two, two byes that meet, values out of range, repeated or
/// unknown names.
pub fn bracket_outlook(input: &BracketOutlookInput) -> Result<BracketOutlookOutput, Vec<Fault>> {
    let ours = check(input)?;
    let places = &input.places;
    let rounds = places.len().ilog2() as usize;
    let mut through: Vec<Vec<f64>> = Vec::with_capacity(rounds);
    for round in 0..rounds {
        let before = |place: usize| match &places[place] {
            None => 0.0,
            Some(_) if round == 0 => 1.0,
            Some(_) => through[round - 1][place],
        };
        let half = 1 << round;
        let won = (0..places.len()).map(|place| {
            let Some(robot) = &places[place] else {
                return 0.0;
            };
            let other_half = ((place / half) ^ 1) * half;
            let opponents = (other_half..other_half + half).filter_map(|other| {
                let opponent = places[other].as_ref()?;
                Some(before(other) * beats(robot, opponent))
            });
            let bye = (other_half..other_half + half).all(|other| places[other].is_none());
            before(place) * if bye { 1.0 } else { opponents.sum() }
        });
        let won = won.collect();
        through.push(won);
    }
    let robots = places.iter().enumerate().filter_map(|(place, robot)| {
        let robot = robot.as_ref()?;
        let through: Vec<f64> = through.iter().map(|round| round[place]).collect();
        let bye = usize::from(places[place ^ 1].is_none());
        let mut by_bouts = vec![0.0; rounds - bye + 1];
        let mut there = 1.0;
        for (round, won) in through.iter().enumerate() {
            // Out in this round; a bye is no bout and cannot be lost.
            by_bouts[(round + 1).saturating_sub(bye)] += there - won;
            there = *won;
        }
        by_bouts[rounds - bye] += there;
        let mean = (0_u32..).zip(&by_bouts);
        Some(RobotOutlook {
            name: robot.name.clone(),
            expected_bouts: mean.map(|(bouts, chance)| f64::from(bouts) * chance).sum(),
            probability_by_bouts: by_bouts,
            through_round_probability: through,
        })
    });
    Ok(BracketOutlookOutput {
        robots: robots.collect(),
        ours_jointly: if ours.is_empty() {
            Vec::new()
        } else {
            jointly(places, &ours)
        },
    })
}

fn beats(robot: &BracketRobot, opponent: &BracketRobot) -> f64 {
    robot.strength / (robot.strength + opponent.strength)
}

/// Per winner (nothing in an empty part) and bouts of ours so far: the chance of both.
type Half = BTreeMap<(Option<usize>, Vec<u32>), f64>;

fn jointly(places: &[Option<BracketRobot>], ours: &[usize]) -> Vec<BoutsTogether> {
    let mut parts: Vec<Half> = (0..places.len())
        .map(|place| {
            let winner = places[place].as_ref().map(|_| place);
            Half::from([((winner, vec![0; ours.len()]), 1.0)])
        })
        .collect();
    while parts.len() > 1 {
        parts = parts
            .chunks(2)
            .map(|two| met(places, ours, &two[0], &two[1]))
            .collect();
    }
    let mut together: BTreeMap<Vec<u32>, f64> = BTreeMap::new();
    for ((_, bouts), chance) in parts.into_iter().flatten() {
        *together.entry(bouts).or_default() += chance;
    }
    let one = |(bouts, probability)| BoutsTogether { probability, bouts };
    together.into_iter().map(one).collect()
}

fn met(places: &[Option<BracketRobot>], ours: &[usize], upper: &Half, lower: &Half) -> Half {
    let mut after = Half::new();
    for ((one, one_bouts), one_chance) in upper {
        for ((other, other_bouts), other_chance) in lower {
            let chance = one_chance * other_chance;
            let bouts = one_bouts.iter().zip(other_bouts).map(|(a, b)| a + b);
            let mut bouts: Vec<u32> = bouts.collect();
            let robots = one
                .and_then(|place| places[place].as_ref())
                .zip(other.and_then(|place| places[place].as_ref()));
            let Some((robot, opponent)) = robots else {
                *after.entry((one.or(*other), bouts)).or_default() += chance;
                continue;
            };
            for (count, place) in bouts.iter_mut().zip(ours) {
                *count += u32::from(*one == Some(*place) || *other == Some(*place));
            }
            let wins = beats(robot, opponent);
            *after.entry((*one, bouts.clone())).or_default() += chance * wins;
            *after.entry((*other, bouts)).or_default() += chance * (1.0 - wins);
        }
    }
    after
}

fn check(input: &BracketOutlookInput) -> Result<Vec<usize>, Vec<Fault>> {
    let mut faults = Faults::none();
    let places = &input.places;
    if !places.len().is_power_of_two() || places.len() < 2 || places.len() > MOST_PLACES {
        faults.add(
            "/places",
            format!("{} places; 2, 4, 8, 16, 32 or 64 are taken.", places.len()),
        );
    }
    for (pair, two) in places.chunks(2).enumerate() {
        if two.iter().all(Option::is_none) {
            faults.add(format!("/places/{}", 2 * pair), "Two byes meet here.");
        }
    }
    let drawn: Vec<(usize, &BracketRobot)> = places
        .iter()
        .enumerate()
        .filter_map(|(place, robot)| Some((place, robot.as_ref()?)))
        .collect();
    let robots: Vec<&str> = drawn.iter().map(|(_, robot)| robot.name.as_str()).collect();
    names::distinct(&mut faults, robots.iter().copied(), |index| {
        format!("/places/{}/name", drawn[index].0)
    });
    for (place, robot) in &drawn {
        let at = format!("/places/{place}/strength");
        faults.range(at, robot.strength, 1.0e-3, 1.0e3);
    }
    names::count(
        &mut faults,
        "/ours",
        input.ours.len(),
        0,
        MOST_OURS,
        "robots of ours",
    );
    let ours = input.ours.iter().map(String::as_str);
    names::distinct(&mut faults, ours, |index| format!("/ours/{index}"));
    let mut found = Vec::new();
    for (index, name) in input.ours.iter().enumerate() {
        let place = names::place(&mut faults, format!("/ours/{index}"), &robots, name);
        found.extend(place.map(|index| drawn[index].0));
    }
    faults.or(found)
}
