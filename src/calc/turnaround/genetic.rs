//! Breeding plans: lists of tasks, crossed, built and justified.
//!
//! **Source** Hartmann 1998 (lists of tasks, two-point crossover); Valls, Ballestín and Quintanilla
//! 2008 (justifying every child).

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::model::Model;
use super::schedule::{Justifier, Plan, list_by, rank, rules};
use super::work::Work;

/// How many plans are kept.
const KEPT: usize = 120;
/// Chance that two neighbours in a list change places.
const SWAP: f64 = 0.05;

/// A population of plans with the same tasks.
pub(super) struct Breeder<'a> {
    model: &'a Model,
    justifier: Justifier<'a>,
    rng: ChaCha8Rng,
    on: Vec<bool>,
    kept: Vec<Plan>,
    keys: Vec<Vec<i64>>,
}

impl<'a> Breeder<'a> {
    /// Begins with `best`; the rest comes from rules with a little chance.
    pub fn new(model: &'a Model, justifier: Justifier<'a>, best: &Plan) -> Self {
        Self {
            model,
            justifier,
            rng: ChaCha8Rng::seed_from_u64(model.n as u64),
            on: best.on.clone(),
            keys: rules(model, &best.on),
            kept: vec![best.clone()],
        }
    }

    /// Takes a plan from elsewhere into the population.
    pub fn add(&mut self, plan: &Plan) {
        self.keep(plan.clone());
    }

    /// Breeds so many plans; one that is better than all before, if there is one.
    pub fn breed(&mut self, count: usize, work: &mut Work<'_>) -> Option<Plan> {
        let before = rank(&self.kept[0]);
        for _ in 0..count {
            if !work.spend(1 + self.model.n as u64 / 20) {
                break;
            }
            let list = if self.kept.len() < KEPT {
                self.drawn()
            } else {
                self.crossed()
            };
            let on = self.on.clone();
            let plan = self.justifier.builder().serial(&list, &on, 0);
            let plan = self.justifier.justify(&plan);
            self.keep(plan);
        }
        (rank(&self.kept[0]) < before).then(|| self.kept[0].clone())
    }

    /// A list by one of the rules, with chance mixed in.
    fn drawn(&mut self) -> Vec<usize> {
        let rule = self.rng.random_range(0..self.keys.len());
        let keys = &self.keys[rule];
        let (least, most) = keys
            .iter()
            .filter(|&&k| k > i64::MIN / 4)
            .fold((i64::MAX, i64::MIN), |(a, b), &k| (a.min(k), b.max(k)));
        let width = ((most.saturating_sub(least)) / 4).max(1);
        let key: Vec<i64> = keys
            .iter()
            .map(|k| k.saturating_add(self.rng.random_range(0..=width)))
            .collect();
        list_by(self.model, &key)
    }

    /// The head of one list, the middle of another, the rest of the first.
    fn crossed(&mut self) -> Vec<usize> {
        let (a, b) = (self.chosen(), self.chosen());
        let (mother, father) = (self.list(a), self.list(b));
        let n = mother.len();
        let (one, other) = (self.rng.random_range(0..=n), self.rng.random_range(0..=n));
        let (from, to) = (one.min(other), one.max(other));
        let mut taken = vec![false; n];
        let mut child = Vec::with_capacity(n);
        for &i in &mother[..from] {
            taken[i] = true;
            child.push(i);
        }
        for &i in &father {
            if child.len() == to {
                break;
            }
            if !taken[i] {
                taken[i] = true;
                child.push(i);
            }
        }
        child.extend(mother.iter().copied().filter(|&i| !taken[i]));
        for at in 1..n {
            let (first, then) = (child[at - 1], child[at]);
            let bound = self.model.preds[then].iter().any(|p| p.0 == first);
            if !bound && self.rng.random_bool(SWAP) {
                child.swap(at - 1, at);
            }
        }
        child
    }

    fn list(&self, kept: usize) -> Vec<usize> {
        let plan = &self.kept[kept];
        let key: Vec<i64> = plan.start.iter().map(|&s| i64::from(s)).collect();
        list_by(self.model, &key)
    }

    fn chosen(&mut self) -> usize {
        let (a, b) = (
            self.rng.random_range(0..self.kept.len()),
            self.rng.random_range(0..self.kept.len()),
        );
        // The population is kept in order, the best first.
        a.min(b)
    }

    fn keep(&mut self, plan: Plan) {
        // Before those just as good: the older ones give way, so that the population moves on.
        let at = self.kept.partition_point(|k| rank(k) < rank(&plan));
        let mut alike = self.kept[at..]
            .iter()
            .take_while(|k| rank(k) == rank(&plan));
        if at >= KEPT || alike.any(|k| k.start == plan.start) {
            return;
        }
        self.kept.insert(at, plan);
        self.kept.truncate(KEPT);
    }
}
