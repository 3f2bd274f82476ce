//! Whether another set of packs is ready, so that no charge stands in the way of this bout.

use super::hand::Hand;
use crate::pit::ids::{RobotId, SetId};
use crate::pit::library::tasks::List;
use crate::pit::logbook::register::Set;
use crate::pit::logbook::things::ThingPlace;
use crate::pit::packs::{Story, stories};
use crate::pit::state::{Pit, RobotFile};

/// Whether a charged set other than the one that came out is ready for `robot`.
///
/// A set nobody said anything about counts as charged between bouts, as teams bring a second one
/// for that, but not on arrival. Where no sets are registered nothing is known, and the charge does
/// not stand in the way.
pub fn another_set_ready(pit: &Pit, robot: RobotId, file: &RobotFile, hand: &Hand) -> bool {
    let team = file.register.body.team;
    let sets: Vec<(SetId, &Set)> = pit
        .sets
        .iter()
        .filter(|(_, set)| {
            set.body.team == team
                && !set.body.retired
                && set.body.robot.is_none_or(|only| only == robot)
        })
        .map(|(id, set)| (*id, &set.body))
        .collect();
    if sets.is_empty() {
        return true;
    }
    let stories = stories(pit, team);
    let came_out = file
        .state
        .fitted_set
        .filter(|_| hand.list == List::Turnaround);
    let unknown_out = hand.list == List::Turnaround && came_out.is_none();
    let ready = sets
        .iter()
        .filter(|(id, set)| {
            let own: Vec<&Story> = set.packs.iter().filter_map(|id| stories.get(id)).collect();
            let unsaid = Some(*id) != came_out && hand.list != List::Arrival;
            own.iter().all(|story| at_hand(story, robot)) && charged(&own).unwrap_or(unsaid)
        })
        .count();
    // Nobody said which set was in: it is one of those that look ready.
    ready > usize::from(unknown_out)
}

/// Whether a pack may go into `robot`: good, not set aside, and not in another machine.
fn at_hand(story: &Story, robot: RobotId) -> bool {
    let place_allows = story.place.is_none_or(|is| match is.place {
        ThingPlace::Machine => is.robot == robot,
        place => place != ThingPlace::Quarantine,
    });
    story.suspect.is_none() && place_allows
}

/// Whether the packs of a set are charged, as far as anybody said so of each.
fn charged(own: &[&Story]) -> Option<bool> {
    if own.iter().any(|story| story.said_charged == Some(false)) {
        return Some(false);
    }
    let all = !own.is_empty() && own.iter().all(|story| story.said_charged.is_some());
    all.then_some(true)
}
