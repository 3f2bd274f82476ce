//! Arcs: one number is at least another plus a distance, if some literals hold.

use super::literal::{Lit, View};
use super::store::{Clash, Reason, Store};

/// `to >= from + distance` between two views, while all `given` hold.
///
/// Laid out flat, since arcs are passed more often than anything else is done.
#[derive(Debug, Clone, Copy)]
struct Arc {
    from: u32,
    to: u32,
    distance: i32,
    count: u32,
    given: [Lit; MOST_GIVEN],
}

/// An arc depends on no more literals than this.
const MOST_GIVEN: usize = 2;

impl Arc {
    fn given(&self) -> &[Lit] {
        &self.given[..self.count as usize]
    }
}

/// All arcs.
#[derive(Debug, Default)]
pub(super) struct Arcs {
    all: Vec<Arc>,
    leaving: Vec<Vec<u32>>,
    given: Vec<Vec<u32>>,
}

impl Arcs {
    /// Adds the arc for one direction of propagation.
    pub fn add(&mut self, from: View, to: View, distance: i32, given: &[Lit]) {
        let arc = self.all.len() as u32;
        put(&mut self.leaving, from, arc);
        for lit in given {
            put(&mut self.given, lit.side(), arc);
        }
        let mut held = [Lit::at_least(0, 0); MOST_GIVEN];
        held[..given.len()].copy_from_slice(given);
        self.all.push(Arc {
            from: from as u32,
            to: to as u32,
            distance,
            count: given.len() as u32,
            given: held,
        });
    }

    pub fn count(&self) -> usize {
        self.all.len()
    }

    /// The literals from which `needed` follows by arc `arc`.
    ///
    /// Only what is needed is asked for, not what was known at the time: a lifted reason.
    pub fn premises(&self, arc: u32, needed: Lit, into: &mut Vec<Lit>) {
        let arc = &self.all[arc as usize];
        into.push(Lit {
            view: arc.from,
            bound: needed.bound - arc.distance,
        });
        into.extend_from_slice(arc.given());
    }

    /// A view was tightened: passes on what follows by the arcs that leave it or depend on it.
    pub fn propagate(&self, store: &mut Store, view: View) -> Result<(), Clash> {
        for list in [&self.leaving, &self.given] {
            for &arc in list.get(view).map_or(&[][..], Vec::as_slice) {
                self.pass(store, arc)?;
            }
        }
        Ok(())
    }

    /// Passes on what follows by one arc.
    pub fn pass(&self, store: &mut Store, index: u32) -> Result<(), Clash> {
        let arc = &self.all[index as usize];
        let reach = store.low(arc.from as View) + arc.distance;
        if reach <= store.low(arc.to as View) {
            return Ok(());
        }
        let mut open = None;
        for &lit in arc.given() {
            if !store.holds(lit) {
                if open.is_some() || store.fails(lit) {
                    return Ok(());
                }
                open = Some(lit);
            }
        }
        let limit = -store.low((arc.to ^ 1) as View);
        match open {
            None if reach <= limit => {
                let lit = Lit {
                    view: arc.to,
                    bound: reach,
                };
                store.tighten(lit, Reason::Arc(index));
                Ok(())
            }
            None => Err(self.too_far(arc, limit, None)),
            Some(_) if reach <= limit => Ok(()),
            Some(lit) => {
                let reason = store.list(&self.too_far(arc, limit, Some(lit)));
                store.tighten(lit.not(), reason);
                Ok(())
            }
        }
    }

    fn too_far(&self, arc: &Arc, limit: i32, but: Option<Lit>) -> Vec<Lit> {
        let mut lits = vec![
            Lit {
                view: arc.from,
                bound: limit + 1 - arc.distance,
            },
            Lit {
                view: arc.to ^ 1,
                bound: -limit,
            },
        ];
        lits.extend(arc.given().iter().copied().filter(|&lit| Some(lit) != but));
        lits
    }
}

fn put(lists: &mut Vec<Vec<u32>>, view: View, arc: u32) {
    if lists.len() <= view {
        lists.resize(view + 1, Vec::new());
    }
    lists[view].push(arc);
}
