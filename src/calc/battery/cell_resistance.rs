//! Resistance of one cell from a step of current, and the same at 25 degrees.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::calc::fault::{Fault, Faults};

/// Activation energy of cell resistance where nobody has measured it.
///
/// **Units** kJ/mol. **Source** own estimate; the four reference sets give 4 to 34.
pub(super) const ASSUMED_ACTIVATION_KJ_PER_MOL: f64 = 20.0;

/// Molar gas constant, J/(mol K). **Source** SI, exact value rounded.
const GAS_CONSTANT: f64 = 8.314;

/// One cell at rest and under load.
///
/// For a pulse give the voltage before it; for a bout give the voltage at rest after it and the
/// lowest voltage seen in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "rest_cell_v": 4.0, "loaded_cell_v": 3.94, "pack_a": 20.0, "parallel_cells": 2, "cell_c": 25.0
}))]
pub struct CellResistanceInput {
    /// Cell voltage at rest, V.
    #[schema(minimum = 1.5, maximum = 4.4)]
    pub rest_cell_v: f64,
    /// Cell voltage under load, V; below the rest voltage.
    #[schema(minimum = 0.0, maximum = 4.4)]
    pub loaded_cell_v: f64,
    /// Discharge current of the whole pack, A.
    #[schema(minimum = 0.1, maximum = 3000.0)]
    pub pack_a: f64,
    /// Cells side by side in the pack.
    #[schema(minimum = 1, maximum = 50)]
    pub parallel_cells: u32,
    /// Temperature of the cell, degC; needed to compare at 25.
    #[serde(default)]
    #[schema(minimum = -20.0, maximum = 70.0)]
    pub cell_c: Option<f64>,
    /// Activation energy, kJ/mol; 20 if left out.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 60.0)]
    pub activation_kj_per_mol: Option<f64>,
}

/// Resistance of the cell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({"cell_mohm": 6.0, "cell_mohm_at_25_c": 6.0}))]
pub struct CellResistanceOutput {
    /// Resistance as measured, mohm.
    pub cell_mohm: f64,
    /// The same at 25 degC, mohm, if the temperature is known.
    pub cell_mohm_at_25_c: Option<f64>,
}

/// Resistance of one cell from its voltage at rest and under load.
///
/// `R = (U_rest - U_loaded) / (I / N_parallel)`.
///
/// **Units** V, A to mohm; degC.
///
/// **Assumptions** parallel cells share evenly. After seconds of load this is larger than a
/// charger's reading: a charger's number is an index, not a load resistance.
///
/// **Source** Ohm's law; temperature by Arrhenius, `R25 = R / exp(Ea / 8.314 (1/T - 1/298.15))`.
///
/// # Errors
/// Values out of range; a voltage that does not fall under load; a resistance that looks like a
/// slip of units.
pub fn cell_resistance(input: &CellResistanceInput) -> Result<CellResistanceOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    faults.range("/rest_cell_v", input.rest_cell_v, 1.5, 4.4);
    faults.range("/loaded_cell_v", input.loaded_cell_v, 0.0, 4.4);
    faults.range("/pack_a", input.pack_a, 0.1, 3000.0);
    faults.range(
        "/parallel_cells",
        f64::from(input.parallel_cells),
        1.0,
        50.0,
    );
    if let Some(cell_c) = input.cell_c {
        faults.range("/cell_c", cell_c, -20.0, 70.0);
    }
    if let Some(activation) = input.activation_kj_per_mol {
        faults.range("/activation_kj_per_mol", activation, 0.0, 60.0);
    }
    if faults.is_empty() && input.loaded_cell_v >= input.rest_cell_v {
        faults.add(
            "/loaded_cell_v",
            format!(
                "{} V under load is not below {} V at rest. Are the two swapped?",
                input.loaded_cell_v, input.rest_cell_v
            ),
        );
    }
    faults.check()?;

    let cell_a = input.pack_a / f64::from(input.parallel_cells);
    let cell_mohm = 1000.0 * (input.rest_cell_v - input.loaded_cell_v) / cell_a;
    let activation = input
        .activation_kj_per_mol
        .unwrap_or(ASSUMED_ACTIVATION_KJ_PER_MOL);
    Ok(CellResistanceOutput {
        cell_mohm,
        cell_mohm_at_25_c: input
            .cell_c
            .map(|cell_c| at_25_c(cell_mohm, cell_c, activation)),
    })
}

/// A resistance measured at `cell_c` as it would be at 25 degC, mohm.
pub(super) fn at_25_c(mohm: f64, cell_c: f64, activation_kj_per_mol: f64) -> f64 {
    let exponent =
        activation_kj_per_mol * 1000.0 / GAS_CONSTANT * (1.0 / (cell_c + 273.15) - 1.0 / 298.15);
    mohm / exponent.exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pulse() -> CellResistanceInput {
        CellResistanceInput {
            rest_cell_v: 4.0,
            loaded_cell_v: 3.94,
            pack_a: 20.0,
            parallel_cells: 2,
            cell_c: None,
            activation_kj_per_mol: None,
        }
    }

    #[test]
    fn the_worked_pulse_is_six_milliohm() {
        // Worked case w16.
        let output = cell_resistance(&pulse()).unwrap();
        assert!((output.cell_mohm - 6.0).abs() < 1e-9);
        assert_eq!(output.cell_mohm_at_25_c, None);
    }

    #[test]
    fn a_cold_reading_is_lower_at_25() {
        // Worked case w12: 4.0 mohm at 10 degC.
        assert!((at_25_c(4.0, 10.0, 20.0) - 2.6087).abs() < 1e-4);
        assert!((at_25_c(4.0, 25.0, 20.0) - 4.0).abs() < 1e-12);
    }

    #[test]
    fn swapped_voltages_and_negative_amps_are_named() {
        let mut input = pulse();
        (input.rest_cell_v, input.loaded_cell_v) = (input.loaded_cell_v, input.rest_cell_v);
        assert_eq!(
            cell_resistance(&input).unwrap_err()[0].pointer,
            "/loaded_cell_v"
        );
        input.pack_a = -20.0;
        assert_eq!(cell_resistance(&input).unwrap_err()[0].pointer, "/pack_a");
    }
}
