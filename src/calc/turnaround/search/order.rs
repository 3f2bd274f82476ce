//! What to decide next: statements that took part in contradictions lately come first.
//!
//! **Source** Moskewicz et al. 2001 (VSIDS), here over bounds as well as yes-or-no variables.

use super::literal::Lit;
use super::store::Store;

/// A variable has no more different bounds to decide on than this; wider ones are decided coarsely.
const MOST_BOUNDS: i32 = 1024;

/// The heap of statements worth deciding, by activity.
#[derive(Debug, Default)]
pub(super) struct Order {
    /// Per variable: its first statement, its least value, how many bits a statement spans.
    first: Vec<(u32, i32, u32)>,
    variable: Vec<u32>,
    activity: Vec<f64>,
    heap: Vec<u32>,
    place: Vec<u32>,
    /// Statements found decided, with the level at which that was seen.
    aside: Vec<(u32, u32)>,
    step: f64,
}

const OUT: u32 = u32::MAX;

impl Order {
    pub fn new() -> Self {
        Self {
            step: 1.0,
            ..Self::default()
        }
    }

    /// Takes in a variable from `min` to `max`.
    pub fn add(&mut self, min: i32, max: i32) {
        let width = max - min;
        let mut shift = 0;
        while (width >> shift) >= MOST_BOUNDS {
            shift += 1;
        }
        let count = (width >> shift) + 1;
        self.first
            .push((self.activity.len() as u32, min + 1, shift));
        let variable = self.first.len() as u32 - 1;
        for _ in 0..count {
            self.activity.push(0.0);
            self.variable.push(variable);
            self.place.push(OUT);
        }
    }

    /// Takes in a variable that is never decided on.
    pub fn pass_over(&mut self) {
        self.first.push((self.activity.len() as u32, 0, 0));
    }

    /// The statement that `lit` says or denies, if it is one to decide on.
    fn statement(&self, lit: Lit) -> Option<u32> {
        // [x >= v] and its opposite [x <= v - 1] are one statement.
        let value = if lit.view & 1 == 0 {
            lit.bound
        } else {
            1 - lit.bound
        };
        let (first, min, shift) = self.first[lit.variable()];
        let end = self
            .first
            .get(lit.variable() + 1)
            .map_or(self.activity.len() as u32, |next| next.0);
        (end > first).then(|| (first + ((value - min).max(0) >> shift) as u32).min(end - 1))
    }

    /// The literal "at least" of a statement.
    fn literal(&self, statement: u32) -> Lit {
        let variable = self.variable[statement as usize];
        let (first, min, shift) = self.first[variable as usize];
        Lit::at_least(
            variable as usize,
            min + (((statement - first) as i32) << shift),
        )
    }

    /// Notes that `lit` took part in a contradiction.
    pub fn bump(&mut self, lit: Lit) {
        let Some(statement) = self.statement(lit) else {
            return;
        };
        let activity = &mut self.activity[statement as usize];
        *activity += self.step;
        if *activity > 1e100 {
            for activity in &mut self.activity {
                *activity *= 1e-100;
            }
            self.step *= 1e-100;
        }
        match self.place[statement as usize] {
            OUT => self.insert(statement),
            place => self.up(place as usize),
        }
    }

    /// Lets earlier contradictions count less.
    pub fn decay(&mut self) {
        self.step /= 0.95;
    }

    /// Levels above `level` were taken back: what was decided there is open again.
    pub fn back_to(&mut self, level: u32) {
        while let Some(&(statement, _)) = self.aside.last().filter(|a| a.1 > level) {
            self.aside.pop();
            if self.place[statement as usize] == OUT {
                self.insert(statement);
            }
        }
    }

    /// The most active statement that is still open, as "at least".
    pub fn next(&mut self, store: &Store) -> Option<Lit> {
        while let Some(&top) = self.heap.first() {
            let lit = self.literal(top);
            if !store.holds(lit) && !store.fails(lit) {
                return Some(lit);
            }
            self.remove_top();
            self.aside.push((top, store.level()));
        }
        None
    }

    fn insert(&mut self, statement: u32) {
        self.heap.push(statement);
        self.place[statement as usize] = self.heap.len() as u32 - 1;
        self.up(self.heap.len() - 1);
    }

    fn remove_top(&mut self) {
        let top = self.heap.swap_remove(0);
        self.place[top as usize] = OUT;
        if let Some(&moved) = self.heap.first() {
            self.place[moved as usize] = 0;
            self.down(0);
        }
    }

    fn above(&self, a: u32, b: u32) -> bool {
        let (x, y) = (self.activity[a as usize], self.activity[b as usize]);
        x > y || (x == y && a < b)
    }

    fn up(&mut self, mut at: usize) {
        let statement = self.heap[at];
        while at > 0 {
            let parent = (at - 1) / 2;
            if !self.above(statement, self.heap[parent]) {
                break;
            }
            self.heap[at] = self.heap[parent];
            self.place[self.heap[at] as usize] = at as u32;
            at = parent;
        }
        self.heap[at] = statement;
        self.place[statement as usize] = at as u32;
    }

    fn down(&mut self, mut at: usize) {
        let statement = self.heap[at];
        loop {
            let mut child = 2 * at + 1;
            if child >= self.heap.len() {
                break;
            }
            if child + 1 < self.heap.len() && self.above(self.heap[child + 1], self.heap[child]) {
                child += 1;
            }
            if !self.above(self.heap[child], statement) {
                break;
            }
            self.heap[at] = self.heap[child];
            self.place[self.heap[at] as usize] = at as u32;
            at = child;
        }
        self.heap[at] = statement;
        self.place[statement as usize] = at as u32;
    }
}
