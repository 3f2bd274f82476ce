//! The rest of the day for the robots of a team: how many bouts each still needs parts for.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::bouts::{BoutsAhead, KnockOutAhead, MOST_BOUTS, is_one};
use crate::calc::fault::Faults;
use crate::calc::names;

/// Most robots of one team.
const MOST_ROBOTS: usize = 6;

/// Most joint outcomes gone through one by one; beyond, only a bound is given.
const MOST_CASES: usize = 20_000;

/// The bouts still ahead of a team's robots.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DayAhead {
    /// The robots that share the box of spares (1 to 6).
    #[schema(min_items = 1, max_items = 6)]
    pub robots: Vec<RobotAhead>,
    /// How many bouts each robot has, jointly: needed only if two of them may meet, in place of
    /// every robot's own bouts_ahead. `bracket-outlook` gives it.
    #[serde(default)]
    #[schema(min_items = 1, max_items = 20000)]
    pub bouts_jointly: Option<Vec<BoutsTogether>>,
    /// Whether what fails in a robot's last bout needs replacing too (no, unless told).
    #[serde(default)]
    pub count_last: bool,
}

/// A robot and the bouts ahead of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RobotAhead {
    /// Name of the robot.
    #[schema(min_length = 1, max_length = 80)]
    pub name: String,
    /// Its bouts, independent of the other robots' bouts.
    #[serde(default)]
    pub bouts_ahead: Option<BoutsAhead>,
}

/// One way the day may go.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BoutsTogether {
    /// Chance of it (0 to 1).
    #[schema(minimum = 0, maximum = 1)]
    pub probability: f64,
    /// Bouts of each robot (0 to 24), in the order of the robots.
    #[schema(min_items = 1, max_items = 6)]
    pub bouts: Vec<u32>,
}

impl DayAhead {
    /// Two robots in separate knock-outs of sixteen.
    pub(super) fn example() -> Self {
        let robot = |name: &str, win: f64| RobotAhead {
            name: name.to_owned(),
            bouts_ahead: Some(BoutsAhead::KnockOut(KnockOutAhead {
                rounds_left: 4,
                win_probability_by_round: vec![win],
            })),
        };
        Self {
            robots: vec![robot("Thistle", 0.6), robot("Bramble", 0.45)],
            bouts_jointly: None,
            count_last: false,
        }
    }

    /// Notes what is wrong, below `pointer`.
    pub(super) fn check(&self, faults: &mut Faults, pointer: &str) {
        let at = format!("{pointer}/robots");
        names::count(faults, &at, self.robots.len(), 1, MOST_ROBOTS, "robots");
        let robots = self.robots.iter().map(|robot| robot.name.as_str());
        names::distinct(faults, robots, |index| format!("{at}/{index}/name"));
        for (index, robot) in self.robots.iter().enumerate() {
            let at = format!("{at}/{index}/bouts_ahead");
            match (&robot.bouts_ahead, &self.bouts_jointly) {
                (Some(ahead), None) => ahead.check(faults, &at),
                (None, Some(_)) => {}
                (None, None) => faults.add(
                    at,
                    format!(
                        "\"{}\" needs bouts_ahead (or bouts_jointly for all).",
                        robot.name
                    ),
                ),
                (Some(_), Some(_)) => faults.add(
                    at,
                    "Give bouts_ahead for each robot or bouts_jointly for all, not both.",
                ),
            }
        }
        if let Some(ways) = &self.bouts_jointly {
            self.check_ways(faults, &format!("{pointer}/bouts_jointly"), ways);
        }
    }

    fn check_ways(&self, faults: &mut Faults, at: &str, ways: &[BoutsTogether]) {
        names::count(faults, at, ways.len(), 1, MOST_CASES, "ways the day may go");
        for (index, way) in ways.iter().enumerate() {
            let at = format!("{at}/{index}");
            faults.range(format!("{at}/probability"), way.probability, 0.0, 1.0);
            if way.bouts.len() != self.robots.len() {
                faults.add(
                    format!("{at}/bouts"),
                    format!(
                        "{} numbers for {} robots.",
                        way.bouts.len(),
                        self.robots.len()
                    ),
                );
            }
            if way.bouts.iter().any(|bouts| *bouts > MOST_BOUTS) {
                faults.add(
                    format!("{at}/bouts"),
                    format!("A robot has from 0 to {MOST_BOUTS} bouts."),
                );
            }
        }
        let sum: f64 = ways.iter().map(|way| way.probability).sum();
        if !is_one(sum) {
            faults.add(at, format!("The chances sum to {sum}, not to 1."));
        }
    }

    /// The day as the calculators use it, once checked.
    pub(super) fn outlook(&self) -> Outlook {
        let after = |bouts: u32| {
            if self.count_last {
                bouts
            } else {
                bouts.saturating_sub(1)
            }
        };
        if let Some(ways) = &self.bouts_jointly {
            let sum: f64 = ways.iter().map(|way| way.probability).sum();
            let cases = ways.iter().map(|way| Case {
                chance: way.probability / sum,
                bouts: way.bouts.iter().map(|bouts| after(*bouts)).collect(),
            });
            return Outlook::Together(cases.collect());
        }
        let robots = self.robots.iter().filter_map(|robot| {
            let chances = robot.bouts_ahead.as_ref()?.chances();
            let mut spread = vec![0.0; chances.len()];
            for (bouts, chance) in (0..).zip(&chances) {
                spread[after(bouts) as usize] += chance;
            }
            while spread.len() > 1 && spread.last() == Some(&0.0) {
                spread.pop();
            }
            Some(spread)
        });
        Outlook::Apart(robots.collect())
    }
}

/// Bouts after which replacements are needed.
pub(super) enum Outlook {
    /// For each robot, independently: chance of 0, 1, 2, ... such bouts.
    Apart(Vec<Vec<f64>>),
    /// All robots at once.
    Together(Vec<Case>),
}

/// One way the day may go.
#[derive(Clone)]
pub(super) struct Case {
    /// Chance of it.
    pub(super) chance: f64,
    /// Bouts of each robot after which replacements are needed.
    pub(super) bouts: Vec<u32>,
}

impl Case {
    /// Use in unit-bouts of a part of which each robot has `fitted` units.
    pub(super) fn unit_bouts(&self, fitted: &[u32]) -> u32 {
        fitted.iter().zip(&self.bouts).map(|(q, b)| q * b).sum()
    }
}

impl Outlook {
    /// Use in unit-bouts of a part of which each robot has `fitted` units, with the chance of each.
    pub(super) fn exposure(&self, fitted: &[u32]) -> Vec<(u32, f64)> {
        let mut chances = vec![1.0];
        match self {
            Self::Apart(robots) => {
                for (spread, units) in robots.iter().zip(fitted).filter(|(_, units)| **units > 0) {
                    let step = *units as usize;
                    let mut next = vec![0.0; chances.len() + step * (spread.len() - 1)];
                    for (before, there) in chances.iter().enumerate().filter(|(_, c)| **c > 0.0) {
                        for (bouts, chance) in spread.iter().enumerate() {
                            next[before + step * bouts] += there * chance;
                        }
                    }
                    chances = next;
                }
            }
            Self::Together(cases) => {
                chances = vec![0.0];
                for case in cases {
                    let unit_bouts = case.unit_bouts(fitted) as usize;
                    if chances.len() <= unit_bouts {
                        chances.resize(unit_bouts + 1, 0.0);
                    }
                    chances[unit_bouts] += case.chance;
                }
            }
        }
        (0..).zip(chances).filter(|(_, c)| *c > 0.0).collect()
    }

    /// Every way the day may go, or nothing if there are too many.
    pub(super) fn cases(&self) -> Option<Vec<Case>> {
        let robots = match self {
            Self::Together(cases) => return Some(cases.clone()),
            Self::Apart(robots) => robots,
        };
        let ways = robots.iter().map(Vec::len).product::<usize>();
        if ways > MOST_CASES {
            return None;
        }
        let mut cases = vec![Case {
            chance: 1.0,
            bouts: Vec::new(),
        }];
        for spread in robots {
            let mut next = Vec::with_capacity(cases.len() * spread.len());
            for case in &cases {
                for (bouts, chance) in (0..).zip(spread).filter(|(_, chance)| **chance > 0.0) {
                    let mut bouts_so_far = case.bouts.clone();
                    bouts_so_far.push(bouts);
                    next.push(Case {
                        chance: case.chance * chance,
                        bouts: bouts_so_far,
                    });
                }
            }
            cases = next;
        }
        Some(cases)
    }
}
