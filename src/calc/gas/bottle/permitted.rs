//! The most a bottle should hold, and what speaks against filling it.

use super::GasBottleInput;
use crate::calc::gas::convert::{kelvin, pascal_of_gauge};
use crate::calc::gas::equation::Gas;

/// The limits of one bottle.
pub(super) struct Permitted {
    pub mass_kg: f64,
    pub by_ratio_kg: f64,
    pub by_test_pressure_kg: Option<f64>,
    pub reasons: Vec<String>,
    pub cautions: Vec<String>,
}

/// **Source** industry rule of thumb, from memory ("1.5 l for each kg").
const DEFAULT_KG_PER_L: f64 = 0.667;
/// The temperature at which the test pressure must not be passed, degC.
///
/// **Source** as for tanks in ADR 4.3.3.2.2; for cylinders from memory.
const HOTTEST_DEGC: f64 = 65.0;

impl Permitted {
    pub(super) fn of(input: &GasBottleInput) -> Self {
        let litres = input.water_capacity_l;
        let mut reasons = Vec::new();
        let mut cautions = Vec::new();
        let ratio = input.filling_ratio_kg_per_l.unwrap_or_else(|| {
            cautions.push(format!(
                "The filling ratio is not known; {DEFAULT_KG_PER_L} kg for each litre is assumed."
            ));
            DEFAULT_KG_PER_L
        });
        let by_ratio = ratio * litres;
        let by_test = input.test_pressure_bar_gauge.map(|bar| {
            let density = Gas::Co2.density(pascal_of_gauge(bar), kelvin(HOTTEST_DEGC));
            density * 1e-3 * litres
        });
        match by_test {
            None => reasons.push("The test pressure is not known.".to_owned()),
            Some(by_test) if by_test < by_ratio => cautions.push(format!(
                "At this filling ratio the bottle would pass its test pressure at {HOTTEST_DEGC} \
                 degC; less is permitted here."
            )),
            Some(_) => {}
        }
        match input.test_due {
            None => reasons.push("The date of the next test is not known.".to_owned()),
            Some(due) if due < input.today => {
                reasons.push(format!("The periodic test was due on {due}."));
            }
            Some(_) => {}
        }
        if let (Some(disc), Some(test)) = (
            input.disc_opens_from_bar_gauge,
            input.test_pressure_bar_gauge,
        ) && disc > test
        {
            cautions.push(
                "The disc opens only above the test pressure: ask whether it is the right one."
                    .to_owned(),
            );
        }
        Self {
            mass_kg: by_test.map_or(by_ratio, |by_test| by_test.min(by_ratio)),
            by_ratio_kg: by_ratio,
            by_test_pressure_kg: by_test,
            reasons,
            cautions,
        }
    }
}
