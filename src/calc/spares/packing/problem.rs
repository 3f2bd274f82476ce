//! One choice per part type, gains that add up, limits on what the choices take.

/// Most limits at once: mass, price and volume.
pub(super) const MOST_LIMITS: usize = 3;

/// How far over a limit rounding may carry a sum.
const ROUNDING: f64 = 1.0e-12;

/// What taking some number of units gains and takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Choice {
    pub(super) gain: f64,
    pub(super) takes: [f64; MOST_LIMITS],
}

/// Pick one choice of every item: greatest sum of gains with no sum of takings above its limit.
///
/// Choice n of an item is n units; takings go one way in n. Gains are mostly concave in n, which makes
/// the search short, but nothing proved rests on it.
pub(super) struct Problem {
    pub(super) items: Vec<Vec<Choice>>,
    pub(super) limits: [f64; MOST_LIMITS],
    /// Limits in use, from the first.
    pub(super) resources: usize,
    /// Every sum of gains is a whole multiple of this; 0 if gains are real numbers.
    pub(super) step: f64,
}

/// A choice for every item, and what they add up to.
#[derive(Debug, Clone)]
pub(super) struct Pick {
    pub(super) choices: Vec<usize>,
    pub(super) gain: f64,
    pub(super) takes: [f64; MOST_LIMITS],
}

impl Problem {
    /// The sums of a choice for every item.
    pub(super) fn pick(&self, choices: Vec<usize>) -> Pick {
        let mut gain = 0.0;
        let mut takes = [0.0; MOST_LIMITS];
        for (item, choice) in self.items.iter().zip(&choices) {
            gain += item[*choice].gain;
            takes = plus(&takes, &item[*choice].takes);
        }
        Pick {
            choices,
            gain,
            takes,
        }
    }

    /// Whether sums stay within the limits.
    pub(super) fn fits(&self, takes: &[f64; MOST_LIMITS]) -> bool {
        (0..self.resources).all(|k| takes[k] <= self.limits[k] + ROUNDING)
    }

    /// How far sums are over the limits, each in parts of its scale.
    fn excess(&self, takes: &[f64; MOST_LIMITS]) -> f64 {
        (0..self.resources)
            .map(|k| (takes[k] - self.limits[k]).max(0.0) / self.scale(k))
            .sum()
    }

    /// A size to measure takings of a kind by.
    pub(super) fn scale(&self, kind: usize) -> f64 {
        self.limits[kind].abs().max(1.0e-9)
    }

    /// Choice of one item moved by one unit, with the sums after it.
    fn moved(&self, pick: &Pick, item: usize, up: bool) -> Option<(usize, Sums)> {
        let now = pick.choices[item];
        let to = if up { now + 1 } else { now.checked_sub(1)? };
        let (from, into) = (self.items[item][now], *self.items[item].get(to)?);
        let sums = Sums {
            gain: pick.gain - from.gain + into.gain,
            takes: plus(&minus(&pick.takes, &from.takes), &into.takes),
        };
        Some((to, sums))
    }

    /// Moves single units until the pick fits, each time what costs least for the excess it clears.
    pub(super) fn repaired(&self, choices: Vec<usize>) -> Option<Pick> {
        let mut pick = self.pick(choices);
        while !self.fits(&pick.takes) {
            let excess = self.excess(&pick.takes);
            let mut best: Option<(f64, usize, usize)> = None;
            for item in 0..self.items.len() {
                for up in [false, true] {
                    let Some((to, sums)) = self.moved(&pick, item, up) else {
                        continue;
                    };
                    let cleared = excess - self.excess(&sums.takes);
                    let worth = (pick.gain - sums.gain) / cleared;
                    if cleared > 0.0 && best.is_none_or(|(least, ..)| worth < least) {
                        best = Some((worth, item, to));
                    }
                }
            }
            let (_, item, to) = best?;
            pick.choices[item] = to;
            pick = self.pick(pick.choices);
        }
        Some(pick)
    }

    /// Moves single units, and one unit against another, for as long as that gains.
    pub(super) fn improved(&self, mut pick: Pick) -> Pick {
        // Each round gains and looks at every pair; the cap bounds the time for the largest boxes.
        let pairs = self.items.len() * self.items.len();
        for _ in 0..(4_000_000 / pairs.max(1)).clamp(4, 60) {
            let Some(moves) = self.best_move(&pick) else {
                break;
            };
            for (item, to) in moves {
                pick.choices[item] = to;
            }
            pick = self.pick(pick.choices);
        }
        pick
    }

    fn best_move(&self, pick: &Pick) -> Option<Vec<(usize, usize)>> {
        let mut best_gain = pick.gain + 1.0e-12;
        let mut best = None;
        for item in 0..self.items.len() {
            for up in [true, false] {
                let Some((to, sums)) = self.moved(pick, item, up) else {
                    continue;
                };
                if sums.gain > best_gain && self.fits(&sums.takes) {
                    best_gain = sums.gain;
                    best = Some(vec![(item, to)]);
                }
                if !up {
                    continue;
                }
                for other in (0..self.items.len()).filter(|other| *other != item) {
                    let Some((back, both)) = self.moved(pick, other, false) else {
                        continue;
                    };
                    let gain = sums.gain + both.gain - pick.gain;
                    let takes = minus(&plus(&sums.takes, &both.takes), &pick.takes);
                    if gain > best_gain && self.fits(&takes) {
                        best_gain = gain;
                        best = Some(vec![(item, to), (other, back)]);
                    }
                }
            }
        }
        best
    }
}

/// Sums of a pick after a move that is not made yet.
struct Sums {
    gain: f64,
    takes: [f64; MOST_LIMITS],
}

pub(super) fn plus(a: &[f64; MOST_LIMITS], b: &[f64; MOST_LIMITS]) -> [f64; MOST_LIMITS] {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

fn minus(a: &[f64; MOST_LIMITS], b: &[f64; MOST_LIMITS]) -> [f64; MOST_LIMITS] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}
