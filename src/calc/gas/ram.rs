//! Force and volume of a ram (`gas-ram`).

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::convert::cubic_metres;
use crate::calc::fault::{Fault, Faults};

/// A double-acting ram and the volumes that are filled with it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasRam::example()))]
pub struct GasRam {
    /// Bore, mm; 5 to 400.
    #[schema(minimum = 5.0, maximum = 400.0)]
    pub bore_mm: f64,
    /// Stroke, mm; 5 to 2000.
    #[schema(minimum = 5.0, maximum = 2000.0)]
    pub stroke_mm: f64,
    /// Rod diameter, mm; 0 to below the bore.
    #[schema(minimum = 0.0, maximum = 400.0)]
    pub rod_mm: f64,
    /// Dead volume filled at each extension (hose, end cap), litres; 0 to 20.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 20.0)]
    pub dead_extend_l: f64,
    /// Dead volume filled at each retraction, litres; 0 to 20.
    #[serde(default)]
    #[schema(minimum = 0.0, maximum = 20.0)]
    pub dead_retract_l: f64,
}

impl GasRam {
    /// The ram of the published examples.
    pub fn example() -> Self {
        Self {
            bore_mm: 100.0,
            stroke_mm: 250.0,
            rod_mm: 32.0,
            dead_extend_l: 0.0,
            dead_retract_l: 0.0,
        }
    }

    /// Notes what is out of range, under `pointer`.
    pub(super) fn check(&self, pointer: &str, faults: &mut Faults) {
        let at = |field: &str| format!("{pointer}/{field}");
        faults.range(at("bore_mm"), self.bore_mm, 5.0, 400.0);
        faults.range(at("stroke_mm"), self.stroke_mm, 5.0, 2000.0);
        faults.range(at("rod_mm"), self.rod_mm, 0.0, 400.0);
        faults.range(at("dead_extend_l"), self.dead_extend_l, 0.0, 20.0);
        faults.range(at("dead_retract_l"), self.dead_retract_l, 0.0, 20.0);
        if self.rod_mm >= self.bore_mm {
            faults.add(
                at("rod_mm"),
                format!("{} is not below the bore of {}.", self.rod_mm, self.bore_mm),
            );
        }
    }

    /// Piston area on the side without the rod, m2.
    fn extend_area(&self) -> f64 {
        PI / 4.0 * (self.bore_mm * 1e-3).powi(2)
    }

    /// Piston area on the side with the rod, m2.
    fn retract_area(&self) -> f64 {
        PI / 4.0 * ((self.bore_mm * 1e-3).powi(2) - (self.rod_mm * 1e-3).powi(2))
    }

    /// Volume filled by one extension, dead volume included, m3.
    pub(super) fn extend_volume(&self) -> f64 {
        self.extend_area() * self.stroke_mm * 1e-3 + cubic_metres(self.dead_extend_l)
    }

    /// Volume filled by one retraction, dead volume included, m3.
    pub(super) fn retract_volume(&self) -> f64 {
        self.retract_area() * self.stroke_mm * 1e-3 + cubic_metres(self.dead_retract_l)
    }
}

/// What [`gas_ram`] is asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(GasRamInput::example()))]
pub struct GasRamInput {
    /// The ram.
    pub ram: GasRam,
    /// Pressure behind the piston, bar gauge; 0 to 400.
    #[schema(minimum = 0.0, maximum = 400.0)]
    pub pressure_bar_gauge: f64,
}

impl GasRamInput {
    /// The published example.
    pub fn example() -> Self {
        Self {
            ram: GasRam::example(),
            pressure_bar_gauge: 10.0,
        }
    }
}

/// What [`gas_ram`] answers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(gas_ram(&GasRamInput::example()).ok()))]
pub struct GasRamOutput {
    /// Force of the extension at rest, kN, friction not taken off.
    pub extend_force_kn: f64,
    /// Force of the retraction at rest, kN, friction not taken off.
    pub retract_force_kn: f64,
    /// Volume swept by the extension, litres, without dead volume.
    pub extend_swept_l: f64,
    /// Volume swept by the retraction, litres, without dead volume.
    pub retract_swept_l: f64,
    /// Volume filled by one extension, dead volume included, litres.
    pub extend_filled_l: f64,
    /// Volume filled by one retraction, dead volume included, litres.
    pub retract_filled_l: f64,
    /// Work of one extension at constant pressure, kJ: the most that one shot can give.
    pub extend_work_kj: f64,
}

/// Force, swept volume and work of a ram.
///
/// **Units** mm, bar gauge to kN, litres, kJ.
///
/// **Assumes** the other side vented to the atmosphere, full pressure along the whole stroke, no
/// friction: the force is an upper bound.
///
/// **Source** force is pressure times area (common practice).
///
/// # Errors
/// Every field out of range.
pub fn gas_ram(input: &GasRamInput) -> Result<GasRamOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    input.ram.check("/ram", &mut faults);
    faults.range("/pressure_bar_gauge", input.pressure_bar_gauge, 0.0, 400.0);
    faults.check()?;
    let ram = &input.ram;
    let stroke = ram.stroke_mm * 1e-3;
    let pascal = input.pressure_bar_gauge * 1e5;
    let extend_force = pascal * ram.extend_area();
    Ok(GasRamOutput {
        extend_force_kn: extend_force * 1e-3,
        retract_force_kn: pascal * ram.retract_area() * 1e-3,
        extend_swept_l: ram.extend_area() * stroke * 1e3,
        retract_swept_l: ram.retract_area() * stroke * 1e3,
        extend_filled_l: ram.extend_volume() * 1e3,
        retract_filled_l: ram.retract_volume() * 1e3,
        extend_work_kj: extend_force * stroke * 1e-3,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Check values by common practice: 100 mm bore, 250 mm stroke, 10 bar gauge.
    #[test]
    fn a_hundred_millimetre_bore_gives_7_85_kn() {
        let out = gas_ram(&GasRamInput::example()).unwrap();
        assert!((out.extend_force_kn - 7.85).abs() < 0.005);
        assert!((out.extend_swept_l - 1.963).abs() < 0.0005);
        assert!(out.retract_force_kn < out.extend_force_kn);
    }

    #[test]
    fn every_fault_is_named_at_once() {
        let mut input = GasRamInput::example();
        input.ram.rod_mm = 120.0;
        input.ram.stroke_mm = f64::NAN;
        input.pressure_bar_gauge = -1.0;
        let faults = gas_ram(&input).unwrap_err();
        let pointers: Vec<_> = faults.iter().map(|f| f.pointer.as_str()).collect();
        assert_eq!(
            pointers,
            ["/ram/stroke_mm", "/ram/rod_mm", "/pressure_bar_gauge"]
        );
    }
}
