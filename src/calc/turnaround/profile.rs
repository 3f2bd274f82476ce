//! What is left of a shared thing over time: a step function.

/// Free amount over time. Steps are `(from, free)`; the last one holds for ever.
#[derive(Debug, Clone)]
pub(super) struct Profile {
    steps: Vec<(i32, i32)>,
}

impl Profile {
    /// `size` at all times but for the given cuts `(start, end, by)`; never below nothing.
    pub fn new(size: i32, cuts: &[(i32, i32, i32)]) -> Self {
        let mut profile = Self {
            steps: vec![(i32::MIN, size)],
        };
        for &(start, end, by) in cuts {
            if start < end {
                profile.take(start, end, by);
            }
        }
        for step in &mut profile.steps {
            step.1 = step.1.max(0);
        }
        profile
    }

    fn at(&self, time: i32) -> usize {
        self.steps.partition_point(|step| step.0 <= time) - 1
    }

    /// The earliest start not before `from` at which `need` is free for `length`.
    pub fn earliest(&self, from: i32, length: i32, need: i32) -> i32 {
        let mut start = from;
        let mut index = self.at(from);
        while index < self.steps.len() {
            if self.steps[index].1 < need {
                index += 1;
                match self.steps.get(index) {
                    Some(step) => start = step.0,
                    None => return i32::MAX,
                }
            } else {
                index += 1;
                match self.steps.get(index) {
                    Some(step) if step.0 < start + length => {}
                    _ => return start,
                }
            }
        }
        start
    }

    /// Takes `amount` away on `[start, end)`.
    pub fn take(&mut self, start: i32, end: i32, amount: i32) {
        let first = self.split(start);
        let last = self.split(end);
        for step in &mut self.steps[first..last] {
            step.1 -= amount;
        }
    }

    fn split(&mut self, time: i32) -> usize {
        let index = self.at(time);
        if self.steps[index].0 == time {
            return index;
        }
        let free = self.steps[index].1;
        self.steps.insert(index + 1, (time, free));
        index + 1
    }

    /// The steps, for reading.
    pub fn steps(&self) -> &[(i32, i32)] {
        &self.steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_gap_that_is_too_short_is_passed_over() {
        let mut profile = Profile::new(2, &[(5, 8, 1)]);
        profile.take(0, 3, 2);
        assert_eq!(profile.earliest(0, 2, 1), 3);
        assert_eq!(profile.earliest(0, 2, 2), 3);
        assert_eq!(profile.earliest(0, 3, 2), 8);
        assert_eq!(profile.earliest(0, 3, 3), i32::MAX);
    }
}
