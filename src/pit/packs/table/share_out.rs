//! Sets to bouts and their packs to channels: for each bout in order of call the set that is ready, or
//! ready first, by the calculator's list rule. Packs of different sets are never mixed.

use super::ask::{Ask, Wanted};
use super::{BoutPacks, ToCharge};
use crate::calc::battery::{
    AllocationBout, LateCause, PackAllocationInput, PackAllocationOutput, pack_allocation,
};
use crate::pit::ids::SetId;
use chrono::{DateTime, TimeDelta, Utc};

/// What is charged where for which bout, and why nothing can be said.
pub(super) fn share_out(ask: &Ask) -> (Vec<BoutPacks>, Vec<ToCharge>, Vec<String>) {
    let mut chosen: Vec<(&Wanted, Option<(SetId, AllocationBout)>)> = Vec::new();
    let mut faults = Vec::new();
    for wanted in &ask.bouts {
        let before: Vec<AllocationBout> = chosen
            .iter()
            .filter_map(|(_, set)| Some(set.as_ref()?.1.clone()))
            .collect();
        let best = wanted
            .sets
            .iter()
            .filter_map(|(set, bout)| {
                let bouts = before.iter().chain([bout]).cloned().collect();
                match allocated(ask, bouts) {
                    Ok(output) => Some((Score::of(&output, &bout.name), *set, bout)),
                    Err(why) => {
                        faults.push(why);
                        None
                    }
                }
            })
            .min_by(|a, b| a.0.cmp(&b.0).then(a.1.cmp(&b.1)));
        chosen.push((wanted, best.map(|(_, set, bout)| (set, bout.clone()))));
    }
    let bouts: Vec<AllocationBout> = chosen
        .iter()
        .filter_map(|(_, set)| Some(set.as_ref()?.1.clone()))
        .collect();
    let output = if bouts.is_empty() {
        None
    } else {
        allocated(ask, bouts).ok()
    };
    faults.sort();
    faults.dedup();
    let told = chosen
        .iter()
        .map(|(wanted, set)| bout(ask, wanted, set.as_ref(), output.as_ref()))
        .collect();
    let mut charges: Vec<ToCharge> = chosen
        .iter()
        .filter_map(|(wanted, set)| Some((wanted, &set.as_ref()?.1.name)))
        .flat_map(|(wanted, name)| {
            let output = output.iter().flat_map(|output| &output.assignments);
            output
                .filter(move |one| one.bout == *name)
                .filter_map(|one| {
                    let charge = one.charge.as_ref()?;
                    Some(ToCharge {
                        pack: one.pack.parse().ok()?,
                        channel: charge.channel.parse().ok()?,
                        bout: wanted.bout,
                        from: ask.now + minutes(charge.from_min),
                        to: ask.now + minutes(charge.to_min),
                        amps: charge.charge_a,
                        lowered: charge.lowered,
                    })
                })
        })
        .collect();
    charges.sort_by_key(|charge| (charge.from, charge.channel));
    (told, charges, faults)
}

fn allocated(ask: &Ask, bouts: Vec<AllocationBout>) -> Result<PackAllocationOutput, String> {
    pack_allocation(&PackAllocationInput {
        packs: ask.packs.clone(),
        channels: ask.channels.clone(),
        feeds: ask.feeds.clone(),
        bouts,
        limits: ask.limits,
    })
    .map_err(|faults| {
        let first = faults.into_iter().next();
        first.map_or_else(String::new, |fault| fault.detail)
    })
}

/// How well a set serves a bout; less is better.
#[derive(Debug, PartialEq)]
struct Score {
    /// Packs that cannot serve at all.
    missing: usize,
    /// Minutes late, of the latest.
    late_min: f64,
    /// It has to be charged first.
    charges: bool,
    /// When it can be fitted.
    ready_min: f64,
}

impl Score {
    fn of(output: &PackAllocationOutput, bout: &str) -> Self {
        let late = output.late.iter().filter(|late| late.bout == bout);
        let own = output.assignments.iter().filter(|one| one.bout == bout);
        Self {
            missing: late.clone().filter(|late| late.pack.is_none()).count(),
            late_min: late.filter_map(|late| late.late_min).fold(0.0, f64::max),
            charges: own.clone().any(|one| one.charge.is_some()),
            ready_min: own.map(|one| one.ready_min).fold(0.0, f64::max),
        }
    }

    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.missing
            .cmp(&other.missing)
            .then(self.late_min.total_cmp(&other.late_min))
            .then(self.charges.cmp(&other.charges))
            .then(self.ready_min.total_cmp(&other.ready_min))
    }
}

fn bout(
    ask: &Ask,
    wanted: &Wanted,
    set: Option<&(SetId, AllocationBout)>,
    output: Option<&PackAllocationOutput>,
) -> BoutPacks {
    let name = set.map(|(_, bout)| bout.name.as_str());
    let own = || {
        let all = output.iter().flat_map(|output| &output.assignments);
        all.filter(|one| Some(one.bout.as_str()) == name)
    };
    let late = output
        .iter()
        .flat_map(|output| &output.late)
        .filter(|late| Some(late.bout.as_str()) == name)
        .max_by(|a, b| {
            let minutes = |late: Option<f64>| late.unwrap_or(f64::INFINITY);
            minutes(a.late_min).total_cmp(&minutes(b.late_min))
        });
    let all_there = late.is_none_or(|late| late.pack.is_some());
    let ready = own().map(|one| one.ready_min).reduce(f64::max);
    let slack = own().map(|one| one.slack_min).reduce(f64::min);
    let at = |min: f64| -> DateTime<Utc> { ask.now + minutes(min) };
    BoutPacks {
        bout: wanted.bout,
        number: wanted.number,
        robot: wanted.robot,
        call: wanted.call,
        set: set.filter(|_| all_there).map(|(set, _)| *set),
        ready_at: ready.filter(|_| all_there).map(at),
        charges: own().any(|one| one.charge.is_some()),
        slack: slack.filter(|_| all_there).map(minutes),
        late: match (set, late) {
            (None, _) => Some(LateCause::NoPack),
            (Some(_), late) => late.map(|late| late.cause),
        },
    }
}

/// A span of so many minutes, to the second; negative where something is late.
#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes of a day, bounded by the calculator"
)]
fn minutes(minutes: f64) -> TimeDelta {
    TimeDelta::seconds((minutes.clamp(-40_000.0, 40_000.0) * 60.0).round() as i64)
}
