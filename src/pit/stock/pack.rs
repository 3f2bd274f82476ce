//! What to pack for the next event: the question for the calculators, and their answer.

use super::day::{BoxDay, whole};
use crate::calc::fault::Fault;
use crate::calc::spares::{
    BoutsAhead, BoxContents, BoxLimits, CertainBouts, DayAhead, FrontierPoint, GroupThenKnockOut,
    KnockOutAhead, MinimiseBox, PackForConfidenceInput, PackSparesInput, PartToPack,
    pack_for_confidence, pack_spares,
};

/// Most units of a part that are packed.
const MOST_PACKED: u32 = 12;
/// Chance to win a bout of an event nobody has been to yet. **Source** own.
const EVEN: f64 = 0.5;

/// The bouts of an event.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Format {
    /// Certain ones first.
    pub bouts: u32,
    /// Rounds of a knock-out after them.
    pub rounds: u32,
}

/// What the box is to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wish {
    /// As good as it can be within limits.
    Within(BoxLimits),
    /// As light as it can be for a chance that nothing runs out, from 0 to 1.
    Sure(f64),
}

/// How good the box is proved to be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Proof {
    /// None is better.
    Best,
    /// None within the limits has a greater product of chances than this.
    ChanceAtMost(f64),
    /// None for this chance is lighter than this. **Units** g.
    MassAtLeast(f64),
}

/// A packed box.
#[derive(Debug, Clone, PartialEq)]
pub struct Packed {
    /// What is in it.
    pub best: BoxContents,
    /// How good it is proved to be.
    pub proof: Proof,
    /// What the last kilogram adds to the chance; only within a limit of mass.
    pub last_kg: Option<f64>,
    /// Boxes of growing size, each with the unit of greatest gain added; only within limits.
    pub frontier: Vec<FrontierPoint>,
}

/// Packs a box from nothing for an event of a format, with the parts and failure rates of a team.
///
/// **Assumptions**: as `pack-spares` and `pack-for-confidence`; every robot goes through the same
/// format; a knock-out after certain bouts is reached with even chances, and its bouts are won so.
///
/// # Errors
/// What the calculators refuse.
pub fn pack(day: &BoxDay, format: Format, wish: Wish) -> Result<Packed, Vec<Fault>> {
    // Of the next event nobody knows who meets whom.
    let mut ahead = DayAhead {
        bouts_jointly: None,
        ..day.day.clone()
    };
    for robot in &mut ahead.robots {
        robot.bouts_ahead = Some(bouts(format));
    }
    let parts = parts(day);
    match wish {
        Wish::Sure(confidence) => {
            let packed = pack_for_confidence(&PackForConfidenceInput {
                day: ahead,
                parts,
                confidence,
                minimise: MinimiseBox::Mass,
            })?;
            Ok(Packed {
                proof: if packed.proved_best {
                    Proof::Best
                } else {
                    Proof::MassAtLeast(packed.minimised_at_least)
                },
                best: packed.best,
                last_kg: None,
                frontier: Vec::new(),
            })
        }
        Wish::Within(limits) => {
            let packed = pack_spares(&PackSparesInput {
                day: ahead,
                parts,
                limits,
            })?;
            Ok(Packed {
                proof: if packed.proved_best {
                    Proof::Best
                } else {
                    Proof::ChanceAtMost(packed.product_of_parts_probability_at_most)
                },
                best: packed.best,
                last_kg: packed
                    .one_kg_less
                    .map(|less| less.difference_probability.abs()),
                frontier: packed.frontier,
            })
        }
    }
}

fn bouts(format: Format) -> BoutsAhead {
    let even = vec![EVEN];
    match (format.bouts, format.rounds) {
        (bouts, 0) => BoutsAhead::Certain(CertainBouts { bouts }),
        (0, rounds) => BoutsAhead::KnockOut(KnockOutAhead {
            rounds_left: rounds,
            win_probability_by_round: even,
        }),
        (bouts, rounds) => BoutsAhead::GroupThenKnockOut(GroupThenKnockOut {
            group_bouts_left: bouts,
            advance_probability: EVEN,
            rounds,
            win_probability_by_round: even,
        }),
    }
}

fn parts(day: &BoxDay) -> Vec<PartToPack> {
    day.stocked
        .iter()
        .enumerate()
        .filter_map(|(place, stocked)| {
            let part = &day
                .parts
                .iter()
                .find(|part| part.place == Some(place))?
                .part;
            Some(PartToPack {
                name: stocked.name.clone(),
                rate: stocked.rate,
                fitted: stocked.fitted.clone(),
                held_units: 0,
                pending_units: 0,
                at_most_units: MOST_PACKED,
                mass_g: part.mass_g.map_or(0, |mass| whole(mass.get())),
                price_cents: part.price_minor.map_or(0, |price| whole(price.get())),
                volume_ml: part.volume_ml.map_or(0, |volume| whole(volume.get())),
            })
        })
        .collect()
}
