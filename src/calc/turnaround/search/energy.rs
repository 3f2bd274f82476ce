//! The work of a shared thing within a stretch of time: more than it can give cannot be done.
//!
//! A time-table sees only what surely stands somewhere; a limit that comes from the total work of
//! people or places shows here.
//!
//! **Source** overload checking, with explanations: Schutt, Feydy and Stuckey 2013.

use super::literal::Lit;
use super::store::{Clash, Store};
use super::timetable::Holder;
use crate::calc::turnaround::bounds::Supply;
use crate::calc::turnaround::shared::Shared;

/// A shared thing and the work of those who may hold it.
#[derive(Debug)]
pub(super) struct Energy {
    supply: Supply,
    pub holders: Vec<Holder>,
    rows: Vec<Row>,
    ends: Vec<i32>,
    /// Looks in a row that found nothing, and looks still to be left out for that.
    idle: u32,
    rest: u32,
}

/// After so many looks in a row that found nothing, every second one is left out, and so on.
const PATIENCE: u32 = 8;
/// No more than this many looks are left out, as a power of two.
const LONGEST_REST: u32 = 5;

#[derive(Debug, Clone, Copy)]
struct Row {
    from: i32,
    to: i32,
    energy: i64,
    holds: bool,
    holder: usize,
}

impl Energy {
    pub fn new(shared: &Shared, holders: Vec<Holder>) -> Self {
        Self {
            supply: Supply::of(shared),
            holders,
            rows: Vec::new(),
            ends: Vec::new(),
            idle: 0,
            rest: 0,
        }
    }

    /// Looks at every stretch from an earliest start to a latest end, now and then.
    ///
    /// What it finds would be found later as well, so looks that rarely pay are left out.
    pub fn propagate(&mut self, store: &mut Store) -> Result<(), Clash> {
        if self.rest > 0 {
            self.rest -= 1;
            return Ok(());
        }
        let before = store.trail.len();
        let result = self.look(store);
        if result.is_err() || store.trail.len() > before {
            self.idle = 0;
        } else {
            self.idle += 1;
            self.rest = (1 << (self.idle / PATIENCE).min(LONGEST_REST)) - 1;
        }
        result
    }

    fn look(&mut self, store: &mut Store) -> Result<(), Clash> {
        self.draw(store);
        for at in 0..self.ends.len() {
            let to = self.ends[at];
            let mut energy = 0i64;
            let mut largest = 0i64;
            for (row_at, row) in self.rows.iter().enumerate() {
                if row.to > to {
                    continue;
                }
                if row.holds {
                    energy += row.energy;
                } else {
                    largest = largest.max(row.energy);
                }
                // The stretch begins with the last of those that may start as early.
                if energy + largest <= 0
                    || self
                        .rows
                        .get(row_at + 1)
                        .is_some_and(|next| next.from == row.from && next.to <= to)
                {
                    continue;
                }
                let room = self.supply.between(row.from, to);
                if energy > room {
                    return Err(self.why(store, row.from, to, energy - room - 1));
                }
                if energy + largest > room {
                    self.drop(store, row.from, to, energy, room);
                }
            }
        }
        Ok(())
    }

    fn draw(&mut self, store: &Store) {
        self.rows.clear();
        self.ends.clear();
        for (at, holder) in self.holders.iter().enumerate() {
            let holds = holder.given.is_none_or(|lit| store.holds(lit));
            if !holds && holder.given.is_some_and(|lit| store.fails(lit)) {
                continue;
            }
            let row = Row {
                from: store.min(holder.start),
                to: store.max(holder.latest) + holder.length,
                energy: i64::from(holder.amount) * i64::from(holder.length),
                holds,
                holder: at,
            };
            if row.from + holder.length <= row.to {
                self.rows.push(row);
                self.ends.push(row.to);
            }
        }
        self.rows
            .sort_unstable_by_key(|row| (std::cmp::Reverse(row.from), row.to));
        self.ends.sort_unstable();
        self.ends.dedup();
    }

    /// Those for whom there is not room enough left do not hold.
    fn drop(&self, store: &mut Store, from: i32, to: i32, energy: i64, room: i64) {
        for row in self
            .rows
            .iter()
            .filter(|row| !row.holds && row.from >= from && row.to <= to)
        {
            let Some(given) = self.holders[row.holder].given else {
                continue;
            };
            if energy + row.energy > room && !store.holds(given) && !store.fails(given) {
                let mut lits = self.why(store, from, to, energy + row.energy - room - 1);
                lits.extend(self.within(row.holder, from, to));
                let reason = store.list(&lits);
                store.tighten(given.not(), reason);
            }
        }
    }

    fn within(&self, holder: usize, from: i32, to: i32) -> [Lit; 2] {
        let holder = &self.holders[holder];
        [
            Lit::at_least(holder.start, from),
            Lit::at_most(holder.latest, to - holder.length),
        ]
    }

    /// Literals that keep enough of the work within the stretch; `spare` of it is not needed.
    fn why(&self, store: &Store, from: i32, to: i32, spare: i64) -> Vec<Lit> {
        let mut spare = spare;
        let mut lits = Vec::new();
        let mut there: Vec<&Row> = self
            .rows
            .iter()
            .filter(|row| row.holds && row.from >= from && row.to <= to)
            .collect();
        // Small ones go first, so that few are left to name.
        there.sort_by_key(|row| row.energy);
        for row in there {
            if row.energy <= spare {
                spare -= row.energy;
                continue;
            }
            lits.extend(self.within(row.holder, from, to));
            lits.extend(
                self.holders[row.holder]
                    .given
                    .filter(|&lit| store.holds(lit)),
            );
        }
        lits
    }
}
