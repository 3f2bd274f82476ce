//! Whether another set of packs is ready, so that no charge stands in the way of this bout.

use super::hand::Hand;
use crate::pit::ids::{RobotId, SetId};
use crate::pit::library::tasks::List;
use crate::pit::logbook::things::{ChargeState, Looks, ThingPlace};
use crate::pit::logbook::{Body, Line};
use crate::pit::state::{Pit, RobotFile};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Cells at or above this are taken for charged when somebody keyed them in.
///
/// **Units** millivolts. **Source** own starting value: below the full charge of the chemistries
/// used (3.60 V resting for iron phosphate, 4.15 to 4.20 V for the others).
const CHARGED_LIPO_MV: i32 = 4_100;
const CHARGED_LFP_MV: i32 = 3_350;

#[derive(Debug, Default, Clone, Copy)]
struct Word {
    /// Charged since it was last in a bout; `None` if nobody said anything.
    charged: Option<bool>,
    aside: bool,
    in_machine: Option<RobotId>,
}

/// Whether a charged set other than the one that came out is ready for `robot`.
///
/// A set nobody said anything about counts as charged between bouts, as teams bring a second one
/// for that, but not on arrival. Where no sets are registered nothing is known, and the charge does
/// not stand in the way.
pub fn another_set_ready(pit: &Pit, robot: RobotId, file: &RobotFile, hand: &Hand) -> bool {
    let team = file.register.body.team;
    let sets: Vec<SetId> = pit
        .sets
        .iter()
        .filter(|(_, set)| {
            set.body.team == team
                && !set.body.retired
                && set.body.robot.is_none_or(|only| only == robot)
        })
        .map(|(id, _)| *id)
        .collect();
    if sets.is_empty() {
        return true;
    }
    let words = words(pit, file);
    let came_out = file
        .state
        .fitted_set
        .filter(|_| hand.list == List::Turnaround);
    let unknown_out = hand.list == List::Turnaround && came_out.is_none();
    let ready = sets
        .iter()
        .filter(|set| Some(**set) != came_out || charged(&words, **set) == Some(true))
        .filter(|set| {
            let word = words.get(set).copied().unwrap_or_default();
            let elsewhere = word.in_machine.is_some_and(|other| other != robot);
            !word.aside && !elsewhere
        })
        .filter(|set| charged(&words, **set).unwrap_or(hand.list != List::Arrival))
        .count();
    // Nobody said which set was in: it is one of those that look ready.
    ready > usize::from(unknown_out)
}

fn charged(words: &BTreeMap<SetId, Word>, set: SetId) -> Option<bool> {
    words.get(&set).and_then(|word| word.charged)
}

fn words(pit: &Pit, file: &RobotFile) -> BTreeMap<SetId, Word> {
    let mut lines: Vec<(RobotId, &Arc<Line>)> = pit
        .robots_of(file.register.body.team)
        .flat_map(|(robot, file)| file.lines.iter().map(move |line| (robot, line)))
        .filter(|(_, line)| {
            matches!(
                line.body,
                Body::Pack(_) | Body::Charge(_) | Body::BoutEnded(_)
            )
        })
        .collect();
    lines.sort_by_key(|(_, line)| (line.at, line.id));
    let mut words: BTreeMap<SetId, Word> = BTreeMap::new();
    for (robot, line) in lines {
        match &line.body {
            Body::Pack(pack) => {
                let Some(set) = pack.set else { continue };
                let cells_full = pack
                    .cells_mv
                    .as_ref()
                    .map(|cells| cells.iter().all(|cell| cell.get() >= full(pit, set)));
                let word = words.entry(set).or_default();
                match pack.place {
                    Some(ThingPlace::Machine) => word.in_machine = Some(robot),
                    Some(_) => word.in_machine = None,
                    None => {}
                }
                if pack.place.is_some() || pack.looks.is_some() {
                    word.aside = pack.place == Some(ThingPlace::Quarantine)
                        || pack.looks.is_some_and(|looks| looks != Looks::Fine);
                }
                if pack.matched == Some(true) {
                    word.charged = Some(true);
                }
                word.charged = cells_full.or(word.charged);
            }
            Body::Charge(charge) => {
                let Some(set) = charge.set else { continue };
                match charge.state {
                    Some(ChargeState::Started) => {
                        words.entry(set).or_default().charged = Some(false)
                    }
                    Some(ChargeState::Ended) => words.entry(set).or_default().charged = Some(true),
                    // What goes on after a cut is not known: neither charged nor not.
                    Some(ChargeState::Interrupted) | None => {}
                }
            }
            _ => {
                for word in words.values_mut().filter(|w| w.in_machine == Some(robot)) {
                    word.charged = Some(false);
                }
            }
        }
    }
    words
}

fn full(pit: &Pit, set: SetId) -> i32 {
    let lfp = pit
        .sets
        .get(&set)
        .and_then(|set| set.body.packs.first())
        .and_then(|pack| pit.packs.get(pack))
        .is_some_and(|pack| pack.body.chemistry == crate::pit::logbook::register::Chemistry::Lfp);
    if lfp { CHARGED_LFP_MV } else { CHARGED_LIPO_MV }
}
