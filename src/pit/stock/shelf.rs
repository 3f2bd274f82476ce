//! The spares of one type: how many of each state, and how often it failed.

use crate::pit::ids::{PartTypeId, RobotId, Subject};
use crate::pit::logbook::stock::{SpareState, Stock};
use crate::pit::logbook::things::OldPart;
use crate::pit::logbook::{Body, Line};
use crate::pit::state::Pit;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The spares of one type.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shelf {
    /// How many there are of each state.
    pub units: BTreeMap<SpareState, i32>,
    /// Taken although by all that was entered there was none left: somebody has to count.
    pub unaccounted: i32,
    /// Swaps, by the robot they were on: each is a failure.
    pub failures: BTreeMap<RobotId, u32>,
    /// Everything that was entered about them, in order of time.
    pub lines: Vec<Arc<Line>>,
}

impl Shelf {
    /// Spares of a state.
    pub fn of(&self, state: SpareState) -> i32 {
        self.units.get(&state).copied().unwrap_or(0)
    }

    /// Spares that one can rely on: tested, new, used or borrowed.
    pub fn ready(&self) -> i32 {
        SpareState::ALL
            .into_iter()
            .filter(|state| state.is_ready())
            .map(|state| self.of(state))
            .sum()
    }

    /// Swaps on any robot.
    pub fn failed(&self) -> u32 {
        self.failures.values().sum()
    }

    fn put(&mut self, state: SpareState, units: i32) {
        *self.units.entry(state).or_insert(0) += units;
    }

    /// Takes spares out of a state. What is not there is noted, never a count below nothing.
    fn take(&mut self, state: SpareState, units: i32) {
        let there = self.of(state);
        let taken = units.min(there);
        self.put(state, -taken);
        self.unaccounted += units - taken;
    }

    fn stock(&mut self, stock: &Stock) {
        match stock {
            Stock::Came(came) => self.put(came.state, came.units.get()),
            Stock::Went(went) => self.take(went.state, went.units.get()),
            Stock::Became(became) => {
                self.take(became.from, became.units.get());
                self.put(became.to, became.units.get());
            }
            Stock::Counted(counted) => {
                self.units.insert(counted.state, counted.units.get());
                if counted.state.is_here() {
                    self.unaccounted = 0;
                }
            }
        }
    }

    /// A swap takes the best spare there is.
    fn fitted(&mut self, robot: RobotId, old: Option<OldPart>) {
        let best = SpareState::ALL
            .into_iter()
            .find(|state| state.is_here() && self.of(*state) > 0);
        self.take(best.unwrap_or(SpareState::New), 1);
        if old == Some(OldPart::Mend) {
            self.put(SpareState::InRepair, 1);
        }
        *self.failures.entry(robot).or_insert(0) += 1;
    }
}

/// The spares of a type, after everything that was entered about them.
///
/// **Assumptions**: a swap is one unit, and a failure of it; it takes a tested spare before a new
/// one, then a used, a borrowed and an untested one. What the register says was brought is new.
pub fn shelf(pit: &Pit, part: PartTypeId) -> Shelf {
    let mut shelf = Shelf::default();
    let Some(known) = pit.part_types.get(&part) else {
        return shelf;
    };
    shelf.put(
        SpareState::New,
        known.body.spares.map_or(0, |spares| spares.get()),
    );
    let mut lines = pit.facts(Subject::Part(part));
    for (_, file) in pit.robots_of(known.body.team) {
        let swaps = file
            .lines
            .iter()
            .filter(|line| matches!(&line.body, Body::Part(swap) if swap.spare == Some(part)));
        lines.extend(swaps.cloned());
    }
    lines.sort_by_key(|line| (line.at, line.id));
    for line in &lines {
        match (&line.body, line.subject) {
            (Body::Stock(stock), _) => shelf.stock(stock),
            (Body::Part(swap), Subject::Robot(robot)) => shelf.fitted(robot, swap.old),
            _ => {}
        }
    }
    shelf.lines = lines;
    shelf
}
