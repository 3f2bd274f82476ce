//! Clauses, watched at two literals each.

use super::literal::Lit;
use super::store::{Clash, Reason, Store};

#[derive(Debug, Clone, Copy)]
struct Watch {
    clause: u32,
    /// The watched literal fails once the view watched reaches this.
    threshold: i32,
    /// Another literal of the clause: if it holds there is nothing to do.
    other: Lit,
}

#[derive(Debug, Clone, Copy)]
struct Head {
    start: u32,
    length: u32,
    learnt: bool,
    /// Number of levels its literals came from when it was learnt (Audemard and Simon 2009).
    spread: u32,
    used: f32,
}

/// The lists of watches of one view: those whose thresholds lie close together share a list, so
/// that a step visits little more than what it makes fail.
#[derive(Debug, Clone, Copy)]
struct Row {
    first: u32,
    low: i32,
    shift: u32,
    count: u32,
}

impl Row {
    fn list(&self, threshold: i32) -> usize {
        let at = threshold.saturating_sub(self.low).max(0) as u32 >> self.shift;
        (self.first + at.min(self.count - 1)) as usize
    }
}

/// A view has no more lists of watches than this.
const MOST_LISTS: i32 = 512;

/// All clauses.
#[derive(Debug, Default)]
pub(super) struct Clauses {
    lits: Vec<Lit>,
    heads: Vec<Head>,
    /// Per view: its first list, its least value, how many bits of thresholds share a list, and
    /// how many lists it has.
    rows: Vec<Row>,
    lists: Vec<Vec<Watch>>,
    learnt: usize,
    use_step: f32,
}

impl Clauses {
    pub fn literals(&self, clause: u32) -> &[Lit] {
        let head = &self.heads[clause as usize];
        &self.lits[head.start as usize..(head.start + head.length) as usize]
    }

    pub fn learnt(&self) -> usize {
        self.learnt
    }

    /// Adds a clause of at least two literals. Of a learnt one the first literal is the one that
    /// follows from the others, and the second the one that failed last.
    pub fn add(&mut self, lits: &[Lit], learnt: bool, spread: u32) -> u32 {
        let clause = self.heads.len() as u32;
        self.heads.push(Head {
            start: self.lits.len() as u32,
            length: lits.len() as u32,
            learnt,
            spread,
            used: self.use_step,
        });
        self.learnt += usize::from(learnt);
        self.lits.extend_from_slice(lits);
        self.watch(clause, lits[0], lits[1]);
        self.watch(clause, lits[1], lits[0]);
        clause
    }

    fn watch(&mut self, clause: u32, lit: Lit, other: Lit) {
        let opposite = lit.not();
        let list = self.rows[opposite.side()].list(opposite.bound);
        self.lists[list].push(Watch {
            clause,
            threshold: opposite.bound,
            other,
        });
    }

    /// Takes in a variable from `min` to `max`.
    pub fn variable(&mut self, min: i32, max: i32) {
        let mut shift = 0;
        while (max - min) >> shift >= MOST_LISTS {
            shift += 1;
        }
        let count = ((max - min) >> shift) as u32 + 1;
        for low in [min, -max] {
            let first = self.lists.len() as u32;
            // Nothing fails at the least value itself: the first threshold is one above.
            self.rows.push(Row {
                first,
                low: low + 1,
                shift,
                count,
            });
            self.lists
                .resize(self.lists.len() + count as usize, Vec::new());
        }
    }

    /// Notes that a clause took part in a contradiction.
    pub fn bump(&mut self, clause: u32) {
        let head = &mut self.heads[clause as usize];
        if head.learnt {
            head.used += self.use_step;
            if head.used > 1e20 {
                for head in &mut self.heads {
                    head.used *= 1e-20;
                }
                self.use_step *= 1e-20;
            }
        }
    }

    /// Lets earlier uses count less.
    pub fn decay(&mut self) {
        self.use_step = if self.use_step == 0.0 {
            1.0
        } else {
            self.use_step / 0.999
        };
    }

    /// A view went from `old` to `new`: moves watches and passes on what follows.
    pub fn propagate(
        &mut self,
        store: &mut Store,
        view: usize,
        old: i32,
        new: i32,
    ) -> Result<(), Clash> {
        let row = self.rows[view];
        for at in row.list(old + 1)..=row.list(new) {
            self.visit(store, at, view, old, new)?;
        }
        Ok(())
    }

    fn visit(
        &mut self,
        store: &mut Store,
        place: usize,
        view: usize,
        old: i32,
        new: i32,
    ) -> Result<(), Clash> {
        let mut list = std::mem::take(&mut self.lists[place]);
        let mut kept = 0;
        let mut at = 0;
        let mut clash = None;
        while at < list.len() {
            let watch = list[at];
            at += 1;
            if watch.threshold > new || watch.threshold <= old || store.holds(watch.other) {
                list[kept] = watch;
                kept += 1;
                continue;
            }
            let head = &self.heads[watch.clause as usize];
            let lits = &mut self.lits[head.start as usize..(head.start + head.length) as usize];
            let mine = Lit {
                view: view as u32,
                bound: watch.threshold,
            }
            .not();
            if lits[0] == mine {
                lits.swap(0, 1);
            }
            let first = lits[0];
            if store.holds(first) {
                list[kept] = Watch {
                    other: first,
                    ..watch
                };
                kept += 1;
                continue;
            }
            if let Some(next) = (2..lits.len()).find(|&k| !store.fails(lits[k])) {
                lits.swap(1, next);
                let lit = lits[1];
                self.watch(watch.clause, lit, first);
                continue;
            }
            list[kept] = watch;
            kept += 1;
            if store.fails(first) || !store.tighten(first, Reason::Clause(watch.clause)) {
                clash = Some(lits.iter().map(|lit| lit.not()).collect());
                break;
            }
        }
        list.copy_within(at.., kept);
        list.truncate(kept + list.len() - at);
        // A watch moved to this very list while it was out.
        list.append(&mut self.lists[place]);
        self.lists[place] = list;
        clash.map_or(Ok(()), Err)
    }

    /// Forgets the half of the learnt clauses that helped least. Only without open levels.
    pub fn forget(&mut self, store: &Store) {
        let mut used: Vec<f32> = self
            .heads
            .iter()
            .filter(|h| h.learnt && h.spread > 2)
            .map(|h| h.used)
            .collect();
        used.sort_by(f32::total_cmp);
        let middle = used.get(used.len() / 2).copied().unwrap_or(0.0);
        let old = std::mem::take(&mut self.heads);
        let lits = std::mem::take(&mut self.lits);
        for list in &mut self.lists {
            list.clear();
        }
        self.learnt = 0;
        let mut open = Vec::new();
        for head in old {
            let all = &lits[head.start as usize..(head.start + head.length) as usize];
            let keep = !head.learnt || head.spread <= 2 || head.used > middle;
            if !keep || all.iter().any(|&lit| store.holds(lit)) {
                continue;
            }
            open.clear();
            open.extend(all.iter().copied().filter(|&lit| !store.fails(lit)));
            // With everything passed on, an open clause has two open literals at least.
            if open.len() >= 2 {
                let clause = self.add(&open, head.learnt, head.spread);
                self.heads[clause as usize].used = head.used;
            }
        }
    }
}
