//! Whether a team's box lasts the day: the question for the calculators, and their answer.

use super::{Shelf, bouts_ahead, bouts_jointly, shelf, swap::types_for};
use crate::calc::fault::Fault;
use crate::calc::spares::{
    BuyNowInput, BuyNowOutput, DayAhead, FailureRateInput, FailureRateOutput, FailuresSeen,
    FailuresSeenElsewhere, FittedUnits, MeanAndSpread, MeanAndWorst, PartRate, RatePrior,
    RepairableSparesInput, RepairableSparesOutput, RobotAhead, SpareOffer, SparesForecastInput,
    SparesForecastOutput, StockedPart, buy_now, failure_rate, repairable_spares, spares_forecast,
};
use crate::pit::ids::{PartTypeId, RobotId, TeamId};
use crate::pit::logbook::register::PartType;
use crate::pit::logbook::stock::SpareState;
use crate::pit::state::Pit;
use crate::pit::tasks;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Most robots that the calculators take together.
const MOST_ROBOTS: usize = 6;
/// Most spares of a type that they take.
const MOST_UNITS: i32 = 100;
/// Most part types that they take.
const MOST_PARTS: usize = 500;
/// What is believed of a part nobody has said anything about: one failure in twenty fitted units
/// and bouts, and very unsure. **Source** own starting value.
const UNKNOWN: MeanAndSpread = MeanAndSpread {
    mean_failures_per_unit_bout: 0.05,
    coefficient_of_variation: 1.0,
};
/// The confidence that a part is enough for the rest of the day for which it is bought. **Source**
/// own.
const WANTED: f64 = 0.95;
/// Gap between a robot's bouts where the running order names fewer than two. **Source** own.
const GAP_MIN: f64 = 60.0;

/// A part type of the box.
#[derive(Debug, Clone)]
pub struct InBox {
    /// Which.
    pub id: PartTypeId,
    /// What it is.
    pub part: PartType,
    /// How many there are.
    pub shelf: Shelf,
    /// How often it fails, and how much data is behind that.
    pub rate: FailureRateOutput,
    /// Fitted units times bouts that were watched.
    pub unit_bouts: f64,
    /// Damaged units whose repair is open and will take a spare.
    pub pending: u32,
    /// Place in the forecast's lists; none if it sits on no robot of the team.
    pub place: Option<usize>,
    /// With repairs counted, for parts that can be mended here and sit on one robot.
    pub mended: Option<RepairableSparesOutput>,
}

/// A team's box and the rest of the day.
#[derive(Debug, Clone)]
pub struct BoxDay {
    /// The part types, most likely to run out first.
    pub parts: Vec<InBox>,
    /// The forecast; none if no part sits on a robot.
    pub forecast: Option<SparesForecastOutput>,
    /// What one more of each would add.
    pub gains: Option<BuyNowOutput>,
    /// Robots left out because the calculators take six.
    pub robots_left_out: usize,
    pub(super) day: DayAhead,
    pub(super) stocked: Vec<StockedPart>,
}

/// The team's part types that are in use.
pub fn parts_of(pit: &Pit, team: TeamId) -> impl Iterator<Item = (PartTypeId, &PartType)> {
    pit.part_types
        .iter()
        .filter(move |(_, part)| part.body.team == team && !part.body.retired)
        .map(|(id, part)| (*id, &part.body))
}

/// A team's box and whether it lasts the rest of the day.
///
/// **Units**: chances from 0 to 1, units of parts, bouts.
/// **Assumptions**: as `spares-forecast`; untested, lent and broken spares count for nothing; what
/// fails in a robot's last bout needs no spare; a damaged unit whose repair is open takes one now.
/// **Source** `calc::spares`.
///
/// # Errors
/// What the calculators refuse, such as more than 500 part types.
pub fn box_day(pit: &Pit, team: TeamId, now: DateTime<Utc>) -> Result<BoxDay, Vec<Fault>> {
    let robots: Vec<RobotId> = pit.robots_of(team).map(|(id, _)| id).collect();
    let robots_left_out = robots.len().saturating_sub(MOST_ROBOTS);
    let robots = &robots[..robots.len() - robots_left_out];
    let name = |robot: RobotId| {
        pit.robot(robot)
            .map_or_else(String::new, |file| file.register.body.name.to_string())
    };
    let bouts_jointly = bouts_jointly(pit, robots);
    let day = DayAhead {
        robots: robots
            .iter()
            .map(|robot| RobotAhead {
                name: name(*robot),
                bouts_ahead: bouts_jointly.is_none().then(|| bouts_ahead(pit, *robot)),
            })
            .collect(),
        bouts_jointly,
        count_last: false,
    };
    let pending = pending(pit, robots);
    let mut parts = Vec::new();
    let mut stocked: Vec<StockedPart> = Vec::new();
    for (id, part) in parts_of(pit, team).take(MOST_PARTS) {
        let shelf = shelf(pit, id);
        let unit_bouts = watched(pit, part);
        let rate = failure_rate(&rate_input(part, &shelf, unit_bouts))?;
        let fitted: Vec<FittedUnits> = fitted(part, robots, &name);
        let pending = pending.get(&id).copied().unwrap_or(0).min(100);
        let place = (!fitted.is_empty()).then_some(stocked.len());
        if place.is_some() {
            stocked.push(StockedPart {
                name: part.label.to_string(),
                rate: held(&rate),
                fitted,
                stock_units: whole(shelf.ready().min(MOST_UNITS)),
                pending_units: pending,
            });
        }
        let mended = mended(pit, part, &shelf, &rate, robots, now);
        parts.push(InBox {
            id,
            part: part.clone(),
            shelf,
            rate,
            unit_bouts,
            pending,
            place,
            mended,
        });
    }
    let (forecast, gains) = if stocked.is_empty() {
        (None, None)
    } else {
        let forecast = spares_forecast(&SparesForecastInput {
            day: day.clone(),
            parts: stocked.clone(),
        })?;
        let gains = buy_now(&BuyNowInput {
            day: day.clone(),
            parts: stocked.clone(),
            offers: offers(&parts),
        })?;
        (Some(forecast), Some(gains))
    };
    let mut box_day = BoxDay {
        parts,
        forecast,
        gains,
        robots_left_out,
        day,
        stocked,
    };
    box_day.weakest_first();
    Ok(box_day)
}

impl BoxDay {
    /// Chance that the spares of a part are enough for the rest of the day.
    pub fn enough(&self, part: &InBox) -> Option<f64> {
        let forecast = self.forecast.as_ref()?;
        Some(forecast.parts.get(part.place?)?.enough_probability)
    }

    /// Parts of which more are needed for the rest of the day, with how many, most urgent first.
    pub fn to_buy(&self) -> impl Iterator<Item = (&InBox, u32)> {
        self.parts.iter().filter_map(|part| {
            let forecast = self.forecast.as_ref()?.parts.get(part.place?)?;
            let needed = forecast
                .needed
                .iter()
                .find(|needed| (needed.confidence - WANTED).abs() < 1e-9)?
                .units?;
            (needed > whole(part.shelf.ready())).then_some((part, needed))
        })
    }

    fn weakest_first(&mut self) {
        let mut parts = std::mem::take(&mut self.parts);
        parts.sort_by(|a, b| {
            let chance = |part| self.enough(part).unwrap_or(2.0);
            chance(a)
                .total_cmp(&chance(b))
                .then_with(|| a.part.label.as_str().cmp(b.part.label.as_str()))
        });
        self.parts = parts;
    }
}

pub(super) fn whole(n: i32) -> u32 {
    u32::try_from(n).unwrap_or(0)
}

fn held(rate: &FailureRateOutput) -> PartRate {
    // A unit that fails in one bout out of five or more is one that fails once a bout.
    if rate.fails_often && rate.mean_failures_per_unit_bout < 0.99 {
        PartRate::OncePerBout(rate.rate)
    } else {
        PartRate::Learned(rate.rate)
    }
}

fn rate_input(part: &PartType, shelf: &Shelf, unit_bouts: f64) -> FailureRateInput {
    let prior = part
        .prior
        .map_or(RatePrior::MeanAndSpread(UNKNOWN), |prior| {
            RatePrior::MeanAndWorst(MeanAndWorst {
                mean_failures_per_unit_bout: f64::from(prior.mean_per_1000_unit_bouts.get())
                    / 1000.0,
                worst_failures_per_unit_bout: f64::from(prior.worst_per_1000_unit_bouts.get())
                    / 1000.0,
            })
        });
    FailureRateInput {
        prior,
        seen: FailuresSeen {
            // Nothing fails that was not watched.
            failures: if unit_bouts > 0.0 { shelf.failed() } else { 0 },
            unit_bouts,
        },
        carried_over: part.elsewhere.map(|seen| FailuresSeenElsewhere {
            failures: whole(seen.failures.get()),
            unit_bouts: f64::from(seen.unit_bouts.get()),
            weight: f64::from(seen.weight_percent().get()) / 100.0,
        }),
    }
}

/// Fitted units times bouts fought here.
fn watched(pit: &Pit, part: &PartType) -> f64 {
    part.fits
        .iter()
        .filter_map(|fit| {
            let file = pit.robot(fit.robot)?;
            Some(f64::from(fit.units.get()) * f64::from(file.state.turnaround))
        })
        .sum()
}

fn fitted(
    part: &PartType,
    robots: &[RobotId],
    name: &dyn Fn(RobotId) -> String,
) -> Vec<FittedUnits> {
    part.fits
        .iter()
        .filter(|fit| fit.units.get() > 0 && robots.contains(&fit.robot))
        .map(|fit| FittedUnits {
            robot: name(fit.robot),
            units: whole(fit.units.get()),
        })
        .collect()
}

/// Open repairs, by the type of which they will take a spare.
fn pending(pit: &Pit, robots: &[RobotId]) -> BTreeMap<PartTypeId, u32> {
    let mut pending = BTreeMap::new();
    for today in robots.iter().filter_map(|robot| tasks::today(pit, *robot)) {
        let repairs = today
            .open()
            .filter(|(_, item)| item.def.closes_with == "part_swapped");
        for (_, item) in repairs {
            if let Some(part) = types_for(pit, today.robot, &item.key.task).first() {
                *pending.entry(*part).or_insert(0) += 1;
            }
        }
    }
    pending
}

fn offers(parts: &[InBox]) -> Vec<SpareOffer> {
    parts
        .iter()
        .filter(|part| part.place.is_some() && part.shelf.ready() < MOST_UNITS)
        .map(|part| SpareOffer {
            part: part.part.label.to_string(),
            units: 1,
            price_cents: part.part.price_minor.map_or(0, |price| whole(price.get())),
        })
        .collect()
}

/// The chance with repairs counted, where the calculator can say: one robot, a share that can be
/// mended, a time it takes.
fn mended(
    pit: &Pit,
    part: &PartType,
    shelf: &Shelf,
    rate: &FailureRateOutput,
    robots: &[RobotId],
    now: DateTime<Utc>,
) -> Option<RepairableSparesOutput> {
    let share = part.repairable_percent.filter(|share| share.get() > 0)?;
    let minutes = part.repair_min?;
    let mut on = part
        .fits
        .iter()
        .filter(|fit| fit.units.get() > 0 && robots.contains(&fit.robot));
    let (fit, None) = (on.next()?, on.next()) else {
        return None;
    };
    repairable_spares(&RepairableSparesInput {
        rate: PartRate::Learned(rate.rate),
        fitted_units: whole(fit.units.get()),
        stock_units: whole(shelf.ready()).min(20),
        bouts_ahead: bouts_ahead(pit, fit.robot),
        count_last: false,
        repairable_fraction: f64::from(share.get()) / 100.0,
        repair_min: f64::from(minutes.get()),
        queue_min: f64::from(shelf.of(SpareState::InRepair)) * f64::from(minutes.get()),
        gap_between_bouts_min: gap(pit, fit.robot, now),
    })
    .ok()
}

/// Minutes from one of a robot's bouts to its next, by the calls still ahead.
fn gap(pit: &Pit, robot: RobotId, now: DateTime<Utc>) -> f64 {
    let calls: Vec<DateTime<Utc>> = pit
        .running_order()
        .iter()
        .filter(|bout| bout.call > now && bout.robots.contains(&Some(robot)))
        .map(|bout| bout.call)
        .collect();
    let shortest = calls
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).as_seconds_f64() / 60.0)
        .filter(|minutes| *minutes >= 1.0)
        .min_by(f64::total_cmp);
    shortest.unwrap_or(GAP_MIN)
}
