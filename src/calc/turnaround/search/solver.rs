//! The engine: passes on what follows, and learns a clause from every contradiction.
//!
//! **Source** lazy clause generation (Ohrimenko, Stuckey and Codish 2009) with the first unique
//! implication point of a contradiction (Marques-Silva and Sakallah 1999, Zhang et al. 2001).

use super::arcs::Arcs;
use super::clauses::Clauses;
use super::energy::Energy;
use super::linear::Linear;
use super::literal::{Lit, View};
use super::order::Order;
use super::store::{Clash, Reason, Store};
use super::timetable::Timetable;

/// Variables, what binds them, and what was learnt.
#[derive(Debug)]
pub(super) struct Solver {
    pub store: Store,
    pub order: Order,
    pub(super) clauses: Clauses,
    pub(super) arcs: Arcs,
    linears: Vec<Linear>,
    timetables: Vec<Timetable>,
    energies: Vec<Energy>,
    /// Per variable: the linears and timetables that depend on it.
    wakes_linear: Vec<Vec<u32>>,
    wakes_timetable: Vec<Vec<u32>>,
    wakes_energy: Vec<Vec<u32>>,
    linear_waits: Vec<bool>,
    timetable_waits: Vec<bool>,
    energy_waits: Vec<bool>,
    done: usize,
    pub(super) contradictory: bool,
    pub(super) marks: Vec<i32>,
    /// Steps passed on so far: a measure of work.
    pub passed: u64,
}

impl Solver {
    pub fn new() -> Self {
        Self {
            store: Store::default(),
            order: Order::new(),
            clauses: Clauses::default(),
            arcs: Arcs::default(),
            linears: Vec::new(),
            timetables: Vec::new(),
            energies: Vec::new(),
            wakes_linear: Vec::new(),
            wakes_timetable: Vec::new(),
            wakes_energy: Vec::new(),
            linear_waits: Vec::new(),
            timetable_waits: Vec::new(),
            energy_waits: Vec::new(),
            done: 0,
            contradictory: false,
            marks: Vec::new(),
            passed: 0,
        }
    }

    pub fn variable(&mut self, min: i32, max: i32) -> usize {
        self.floating(min, max, max)
    }

    /// A variable from `min` to `max` that is worth deciding up to `usual` only.
    pub fn floating(&mut self, min: i32, usual: i32, max: i32) -> usize {
        self.order.add(min, usual.clamp(min, max));
        self.clauses.variable(min, max);
        self.wakes_linear.push(Vec::new());
        self.wakes_timetable.push(Vec::new());
        self.wakes_energy.push(Vec::new());
        self.store.variable(min, max)
    }

    /// A variable that is never decided on: it only follows from others.
    pub fn measure(&mut self, min: i32, max: i32) -> usize {
        self.order.pass_over();
        self.clauses.variable(min, max);
        self.wakes_linear.push(Vec::new());
        self.wakes_timetable.push(Vec::new());
        self.wakes_energy.push(Vec::new());
        self.store.variable(min, max)
    }

    pub fn yes_or_no(&mut self) -> usize {
        self.variable(0, 1)
    }

    /// Whether nothing satisfies what binds the variables.
    pub fn is_contradictory(&self) -> bool {
        self.contradictory
    }

    pub fn learnt(&self) -> usize {
        self.clauses.learnt()
    }

    /// From now on at least one of `lits` holds. Only without open levels.
    pub fn clause(&mut self, lits: &[Lit]) {
        if lits.iter().any(|&lit| self.store.holds(lit)) {
            return;
        }
        let open: Vec<Lit> = lits
            .iter()
            .copied()
            .filter(|&lit| !self.store.fails(lit))
            .collect();
        match open.len() {
            0 => self.contradictory = true,
            1 => {
                self.store.tighten(open[0], Reason::Choice);
            }
            _ => {
                self.clauses.add(&open, false, 0);
            }
        }
    }

    /// From now on `lit` holds. Only without open levels.
    pub fn fact(&mut self, lit: Lit) {
        self.clause(&[lit]);
    }

    /// `to >= from + distance` for variables; upwards while `up` hold, downwards while `down` hold.
    pub fn arc(&mut self, from: usize, to: usize, distance: i32, up: Vec<Lit>, down: Vec<Lit>) {
        self.up(from, to, distance, up);
        self.down(from, to, distance, down);
    }

    /// Lower bounds of `from` pass on to `to` while `given` hold.
    pub fn up(&mut self, from: usize, to: usize, distance: i32, given: Vec<Lit>) {
        self.one_way(2 * from, 2 * to, distance, given);
    }

    /// Upper bounds of `to` pass on to `from` while `given` hold.
    pub fn down(&mut self, from: usize, to: usize, distance: i32, given: Vec<Lit>) {
        self.one_way(2 * to + 1, 2 * from + 1, distance, given);
    }

    fn one_way(&mut self, from: View, to: View, distance: i32, given: Vec<Lit>) {
        self.arcs.add(from, to, distance, &given);
        let arc = self.arcs.count() as u32 - 1;
        if self.arcs.pass(&mut self.store, arc).is_err() {
            self.contradictory = true;
        }
    }

    pub fn linear(&mut self, linear: Linear) {
        let index = self.linears.len() as u32;
        for (lit, _) in &linear.terms {
            self.wakes_linear[lit.variable()].push(index);
        }
        if let Some((view, _)) = linear.number {
            self.wakes_linear[view / 2].push(index);
        }
        self.linears.push(linear);
        self.linear_waits.push(true);
    }

    pub fn timetable(&mut self, timetable: Timetable) {
        let index = self.timetables.len() as u32;
        for holder in &timetable.holders {
            self.wakes_timetable[holder.start].push(index);
            if holder.latest != holder.start {
                self.wakes_timetable[holder.latest].push(index);
            }
            if let Some(lit) = holder.given {
                self.wakes_timetable[lit.variable()].push(index);
            }
        }
        self.timetables.push(timetable);
        self.timetable_waits.push(true);
    }

    pub fn energy(&mut self, energy: Energy) {
        let index = self.energies.len() as u32;
        for holder in &energy.holders {
            self.wakes_energy[holder.start].push(index);
            if holder.latest != holder.start {
                self.wakes_energy[holder.latest].push(index);
            }
            if let Some(lit) = holder.given {
                self.wakes_energy[lit.variable()].push(index);
            }
        }
        self.energies.push(energy);
        self.energy_waits.push(true);
    }

    /// Passes on everything that follows; whether that went without a contradiction.
    pub fn propagate(&mut self) -> Result<(), Clash> {
        loop {
            while self.done < self.store.trail.len() {
                let step = self.store.trail[self.done];
                self.done += 1;
                self.passed += 1;
                let view = step.view as usize;
                for &index in &self.wakes_linear[view / 2] {
                    self.linear_waits[index as usize] = true;
                }
                for &index in &self.wakes_timetable[view / 2] {
                    self.timetable_waits[index as usize] = true;
                }
                for &index in &self.wakes_energy[view / 2] {
                    self.energy_waits[index as usize] = true;
                }
                self.clauses
                    .propagate(&mut self.store, view, step.old, step.new)?;
                self.arcs.propagate(&mut self.store, view)?;
            }
            if let Some(index) = self.linear_waits.iter().position(|&waits| waits) {
                self.linear_waits[index] = false;
                self.linears[index].propagate(&mut self.store)?;
            } else if let Some(index) = self.timetable_waits.iter().position(|&waits| waits) {
                self.timetable_waits[index] = false;
                self.passed += 4;
                self.timetables[index].propagate(&mut self.store)?;
            } else if let Some(index) = self.energy_waits.iter().position(|&waits| waits) {
                self.energy_waits[index] = false;
                self.passed += 4;
                self.energies[index].propagate(&mut self.store)?;
            } else {
                return Ok(());
            }
        }
    }

    /// Passes on what follows before anything is tried; whether that went without a contradiction.
    pub fn settle(&mut self) -> bool {
        if !self.contradictory && self.propagate().is_err() {
            self.contradictory = true;
        }
        !self.contradictory
    }

    /// Tries `lit` on a new level.
    pub fn decide(&mut self, lit: Lit) {
        self.store.open_level();
        self.store.tighten(lit, Reason::Choice);
    }

    /// Takes back everything above `level`.
    pub fn back_to(&mut self, level: u32) {
        if level < self.store.level() {
            self.store.back_to(level);
            self.order.back_to(level);
            self.done = self.store.trail.len();
            // What was waiting may have been waiting for something that still holds.
        }
    }

    /// Forgets what helped least. Only without open levels.
    pub fn forget(&mut self) {
        self.clauses.forget(&self.store);
    }
}
