//! Capacity of a pack from its own charges.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::Faults;

/// Least part of the capacity a charge must cover to tell it.
const COVERS_AT_LEAST: f64 = 0.6;

/// How many of the last usable charges count.
const REMEMBERED: usize = 3;

/// A charge with its counted ampere-hours.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CapacityCharge {
    /// Charge put in, Ah of the pack.
    #[schema(minimum = 0.0)]
    pub charged_ah: f64,
    /// State of charge before, 0 to 1.
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub start_soc_fraction: f64,
    /// State of charge after, 0 to 1.
    #[schema(minimum = 0.0, maximum = 1.0)]
    pub end_soc_fraction: f64,
    /// One standard deviation of the state of charge before.
    #[schema(minimum = 0.001, maximum = 0.5)]
    pub start_sigma_fraction: f64,
    /// One standard deviation of the state of charge after.
    #[schema(minimum = 0.001, maximum = 0.5)]
    pub end_sigma_fraction: f64,
    /// Whether it ended full, with the current down to a twentieth of the capacity.
    pub ended_at_c20: bool,
    /// Whether the state of charge before is from a proper rest.
    pub start_rested: bool,
}

/// Capacity from charges.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CapacityEstimate {
    /// Capacity of the pack, Ah.
    pub capacity_ah: f64,
    /// One standard deviation of it, Ah.
    pub sigma_ah: f64,
    /// Capacity over that of the label.
    pub health_fraction: f64,
    /// How many charges it rests on.
    pub charges_used: u32,
}

/// Notes what no charge does.
pub(super) fn check_capacity(
    charge: &CapacityCharge,
    label_ah: f64,
    at: &str,
    faults: &mut Faults,
) {
    let most = 1.5 * label_ah;
    if charge.charged_ah > most && charge.charged_ah > 100.0 {
        faults.add(
            format!("{at}/charged_ah"),
            format!(
                "{} Ah is more than this pack holds (0 to {most}); is it in mAh?",
                charge.charged_ah
            ),
        );
    } else {
        faults.range(format!("{at}/charged_ah"), charge.charged_ah, 0.0, most);
    }
    for (name, sigma) in [
        ("start_sigma_fraction", charge.start_sigma_fraction),
        ("end_sigma_fraction", charge.end_sigma_fraction),
    ] {
        faults.range(format!("{at}/{name}"), sigma, 0.001, 0.5);
    }
    if charge.end_soc_fraction <= charge.start_soc_fraction {
        faults.add(
            format!("{at}/end_soc_fraction"),
            format!(
                "{} after a charge is not above {} before it.",
                charge.end_soc_fraction, charge.start_soc_fraction
            ),
        );
    }
}

/// Capacity from the last three usable charges, each weighed by its certainty.
///
/// `Q = Ah / (s1 - s0)`, relative sigma `sqrt(sigma_0^2 + sigma_1^2) / (s1 - s0)`. A charge is
/// usable if it covers at least 0.6, ended full at C/20 and began after a rest. What goes in is
/// taken to come out.
pub(super) fn capacity_estimate(
    charges: &[CapacityCharge],
    label_ah: f64,
) -> Option<CapacityEstimate> {
    let usable: Vec<(f64, f64)> = charges
        .iter()
        .rev()
        .filter(|charge| charge.ended_at_c20 && charge.start_rested)
        .filter(|charge| {
            charge.end_soc_fraction - charge.start_soc_fraction >= COVERS_AT_LEAST - 1e-9
        })
        .take(REMEMBERED)
        .map(one_charge)
        .collect();
    let weight: f64 = usable.iter().map(|(_, sigma)| sigma.powi(-2)).sum();
    if usable.is_empty() || weight <= 0.0 {
        return None;
    }
    let capacity_ah = usable
        .iter()
        .map(|(capacity, sigma)| capacity * sigma.powi(-2))
        .sum::<f64>()
        / weight;
    Some(CapacityEstimate {
        capacity_ah,
        sigma_ah: weight.sqrt().recip(),
        health_fraction: capacity_ah / label_ah,
        charges_used: usable.len() as u32,
    })
}

/// Capacity and its standard deviation from one charge, Ah.
fn one_charge(charge: &CapacityCharge) -> (f64, f64) {
    let covered = charge.end_soc_fraction - charge.start_soc_fraction;
    let capacity = charge.charged_ah / covered;
    let relative = charge.start_sigma_fraction.hypot(charge.end_sigma_fraction) / covered;
    // A charge of nothing would otherwise be taken for a perfect one.
    (capacity, (capacity * relative).max(1e-6))
}

#[cfg(test)]
mod tests {
    use super::super::chemistry::Chemistry;
    use super::*;

    fn charge(charged_ah: f64, start: f64) -> CapacityCharge {
        CapacityCharge {
            charged_ah,
            start_soc_fraction: start,
            end_soc_fraction: 1.0,
            start_sigma_fraction: 0.03,
            end_sigma_fraction: 0.03,
            ended_at_c20: true,
            start_rested: true,
        }
    }

    #[test]
    fn the_worked_charge_tells_the_capacity() {
        // Worked case w14.
        let told = capacity_estimate(&[charge(2.95, 0.28)], 5.0).unwrap();
        assert!((told.capacity_ah - 4.0972).abs() < 1e-4);
        assert!((told.sigma_ah / told.capacity_ah - 0.0589).abs() < 1e-4);
    }

    #[test]
    fn a_measured_cell_is_within_two_sigma() {
        // Worked case w15: measured 21700 cell, rest 3.543 V, 2.9462 Ah to full, true 4.03 Ah.
        let start = Chemistry::Nmc.ocv().soc_at(3.543);
        // The worked answer comes from a finer table than the published one: 0.005 apart.
        assert!((start - 0.1958).abs() < 0.006);
        let mut measured = charge(2.9462, start);
        measured.start_sigma_fraction = 0.075;
        let told = capacity_estimate(&[measured], 4.2).unwrap();
        assert!((told.capacity_ah - 3.6637).abs() < 0.03);
        assert!((told.capacity_ah - 4.03).abs() < 2.0 * told.sigma_ah);
    }

    #[test]
    fn a_short_charge_or_one_cut_off_tells_nothing() {
        assert_eq!(capacity_estimate(&[charge(1.5, 0.5)], 5.0), None);
        let mut early = charge(2.95, 0.28);
        early.ended_at_c20 = false;
        let mut warm = charge(2.95, 0.28);
        warm.start_rested = false;
        assert_eq!(capacity_estimate(&[early, warm], 5.0), None);
    }

    #[test]
    fn more_charges_make_it_surer_and_the_last_three_count() {
        let one = capacity_estimate(&[charge(3.6, 0.1)], 5.0).unwrap();
        let many = [9.0, 3.6, 3.6, 3.6].map(|ah| charge(ah, 0.1));
        let three = capacity_estimate(&many, 5.0).unwrap();
        assert_eq!(three.charges_used, 3);
        assert!((three.capacity_ah - 4.0).abs() < 1e-9);
        assert!((three.sigma_ah - one.sigma_ah / 3.0_f64.sqrt()).abs() < 1e-9);
    }
}
