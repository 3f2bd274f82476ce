//! A load over time as a row of steps.

/// A load that changes in steps; nothing draws before the first and after the last.
#[derive(Debug, Clone, Default)]
pub(super) struct Profile {
    /// Moments in order, each with the load from there to the next.
    steps: Vec<(f64, f64)>,
}

/// What counts as the same load: sums of many loads do not come back to the last digit.
fn exceeds(load: f64, limit: f64) -> bool {
    load > limit * (1.0 + 1e-9) + 1e-9
}

impl Profile {
    /// Adds `load` from one moment to another.
    pub(super) fn add(&mut self, from: f64, to: f64, load: f64) {
        let first = self.cut(from);
        let last = self.cut(to);
        for step in &mut self.steps[first..last] {
            step.1 += load;
        }
    }

    /// Index of the step that begins at `moment`, which is put in if there is none.
    fn cut(&mut self, moment: f64) -> usize {
        let index = self.steps.partition_point(|&(from, _)| from < moment);
        if self.steps.get(index).is_none_or(|&(from, _)| from > moment) {
            let before = index.checked_sub(1).map_or(0.0, |last| self.steps[last].1);
            self.steps.insert(index, (moment, before));
        }
        index
    }

    /// Every step: from when, and the load.
    pub(super) fn steps(&self) -> impl Iterator<Item = (f64, f64)> {
        self.steps.iter().copied()
    }

    /// Highest load and when it begins.
    pub(super) fn peak(&self) -> (f64, Option<f64>) {
        let mut peak = (0.0, None);
        for &(from, load) in &self.steps {
            if load > peak.0 {
                peak = (load, Some(from));
            }
        }
        peak
    }

    /// Highest load between two moments.
    pub(super) fn peak_between(&self, from: f64, to: f64) -> f64 {
        let first = self.steps.partition_point(|&(begin, _)| begin <= from);
        self.steps[first.saturating_sub(1)..]
            .iter()
            .take_while(|&&(begin, _)| begin < to)
            .map(|&(_, load)| load)
            .fold(0.0, f64::max)
    }

    /// Longest time on end above a limit.
    pub(super) fn longest_above(&self, limit: f64) -> f64 {
        let mut longest = 0.0_f64;
        let mut since = None;
        for &(from, load) in &self.steps {
            if exceeds(load, limit) {
                let begin = *since.get_or_insert(from);
                longest = longest.max(from - begin);
            } else if let Some(begin) = since.take() {
                longest = longest.max(from - begin);
            }
        }
        longest
    }

    /// Earliest moment from which the load stays at or below `limit` for `length`.
    ///
    /// None if `limit` is below nothing at all.
    pub(super) fn fits_from(&self, earliest: f64, length: f64, limit: f64) -> Option<f64> {
        if limit < 0.0 {
            return None;
        }
        let mut start = earliest;
        for (index, &(from, load)) in self.steps.iter().enumerate() {
            let to = self
                .steps
                .get(index + 1)
                .map_or(f64::INFINITY, |&(next, _)| next);
            if from >= start + length {
                break;
            }
            if to > start && exceeds(load, limit) {
                start = to;
            }
        }
        start.is_finite().then_some(start)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn any_loads() -> impl Strategy<Value = Vec<(u8, u8, u8)>> {
        prop::collection::vec((0_u8..40, 1_u8..20, 1_u8..10), 0..12)
    }

    /// The load in each whole minute, added up one by one.
    fn by_minutes(loads: &[(u8, u8, u8)]) -> Vec<f64> {
        (0..80_u8)
            .map(|minute| {
                loads
                    .iter()
                    .filter(|&&(from, length, _)| (from..from + length).contains(&minute))
                    .map(|&(_, _, load)| f64::from(load))
                    .sum()
            })
            .collect()
    }

    fn profile(loads: &[(u8, u8, u8)]) -> Profile {
        let mut profile = Profile::default();
        for &(from, length, load) in loads {
            profile.add(f64::from(from), f64::from(from + length), f64::from(load));
        }
        profile
    }

    proptest! {
        #[test]
        fn peaks_are_those_of_the_minutes(loads in any_loads(), from in 0_usize..70, length in 1_usize..10) {
            let (profile, minutes) = (profile(&loads), by_minutes(&loads));
            let highest = |of: &[f64]| of.iter().copied().fold(0.0, f64::max);
            prop_assert_eq!(profile.peak().0, highest(&minutes));
            prop_assert_eq!(
                profile.peak_between(from as f64, (from + length) as f64),
                highest(&minutes[from..from + length])
            );
        }

        #[test]
        fn the_longest_stretch_is_that_of_the_minutes(loads in any_loads(), limit in 0_u8..20) {
            let longest = by_minutes(&loads)
                .split(|&load| load <= f64::from(limit))
                .map(<[f64]>::len)
                .max()
                .unwrap_or(0);
            prop_assert_eq!(profile(&loads).longest_above(f64::from(limit)), longest as f64);
        }

        #[test]
        fn the_first_fit_is_the_first_minute_that_fits(
            loads in any_loads(), limit in 0_u8..20, earliest in 0_usize..60, length in 1_usize..10,
        ) {
            let mut minutes = by_minutes(&loads);
            minutes.extend([0.0; 20]);
            let first = (earliest..90)
                .find(|&from| minutes[from..from + length].iter().all(|&load| load <= f64::from(limit)))
                .unwrap();
            let told = profile(&loads).fits_from(earliest as f64, length as f64, f64::from(limit));
            prop_assert_eq!(told, Some(first as f64));
        }
    }

    #[test]
    fn what_never_fits_says_so() {
        assert_eq!(Profile::default().fits_from(0.0, 1.0, -1.0), None);
        assert_eq!(Profile::default().fits_from(3.0, 1.0, 0.0), Some(3.0));
    }
}
