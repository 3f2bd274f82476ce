//! Whose turn it is: searching, breeding, or looking nearby.

/// Up to so many tasks the search needs no help.
const MOST_BY_SEARCH: usize = 40;
/// The longest a way that led nowhere waits for its next turn, in turns.
const LONGEST_WAIT: u32 = 64;

/// A way to a better plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Turn {
    /// A short search: most problems need no more.
    Glance,
    /// A search of all plans, which alone can prove that there is none better.
    Search,
    /// A few generations of plans.
    Breed,
    /// Searches around the best plan.
    Near,
}

/// Gives turns: a way that led nowhere waits twice as long for its next one.
#[derive(Debug)]
pub(super) struct Turns {
    begun: bool,
    helped: bool,
    /// `(way, turns between, turns still to wait)`.
    helpers: [(Turn, u32, u32); 2],
}

impl Turns {
    pub fn new(tasks: usize) -> Self {
        Self {
            begun: false,
            helped: tasks > MOST_BY_SEARCH,
            helpers: [(Turn::Breed, 1, 0), (Turn::Near, 4, 4)],
        }
    }

    /// Whose turn it is.
    pub fn next(&mut self) -> Turn {
        if !self.begun {
            self.begun = true;
            return Turn::Glance;
        }
        if self.helped {
            for helper in &mut self.helpers {
                if helper.2 == 0 {
                    helper.2 = helper.1;
                    return helper.0;
                }
            }
            for helper in &mut self.helpers {
                helper.2 -= 1;
            }
        }
        Turn::Search
    }

    /// Learns from how a turn ended.
    pub fn heed(&mut self, turn: Turn, found: bool) {
        for helper in self.helpers.iter_mut().filter(|helper| helper.0 == turn) {
            helper.1 = if found {
                1
            } else {
                (2 * helper.1).min(LONGEST_WAIT)
            };
            helper.2 = helper.1;
        }
    }
}
