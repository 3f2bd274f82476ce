//! All orders of a window, each played through on the same samples.

use super::window::{Source, Window};

/// What an order leads to, the most important first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Lateness {
    /// Greatest lateness, in steps from that of the published order.
    pub(super) steps: i64,
    /// Sum over the samples of the latenesses above 0 of all bouts, in seconds.
    pub(super) total_s: i64,
    /// Sum over the samples of the greatest lateness, in seconds.
    greatest_s: i64,
}

/// An order and how far it is from the published one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Found {
    pub(super) lateness: Lateness,
    /// Bouts that stand at another place.
    pub(super) moved: u32,
    pub(super) order: Vec<usize>,
}

/// Latenesses added up as 32-bit numbers before they go into a 64-bit sum: none exceeds a million.
const CHUNK: usize = 512;

/// Per number of swaps of neighbours away from the published order: the best order, if there is one.
///
/// Bouts that are fixed keep their places, and no bout stands before one it draws a side from. Left
/// out are orders with a greatest lateness above that of an order with no more swaps. Greatest
/// latenesses are told apart in steps of `step_s`, summed over the samples.
pub(super) fn best_by_swaps(window: &Window, step_s: i64) -> Vec<Option<Found>> {
    let count = window.bouts.len();
    let mut search = Search {
        step_s,
        published_s: played_through(window, &window.published).greatest_s(),
        best: vec![None; count * (count - 1) / 2 + 1],
        play: Play::new(window),
        place_of: vec![0; count],
        placed: vec![false; count],
        swaps: 0,
        moved: 0,
        total_s: vec![0; count + 1],
    };
    for (place, bout) in window.published.iter().enumerate() {
        search.place_of[*bout] = place;
    }
    search.descend();
    search.best
}

struct Search<'a> {
    step_s: i64,
    /// Sum over the samples of the greatest lateness in the published order, in seconds.
    published_s: i64,
    play: Play<'a>,
    /// Per bout: its place in the published order.
    place_of: Vec<usize>,
    placed: Vec<bool>,
    swaps: usize,
    moved: u32,
    /// Per place: total lateness up to there.
    total_s: Vec<i64>,
    best: Vec<Option<Found>>,
}

impl Search<'_> {
    fn descend(&mut self) {
        let place = self.play.order.len();
        let window = self.play.window;
        if place == window.bouts.len() {
            self.note();
            return;
        }
        let due_here = window.published[place];
        for published in 0..window.bouts.len() {
            let bout = window.published[published];
            let fixed = window.bouts[due_here].fixed || window.bouts[bout].fixed;
            if self.placed[bout] || (fixed && bout != due_here) || !self.decided(bout) {
                continue;
            }
            let earlier = window.published[..published].iter();
            let passed = earlier.filter(|other| !self.placed[**other]).count();
            self.swaps += passed;
            self.moved += u32::from(bout != due_here);
            self.placed[bout] = true;
            self.total_s[place + 1] = self.total_s[place] + self.play.push(bout);
            // The published order comes first, so that there is always something to beat.
            if self.may_win() {
                self.descend();
            }
            self.play.pop();
            self.placed[bout] = false;
            self.moved -= u32::from(bout != due_here);
            self.swaps -= passed;
        }
    }

    /// Whether the bouts placed so far leave hope: neither swaps nor lateness can get fewer.
    fn may_win(&self) -> bool {
        let nearer = self.best[..=self.swaps].iter().flatten();
        let least = nearer.map(|found| found.lateness.steps).min();
        least.is_none_or(|least| self.steps() <= least)
    }

    /// Greatest lateness so far, in steps from that of the published order, to the nearest.
    fn steps(&self) -> i64 {
        let over_s = self.play.greatest_s() - self.published_s;
        (2 * over_s + self.step_s).div_euclid(2 * self.step_s)
    }

    /// Whether the bouts that decide who is in this one have been placed.
    fn decided(&self, bout: usize) -> bool {
        let sides = self.play.window.bouts[bout].sides.iter();
        let mut feeders = sides.filter_map(|side| match side {
            Source::Feeder(feeder) => Some(*feeder),
            Source::Robot(_) | Source::Nobody => None,
        });
        feeders.all(|feeder| self.placed[feeder])
    }

    fn note(&mut self) {
        let lateness = Lateness {
            steps: self.steps(),
            total_s: self.total_s[self.play.order.len()],
            greatest_s: self.play.greatest_s(),
        };
        let best = &mut self.best[self.swaps];
        let worse = best.as_ref().is_some_and(|best| {
            (best.lateness, best.moved, &best.order) <= (lateness, self.moved, &self.play.order)
        });
        if !worse {
            *best = Some(Found {
                lateness,
                moved: self.moved,
                order: self.play.order.clone(),
            });
        }
    }
}

/// A whole order played.
fn played_through<'a>(window: &'a Window, order: &[usize]) -> Play<'a> {
    let mut play = Play::new(window);
    for bout in order {
        play.push(*bout);
    }
    play
}

/// Bouts played one after the other, on all samples at once.
pub(super) struct Play<'a> {
    window: &'a Window,
    order: Vec<usize>,
    /// Per place: when the bout there ends. Entry 0 stands for the arena before the first bout.
    ends: Vec<Vec<i32>>,
    /// Per place: greatest lateness so far. Entry 0 is before the first bout.
    latest: Vec<Vec<i32>>,
    /// Per bout: its place plus one.
    placed_at: Vec<usize>,
    /// Per robot: places plus one of its bouts so far.
    fought: Vec<Vec<usize>>,
}

impl<'a> Play<'a> {
    pub(super) fn new(window: &'a Window) -> Self {
        let count = window.bouts.len();
        let blank = |first: i32| {
            let mut places = vec![vec![0; window.samples]; count + 1];
            places[0] = vec![first; window.samples];
            places
        };
        Self {
            window,
            order: Vec::with_capacity(count),
            ends: blank(window.free_s - window.gap_s),
            latest: blank(i32::MIN),
            placed_at: vec![0; count],
            fought: vec![Vec::new(); window.ready.len()],
        }
    }

    /// Puts a bout next; gives the sum of its latenesses above 0, in seconds.
    ///
    /// It starts when the arena is reset and both sides are ready and rested.
    pub(super) fn push(&mut self, bout: usize) -> i64 {
        let window = self.window;
        let place = self.order.len() + 1;
        let of = &window.bouts[bout];
        let (before, after) = self.ends.split_at_mut(place);
        let (latest_before, latest_after) = self.latest.split_at_mut(place);
        let waits = of.sides.map(|side| match side {
            Source::Nobody => (before[place - 1].as_slice(), window.gap_s),
            Source::Feeder(feeder) => (before[self.placed_at[feeder]].as_slice(), window.rest_s),
            Source::Robot(robot) => match self.fought[robot].last() {
                Some(place) => (before[*place].as_slice(), window.rest_s),
                None => (window.ready[robot].as_slice(), 0),
            },
        });
        let total = played(
            Turn {
                free: &before[place - 1],
                gap_s: window.gap_s,
                waits,
                not_before_s: window.not_before_s[place - 1],
                run_s: of.run_s,
                due_s: of.published_start_s,
            },
            &latest_before[place - 1],
            &mut after[0],
            &mut latest_after[0],
        );
        for side in &of.sides {
            if let Source::Robot(robot) = side {
                self.fought[*robot].push(place);
            }
        }
        self.placed_at[bout] = place;
        self.order.push(bout);
        total
    }

    fn pop(&mut self) {
        if let Some(bout) = self.order.pop() {
            for side in &self.window.bouts[bout].sides {
                if let Source::Robot(robot) = side {
                    self.fought[*robot].pop();
                }
            }
        }
    }

    /// Sum of the greatest latenesses over the samples, in seconds.
    fn greatest_s(&self) -> i64 {
        let chunks = self.latest_s().chunks(CHUNK);
        chunks
            .map(|chunk| i64::from(chunk.iter().sum::<i32>()))
            .sum()
    }

    /// Greatest lateness so far, sample by sample, in seconds.
    pub(super) fn latest_s(&self) -> &[i32] {
        &self.latest[self.order.len()]
    }

    /// Sum over the samples of the time the arena stands reset and unused before a place.
    pub(super) fn idle_s(&self, place: usize) -> i64 {
        let reset = self.ends[place].iter().map(|end| end + self.window.gap_s);
        let idle = self.starts_s(place).zip(reset);
        idle.map(|(start, reset)| i64::from(start - reset)).sum()
    }

    /// Starts of the bout at a place, sample by sample, in seconds.
    pub(super) fn starts_s(&self, place: usize) -> impl Iterator<Item = i32> + '_ {
        let run_s = self.window.bouts[self.order[place]].run_s;
        self.ends[place + 1].iter().map(move |end| end - run_s)
    }
}

/// What a bout waits for: the arena, and per side a moment and the time after it.
struct Turn<'a> {
    free: &'a [i32],
    gap_s: i32,
    waits: [(&'a [i32], i32); 2],
    not_before_s: i32,
    run_s: i32,
    due_s: i32,
}

/// One bout on all samples; a plain loop over plain slices, so that it runs several at a time.
fn played(turn: Turn<'_>, latest_before: &[i32], ends: &mut [i32], latest: &mut [i32]) -> i64 {
    let count = ends.len();
    let [(one, one_s), (other, other_s)] = turn.waits;
    let (one, other, free) = (&one[..count], &other[..count], &turn.free[..count]);
    let (latest_before, latest) = (&latest_before[..count], &mut latest[..count]);
    let mut total = 0;
    for from in (0..count).step_by(CHUNK) {
        let mut chunk = 0;
        for sample in from..count.min(from + CHUNK) {
            let ready = (one[sample] + one_s).max(other[sample] + other_s);
            let start = ready.max(free[sample] + turn.gap_s).max(turn.not_before_s);
            ends[sample] = start + turn.run_s;
            let late = start - turn.due_s;
            latest[sample] = latest_before[sample].max(late);
            chunk += late.max(0);
        }
        total += i64::from(chunk);
    }
    total
}
