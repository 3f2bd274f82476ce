//! A set: packs that are used together, and whether they serve the next bout.

use super::build::{build, capacity_ah, cell_mohm};
use super::story::{ASSUMED_USE, SocBasis};
use super::{Matching, PackNow};
use crate::calc::battery::{
    HealthVerdict, NextBoutInput, PackSetInput, PackSetOutput, RatedPart, ServingLimits,
    ServingVerdict, SetPack, SocInterval, WiredPack, next_bout, pack_set,
};
use crate::calc::units::Voltage;
use crate::pit::ids::{PackId, RobotId};
use crate::pit::logbook::register;
use crate::pit::packs::story::{OnCharge, Story};
use crate::pit::state::Pit;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Highest current of a pack where nothing is known, as a multiple of its capacity. **Source** own
/// value.
const ASSUMED_PEAK_C: f64 = 20.0;

/// What the packs of a set give together, or why that cannot be said.
pub type Arithmetic = Result<PackSetOutput, Vec<String>>;

/// A set as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct SetNow {
    /// What it is.
    pub body: register::Set,
    /// Whether it serves the next bout.
    pub serves: ServingVerdict,
    /// Why not, or why that is unproved, each with the pack it is about if it is about one.
    pub reasons: Vec<String>,
    /// What its packs give together.
    pub arithmetic: Arithmetic,
    /// The robot it is for: as registered, else the one it was last reported with.
    pub robot: Option<RobotId>,
    /// How its packs compare.
    pub matching: Matching,
    /// How its packs are wired: string by string. One string where nobody said.
    pub strings: Vec<Vec<PackId>>,
    /// When the last of its packs on charge is ready; none if none of them is on charge.
    pub ready_at: Option<DateTime<Utc>>,
    /// One of its packs is suspect or unhealthy.
    pub suspect: bool,
}

impl SetNow {
    pub(super) fn of(pit: &Pit, body: &register::Set, packs: &BTreeMap<PackId, PackNow>) -> Self {
        let own: Vec<&PackNow> = body.packs.iter().filter_map(|id| packs.get(id)).collect();
        let robot = robot_of(body, &own);
        let electrics = electrics(pit, robot);
        let wired = strings(body, &own);
        let suspect = own.iter().any(|pack| unusable(pack));
        let (serves, reasons) = serving(&wired, electrics, suspect);
        Self {
            serves,
            reasons,
            arithmetic: arithmetic(&wired, electrics),
            matching: Matching::of(
                &own.iter()
                    .map(|pack| (&pack.body, &pack.story))
                    .collect::<Vec<_>>(),
            ),
            strings: strings(
                body,
                &body
                    .packs
                    .iter()
                    .copied()
                    .filter(|id| packs.contains_key(id))
                    .collect::<Vec<_>>(),
            ),
            ready_at: own.iter().filter_map(|pack| pack.ready_at).max(),
            suspect,
            robot,
            body: body.clone(),
        }
    }

    /// What the emptiest of its packs holds; none unless that is known of each.
    pub fn holds(&self, packs: &BTreeMap<PackId, PackNow>) -> Option<SocInterval> {
        let each: Option<Vec<SocInterval>> = self
            .body
            .packs
            .iter()
            .map(|id| packs.get(id).and_then(PackNow::soc))
            .collect();
        each?
            .into_iter()
            .min_by(|a, b| a.low_fraction.total_cmp(&b.low_fraction))
    }

    /// The charge it is on, by the first of its packs on charge.
    pub fn charge<'a>(&self, packs: &'a BTreeMap<PackId, PackNow>) -> Option<&'a OnCharge> {
        self.body
            .packs
            .iter()
            .filter_map(|id| packs.get(id))
            .find_map(|pack| pack.story.charge.as_ref())
    }
}

/// Whether a pack is out of use whatever it holds.
pub(super) fn unusable(pack: &PackNow) -> bool {
    pack.story.suspect.is_some()
        || pack.body.retired
        || pack.condition.verdict >= HealthVerdict::Hold
}

/// The robot a set is for: as registered, else the one it was last reported with.
fn robot_of(body: &register::Set, own: &[&PackNow]) -> Option<RobotId> {
    let last = own.iter().filter_map(|pack| pack.story.place);
    body.robot.or_else(|| {
        last.max_by_key(|place| place.since)
            .map(|place| place.robot)
    })
}

/// The packs string by string; in one string where nobody said, which asks most of each.
fn strings<T: Clone>(body: &register::Set, own: &[T]) -> Vec<Vec<T>> {
    let strings = body.strings.map_or(1, |strings| {
        usize::try_from(strings.get()).unwrap_or(1).max(1)
    });
    let each = own.len().div_ceil(strings).max(1);
    own.chunks(each).map(<[_]>::to_vec).collect()
}

/// Whether a set may be charged and used: each of its packs is known, and none is out of use.
pub(super) fn usable_set(set: &SetNow, packs: &BTreeMap<PackId, PackNow>) -> bool {
    !set.suspect
        && !set.body.packs.is_empty()
        && set.body.packs.iter().all(|id| packs.contains_key(id))
}

/// What a robot's packs feed, and what it takes of them.
fn electrics(pit: &Pit, robot: Option<RobotId>) -> Option<&register::Electrics> {
    let file = pit.robot(robot?)?;
    file.register.body.electrics.as_ref()
}

/// Charge a bout of `robot` takes from a pack: the most its charger counted, else as the team expects
/// it, else half its capacity. **Units** Ah.
pub(super) fn used_ah(pit: &Pit, robot: Option<RobotId>, pack: &PackNow) -> f64 {
    let counted = pack.story.counted_bouts_ah.iter().copied().reduce(f64::max);
    let expected = electrics(pit, robot)
        .and_then(|electrics| electrics.bout_charge_mah)
        .map(|mah| f64::from(mah.get()) / 1000.0);
    counted
        .or(expected)
        .unwrap_or(ASSUMED_USE * capacity_ah(&pack.body))
}

/// Highest current a bout of `robot` asks of a pack, nothing where its team named none: charges are
/// then shared out by what is in the packs alone, and the set's own page says what is assumed.
/// **Units** A.
pub(super) fn peak_a(pit: &Pit, robot: Option<RobotId>) -> f64 {
    electrics(pit, robot)
        .and_then(|electrics| electrics.peak_current_ma)
        .map_or(0.0, |ma| f64::from(ma.get()) / 1000.0)
}

/// Resistance of a cell: as read last, as registered, or the general estimate. **Units** mohm.
pub(super) fn mohm(pack: &PackNow) -> f64 {
    cell_mohm(&pack.body, last_mohm(&pack.story))
}

fn last_mohm(story: &Story) -> Option<f64> {
    story.resistances.last().map(|reading| reading.mohm)
}

fn serving(
    strings: &[Vec<&PackNow>],
    electrics: Option<&register::Electrics>,
    suspect: bool,
) -> (ServingVerdict, Vec<String>) {
    let side_by_side = strings.len() as f64;
    let Some(capacity) = strings
        .iter()
        .flatten()
        .map(|pack| capacity_ah(&pack.body))
        .reduce(f64::min)
    else {
        return (
            ServingVerdict::DoesNotServe,
            vec!["It has no packs.".to_owned()],
        );
    };
    let counted = strings
        .iter()
        .flatten()
        .filter_map(|pack| pack.story.counted_bouts_ah.iter().copied().reduce(f64::max))
        .reduce(f64::max)
        .map(|ah| ah * side_by_side);
    let registered = electrics
        .and_then(|electrics| electrics.bout_charge_mah)
        .map(|mah| side_by_side * f64::from(mah.get()) / 1000.0);
    let peak = electrics
        .and_then(|electrics| electrics.peak_current_ma)
        .map_or(ASSUMED_PEAK_C * capacity * side_by_side, |ma| {
            side_by_side * f64::from(ma.get()) / 1000.0
        });
    let assumed = ASSUMED_USE * capacity * side_by_side;
    let input = NextBoutInput {
        strings: strings
            .iter()
            .map(|string| string.iter().map(|pack| serving_pack(pack)).collect())
            .collect(),
        past_bouts_ah: vec![counted.or(registered).unwrap_or(assumed)],
        peak_a: peak.clamp(0.1, 5000.0),
        limits: ServingLimits::default(),
    };
    match next_bout(&input) {
        Ok(output) => {
            let own = output.packs.into_iter().flat_map(|pack| {
                let name = pack.name;
                pack.reasons
                    .into_iter()
                    .map(move |reason| format!("{name}: {reason}"))
            });
            let mut verdict = output.verdict;
            let mut reasons: Vec<String> = output.reasons.into_iter().chain(own).collect();
            if counted.is_none() && registered.is_none() && verdict == ServingVerdict::Serves {
                verdict = ServingVerdict::Unproved;
                reasons.push("Nobody said what a bout takes: half its capacity is assumed.".into());
            }
            if suspect {
                verdict = ServingVerdict::DoesNotServe;
            }
            (verdict, reasons)
        }
        Err(faults) => (
            ServingVerdict::DoesNotServe,
            faults.into_iter().map(|fault| fault.detail).collect(),
        ),
    }
}

fn serving_pack(pack: &PackNow) -> SetPack {
    let story = &pack.story;
    let reading = story.standing_reading();
    let counted = story.soc.filter(|_| reading.is_none());
    SetPack {
        name: pack.body.label.to_string(),
        pack: build(&pack.body),
        soc_fraction: counted.map(|(soc, _)| soc.low_fraction),
        rest_cells_v: reading.map(|reading| reading.volts()).unwrap_or_default(),
        // The calculator trusts a voltage after half an hour: a proper rest after a gentle charge,
        // which is shorter, counts as one.
        rested_min: reading.map(|_| {
            if matches!(story.soc, Some((_, SocBasis::Rested(_)))) {
                60.0
            } else {
                0.0
            }
        }),
        cell_ir_mohm: mohm(pack),
        past_bout: None,
        suspect: unusable(pack),
    }
}

fn arithmetic(strings: &[Vec<&PackNow>], electrics: Option<&register::Electrics>) -> Arithmetic {
    let volts = |mv: Option<Voltage>| mv.map(|mv| f64::from(mv.get()) / 1000.0);
    let parts = electrics.map_or_else(Vec::new, |electrics| {
        electrics
            .parts
            .iter()
            .map(|part| RatedPart {
                name: part.name.to_string(),
                limit_v: volts(part.limit_mv),
                rated_v: volts(part.rated_mv),
                least_v: volts(part.least_mv),
            })
            .collect()
    });
    pack_set(&PackSetInput {
        strings: strings
            .iter()
            .map(|string| {
                string
                    .iter()
                    .map(|pack| WiredPack {
                        name: pack.body.label.to_string(),
                        pack: build(&pack.body),
                        cell_mohm: mohm(pack),
                        rest_cells_v: pack
                            .story
                            .standing_reading()
                            .map(|reading| reading.volts())
                            .unwrap_or_default(),
                    })
                    .collect()
            })
            .collect(),
        nominal_cell_v: None,
        measured_v: None,
        parts,
    })
    .map_err(|faults| faults.into_iter().map(|fault| fault.detail).collect())
}
