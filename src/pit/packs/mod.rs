//! Packs and sets of a team as they stand: charge, health, quarantine, and when they are ready.
//!
//! Everything here is read from the lines; the numbers come from `calc::battery`.

mod build;
mod health;
mod matching;
mod set;
mod storage;
mod story;
pub mod table;

pub use health::{Condition, condition};
pub use matching::Matching;
pub use set::{Arithmetic, SetNow};
pub use storage::storage;
pub use story::{OnCharge, Place, ReadBack, Reading, SocBasis, Story, Suspect, stories};

use set::unusable;

use crate::calc::battery::{CoolDownInput, CoolingReading, SocInterval, cool_down};
use crate::pit::ids::{ChannelId, PackId, RobotId, SetId, TeamId};
use crate::pit::logbook::register;
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// Air of a hall that nobody measured.
///
/// **Units** degC. **Source** own starting value, on the warm side.
const HALL_C: f64 = 25.0;

/// A pack as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct PackNow {
    /// What it is.
    pub body: register::Pack,
    /// What its lines say.
    pub story: Story,
    /// How healthy it is, and why.
    pub condition: Condition,
    /// How it cools, if it was measured warm.
    pub cooling: Option<Cooling>,
    /// When the charge it is on is likely to be over, with its margin.
    pub ready_at: Option<DateTime<Utc>>,
}

/// A pack that was measured warmer than a charge may start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    /// What was measured last. **Units** degC.
    pub measured_c: f64,
    /// When.
    pub at: DateTime<Utc>,
    /// When a charge may start; none if the air is too warm ever to come there.
    pub cool_at: Option<DateTime<Utc>>,
}

/// Every pack and set of a team.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Packs {
    /// Packs still in use, and those that were retired while on charge or suspect.
    pub packs: BTreeMap<PackId, PackNow>,
    /// Sets still in use.
    pub sets: BTreeMap<SetId, SetNow>,
}

impl Packs {
    /// The packs of `team` at `now`.
    pub fn of(pit: &Pit, team: TeamId, now: DateTime<Utc>) -> Self {
        let stories = stories(pit, team);
        let packs: BTreeMap<PackId, PackNow> = stories
            .into_iter()
            .filter_map(|(id, story)| {
                let body = pit.packs.get(&id)?.body.clone();
                let matters = story.charge.is_some() || story.suspect.is_some();
                (!body.retired || matters).then(|| (id, PackNow::of(body, story, now)))
            })
            .collect();
        let sets = pit
            .sets
            .iter()
            .filter(|(_, set)| set.body.team == team && !set.body.retired)
            .map(|(id, set)| (*id, SetNow::of(pit, &set.body, &packs)))
            .collect();
        Self { packs, sets }
    }

    /// When the charging table has a set for each robot that waits for one, of the sets on charge.
    pub fn ready(&self, pit: &Pit, now: DateTime<Utc>) -> BTreeMap<RobotId, DateTime<Utc>> {
        let mut ready = BTreeMap::new();
        for set in self.sets.values() {
            let Some(at) = set.ready_at.filter(|_| !set.suspect) else {
                continue;
            };
            let robots: Vec<RobotId> = match set.body.robot {
                Some(robot) => vec![robot],
                None => pit.robots_of(set.body.team).map(|(id, _)| id).collect(),
            };
            for robot in robots {
                let at = at.max(now);
                let earliest = ready.entry(robot).or_insert(at);
                *earliest = at.min(*earliest);
            }
        }
        ready
    }
}

impl PackNow {
    /// The pack `id` at `now`, retired or not.
    pub fn at(pit: &Pit, id: PackId, now: DateTime<Utc>) -> Option<Self> {
        let body = pit.packs.get(&id)?.body.clone();
        let story = stories(pit, body.team).remove(&id)?;
        Some(Self::of(body, story, now))
    }

    fn of(body: register::Pack, story: Story, now: DateTime<Utc>) -> Self {
        let ready_at = story
            .charge
            .as_ref()
            .map(|charge| charge.since + minutes(charge.ready_min));
        Self {
            condition: condition(&body, &story),
            cooling: cooling(&story, now),
            ready_at,
            body,
            story,
        }
    }

    /// What it holds, as far as the lines tell.
    pub fn soc(&self) -> Option<SocInterval> {
        self.story.soc.map(|(soc, _)| soc)
    }
}

/// Channels of its team that a set may go on now: nothing is on them and they take its cells. One for
/// each of its packs, as far as there are, by label.
pub fn free_channels(pit: &Pit, set: SetId) -> Vec<ChannelId> {
    let Some(set) = pit.sets.get(&set).map(|known| &known.body) else {
        return Vec::new();
    };
    let stories = stories(pit, set.team);
    let used: BTreeSet<ChannelId> = stories
        .values()
        .filter_map(|story| story.charge.as_ref())
        .flat_map(|charge| charge.channels.iter().copied())
        .collect();
    let own = set.packs.iter().filter_map(|id| pit.packs.get(id));
    let cells = own.map(|pack| pack.body.cells).max();
    let mut free: Vec<(&str, ChannelId)> = pit
        .channels
        .iter()
        .filter(|(id, _)| !used.contains(id))
        .filter(|(_, channel)| channel.body.team == set.team && !channel.body.retired)
        .filter(|(_, channel)| {
            channel
                .body
                .most_cells
                .is_none_or(|most| cells <= Some(most))
        })
        .map(|(id, channel)| (channel.body.label.as_str(), *id))
        .collect();
    free.sort_unstable();
    free.truncate(set.packs.len());
    free.into_iter().map(|(_, id)| id).collect()
}

/// How a pack cools that was measured warm and has not been in a bout since.
fn cooling(story: &Story, now: DateTime<Utc>) -> Option<Cooling> {
    let (at, measured_c) = *story.warm.last()?;
    let first = story.warm.first()?.0;
    let readings = story
        .warm
        .iter()
        .map(|(at, pack_c)| CoolingReading {
            at_min: (*at - first).as_seconds_f64() / 60.0,
            pack_c: *pack_c,
        })
        .collect();
    let input = |readings| CoolDownInput {
        pack_c: measured_c,
        ambient_c: HALL_C,
        target_c: None,
        tau_min: None,
        readings,
    };
    // Readings that do not cool teach nothing: then the general estimate counts.
    let output = cool_down(&input(readings))
        .or_else(|_| cool_down(&input(Vec::new())))
        .ok()?;
    let cool_at = output.wait_min.map(|wait| at + minutes(wait));
    cool_at.is_none_or(|cool| cool > now).then_some(Cooling {
        measured_c,
        at,
        cool_at,
    })
}

/// A span of so many minutes, to the second.
#[expect(
    clippy::cast_possible_truncation,
    reason = "minutes of a day, bounded by the calculators"
)]
fn minutes(minutes: f64) -> TimeDelta {
    TimeDelta::seconds((minutes.clamp(0.0, 20_000.0) * 60.0).round() as i64)
}

#[cfg(test)]
mod tests;
