//! Literals: bounds on whole numbers, yes-or-no ones included.

/// One side of a variable: `2 v` is the variable seen from below, `2 v + 1` its negative. Both are
/// bounded from below only, so that everything said about one side holds for the other.
pub(super) type View = usize;

/// The statement "this view is at least `bound`".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Lit {
    pub view: u32,
    pub bound: i32,
}

impl Lit {
    /// "`variable` is at least `value`".
    pub fn at_least(variable: usize, value: i32) -> Self {
        Self {
            view: 2 * variable as u32,
            bound: value,
        }
    }

    /// "`variable` is at most `value`".
    pub fn at_most(variable: usize, value: i32) -> Self {
        Self {
            view: 2 * variable as u32 + 1,
            bound: -value,
        }
    }

    /// "The yes-or-no `variable` is yes".
    pub fn yes(variable: usize) -> Self {
        Self::at_least(variable, 1)
    }

    /// The opposite statement.
    pub fn not(self) -> Self {
        Self {
            view: self.view ^ 1,
            bound: 1 - self.bound,
        }
    }

    /// The side of the variable it speaks of.
    pub fn side(self) -> View {
        self.view as View
    }

    /// The variable it speaks of.
    pub fn variable(self) -> usize {
        (self.view >> 1) as usize
    }
}
