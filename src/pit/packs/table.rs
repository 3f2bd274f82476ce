//! The charging table of a team: what is on which channel, what goes on next and for which bout,
//! and what the mains carry.

mod ask;
mod mains;
mod share_out;

pub use mains::{MainsCurve, MainsNow};

use super::{PackNow, Packs};
use crate::calc::battery::LateCause;
use crate::pit::ids::{BoutId, ChannelId, PackId, RobotId, SetId, TeamId};
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};

/// A charge that runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Running {
    /// What.
    pub pack: PackId,
    /// As part of which set.
    pub set: Option<SetId>,
    /// Since when.
    pub since: DateTime<Utc>,
    /// When it is over, with its margin.
    pub until: DateTime<Utc>,
}

/// A channel as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChannelNow {
    /// Which.
    pub id: ChannelId,
    /// What runs on it; packs of one set may share a channel.
    pub running: Vec<Running>,
}

/// A charge that is to begin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToCharge {
    /// What.
    pub pack: PackId,
    /// On which channel.
    pub channel: ChannelId,
    /// For which bout.
    pub bout: BoutId,
    /// From when.
    pub from: DateTime<Utc>,
    /// Until when, with its margin.
    pub to: DateTime<Utc>,
    /// Current to set. **Units** A.
    pub amps: f64,
    /// The current is below what channel and pack allow, for the mains' sake.
    pub lowered: bool,
}

/// Packs for a bout of one of the team's robots.
#[derive(Debug, Clone, PartialEq)]
pub struct BoutPacks {
    /// Which.
    pub bout: BoutId,
    /// Its number.
    pub number: i32,
    /// The robot.
    pub robot: RobotId,
    /// Its call.
    pub call: DateTime<Utc>,
    /// The set for it; none if it has none that can serve.
    pub set: Option<SetId>,
    /// When the last of its packs can be fitted.
    pub ready_at: Option<DateTime<Utc>>,
    /// It waits for a charge.
    pub charges: bool,
    /// Time to spare before fitting must begin; negative is late.
    pub slack: Option<TimeDelta>,
    /// Why it is late.
    pub late: Option<LateCause>,
}

/// The charging table of a team.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Its channels in use, by label.
    pub channels: Vec<ChannelNow>,
    /// Charges to come, by their beginning.
    pub to_charge: Vec<ToCharge>,
    /// Bouts to come, by call.
    pub bouts: Vec<BoutPacks>,
    /// Circuits, leads and generators its channels draw through.
    pub mains: Vec<MainsNow>,
    /// Why nothing can be shared out.
    pub faults: Vec<String>,
}

impl Table {
    /// The table of `team` at `now`.
    ///
    /// **Assumptions** bouts take place at their calls; packs that run stay on their channels until
    /// their time is over; other teams' charges draw on, those to come are not known here.
    pub fn of(pit: &Pit, team: TeamId, now: DateTime<Utc>) -> Self {
        let packs = Packs::of(pit, team, now);
        let channels = channels(pit, team, &packs);
        let ask = ask::Ask::of(pit, team, &packs, &channels, now);
        let (bouts, to_charge, faults) = share_out::share_out(&ask);
        let mains = mains::mains(pit, team, &channels, &to_charge, now);
        Self {
            channels,
            to_charge,
            bouts,
            mains,
            faults,
        }
    }
}

/// The channels of a team with what runs on them, by label.
fn channels(pit: &Pit, team: TeamId, packs: &Packs) -> Vec<ChannelNow> {
    let mut channels: Vec<(&str, ChannelNow)> = pit
        .channels
        .iter()
        .filter(|(_, channel)| channel.body.team == team && !channel.body.retired)
        .map(|(id, channel)| {
            let running = packs
                .packs
                .iter()
                .filter_map(|(pack, now)| running(pit, *pack, now, *id))
                .collect();
            (channel.body.label.as_str(), ChannelNow { id: *id, running })
        })
        .collect();
    channels.sort_by(|a, b| a.0.cmp(b.0).then(a.1.id.cmp(&b.1.id)));
    channels.into_iter().map(|(_, channel)| channel).collect()
}

/// What a pack does on a channel: packs of a set are taken to be on its channels in turn.
fn running(pit: &Pit, id: PackId, pack: &PackNow, channel: ChannelId) -> Option<Running> {
    let charge = pack.story.charge.as_ref()?;
    let place = charge
        .set
        .and_then(|set| pit.sets.get(&set))
        .and_then(|set| set.body.packs.iter().position(|other| *other == id))
        .unwrap_or(0);
    let own = charge
        .channels
        .get(place % charge.channels.len().max(1))
        .copied()?;
    (own == channel).then_some(Running {
        pack: id,
        set: charge.set,
        since: charge.since,
        until: pack.ready_at?,
    })
}
