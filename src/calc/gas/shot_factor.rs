//! Learning gas per shot by weighing (`gas-shot-factor`).

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::equation::Gas;
use super::shot::checked_bottle;
use super::system::GasSystem;
use crate::calc::fault::{Fault, Faults};

/// What [`gas_shot_factor`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasShotFactorInput::example()))]
pub struct GasShotFactorInput {
    /// The gas.
    pub gas: Gas,
    /// Ram and feed; the factor in it is not used, the answer takes its place.
    pub system: GasSystem,
    /// Temperature of the surroundings, degC; -20 to 50.
    #[schema(minimum = -20.0, maximum = 50.0)]
    pub ambient_temperature_degc: f64,
    /// Mean temperature of the CO2 bottle over the shots, degC; -50 to 30. At full pressure only.
    #[serde(default)]
    #[schema(minimum = -50.0, maximum = 30.0)]
    pub bottle_temperature_degc: Option<f64>,
    /// The bottle on the scale before, kg; 0.05 to 300.
    #[schema(minimum = 0.05, maximum = 300.0)]
    pub weighed_before_kg: f64,
    /// The same bottle on the same scale after, kg; 0.05 to 300, below the first.
    #[schema(minimum = 0.05, maximum = 300.0)]
    pub weighed_after_kg: f64,
    /// Shots between the two weighings; 1 to 500.
    #[schema(minimum = 1, maximum = 500)]
    pub shots: u32,
    /// How often the empty buffer was charged between them; 0 to 50.
    #[serde(default)]
    #[schema(minimum = 0, maximum = 50)]
    pub buffer_charges: u32,
    /// What one reading of the scale may be off, g; 0 to 1000.
    #[schema(minimum = 0.0, maximum = 1000.0)]
    pub scale_uncertainty_g: f64,
}

impl GasShotFactorInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            gas: Gas::Co2,
            system: GasSystem::example(),
            ambient_temperature_degc: 20.0,
            bottle_temperature_degc: None,
            weighed_before_kg: 7.80,
            weighed_after_kg: 7.36,
            shots: 5,
            buffer_charges: 0,
            scale_uncertainty_g: 5.0,
        }
    }
}

/// What [`gas_shot_factor`] answers.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_shot_factor(&GasShotFactorInput::example()).ok()))]
pub struct GasShotFactorOutput {
    /// Gas that left the bottle, g.
    pub drawn_g: f64,
    /// Gas the model expects without a factor, g.
    pub modelled_g: f64,
    /// Measured over modelled.
    pub factor: f64,
    /// The factor if both readings err towards less gas.
    pub factor_low: f64,
    /// The factor if both readings err towards more gas.
    pub factor_high: f64,
    /// Whether the factor is worth using: known to a fifth, and from 0.7 to 2.
    pub usable: bool,
    /// Why not, if not.
    pub cautions: Vec<String>,
}

/// Spread of the factor, as a share of it, above which it says too little.
const WIDEST: f64 = 0.2;
const LEAST: f64 = 0.7;
const MOST: f64 = 2.0;

/// The one factor between modelled and measured gas per shot.
///
/// **Units** kg and g.
///
/// **Assumes** that nothing but shots and buffer charges took gas, and that the scale errs by at
/// most the given amount at each reading. The limits of usable are common practice, no source: cold
/// dry gas explains about 1.5, mist a little more, and below 0.7 the strokes were not full.
///
/// **Source** `factor = measured / (shots x modelled shot + charges x modelled charge)`.
///
/// # Errors
/// Every field out of range; a second weighing that is not below the first.
pub fn gas_shot_factor(input: &GasShotFactorInput) -> Result<GasShotFactorOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/weighed_before_kg", input.weighed_before_kg, 0.05, 300.0);
    faults.range("/weighed_after_kg", input.weighed_after_kg, 0.05, 300.0);
    if input.weighed_after_kg >= input.weighed_before_kg {
        faults.add(
            "/weighed_after_kg",
            format!(
                "{} is not below the {} weighed before.",
                input.weighed_after_kg, input.weighed_before_kg
            ),
        );
    }
    faults.range("/shots", f64::from(input.shots), 1.0, 500.0);
    faults.range(
        "/buffer_charges",
        f64::from(input.buffer_charges),
        0.0,
        50.0,
    );
    faults.range(
        "/scale_uncertainty_g",
        input.scale_uncertainty_g,
        0.0,
        1000.0,
    );
    let bottle = checked_bottle(
        input.gas,
        &input.system,
        input.ambient_temperature_degc,
        input.bottle_temperature_degc,
        faults,
    )?;
    let shot = input
        .system
        .shot(input.gas, input.ambient_temperature_degc)
        .with_factor(1.0);
    let modelled = f64::from(input.shots) * shot.total_mass(&bottle)
        + f64::from(input.buffer_charges) * shot.buffer_mass(&bottle);
    let drawn = input.weighed_before_kg - input.weighed_after_kg;
    let doubt = 2.0 * input.scale_uncertainty_g * 1e-3;
    let factor = drawn / modelled;
    let mut cautions = Vec::new();
    if doubt > WIDEST * drawn {
        cautions
            .push("The scale is too coarse for so little gas: weigh over more shots.".to_owned());
    }
    if factor < LEAST {
        cautions.push(
            "Much less gas than the strokes need: were all strokes full, and the pressure right?"
                .to_owned(),
        );
    }
    if factor > MOST {
        cautions.push(
            "Much more gas than the strokes can take: look for a leak or a dump in between."
                .to_owned(),
        );
    }
    Ok(GasShotFactorOutput {
        drawn_g: drawn * 1e3,
        modelled_g: modelled * 1e3,
        factor,
        factor_low: (drawn - doubt).max(0.0) / modelled,
        factor_high: (drawn + doubt) / modelled,
        usable: cautions.is_empty(),
        cautions,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::gas::shot::{GasShotInput, gas_shot};

    #[test]
    fn the_factor_reproduces_what_was_weighed() {
        let input = GasShotFactorInput::example();
        let learned = gas_shot_factor(&input).unwrap();
        assert!(learned.usable);
        let mut shot = GasShotInput::example();
        shot.system.factor = learned.factor;
        let again = gas_shot(&shot).unwrap().shot_g * 5.0;
        assert!((again - 440.0).abs() < 1e-6, "{again}");
        assert!(learned.factor_low < learned.factor && learned.factor < learned.factor_high);
    }

    #[test]
    fn a_coarse_scale_is_said_to_be_too_coarse() {
        let input = GasShotFactorInput {
            scale_uncertainty_g: 50.0,
            ..GasShotFactorInput::example()
        };
        let learned = gas_shot_factor(&input).unwrap();
        assert!(!learned.usable);
        assert_eq!(learned.cautions.len(), 1);
    }

    #[test]
    fn a_bottle_that_gained_is_a_fault() {
        let input = GasShotFactorInput {
            weighed_after_kg: 7.9,
            ..GasShotFactorInput::example()
        };
        let faults = gas_shot_factor(&input).unwrap_err();
        assert_eq!(faults[0].pointer, "/weighed_after_kg");
    }
}
