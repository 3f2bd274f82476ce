//! How healthy a pack is by its own lines.

use super::build::{build, capacity_ah};
use super::story::Story;
use crate::calc::battery::{
    CapacityCharge, CapacityEstimate, EarlierRest, HealthReason, HealthVerdict, IrReading,
    PackHealthInput, PackSigns, pack_health,
};
use crate::pit::logbook::register::Pack;
use crate::pit::logbook::things::Looks;

/// Rests closer together than this tell nothing about self-discharge.
///
/// **Units** h. **Source** own value: the rule speaks of an hour.
const REST_APART_H: f64 = 0.5;

/// How healthy a pack is.
#[derive(Debug, Clone, PartialEq)]
pub struct Condition {
    /// The worst of the reasons.
    pub verdict: HealthVerdict,
    /// Why; worst first.
    pub reasons: Vec<HealthReason>,
    /// Highest less lowest cell at its last rest. **Units** mV.
    pub spread_mv: Option<f64>,
    /// Discharged over nominal capacity, those before the event counted.
    pub full_cycles: f64,
    /// Resistance now over resistance at first.
    pub resistance_ratio: Option<f64>,
    /// Capacity by its counted charges; none if none of them tells it.
    pub capacity: Option<CapacityEstimate>,
}

/// The condition of a pack by its lines.
///
/// An unrested reading says nothing about imbalance, so without a rested one the pack is unproved.
/// Cells that no such pack shows are a doubtful reading: the pack is held until it is read again.
pub fn condition(pack: &Pack, story: &Story) -> Condition {
    let before = pack
        .cycles_before
        .map_or(0.0, |count| f64::from(count.get()));
    let looks = story.suspect.as_ref().and_then(|suspect| suspect.looks);
    let is = |one| looks == Some(one);
    let mut rests = story.readings.iter().rev().filter(|reading| reading.rested);
    let last = rests.next();
    let earlier_rest = last.and_then(|last| {
        let earlier = rests
            .take_while(|reading| reading.rest == last.rest)
            .last()?;
        let hours_between = (last.at - earlier.at).as_seconds_f64() / 3600.0;
        (hours_between >= REST_APART_H).then(|| EarlierRest {
            rest_cells_v: earlier.volts(),
            hours_between,
        })
    });
    let input = PackHealthInput {
        pack: build(pack),
        signs: PackSigns {
            puffed: is(Looks::Swollen),
            dented: is(Looks::Hit),
            hot: is(Looks::Hot),
            smells: is(Looks::Smells),
            crashed: false,
        },
        rest_cells_v: last.map(|reading| reading.volts()).unwrap_or_default(),
        earlier_rest,
        cell_irs_mohm: Vec::new(),
        ir_readings: story
            .resistances
            .iter()
            .filter_map(|reading| {
                Some(IrReading {
                    cell_mohm: reading.mohm,
                    cell_c: reading.pack_c?,
                    soc_fraction: reading.soc?,
                })
            })
            .collect(),
        activation_kj_per_mol: None,
        discharges_ah: story.discharges_ah.clone(),
        charges: told(pack, story),
    };
    let mut found = match pack_health(&input) {
        Ok(output) => Condition {
            verdict: output.verdict,
            reasons: output.reasons,
            spread_mv: output.spread_mv,
            full_cycles: before + output.equivalent_full_cycles,
            resistance_ratio: output.ir_ratio,
            capacity: output.capacity,
        },
        Err(faults) => Condition {
            verdict: HealthVerdict::Hold,
            reasons: faults
                .into_iter()
                .map(|fault| held(format!("Doubtful: {}", fault.detail)))
                .collect(),
            spread_mv: None,
            full_cycles: before + story.discharges_ah.iter().sum::<f64>() / capacity_ah(pack),
            resistance_ratio: None,
            capacity: None,
        },
    };
    if let Some(doubtful) = &story.doubtful {
        found.add(held(doubtful.clone()));
    }
    if let Some(low) = story.lowest_v_below(pack) {
        found.add(HealthReason {
            verdict: HealthVerdict::Quarantine,
            detail: format!("A cell was read at {low:.2} V, which no cell comes back from sound."),
        });
    }
    if story.suspect.is_some() && found.verdict < HealthVerdict::Quarantine {
        found.add(HealthReason {
            verdict: HealthVerdict::Quarantine,
            detail: "It was set aside and nobody has seen it sound since.".to_owned(),
        });
    }
    found
}

/// Counted charges that a pack of this kind can have taken; a count beyond that is a slip.
fn told(pack: &Pack, story: &Story) -> Vec<CapacityCharge> {
    let counted = story.counted_charges.iter().copied();
    counted
        .filter(|charge| charge.charged_ah <= 1.5 * capacity_ah(pack))
        .filter(|charge| charge.start_soc_fraction < charge.end_soc_fraction)
        .collect()
}

fn held(detail: String) -> HealthReason {
    HealthReason {
        verdict: HealthVerdict::Hold,
        detail,
    }
}

impl Condition {
    fn add(&mut self, reason: HealthReason) {
        self.verdict = self.verdict.max(reason.verdict);
        self.reasons.push(reason);
        self.reasons
            .sort_by_key(|reason| std::cmp::Reverse(reason.verdict));
    }
}
