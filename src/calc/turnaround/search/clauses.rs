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

/// All clauses.
#[derive(Debug, Default)]
pub(super) struct Clauses {
    lits: Vec<Lit>,
    heads: Vec<Head>,
    watches: Vec<Vec<Watch>>,
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
        let view = opposite.side();
        if self.watches.len() <= view {
            self.watches.resize(view + 1, Vec::new());
        }
        self.watches[view].push(Watch {
            clause,
            threshold: opposite.bound,
            other,
        });
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
        if view >= self.watches.len() {
            return Ok(());
        }
        let mut list = std::mem::take(&mut self.watches[view]);
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
        // A watch moved to this very view while the list was out.
        list.append(&mut self.watches[view]);
        self.watches[view] = list;
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
        for list in &mut self.watches {
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
