//! Packs, channels and feeds as an allocation goes along.

use super::charge_curve::CellOnCharge;
use super::charge_plan::{counted_from, margins};
use super::charge_resistance::{ASSUMED_KAPPA, ResistanceBasis};
use super::mains_load::{ASSUMED_EFFICIENCY, ASSUMED_POWER_FACTOR, PLANNED_SHARE};
use super::mains_profile::Profile;
use super::pack_allocation::{
    AllocationBout, AllocationPack, ChargeChannel, FeedPeak, MainsFeed, PackAllocationInput,
    by_name,
};
use super::serving::{Serving, ServingLimits, ServingPack};

/// Least current a charge is lowered to, as a multiple of the capacity. **Source** own policy.
const LOWERED_AT_LEAST_C: f64 = 0.2;

/// A pack between bouts.
#[derive(Debug, Clone)]
pub(super) struct YardPack<'a> {
    pub(super) told: &'a AllocationPack,
    pub(super) soc: f64,
    pub(super) released_min: f64,
    pub(super) cycles: f64,
    /// Full-current charge on each channel, once it has been asked for.
    charges: Vec<Option<PlannedCharge>>,
}

/// A channel and what stands on it.
#[derive(Debug)]
struct YardChannel<'a> {
    told: &'a ChargeChannel,
    feeds: Vec<usize>,
    /// Busy times in order.
    busy: Vec<(f64, f64)>,
}

/// A feed and what draws through it.
#[derive(Debug)]
struct YardFeed<'a> {
    told: &'a MainsFeed,
    profile: Profile,
}

/// A charge without its time of day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PlannedCharge {
    pub(super) charge_a: f64,
    pub(super) minutes: f64,
    pub(super) peak_w: f64,
    pub(super) end_soc: f64,
}

/// A charge at its time on its channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PlacedCharge {
    pub(super) channel: usize,
    pub(super) from_min: f64,
    pub(super) lowered: bool,
    pub(super) charge: PlannedCharge,
}

impl PlacedCharge {
    /// When the charge is done, min.
    pub(super) fn done_min(&self) -> f64 {
        self.from_min + self.charge.minutes
    }
}

/// What an allocation goes through.
#[derive(Debug)]
pub(super) struct Yard<'a> {
    pub(super) packs: Vec<YardPack<'a>>,
    channels: Vec<YardChannel<'a>>,
    feeds: Vec<YardFeed<'a>>,
    limits: &'a ServingLimits,
}

impl<'a> Yard<'a> {
    /// The yard before the first bout.
    pub(super) fn new(input: &'a PackAllocationInput) -> Self {
        let feeds = by_name(input.feeds.iter().map(|feed| feed.name.as_str()));
        Self {
            packs: input
                .packs
                .iter()
                .map(|told| YardPack {
                    told,
                    soc: told.soc_fraction,
                    released_min: told.released_min,
                    cycles: told.equivalent_full_cycles,
                    charges: vec![None; input.channels.len()],
                })
                .collect(),
            channels: input
                .channels
                .iter()
                .map(|told| YardChannel {
                    told,
                    feeds: told
                        .feeds
                        .iter()
                        .filter_map(|name| feeds.get(name.as_str()).copied())
                        .collect(),
                    busy: Vec::new(),
                })
                .collect(),
            feeds: input
                .feeds
                .iter()
                .map(|told| {
                    let mut profile = Profile::default();
                    for load in &told.loads {
                        profile.add(load.from_min, load.to_min, load.load_a);
                    }
                    YardFeed { told, profile }
                })
                .collect(),
            limits: &input.limits,
        }
    }

    /// Number of channels.
    pub(super) fn channels(&self) -> usize {
        self.channels.len()
    }

    /// Name of a channel.
    pub(super) fn channel_name(&self, channel: usize) -> &'a str {
        &self.channels[channel].told.name
    }

    /// Whether a pack serves a bout from a state of charge.
    pub(super) fn serves(&self, pack: usize, soc: f64, bout: &AllocationBout) -> bool {
        let told = self.packs[pack].told;
        let serving = Serving::of(
            &ServingPack {
                pack: told.pack,
                soc,
                lowest_soc: soc,
                lowest_rest_v: None,
                load_resistance_mohm: told.load_resistance_mohm.unwrap_or(told.cell_ir_mohm),
            },
            bout.used_ah,
            bout.peak_a,
        );
        !told.suspect && serving.holds(told.pack.chemistry, self.limits)
    }

    /// Charge of a pack on a channel at full current; none if the channel does not take it.
    pub(super) fn full_charge(&mut self, pack: usize, channel: usize) -> Option<PlannedCharge> {
        if let Some(known) = self.packs[pack].charges[channel] {
            return Some(known);
        }
        let told = self.channels[channel].told;
        let build = &self.packs[pack].told.pack;
        if told
            .most_series_cells
            .is_some_and(|most| build.series_cells > most)
        {
            return None;
        }
        let rate = self.packs[pack].told.most_charge_rate_c;
        let most_a = rate.map_or(f64::INFINITY, |rate| rate * build.capacity_ah());
        let planned = self.planned(pack, channel, told.charger_a.min(most_a));
        self.packs[pack].charges[channel] = Some(planned);
        Some(planned)
    }

    /// Charge of a pack on a channel at a current.
    fn planned(&self, pack: usize, channel: usize, charge_a: f64) -> PlannedCharge {
        let yard_pack = &self.packs[pack];
        let told = yard_pack.told;
        let build = &told.pack;
        let (mohm, basis) = told.charge_resistance_mohm.map_or(
            (ASSUMED_KAPPA * told.cell_ir_mohm, ResistanceBasis::Assumed),
            |mohm| (mohm, ResistanceBasis::Learned),
        );
        let charger_w = self.channels[channel].told.charger_w;
        let cell = CellOnCharge::of(build, mohm, charge_a, charger_w);
        let from = counted_from(build.chemistry, yard_pack.soc);
        let margin = margins(build.chemistry, basis).0;
        let full_w = charge_a * cell.hold_v * build.series();
        PlannedCharge {
            charge_a,
            minutes: margin * cell.seconds_to_taper(from, 0.1) / 60.0,
            peak_w: charger_w.map_or(full_w, |watts| watts.min(full_w)),
            end_soc: cell.soc_at_taper(0.1 * build.cell_capacity_ah).max(from),
        }
    }

    /// Earliest place of a charge on its channel, with or without regard to the mains.
    pub(super) fn earliest(
        &self,
        pack: usize,
        channel: usize,
        charge: PlannedCharge,
        mains: bool,
    ) -> Option<PlacedCharge> {
        let mut from_min = self.packs[pack].released_min;
        loop {
            let gap = self.gap(channel, from_min, charge.minutes);
            let mut start = gap;
            if mains {
                for &feed in &self.channels[channel].feeds {
                    let load_a = self.load_a(channel, feed, charge.peak_w);
                    let room = self.feeds[feed].planned_a() - load_a;
                    start =
                        self.feeds[feed]
                            .profile
                            .fits_from(start, charge.minutes, slack(room))?;
                }
            }
            if start <= gap {
                return Some(PlacedCharge {
                    channel,
                    from_min: start,
                    lowered: false,
                    charge,
                });
            }
            from_min = start;
        }
    }

    /// The charge at the largest current that fits the mains at the channel's first gap.
    ///
    /// A lower current takes longer and may meet more load, so the current is lowered until it fits
    /// the time it takes.
    pub(super) fn lowered(
        &self,
        pack: usize,
        channel: usize,
        full: PlannedCharge,
    ) -> Option<PlacedCharge> {
        let build = &self.packs[pack].told.pack;
        let full_v = build.chemistry.full_v() * build.series();
        let mut charge = full;
        loop {
            let from_min = self.gap(channel, self.packs[pack].released_min, charge.minutes);
            let to_min = from_min + charge.minutes;
            let room_w = self.channels[channel]
                .feeds
                .iter()
                .map(|&feed| self.room_w(channel, feed, from_min, to_min))
                .fold(f64::INFINITY, f64::min);
            if charge.peak_w <= room_w * (1.0 + 1e-9) {
                return Some(PlacedCharge {
                    channel,
                    from_min,
                    lowered: charge.charge_a < full.charge_a,
                    charge,
                });
            }
            let charge_a = room_w / full_v;
            if charge_a < LOWERED_AT_LEAST_C * build.capacity_ah() || charge_a >= charge.charge_a {
                return None;
            }
            charge = self.planned(pack, channel, charge_a);
        }
    }

    /// Puts a charge in its place.
    pub(super) fn put(&mut self, placed: &PlacedCharge) {
        let to_min = placed.done_min();
        for index in 0..self.channels[placed.channel].feeds.len() {
            let feed = self.channels[placed.channel].feeds[index];
            let load_a = self.load_a(placed.channel, feed, placed.charge.peak_w);
            self.feeds[feed]
                .profile
                .add(placed.from_min, to_min, load_a);
        }
        let busy = &mut self.channels[placed.channel].busy;
        let index = busy.partition_point(|&(from, _)| from < placed.from_min);
        busy.insert(index, (placed.from_min, to_min));
    }

    /// Takes a pack through its bout.
    pub(super) fn spend(&mut self, pack: usize, soc: f64, bout: &AllocationBout) {
        let yard_pack = &mut self.packs[pack];
        let spent = bout.used_ah / yard_pack.told.pack.capacity_ah();
        yard_pack.soc = (soc - spent).max(0.0);
        yard_pack.cycles += spent;
        yard_pack.released_min = bout.ends_min + bout.inspection_min + bout.cool_down_min;
        yard_pack.charges.fill(None);
    }

    /// Highest load of every feed.
    pub(super) fn feed_peaks(&self) -> Vec<FeedPeak> {
        self.feeds
            .iter()
            .map(|feed| FeedPeak {
                feed: feed.told.name.clone(),
                peak_a: feed.profile.peak().0 + feed.told.other_a,
                planned_a: feed.planned_a() + feed.told.other_a,
            })
            .collect()
    }

    /// First moment from which a channel is free for a length of time.
    fn gap(&self, channel: usize, earliest_min: f64, minutes: f64) -> f64 {
        let channel = &self.channels[channel];
        let mut from_min = earliest_min.max(channel.told.free_from_min);
        for &(begin, end) in &channel.busy {
            if from_min + minutes <= begin {
                break;
            }
            from_min = from_min.max(end);
        }
        from_min
    }

    /// Current that a power at a channel's output draws through a feed, A.
    fn load_a(&self, channel: usize, feed: usize, output_w: f64) -> f64 {
        output_w / self.watts_per_amp(channel, feed)
    }

    /// Output power of a channel for each ampere through a feed.
    fn watts_per_amp(&self, channel: usize, feed: usize) -> f64 {
        let told = self.channels[channel].told;
        told.efficiency.unwrap_or(ASSUMED_EFFICIENCY)
            * told.power_factor.unwrap_or(ASSUMED_POWER_FACTOR)
            * self.feeds[feed].told.volts_v
    }

    /// Output power that a feed still carries for a channel between two moments, W.
    fn room_w(&self, channel: usize, feed: usize, from_min: f64, to_min: f64) -> f64 {
        let drawn = self.feeds[feed].profile.peak_between(from_min, to_min);
        (self.feeds[feed].planned_a() - drawn).max(0.0) * self.watts_per_amp(channel, feed)
    }
}

impl YardFeed<'_> {
    /// Current left to plan with beside everything else on the feed, A.
    fn planned_a(&self) -> f64 {
        let share = self.told.planned_share.unwrap_or(PLANNED_SHARE);
        share * self.told.rating_a - self.told.other_a
    }
}

/// Room for a load, where rounding must not turn "just fits" into "does not fit".
fn slack(room_a: f64) -> f64 {
    if room_a > -1e-9 {
        room_a.max(0.0)
    } else {
        room_a
    }
}
