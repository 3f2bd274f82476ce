//! Drawing times: a table of quantiles, so that one uniform number gives one time.

use super::{Learned, LogNormal, PertBeta};

/// Cells of the table; the last one is divided once more, for the long tail.
const CELLS: usize = 1024;
/// Cells by which the density of a three-point time is summed up.
const STRIPS: usize = 512;
/// A learned time is drawn no longer than so many times its 90 % quantile.
const LONGEST_DRAWN: f64 = 4.0;

/// The quantiles of a time, ready for drawing.
///
/// One uniform number is used a draw, whatever the distribution, so that two plans can be compared
/// on the same fortune.
#[derive(Debug, Clone, PartialEq)]
pub struct Quantiles {
    cells: Vec<f64>,
    tail: Vec<f64>,
}

impl Quantiles {
    /// From a rising function of the chance.
    pub fn of(quantile: impl Fn(f64) -> f64) -> Self {
        let last = 1.0 / CELLS as f64;
        Self {
            cells: (0..=CELLS).map(|k| quantile(k as f64 * last)).collect(),
            tail: (0..=CELLS)
                .map(|k| quantile(1.0 - last + k as f64 * last * last))
                .collect(),
        }
    }

    /// A time that is always the same.
    pub fn certain(time: f64) -> Self {
        Self {
            cells: vec![time; 2],
            tail: Vec::new(),
        }
    }

    /// Of a three-point time: its density is summed up once, which costs far less than a thousand
    /// exact quantiles.
    pub fn of_pert(pert: &PertBeta) -> Self {
        let (a, b) = pert.shapes();
        let (shortest, longest) = pert.range();
        // Strips even in the angle, x = (1 - cos angle) / 2, lie closer at both ends, where the
        // density may rise steeply.
        let place = |angle: f64| (1.0 - angle.cos()) / 2.0;
        let density = |angle: f64| {
            let x = place(angle);
            x.powf(a - 1.0) * (1.0 - x).powf(b - 1.0) * angle.sin()
        };
        let width = std::f64::consts::PI / STRIPS as f64;
        let mut sums = Vec::with_capacity(STRIPS + 1);
        let mut sum = 0.0;
        sums.push(0.0);
        let mut left = density(0.0);
        for strip in 0..STRIPS {
            let from = strip as f64 * width;
            let right = density(from + width);
            // Simpson's rule.
            sum += (left + 4.0 * density(from + width / 2.0) + right) / 6.0;
            sums.push(sum);
            left = right;
        }
        let at = |p: f64| {
            let goal = p * sum;
            let strip = sums.partition_point(|&s| s < goal).clamp(1, STRIPS);
            let part =
                (goal - sums[strip - 1]) / (sums[strip] - sums[strip - 1]).max(f64::MIN_POSITIVE);
            let x = place((strip as f64 - 1.0 + part.clamp(0.0, 1.0)) * width);
            shortest + (longest - shortest) * x
        };
        Self::of(at)
    }

    /// Of a learned time, cut off where nobody would wait any longer.
    pub fn of_learned(learned: &Learned) -> Self {
        let longest = LONGEST_DRAWN * learned.quantile(0.9);
        Self::of(|p| learned.quantile(p).min(longest))
    }

    /// Of a log-normal time, cut off as a learned one.
    pub fn of_log_normal(time: &LogNormal) -> Self {
        let longest = LONGEST_DRAWN * time.quantile(0.9);
        Self::of(|p| time.quantile(p.clamp(1e-9, 1.0 - 1e-9)).min(longest))
    }

    /// The time at chance `uniform`, from 0 to below 1.
    pub fn at(&self, uniform: f64) -> f64 {
        let cells = self.cells.len() - 1;
        let place = uniform * cells as f64;
        let cell = (place as usize).min(cells - 1);
        let part = place - cell as f64;
        if cell + 1 == cells && !self.tail.is_empty() {
            return between(&self.tail, part * (self.tail.len() - 1) as f64);
        }
        self.cells[cell] + (self.cells[cell + 1] - self.cells[cell]) * part
    }
}

fn between(table: &[f64], place: f64) -> f64 {
    let cell = (place as usize).min(table.len() - 2);
    table[cell] + (table[cell + 1] - table[cell]) * (place - cell as f64)
}
