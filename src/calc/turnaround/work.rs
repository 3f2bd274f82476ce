//! How much work a plan may cost, counted in steps so that the same problem gives the same plan.

use super::answer::Answer;

/// What [`super::solve`] may spend, and what it starts from.
///
/// **Units** steps: one is a contradiction of the search, a few hundred bounds it passes on, or a
/// plan built, and costs some 20 to 200 microseconds, more for larger problems. The count, not the
/// clock, decides, so a plan depends on problem, previous plan and budget alone.
#[derive(Clone, Copy)]
pub struct Budget<'a> {
    steps: u64,
    stop: Option<&'a (dyn Fn() -> bool + 'a)>,
    previous: Option<&'a Answer>,
}

impl std::fmt::Debug for Budget<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Budget")
            .field("steps", &self.steps)
            .field("can_stop", &self.stop.is_some())
            .field("has_previous", &self.previous.is_some())
            .finish()
    }
}

impl<'a> Budget<'a> {
    /// At most so many steps.
    pub fn steps(steps: u64) -> Self {
        Self {
            steps,
            stop: None,
            previous: None,
        }
    }

    /// Stops early, with the best plan so far, once `stop` says so.
    #[must_use]
    pub fn stopping(self, stop: &'a (dyn Fn() -> bool + 'a)) -> Self {
        Self {
            stop: Some(stop),
            ..self
        }
    }

    /// Starts from `previous`, and keeps it unless something better is found.
    #[must_use]
    pub fn keeping(self, previous: &'a Answer) -> Self {
        Self {
            previous: Some(previous),
            ..self
        }
    }

    pub(super) fn previous(&self) -> Option<&'a Answer> {
        self.previous
    }

    pub(super) fn start(&self) -> Work<'a> {
        Work {
            left: self.steps,
            stop: self.stop,
            stopped: false,
        }
    }
}

/// What is left of a budget.
pub(super) struct Work<'a> {
    left: u64,
    stop: Option<&'a (dyn Fn() -> bool + 'a)>,
    stopped: bool,
}

impl Work<'_> {
    /// Spends `steps`; whether there is any left.
    pub fn spend(&mut self, steps: u64) -> bool {
        self.left = self.left.saturating_sub(steps);
        if !self.stopped && self.stop.is_some_and(|stop| stop()) {
            self.stopped = true;
        }
        self.has_more()
    }

    /// Whether there is any left.
    pub fn has_more(&self) -> bool {
        !self.stopped && self.left > 0
    }
}
