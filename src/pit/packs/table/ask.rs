//! What the calculator is asked: packs, channels, feeds and bouts of a team.

use super::ChannelNow;
use super::mains::{feeds, way};
use crate::calc::battery::{
    AllocationBout, AllocationPack, ChargeChannel, MainsFeed, ServingLimits,
};
use crate::pit::ids::{BoutId, PackId, RobotId, SetId, TeamId};
use crate::pit::packs::build::{UNKNOWN_START, build, capacity_ah, most_rate};
use crate::pit::packs::set::{mohm, peak_a, unusable, usable_set, used_ah};
use crate::pit::packs::story::CHARGED;
use crate::pit::packs::{PackNow, Packs, SetNow};
use crate::pit::settings::Settings;
use crate::pit::state::Pit;
use crate::pit::state::running_order::Progress;
use chrono::{DateTime, TimeDelta, Utc};

/// Time to fit a set before its call. **Units** min. **Source** own starting value.
const FITTING_MIN: f64 = 5.0;

/// From the end of a bout until its packs are out and looked at. **Units** min. **Source** own
/// starting value: made safe, carried back, opened.
const INSPECTION_MIN: f64 = 10.0;

/// From then until they are cool enough to charge. **Units** min. **Source** from 45 to 35 degC in air
/// of 25 degC with the general time constant of 30 min: 30 ln 2 = 20.8.
const COOL_DOWN_MIN: f64 = 21.0;

/// Bouts looked ahead. **Source** own value: nobody plans charges for the day after tomorrow.
const BOUTS_AHEAD: usize = 10;

/// A bout of a robot with the sets that may go into it.
pub(super) struct Wanted {
    pub bout: BoutId,
    pub number: i32,
    pub robot: RobotId,
    pub call: DateTime<Utc>,
    ends_min: f64,
    /// Each set with what it is asked for.
    pub sets: Vec<(SetId, AllocationBout)>,
}

/// Everything the calculator has to know.
pub(super) struct Ask {
    pub now: DateTime<Utc>,
    pub packs: Vec<AllocationPack>,
    pub channels: Vec<ChargeChannel>,
    pub feeds: Vec<MainsFeed>,
    pub bouts: Vec<Wanted>,
    pub limits: ServingLimits,
}

impl Ask {
    pub fn of(
        pit: &Pit,
        team: TeamId,
        packs: &Packs,
        channels: &[ChannelNow],
        now: DateTime<Utc>,
    ) -> Self {
        Self {
            now,
            packs: packs
                .packs
                .iter()
                .map(|(id, pack)| asked(pit, *id, pack, now))
                .collect(),
            channels: channels
                .iter()
                .filter_map(|channel| channel_of(pit, channel, now))
                .collect(),
            feeds: feeds(pit, channels, team, now),
            bouts: bouts(pit, team, packs, now),
            limits: ServingLimits::default(),
        }
    }
}

/// Minutes from `now` till `at`, at least nothing.
pub(super) fn till(at: DateTime<Utc>, now: DateTime<Utc>) -> f64 {
    ((at - now).as_seconds_f64() / 60.0).clamp(0.0, 20_000.0)
}

fn asked(pit: &Pit, id: PackId, pack: &PackNow, now: DateTime<Utc>) -> AllocationPack {
    let story = &pack.story;
    let running = story
        .charge
        .as_ref()
        .filter(|charge| charge.interrupted.is_none());
    let cool = pack.cooling.map_or(now, |cooling| {
        cooling.cool_at.unwrap_or(now + TimeDelta::minutes(20_000))
    });
    let mut soc = pack.soc().map_or(UNKNOWN_START, |soc| soc.low_fraction);
    let mut released = till(cool, now);
    if running.is_some() {
        soc = CHARGED.low_fraction;
        released = pack.ready_at.map_or(0.0, |at| till(at, now));
    }
    // What fights now comes back used and warm.
    let fighting = story.place.is_some_and(|is| {
        story.is_in(is.robot)
            && pit
                .robot(is.robot)
                .is_some_and(|file| file.state.in_bout.is_some())
    });
    if fighting {
        soc = (soc - used_ah(pit, story.robot, pack) / capacity_ah(&pack.body)).max(0.0);
        let bout_min = f64::from(pit.settings().bout_min.get());
        released = bout_min + INSPECTION_MIN + COOL_DOWN_MIN;
    }
    AllocationPack {
        name: id.to_string(),
        pack: build(&pack.body),
        cell_ir_mohm: mohm(pack),
        charge_resistance_mohm: None,
        load_resistance_mohm: None,
        soc_fraction: soc.clamp(0.0, 1.0),
        released_min: released,
        equivalent_full_cycles: pack.condition.full_cycles.clamp(0.0, 10_000.0),
        most_charge_rate_c: Some(most_rate(&pack.body)),
        suspect: unusable(pack),
    }
}

fn channel_of(pit: &Pit, channel: &ChannelNow, now: DateTime<Utc>) -> Option<ChargeChannel> {
    let body = &pit.channels.get(&channel.id)?.body;
    let charger = body
        .charger
        .and_then(|id| pit.chargers.get(&id))
        .map(|charger| &charger.body);
    let way = way(pit, body);
    Some(ChargeChannel {
        name: channel.id.to_string(),
        charger_a: (f64::from(body.max_current_ma.get()) / 1000.0).clamp(0.05, 200.0),
        charger_w: Some(f64::from(body.max_power_w.get()).clamp(1.0, 10_000.0)),
        most_series_cells: body
            .most_cells
            .and_then(|cells| u32::try_from(cells.get()).ok())
            .map(|cells| cells.clamp(1, 24)),
        free_from_min: channel
            .running
            .iter()
            .map(|running| till(running.until, now))
            .fold(0.0, f64::max),
        feeds: way.feeds,
        efficiency: charger.and_then(super::mains::efficiency),
        power_factor: charger.map(super::mains::power_factor),
    })
}

/// The bouts of the team's robots that are certain, each with the sets that may serve.
fn bouts(pit: &Pit, team: TeamId, packs: &Packs, now: DateTime<Utc>) -> Vec<Wanted> {
    let settings = pit.settings();
    let mut wanted: Vec<Wanted> = Vec::new();
    for bout in pit.running_order() {
        if bout.progress != Progress::Waiting {
            continue;
        }
        for robot in bout.robots.into_iter().flatten() {
            let own = pit
                .robot(robot)
                .is_some_and(|file| file.register.body.team == team);
            if !own {
                continue;
            }
            let first = !wanted.iter().any(|other| other.robot == robot);
            let ends_min = till(bout.call, now) + length_min(settings);
            let sets = candidates(pit, packs, robot, first)
                .into_iter()
                .map(|(id, set)| {
                    let name = format!("{}:{robot}", bout.id);
                    let call_min = till(bout.call, now);
                    (id, for_set(pit, packs, set, name, (call_min, ends_min)))
                })
                .collect();
            wanted.push(Wanted {
                bout: bout.id,
                number: bout.number,
                robot,
                call: bout.call,
                ends_min,
                sets,
            });
        }
        if wanted.len() >= BOUTS_AHEAD {
            break;
        }
    }
    wanted.sort_by(|a, b| a.call.cmp(&b.call).then(a.ends_min.total_cmp(&b.ends_min)));
    wanted
}

/// From the call until a bout is over. **Units** min.
fn length_min(settings: &Settings) -> f64 {
    f64::from(settings.staging_min.get() + settings.bout_min.get())
}

/// The sets that may serve a bout of `robot`. What stands charged in the machine stays in it for its
/// next bout.
fn candidates<'a>(
    pit: &Pit,
    packs: &'a Packs,
    robot: RobotId,
    first: bool,
) -> Vec<(SetId, &'a SetNow)> {
    let sets = packs.sets.iter().map(|(id, set)| (*id, set));
    let fit: Vec<(SetId, &SetNow)> = sets
        .filter(|(_, set)| set.body.robot.is_none_or(|only| only == robot))
        .filter(|(_, set)| usable_set(set, &packs.packs))
        .collect();
    let fitted = |set: &SetNow| {
        set.body.packs.iter().all(|id| {
            packs.packs.get(id).is_some_and(|pack| {
                pack.story.is_in(robot) && pack.story.said_charged == Some(true)
            })
        })
    };
    let fighting = pit
        .robot(robot)
        .is_some_and(|file| file.state.in_bout.is_some());
    let in_it = fit.iter().find(|(_, set)| fitted(set)).copied();
    match in_it {
        Some(set) if first && !fighting => vec![set],
        _ => fit,
    }
}

fn for_set(
    pit: &Pit,
    packs: &Packs,
    set: &SetNow,
    name: String,
    (call_min, ends_min): (f64, f64),
) -> AllocationBout {
    let own = set.body.packs.iter().filter_map(|id| packs.packs.get(id));
    let used = own
        .map(|pack| used_ah(pit, set.robot, pack))
        .fold(0.0, f64::max);
    AllocationBout {
        name,
        call_min,
        fitting_min: FITTING_MIN,
        ends_min,
        inspection_min: INSPECTION_MIN,
        cool_down_min: COOL_DOWN_MIN,
        packs: set.body.packs.iter().map(ToString::to_string).collect(),
        packs_needed: u32::try_from(set.body.packs.len()).unwrap_or(1),
        used_ah: used.clamp(0.0, 500.0),
        peak_a: peak_a(pit, set.robot).clamp(0.0, 3000.0),
    }
}
