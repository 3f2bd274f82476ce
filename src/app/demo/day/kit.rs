//! Everything that exists on a day, with its id.

use crate::pit::ids::{BottleId, BoutId, ChannelId, PackId, PersonId, RobotId, SetId, TeamId};
use crate::pit::logbook::register;

/// A team and what it owns.
#[derive(Clone)]
pub struct TeamKit {
    /// The team.
    pub id: TeamId,
    /// Its people; the first leads.
    pub people: Vec<PersonId>,
    /// Its charger channels.
    pub channels: Vec<ChannelId>,
}

/// A robot and what it carries.
#[derive(Clone)]
pub struct RobotKit {
    /// The robot.
    pub id: RobotId,
    /// What it is.
    pub machine: register::Machine,
    /// Place of its team in the kit.
    pub team: usize,
    /// Its sets, each with its packs.
    pub sets: Vec<(SetId, Vec<PackId>)>,
    /// Its bottles.
    pub bottles: Vec<BottleId>,
}

/// Everything that exists on a day.
#[derive(Clone)]
pub struct Kit {
    /// Makes the ids of one day differ from another's.
    pub salt: u32,
    /// The organiser.
    pub organiser: PersonId,
    /// Marshals.
    pub marshals: Vec<PersonId>,
    /// Officials at the stations.
    pub officials: Vec<PersonId>,
    /// Teams.
    pub teams: Vec<TeamKit>,
    /// Robots.
    pub robots: Vec<RobotKit>,
    /// Bouts in running order.
    pub bouts: Vec<(BoutId, register::Bout)>,
}
