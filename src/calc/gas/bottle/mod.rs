//! What a CO2 bottle may hold, and the pressure it will have (`gas-bottle`).

mod permitted;
mod warmth;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::{Fault, Faults};
use permitted::Permitted;

pub use warmth::GasWarmthRow;

/// What is known of a CO2 bottle, and what the scale said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasBottleInput::example()))]
pub struct GasBottleInput {
    /// Water capacity as stamped, litres; 0.05 to 100.
    #[schema(minimum = 0.05, maximum = 100.0)]
    pub water_capacity_l: f64,
    /// Filling ratio of this bottle for CO2, kg for each litre; 0.3 to 0.8. Left out: 0.667.
    #[serde(default)]
    #[schema(minimum = 0.3, maximum = 0.8)]
    pub filling_ratio_kg_per_l: Option<f64>,
    /// Test pressure as stamped, bar gauge; 50 to 500. Left out: unknown, and the advice is not to
    /// fill.
    #[serde(default)]
    #[schema(minimum = 50.0, maximum = 500.0)]
    pub test_pressure_bar_gauge: Option<f64>,
    /// The day by which the next periodic test is due. Left out: unknown, and the advice is not to
    /// fill.
    #[serde(default)]
    pub test_due: Option<NaiveDate>,
    /// Today.
    pub today: NaiveDate,
    /// Lowest pressure at which the burst disc may open, bar gauge; 50 to 500.
    #[serde(default)]
    #[schema(minimum = 50.0, maximum = 500.0)]
    pub disc_opens_from_bar_gauge: Option<f64>,
    /// The bottle on the scale, kg; 0.05 to 300.
    #[serde(default)]
    #[schema(minimum = 0.05, maximum = 300.0)]
    pub gross_kg: Option<f64>,
    /// The empty bottle with its valve, as stamped or weighed, kg; 0.05 to 250. Needed with
    /// `gross_kg`.
    #[serde(default)]
    #[schema(minimum = 0.05, maximum = 250.0)]
    pub tare_kg: Option<f64>,
    /// What hangs on the bottle when it is weighed and is not in the tare, kg; 0 to 20.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 20.0)]
    pub fittings_kg: f64,
    /// Further temperatures besides 31, 40, 50 and 65 degC; up to 20 of them, -40 to 80.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub temperatures_degc: Vec<f64>,
}

impl GasBottleInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            water_capacity_l: 3.4,
            filling_ratio_kg_per_l: Some(0.667),
            test_pressure_bar_gauge: Some(250.0),
            test_due: NaiveDate::from_ymd_opt(2031, 5, 31),
            today: NaiveDate::from_ymd_opt(2027, 3, 14).unwrap_or_default(),
            disc_opens_from_bar_gauge: Some(190.0),
            gross_kg: Some(7.82),
            tare_kg: Some(5.55),
            fittings_kg: 0.0,
            temperatures_degc: vec![20.0],
        }
    }
}

/// What [`gas_bottle`] answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_bottle(&GasBottleInput::example()).ok()))]
pub struct GasBottleOutput {
    /// Whether anything known speaks against filling. The event's rules, the gas bay and local law
    /// come first.
    pub advice: GasFillAdvice,
    /// Every reason not to fill.
    pub reasons: Vec<String>,
    /// What else should be known.
    pub cautions: Vec<String>,
    /// The most this bottle should hold, kg: the lower of the two below.
    pub permitted_kg: f64,
    /// By the filling ratio, kg.
    pub permitted_by_ratio_kg: f64,
    /// So that the test pressure is not passed at 65 degC, kg; nothing if it is unknown.
    pub permitted_by_test_pressure_kg: Option<f64>,
    /// What the scale shows at `permitted_kg`, kg; nothing without a tare.
    pub stop_at_scale_kg: Option<f64>,
    /// Gas in the bottle by the weighing, kg.
    pub gas_mass_kg: Option<f64>,
    /// Gas for each litre of water capacity, kg.
    pub fill_kg_per_l: Option<f64>,
    /// Gas as a percentage of what is permitted.
    pub percent_of_permitted: Option<f64>,
    /// Whether the bottle holds more than is permitted.
    pub over: Option<bool>,
    /// Gas to let off, kg; 0 unless over.
    pub excess_kg: Option<f64>,
    /// The mass the rows are for, kg: the weighed gas, or what is permitted if nothing was weighed
    /// or the bottle is empty.
    pub rows_for_kg: f64,
    /// Where this mass becomes liquid to the brim, degC; nothing if it never does.
    pub liquid_full_at_degc: Option<f64>,
    /// The pressure this mass will have, by temperature.
    pub rows: Vec<GasWarmthRow>,
}

/// Whether to fill a bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GasFillAdvice {
    /// Nothing known speaks against it; stop by the scale.
    FillByScale,
    /// Something speaks against it, or something that must be known is not.
    DoNotFill,
}

/// What a CO2 bottle may hold and how its pressure follows temperature.
///
/// **Units** litres, kg, bar gauge, degC.
///
/// **Assumes** a rigid bottle; a standard atmosphere; the ratio and the test pressure are the
/// bottle's own, from its stamps or its papers. A ratio that would pass the test pressure at 65 degC
/// is cut to it, which is on the safe side of some tables (0.68 at 190 bar passes it by 3 bar).
///
/// **Source** pressure from the full equation of state at the bulk density, vapour pressure while
/// there is gas above the liquid; the 65 degC rule and the default of 0.667 kg for each litre are
/// industry practice, from memory.
///
/// # Errors
/// Every field out of range; a gross mass without a tare or not above it.
pub fn gas_bottle(input: &GasBottleInput) -> Result<GasBottleOutput, Vec<Fault>> {
    check(input)?;
    let litres = input.water_capacity_l;
    let permitted = Permitted::of(input);
    let gas = match (input.gross_kg, input.tare_kg) {
        (Some(gross), Some(tare)) => Some(gross - tare - input.fittings_kg),
        _ => None,
    };
    let rows_for = gas
        .filter(|&gas| gas > EMPTY_KG_PER_L * litres)
        .unwrap_or(permitted.mass_kg);
    let rows = warmth::rows(input, rows_for / litres);
    let mut reasons = permitted.reasons;
    let over = gas.map(|gas| gas > permitted.mass_kg);
    if let Some(gas) = gas.filter(|&gas| gas > permitted.mass_kg) {
        reasons.push(format!(
            "It holds {gas:.3} kg and should hold at most {:.3} kg.",
            permitted.mass_kg
        ));
    }
    Ok(GasBottleOutput {
        advice: if reasons.is_empty() {
            GasFillAdvice::FillByScale
        } else {
            GasFillAdvice::DoNotFill
        },
        reasons,
        cautions: permitted.cautions,
        permitted_kg: permitted.mass_kg,
        permitted_by_ratio_kg: permitted.by_ratio_kg,
        permitted_by_test_pressure_kg: permitted.by_test_pressure_kg,
        stop_at_scale_kg: input
            .tare_kg
            .map(|tare| tare + input.fittings_kg + permitted.mass_kg),
        gas_mass_kg: gas,
        fill_kg_per_l: gas.map(|gas| gas / litres),
        percent_of_permitted: gas.map(|gas| 100.0 * gas / permitted.mass_kg),
        over,
        excess_kg: gas.map(|gas| (gas - permitted.mass_kg).max(0.0)),
        rows_for_kg: rows_for,
        liquid_full_at_degc: warmth::liquid_full_degc(rows_for / litres),
        rows,
    })
}

fn check(input: &GasBottleInput) -> Result<(), Vec<Fault>> {
    let mut faults = Faults::none();
    let litres = input.water_capacity_l;
    faults.range("/water_capacity_l", litres, 0.05, 100.0);
    let known = [
        (
            "/filling_ratio_kg_per_l",
            input.filling_ratio_kg_per_l,
            0.3,
            0.8,
        ),
        (
            "/test_pressure_bar_gauge",
            input.test_pressure_bar_gauge,
            50.0,
            500.0,
        ),
        (
            "/disc_opens_from_bar_gauge",
            input.disc_opens_from_bar_gauge,
            50.0,
            500.0,
        ),
        ("/gross_kg", input.gross_kg, 0.05, 300.0),
        ("/tare_kg", input.tare_kg, 0.05, 250.0),
        ("/fittings_kg", Some(input.fittings_kg), 0.0, 20.0),
    ];
    for (pointer, value, min, max) in known {
        if let Some(value) = value {
            faults.range(pointer, value, min, max);
        }
    }
    match (input.gross_kg, input.tare_kg) {
        (Some(_), None) => faults.add("/tare_kg", "A weighing needs the tare, from 0.05 to 250."),
        (Some(gross), Some(tare)) => {
            let gas = gross - tare - input.fittings_kg;
            if gas < 0.0 {
                faults.add(
                    "/gross_kg",
                    format!("{gross} is below tare and fittings together."),
                );
            } else if gas > MOST_KG_PER_L * litres {
                faults.add(
                    "/gross_kg",
                    format!(
                        "{gas:.3} kg of gas is more than {litres} l can hold: is the tare right?"
                    ),
                );
            }
        }
        (None, _) => {}
    }
    if input.temperatures_degc.len() > 20 {
        faults.add(
            "/temperatures_degc",
            "More than 20 temperatures were asked for.",
        );
    }
    for (i, &degc) in input.temperatures_degc.iter().enumerate() {
        faults.range(format!("/temperatures_degc/{i}"), degc, -40.0, 80.0);
    }
    faults.check()
}

/// Less gas than this for each litre is an empty bottle, kg.
const EMPTY_KG_PER_L: f64 = 0.005;
/// No bottle holds more CO2 than this for each litre, kg: it would be liquid to the brim at -20
/// degC.
const MOST_KG_PER_L: f64 = 1.03;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unknown_test_pressure_or_date_is_a_reason_not_to_fill() {
        let mut input = GasBottleInput::example();
        input.gross_kg = Some(6.0);
        assert_eq!(
            gas_bottle(&input).unwrap().advice,
            GasFillAdvice::FillByScale
        );
        let unknown = GasBottleInput {
            test_pressure_bar_gauge: None,
            test_due: None,
            filling_ratio_kg_per_l: None,
            ..input.clone()
        };
        let out = gas_bottle(&unknown).unwrap();
        assert_eq!(out.advice, GasFillAdvice::DoNotFill);
        assert_eq!(out.reasons.len(), 2);
        assert_eq!(out.permitted_by_test_pressure_kg, None);
        let late = GasBottleInput {
            today: NaiveDate::from_ymd_opt(2031, 6, 1).unwrap(),
            ..input
        };
        assert_eq!(gas_bottle(&late).unwrap().advice, GasFillAdvice::DoNotFill);
    }

    /// Ratios whose pressure at 65 degC is 190 and 250 bar gauge: 0.674 and 0.763, CoolProp 8.0.0.
    #[test]
    fn a_ratio_too_high_for_the_test_pressure_is_cut() {
        for (test_pressure, ratio) in [(190.0, 0.674), (250.0, 0.763)] {
            let input = GasBottleInput {
                filling_ratio_kg_per_l: Some(0.8),
                test_pressure_bar_gauge: Some(test_pressure),
                gross_kg: None,
                ..GasBottleInput::example()
            };
            let out = gas_bottle(&input).unwrap();
            assert!((out.permitted_kg / 3.4 - ratio).abs() < 0.0005);
            assert!(out.permitted_kg < out.permitted_by_ratio_kg);
            let hottest = out.rows.last().unwrap();
            assert_eq!(hottest.temperature_degc, 65.0);
            assert_eq!(hottest.above_test_pressure, Some(false));
        }
    }

    /// Where the fill is liquid to the brim, CoolProp 8.0.0.
    #[test]
    fn the_fuller_the_bottle_the_sooner_it_is_liquid_full() {
        let fills = [
            (0.60, 29.9),
            (0.667, 27.5),
            (0.68, 26.8),
            (0.70, 25.7),
            (0.75, 22.1),
            (0.76, 21.2),
        ];
        for (fill, degc) in fills {
            let at = warmth::liquid_full_degc(fill).unwrap();
            assert!((at - degc).abs() < 0.06, "{fill}: {at}");
        }
        assert_eq!(warmth::liquid_full_degc(0.4), None);
    }

    /// 0.68 kg/l reaches 186.2 bar gauge, where a usual disc may open, at 63.1 degC (CoolProp 8.0.0).
    #[test]
    fn the_disc_is_warned_of_before_the_test_pressure() {
        let input = GasBottleInput {
            gross_kg: Some(5.55 + 0.68 * 3.4),
            disc_opens_from_bar_gauge: Some(186.2),
            temperatures_degc: vec![63.0, 63.3],
            ..GasBottleInput::example()
        };
        let out = gas_bottle(&input).unwrap();
        let opens = |degc: f64| {
            let row = out
                .rows
                .iter()
                .find(|r| r.temperature_degc == degc)
                .unwrap();
            (row.disc_may_open, row.above_test_pressure)
        };
        assert_eq!(opens(63.0), (Some(false), Some(false)));
        assert_eq!(opens(63.3), (Some(true), Some(false)));
    }

    #[test]
    fn a_weighing_without_a_tare_is_a_fault() {
        let input = GasBottleInput {
            tare_kg: None,
            water_capacity_l: 0.0,
            ..GasBottleInput::example()
        };
        let faults = gas_bottle(&input).unwrap_err();
        let pointers: Vec<_> = faults.iter().map(|f| f.pointer.as_str()).collect();
        assert_eq!(pointers, ["/water_capacity_l", "/tare_kg"]);
    }
}
