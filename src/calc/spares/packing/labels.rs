//! The best box, proved: partial boxes item by item, without those that cannot win.

use std::collections::BTreeMap;

use super::prices::{Prices, cost};
use super::problem::{MOST_LIMITS, Pick, Problem, plus};

/// Partial boxes kept per item once the work is spent.
const KEPT_WHEN_SPENT: usize = 400;

/// Partial boxes each new one is held against when there are three limits.
const HELD_AGAINST: usize = 250;

/// Least gain that counts as better, where gains are real numbers.
const BETTER: f64 = 1.0e-11;

/// The best box found, and what is proved about it.
pub(super) struct Best {
    pub(super) pick: Pick,
    /// No box gains more than this.
    pub(super) bound: f64,
    /// Whether the box is proved to be the best.
    pub(super) proved: bool,
}

/// A partial box: choices for the items so far.
#[derive(Clone, Copy)]
struct Label {
    gain: f64,
    /// How far the best that may become of it is below the bound.
    loss: f64,
    takes: [f64; MOST_LIMITS],
    parent: u32,
    choice: u16,
}

struct Search<'a> {
    problem: &'a Problem,
    prices: &'a Prices,
    /// Items in the order they are decided, with the choices that may still win and their losses.
    items: Vec<(usize, Vec<(usize, f64)>)>,
    /// Least that the items from here on take.
    least: Vec<[f64; MOST_LIMITS]>,
    /// What the items from here on gain and take if each has its best choice at the prices.
    rest: Vec<(f64, [f64; MOST_LIMITS])>,
    /// Parent and choice of every label kept, item by item.
    history: Vec<Vec<(u32, u16)>>,
    best: Pick,
    work_left: u64,
    /// Least loss among partial boxes dropped for lack of work.
    dropped: f64,
}

/// Finds the best pick, starting from one that fits, with at most about `work` steps.
///
/// **Source**: dynamic programming by undominated partial solutions, Nemhauser and Ullmann 1969;
/// fixing by Lagrangian loss, Fisher 1981 (both from memory).
pub(super) fn best(problem: &Problem, prices: &Prices, start: Pick, work: u64) -> Best {
    let mut search = Search::new(problem, prices, start, work);
    search.run();
    let proved = search.dropped >= search.slack();
    let bound = if proved {
        search.best.gain
    } else {
        (prices.bound - search.dropped).max(search.best.gain)
    };
    Best {
        bound,
        proved,
        pick: search.best,
    }
}

impl<'a> Search<'a> {
    fn new(problem: &'a Problem, prices: &'a Prices, start: Pick, work: u64) -> Self {
        let mut search = Self {
            problem,
            prices,
            items: Vec::new(),
            least: Vec::new(),
            rest: Vec::new(),
            history: Vec::new(),
            best: start,
            work_left: work,
            dropped: f64::INFINITY,
        };
        let slack = search.slack();
        for (index, item) in problem.items.iter().enumerate() {
            let net = |choice: usize| item[choice].gain - cost(&prices.per, &item[choice].takes);
            let most = net(prices.choices[index]);
            let losses = (0..item.len()).map(|choice| (choice, most - net(choice)));
            search
                .items
                .push((index, losses.filter(|(_, loss)| *loss < slack).collect()));
        }
        // Lumpy items first: small ones then fill what room is left.
        let bulk = |(index, _): &(usize, Vec<(usize, f64)>)| -> f64 {
            let item = &problem.items[*index];
            let last = &item[item.len() - 1].takes;
            let kinds = 0..problem.resources;
            kinds
                .map(|k| (last[k] - item[0].takes[k]).abs() / problem.scale(k))
                .sum::<f64>()
                / item.len() as f64
        };
        search.items.sort_by(|a, b| {
            let decided = |item: &(usize, Vec<_>)| item.1.len() > 1;
            decided(a)
                .cmp(&decided(b))
                .then(bulk(b).total_cmp(&bulk(a)))
        });
        search.sum_the_rest();
        search
    }

    fn sum_the_rest(&mut self) {
        let mut least = [0.0; MOST_LIMITS];
        let mut rest = (0.0, [0.0; MOST_LIMITS]);
        self.least.push(least);
        self.rest.push(rest);
        for (index, choices) in self.items.iter().rev() {
            let item = &self.problem.items[*index];
            for (k, least) in least.iter_mut().enumerate() {
                let takings = choices.iter().map(|(choice, _)| item[*choice].takes[k]);
                *least += takings.fold(f64::INFINITY, f64::min);
            }
            let chosen = &item[self.prices.choices[*index]];
            rest = (rest.0 + chosen.gain, plus(&rest.1, &chosen.takes));
            self.least.push(least);
            self.rest.push(rest);
        }
        self.least.reverse();
        self.rest.reverse();
    }

    /// A partial box wins only if its loss is below this.
    fn slack(&self) -> f64 {
        let step = (self.problem.step * (1.0 - 1.0e-6)).max(BETTER);
        self.prices.bound - self.best.gain - step
    }

    fn run(&mut self) {
        let mut labels = vec![Label {
            gain: 0.0,
            loss: 0.0,
            takes: [0.0; MOST_LIMITS],
            parent: 0,
            choice: 0,
        }];
        for depth in 0..self.items.len() {
            let mut next = self.grown(&labels, depth);
            self.without_dominated(&mut next);
            self.without_hopeless(&mut next);
            let steps = next.iter().map(|label| (label.parent, label.choice));
            self.history.push(steps.collect());
            self.complete(&next, depth);
            labels = next;
        }
    }

    fn grown(&mut self, labels: &[Label], depth: usize) -> Vec<Label> {
        let slack = self.slack();
        let (index, choices) = &self.items[depth];
        let item = &self.problem.items[*index];
        let mut next = Vec::new();
        for (parent, label) in (0..).zip(labels) {
            for (choice, loss) in choices {
                let takes = plus(&label.takes, &item[*choice].takes);
                let loss = label.loss + loss;
                if loss < slack && self.problem.fits(&plus(&takes, &self.least[depth + 1])) {
                    next.push(Label {
                        gain: label.gain + item[*choice].gain,
                        loss,
                        takes,
                        parent,
                        choice: *choice as u16,
                    });
                }
            }
        }
        let made = (labels.len() * choices.len()) as u64;
        self.work_left = self.work_left.saturating_sub(made);
        next
    }

    /// Completes partial boxes with the best choices at the prices; keeps the best that fits.
    fn complete(&mut self, labels: &[Label], depth: usize) {
        let (gain, takes) = &self.rest[depth + 1];
        let mut found: Option<(f64, usize)> = None;
        for (place, label) in labels.iter().enumerate() {
            let total = label.gain + gain;
            if total > found.map_or(self.best.gain, |(most, _)| most)
                && self.problem.fits(&plus(&label.takes, takes))
            {
                found = Some((total, place));
            }
        }
        if let Some((_, place)) = found {
            let mut choices = self.prices.choices.clone();
            let mut place = place as u32;
            for step in (0..=depth).rev() {
                let (parent, choice) = self.history[step][place as usize];
                choices[self.items[step].0] = usize::from(choice);
                place = parent;
            }
            let pick = self.problem.pick(choices);
            // Summed in another order the gain may differ in its last digit.
            if pick.gain > self.best.gain && self.problem.fits(&pick.takes) {
                self.best = pick;
            }
        }
    }

    /// Once the work is spent, keeps only the most hopeful partial boxes.
    fn without_hopeless(&mut self, labels: &mut Vec<Label>) {
        if self.work_left == 0 && labels.len() > KEPT_WHEN_SPENT {
            labels.sort_by(|a, b| a.loss.total_cmp(&b.loss));
            self.dropped = self.dropped.min(labels[KEPT_WHEN_SPENT].loss);
            labels.truncate(KEPT_WHEN_SPENT);
        }
    }

    /// Drops a partial box if another takes no more of anything and gains no less.
    fn without_dominated(&mut self, labels: &mut Vec<Label>) {
        match self.problem.resources {
            1 => {
                labels.sort_by(|a, b| {
                    let takes = a.takes[0].total_cmp(&b.takes[0]);
                    takes.then(b.gain.total_cmp(&a.gain))
                });
                let mut most = f64::NEG_INFINITY;
                labels.retain(|label| {
                    let better = label.gain > most;
                    most = most.max(label.gain);
                    better
                });
            }
            2 => {
                labels.sort_by(|a, b| {
                    let first = a.takes[0].total_cmp(&b.takes[0]);
                    let second = first.then(a.takes[1].total_cmp(&b.takes[1]));
                    second.then(b.gain.total_cmp(&a.gain))
                });
                let mut stairs = Stairs::default();
                labels.retain(|label| stairs.rises(label.takes[1], label.gain));
            }
            _ => self.without_dominated_of_three(labels),
        }
    }

    /// What dominates also loses less, so holding each against the most hopeful finds most of it.
    fn without_dominated_of_three(&mut self, labels: &mut Vec<Label>) {
        labels.sort_by(|a, b| a.loss.total_cmp(&b.loss).then(b.gain.total_cmp(&a.gain)));
        let mut front: Vec<Label> = Vec::with_capacity(HELD_AGAINST);
        let mut compared = 0;
        labels.retain(|label| {
            let dominated = front.iter().position(|other| {
                other.gain >= label.gain && (0..3).all(|k| other.takes[k] <= label.takes[k])
            });
            compared += dominated.map_or(front.len(), |place| place + 1) as u64;
            if dominated.is_none() && front.len() < HELD_AGAINST {
                front.push(*label);
            }
            dominated.is_none()
        });
        self.work_left = self.work_left.saturating_sub(compared / 8);
    }
}

/// Greatest gain seen at or below each amount; amounts are not negative.
#[derive(Default)]
struct Stairs(BTreeMap<u64, f64>);

impl Stairs {
    /// Whether no amount up to this one gained as much; notes it if so.
    fn rises(&mut self, amount: f64, gain: f64) -> bool {
        // Bits of numbers that are not negative sort like the numbers.
        let key = amount.to_bits();
        let below = self.0.range(..=key).next_back();
        if below.is_some_and(|(_, most)| *most >= gain) {
            return false;
        }
        let passed = self.0.range(key..).take_while(|(_, most)| **most <= gain);
        let passed: Vec<u64> = passed.map(|(key, _)| *key).collect();
        for key in passed {
            self.0.remove(&key);
        }
        self.0.insert(key, gain);
        true
    }
}
