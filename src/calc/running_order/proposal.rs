//! A better running order, if there is one, and what it would change.

use serde::Serialize;
use utoipa::ToSchema;

use super::order::RunningOrderInput;
use super::search::{Found, Play, best_by_swaps};
use super::window::Window;
use crate::calc::fault::{Fault, Faults};

/// Standard errors by which a gain must exceed what the samples alone would make.
const ERRORS: f64 = 2.0;

/// Output of `running-order`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(running_order(&RunningOrderInput::example()).ok()))]
pub struct RunningOrderOutput {
    /// What the published order leads to.
    pub published: OrderOutcome,
    /// What the order tried out leads to.
    pub tried: Option<OrderOutcome>,
    /// The best order at each distance from the published one at which a further change is worth it,
    /// nearest first.
    pub better: Vec<OrderOutcome>,
    /// What is proposed.
    pub proposal: OrderProposal,
    /// Robots that nothing was said about: taken to be ready when the arena is free.
    pub assumed_ready: Vec<String>,
}

/// What an order leads to. With samples of ready times, times are means over the samples.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct OrderOutcome {
    /// The bouts in order.
    pub bouts: Vec<BoutTime>,
    /// Swaps of neighbours that lead here from the published order (Kendall's distance).
    pub swaps: u32,
    /// Bouts that stand at another place than in the published order.
    pub bouts_moved: u32,
    /// Greatest lateness of a start against the published start, in seconds; below 0 if all are early.
    pub max_late_s: f64,
    /// Sum of all latenesses above 0, in seconds.
    pub total_late_s: f64,
    /// How long the arena stands reset and unused before these bouts, in seconds.
    pub idle_s: f64,
    /// Share of samples in which no bout is later than allowed.
    pub on_time_probability: f64,
}

/// When a bout starts in an order.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct BoutTime {
    /// Name of the bout.
    pub name: String,
    /// When it starts, in seconds from the common moment.
    pub start_s: f64,
    /// How late that is against the published start, in seconds; below 0 if it is early.
    pub late_s: f64,
}

/// What is proposed, and why.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct OrderProposal {
    /// Place in `better` of the order proposed; nothing if the published order should stand.
    pub place: Option<usize>,
    /// Why.
    pub reason: OrderProposalReason,
    /// What it takes off the greatest lateness, in seconds.
    pub max_late_gain_s: f64,
    /// What it takes off the total lateness, in seconds.
    pub total_late_gain_s: f64,
}

/// Why an order is proposed or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum OrderProposalReason {
    /// The published order is on time often enough.
    PublishedIsOnTime,
    /// No other order is better by more than is worthwhile, or by more than chance.
    NothingImproves,
    /// The order nearest to the published one that is on time often enough.
    RemovesLateness,
    /// No order is on time often enough; this one is late least.
    ReducesLateness,
}

/// Looks through every order of a window of bouts and proposes one if it is better.
///
/// A bout starts when the arena is reset and both robots are ready and have rested since their last
/// bout. Orders are compared by greatest lateness (in steps of what is worthwhile),
/// then total lateness, then the number of swaps of neighbours that lead there. All orders are played on the same samples.
///
/// **Units**: seconds from any common moment.
/// **Assumptions**: a robot that comes out of a bout of the window is ready again after the rest;
/// bouts may start before their published time.
/// **Source**: enumeration; Kendall's distance, Kendall 1938; common random numbers, Law, Simulation
/// Modeling and Analysis, ch. 11 (from memory).
///
/// # Errors
/// Every value out of its range; a robot on both sides of a bout; orders that lost a bout, repeat
/// one or put one before a bout that decides who is in it.
pub fn running_order(input: &RunningOrderInput) -> Result<RunningOrderOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    let window = input.window(&mut faults);
    faults.check()?;

    let worthwhile_s = input.worthwhile_s * window.samples as i64;
    let best = best_by_swaps(&window, worthwhile_s);
    let published = played(input, &window, &window.published);
    let better: Vec<Played> = frontier(worthwhile_s, &best)
        .into_iter()
        .map(|found| played(input, &window, &found.order))
        .collect();
    let proposal = proposal(input, &published, &better);
    let tried = window.tried.as_ref();
    Ok(RunningOrderOutput {
        tried: tried.map(|order| played(input, &window, order).outcome),
        published: published.outcome,
        better: better.into_iter().map(|played| played.outcome).collect(),
        proposal,
        assumed_ready: input.assumed_ready(),
    })
}

/// Orders that are worth their further swaps, nearest first, without the published one.
fn frontier(worthwhile_s: i64, best: &[Option<Found>]) -> Vec<&Found> {
    let mut found: Vec<&Found> = Vec::new();
    let mut so_far = None;
    for one in best.iter().flatten() {
        let Some(before) = so_far.replace(one.lateness) else {
            // No swaps: the published order itself.
            continue;
        };
        let total_s = before.total_s - one.lateness.total_s;
        let steps = before.steps - one.lateness.steps;
        if steps > 0 || (steps == 0 && total_s >= worthwhile_s) {
            found.push(one);
        } else {
            so_far = Some(before);
        }
    }
    found
}

/// An order played through.
struct Played {
    outcome: OrderOutcome,
    /// Greatest lateness, sample by sample.
    greatest_s: Vec<f64>,
    /// Total lateness, sample by sample.
    total_s: Vec<f64>,
}

fn played(input: &RunningOrderInput, window: &Window, order: &[usize]) -> Played {
    let mut play = Play::new(window);
    let mut total_s = vec![0.0; window.samples];
    let mut bouts = Vec::with_capacity(order.len());
    let mut idle_s = 0;
    for (place, bout) in order.iter().enumerate() {
        play.push(*bout);
        idle_s += play.idle_s(place);
        let published_start = f64::from(window.bouts[*bout].published_start_s);
        let mut starts = 0.0;
        for (total, start) in total_s.iter_mut().zip(play.starts_s(place)) {
            let start = f64::from(start);
            starts += start;
            *total += (start - published_start).max(0.0);
        }
        let start_s = starts / window.samples as f64;
        bouts.push(BoutTime {
            name: input.bouts[*bout].name.clone(),
            start_s,
            late_s: start_s - published_start,
        });
    }
    let latest = play.latest_s();
    let on_time = latest
        .iter()
        .filter(|late| i64::from(**late) <= input.allowed_late_s);
    let greatest_s: Vec<f64> = latest.iter().map(|late| f64::from(*late)).collect();
    let (swaps, bouts_moved) = distance(&window.published, order);
    Played {
        outcome: OrderOutcome {
            bouts,
            swaps,
            bouts_moved,
            max_late_s: mean(&greatest_s),
            total_late_s: mean(&total_s),
            idle_s: idle_s as f64 / window.samples as f64,
            on_time_probability: on_time.count() as f64 / window.samples as f64,
        },
        greatest_s,
        total_s,
    }
}

/// Swaps of neighbours from the published order, and bouts at another place.
fn distance(published: &[usize], order: &[usize]) -> (u32, u32) {
    let places: Vec<Option<usize>> = order
        .iter()
        .map(|bout| published.iter().position(|other| other == bout))
        .collect();
    let mut swaps = 0;
    let mut moved = 0;
    for (place, was) in places.iter().enumerate() {
        moved += u32::from(*was != Some(place));
        swaps += places[place + 1..]
            .iter()
            .filter(|later| *later < was)
            .count() as u32;
    }
    (swaps, moved)
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn proposal(input: &RunningOrderInput, published: &Played, better: &[Played]) -> OrderProposal {
    let on_time =
        |played: &Played| played.outcome.on_time_probability >= input.wanted_on_time_probability;
    let none = |reason| OrderProposal {
        place: None,
        reason,
        max_late_gain_s: 0.0,
        total_late_gain_s: 0.0,
    };
    if on_time(published) {
        return none(OrderProposalReason::PublishedIsOnTime);
    }
    let (place, reason) = match better.iter().position(on_time) {
        Some(place) => (place, OrderProposalReason::RemovesLateness),
        None if better.is_empty() => return none(OrderProposalReason::NothingImproves),
        None => (better.len() - 1, OrderProposalReason::ReducesLateness),
    };
    let chosen = &better[place];
    let greatest = Gain::of(&published.greatest_s, &chosen.greatest_s);
    let total = Gain::of(&published.total_s, &chosen.total_s);
    let no_later = greatest.mean_s >= -0.5 * input.worthwhile_s as f64;
    if !(greatest.is_sure() || (no_later && total.is_sure())) {
        return none(OrderProposalReason::NothingImproves);
    }
    OrderProposal {
        place: Some(place),
        reason,
        max_late_gain_s: greatest.mean_s,
        total_late_gain_s: total.mean_s,
    }
}

/// A difference of two orders on the same samples.
struct Gain {
    mean_s: f64,
    standard_error_s: f64,
}

impl Gain {
    fn of(before: &[f64], after: &[f64]) -> Self {
        let gains: Vec<f64> = before.iter().zip(after).map(|(b, a)| b - a).collect();
        let mean_s = mean(&gains);
        let squares: f64 = gains.iter().map(|gain| (gain - mean_s).powi(2)).sum();
        let count = gains.len() as f64;
        Self {
            mean_s,
            standard_error_s: (squares / (count * (count - 1.0).max(1.0))).sqrt(),
        }
    }

    /// Whether chance alone would hardly make it.
    fn is_sure(&self) -> bool {
        self.mean_s > 0.0 && self.mean_s > ERRORS * self.standard_error_s
    }
}
