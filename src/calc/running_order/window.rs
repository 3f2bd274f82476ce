//! A window of the running order as the search sees it.

/// A window as the search sees it.
pub(super) struct Window {
    pub(super) bouts: Vec<Bout>,
    pub(super) published: Vec<usize>,
    pub(super) tried: Option<Vec<usize>>,
    /// Per robot, in seconds: when it is ready, sample by sample. Number 0 is nobody.
    pub(super) ready: Vec<Vec<i32>>,
    /// Names of the robots; number 0 is nobody.
    pub(super) robots: Vec<String>,
    pub(super) free_s: i32,
    pub(super) gap_s: i32,
    pub(super) rest_s: i32,
    pub(super) samples: usize,
    /// Per place of the order: no bout starts there before this.
    pub(super) not_before_s: Vec<i32>,
}

/// A bout as the search sees it.
pub(super) struct Bout {
    pub(super) sides: [Source; 2],
    pub(super) run_s: i32,
    pub(super) published_start_s: i32,
    pub(super) fixed: bool,
}

/// Whom a side of a bout waits for.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// Nobody known.
    Nobody,
    /// A robot, by its number.
    Robot(usize),
    /// Whoever comes out of a bout, by its number.
    Feeder(usize),
}
