//! A shared thing over time: what surely holds it when, and what therefore must wait.
//!
//! **Source** time-table with pointwise explanations: Schutt, Feydy, Stuckey and Wallace 2011.

use super::literal::Lit;
use super::store::{Clash, Store};

/// Somebody who may hold some of the thing.
#[derive(Debug, Clone)]
pub(super) struct Holder {
    /// The variable whose lower bound is that of its start.
    pub start: usize,
    /// The variable whose upper bound is that of its start.
    pub latest: usize,
    pub length: i32,
    pub amount: i32,
    /// It holds nothing unless this does.
    pub given: Option<Lit>,
    /// May be pushed back before it is known whether it holds: nothing depends on it if not.
    pub floats: bool,
}

/// A shared thing, with who may hold it.
#[derive(Debug, Default)]
pub(super) struct Timetable {
    pub size: i32,
    /// `(start, end, by)`: less of it, whatever is chosen.
    pub cuts: Vec<(i32, i32, i32)>,
    pub holders: Vec<Holder>,
    events: Vec<(i32, i32)>,
    /// `(from, to, held)`, only where something is held.
    rows: Vec<(i32, i32, i32)>,
}

impl Timetable {
    pub fn new(size: i32, cuts: Vec<(i32, i32, i32)>, holders: Vec<Holder>) -> Self {
        Self {
            size,
            cuts,
            holders,
            ..Self::default()
        }
    }

    /// Passes on what follows from what is surely held.
    pub fn propagate(&mut self, store: &mut Store) -> Result<(), Clash> {
        let most = self.draw(store);
        if let Some(&(from, _, _)) = self.rows.iter().find(|row| row.2 > self.size)
            && let Some(lits) = self.why(store, from, usize::MAX, self.size + 1)
        {
            return Err(lits);
        }
        for at in 0..self.holders.len() {
            if most + self.holders[at].amount > self.size {
                self.one(store, at)?;
            }
        }
        Ok(())
    }

    /// Draws the rows; the most that is held at any time.
    fn draw(&mut self, store: &Store) -> i32 {
        self.events.clear();
        self.rows.clear();
        for holder in &self.holders {
            if holder.given.is_none_or(|lit| store.holds(lit)) {
                let (from, to) = (
                    store.max(holder.latest),
                    store.min(holder.start) + holder.length,
                );
                if from < to {
                    self.events.push((from, holder.amount));
                    self.events.push((to, -holder.amount));
                }
            }
        }
        for &(from, to, by) in &self.cuts {
            self.events.push((from, by));
            self.events.push((to, -by));
        }
        self.events.sort_unstable();
        let mut held = 0;
        let mut most = 0;
        let mut since = 0;
        let mut at = 0;
        while at < self.events.len() {
            let time = self.events[at].0;
            if held > 0 {
                self.rows.push((since, time, held));
            }
            while at < self.events.len() && self.events[at].0 == time {
                held += self.events[at].1;
                at += 1;
            }
            since = time;
            most = most.max(held);
        }
        most
    }

    fn one(&self, store: &mut Store, at: usize) -> Result<(), Clash> {
        let holder = &self.holders[at];
        let holds = holder.given.is_none_or(|lit| store.holds(lit));
        if !holds && holder.given.is_some_and(|lit| store.fails(lit)) {
            return Ok(());
        }
        if !holds && !holder.floats {
            return self.cannot_hold(store, at);
        }
        if holds && store.min(holder.start) == store.max(holder.latest) {
            return Ok(());
        }
        self.push_back(store, at, holds)?;
        self.pull_forward(store, at, holds)
    }

    /// Whether `row` leaves too little for a holder that surely holds on `[from, to)` itself.
    fn too_little(&self, row: (i32, i32, i32), own: (i32, i32), amount: i32, holds: bool) -> bool {
        let own = if holds && own.0 <= row.0 && row.1 <= own.1 {
            amount
        } else {
            0
        };
        row.2 - own + amount > self.size
    }

    fn push_back(&self, store: &mut Store, at: usize, holds: bool) -> Result<(), Clash> {
        let holder = &self.holders[at];
        let own = (
            store.max(holder.latest),
            store.min(holder.start) + holder.length,
        );
        let first = self
            .rows
            .partition_point(|row| row.1 <= store.min(holder.start));
        for &row in &self.rows[first..] {
            let start = store.min(holder.start);
            if row.0 >= start + holder.length {
                break;
            }
            if row.1 <= start || !self.too_little(row, own, holder.amount, holds) {
                continue;
            }
            // Point by point, so that each step has a short reason.
            let mut start = start;
            while start < row.1 {
                let time = (start + holder.length).min(row.1) - 1;
                let Some(mut lits) = self.why(store, time, at, self.size + 1 - holder.amount)
                else {
                    return Ok(());
                };
                lits.push(Lit::at_least(holder.start, time + 1 - holder.length));
                if holds {
                    lits.extend(holder.given);
                }
                let lit = Lit::at_least(holder.start, time + 1);
                if store.fails(lit) {
                    lits.push(lit.not());
                    return Err(lits);
                }
                let reason = store.list(&lits);
                store.tighten(lit, reason);
                start = time + 1;
            }
        }
        Ok(())
    }

    fn pull_forward(&self, store: &mut Store, at: usize, holds: bool) -> Result<(), Clash> {
        let holder = &self.holders[at];
        let own = (
            store.max(holder.latest),
            store.min(holder.start) + holder.length,
        );
        let last = self
            .rows
            .partition_point(|row| row.0 < store.max(holder.latest) + holder.length);
        for &row in self.rows[..last].iter().rev() {
            let start = store.max(holder.latest);
            if row.1 <= start {
                break;
            }
            if row.0 >= start + holder.length || !self.too_little(row, own, holder.amount, holds) {
                continue;
            }
            let mut start = start;
            while start + holder.length > row.0 {
                let time = start.max(row.0);
                let Some(mut lits) = self.why(store, time, at, self.size + 1 - holder.amount)
                else {
                    return Ok(());
                };
                lits.push(Lit::at_most(holder.latest, time));
                if holds {
                    lits.extend(holder.given);
                }
                let lit = Lit::at_most(holder.latest, time - holder.length);
                if store.fails(lit) {
                    lits.push(lit.not());
                    return Err(lits);
                }
                let reason = store.list(&lits);
                store.tighten(lit, reason);
                start = time - holder.length;
            }
        }
        Ok(())
    }

    /// Where it would surely stand there is not enough left: so it does not hold.
    fn cannot_hold(&self, store: &mut Store, at: usize) -> Result<(), Clash> {
        let holder = &self.holders[at];
        let Some(given) = holder.given else {
            return Ok(());
        };
        let (from, to) = (
            store.max(holder.latest),
            store.min(holder.start) + holder.length,
        );
        if from >= to {
            return Ok(());
        }
        let first = self.rows.partition_point(|row| row.1 <= from);
        for row in &self.rows[first..] {
            if row.0 >= to {
                break;
            }
            if row.2 + holder.amount > self.size {
                let time = row.0.max(from);
                if let Some(mut lits) = self.why(store, time, at, self.size + 1 - holder.amount) {
                    lits.push(Lit::at_most(holder.latest, time));
                    lits.push(Lit::at_least(holder.start, time + 1 - holder.length));
                    let reason = store.list(&lits);
                    store.tighten(given.not(), reason);
                }
                return Ok(());
            }
        }
        Ok(())
    }

    /// Literals that make all but holder `but` hold at least `wanted` at `time`; none if they do
    /// not, which happens while bounds move under a drawing.
    fn why(&self, store: &Store, time: i32, but: usize, wanted: i32) -> Option<Vec<Lit>> {
        let mut held: i32 = self
            .cuts
            .iter()
            .filter(|c| c.0 <= time && time < c.1)
            .map(|c| c.2)
            .sum();
        let mut there: Vec<&Holder> = Vec::new();
        for (at, holder) in self.holders.iter().enumerate() {
            if at != but
                && holder.given.is_none_or(|lit| store.holds(lit))
                && store.max(holder.latest) <= time
                && time < store.min(holder.start) + holder.length
            {
                held += holder.amount;
                there.push(holder);
            }
        }
        // Small ones go first, so that few are left to name.
        there.sort_by_key(|holder| holder.amount);
        let mut spare = held - wanted;
        if spare < 0 {
            return None;
        }
        let mut lits = Vec::with_capacity(2 * there.len() + 3);
        for holder in there {
            if holder.amount <= spare {
                spare -= holder.amount;
                continue;
            }
            lits.push(Lit::at_most(holder.latest, time));
            lits.push(Lit::at_least(holder.start, time + 1 - holder.length));
            lits.extend(holder.given);
        }
        Some(lits)
    }
}
