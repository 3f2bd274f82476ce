//! How a pack is built, and what is plausible to hear about it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::chemistry::Chemistry;
use crate::calc::fault::Faults;
use crate::calc::names;

/// How a pack is built.
///
/// **Units** ampere-hours of one cell; a label that names the whole pack is divided by
/// `parallel_cells` first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "chemistry": "lipo", "series_cells": 6, "parallel_cells": 1, "cell_capacity_ah": 5.0
}))]
pub struct PackBuild {
    /// Class of the cells.
    pub chemistry: Chemistry,
    /// Cells in series, 1 to 24.
    #[schema(minimum = 1, maximum = 24)]
    pub series_cells: u32,
    /// Cells side by side at each step of the series, 1 to 50.
    #[schema(minimum = 1, maximum = 50)]
    pub parallel_cells: u32,
    /// Capacity of one cell, 0.05 to 100 Ah.
    #[schema(minimum = 0.05, maximum = 100.0)]
    pub cell_capacity_ah: f64,
}

impl PackBuild {
    /// Capacity of the whole pack, Ah.
    pub(super) fn capacity_ah(&self) -> f64 {
        self.cell_capacity_ah * self.parallel()
    }

    /// Cells in series as a factor.
    pub(super) fn series(&self) -> f64 {
        f64::from(self.series_cells)
    }

    /// Cells in parallel as a factor.
    pub(super) fn parallel(&self) -> f64 {
        f64::from(self.parallel_cells)
    }

    /// Notes what cannot be true of a pack.
    pub(super) fn check(&self, at: &str, faults: &mut Faults) {
        faults.range(
            format!("{at}/series_cells"),
            f64::from(self.series_cells),
            1.0,
            24.0,
        );
        faults.range(
            format!("{at}/parallel_cells"),
            f64::from(self.parallel_cells),
            1.0,
            50.0,
        );
        let pointer = format!("{at}/cell_capacity_ah");
        let capacity = self.cell_capacity_ah;
        if capacity > 100.0 && capacity <= 100_000.0 {
            faults.add(
                pointer,
                format!(
                    "{capacity} Ah is more than any pack here holds (0.05 to 100); is it in mAh? \
                     Then it is {} Ah.",
                    capacity / 1000.0
                ),
            );
        } else {
            faults.range(pointer, capacity, 0.05, 100.0);
        }
    }

    /// Notes cell voltages that this pack cannot show: wrong count, or no voltage of such a cell.
    ///
    /// An over-discharged or overcharged cell is no fault: it must be possible to report it.
    pub(super) fn check_cells(&self, cells_v: &[f64], at: &str, faults: &mut Faults) {
        let told = cells_v.len();
        if told != self.series_cells as usize {
            faults.add(
                at,
                format!(
                    "{told} cell voltages for a pack of {} cells in series; one for each is \
                     needed. Is the cell count right?",
                    self.series_cells
                ),
            );
        }
        for (index, &volts) in cells_v.iter().enumerate() {
            check_cell(self.chemistry, volts, &format!("{at}/{index}"), faults);
        }
    }

    /// Notes a resistance of one cell that no cell of this size has, and asks about the unit.
    ///
    /// **Source** bounds of resistance times capacity, 1 to 1000 mohm Ah: own policy; the reference
    /// sets have 41 to 123.
    pub(super) fn check_resistance(&self, mohm: f64, at: &str, faults: &mut Faults) {
        let index = mohm * self.cell_capacity_ah;
        if !self.cell_capacity_ah.is_finite() || self.cell_capacity_ah <= 0.0 {
            return;
        }
        let low = 1.0 / self.cell_capacity_ah;
        let high = 1000.0 / self.cell_capacity_ah;
        if mohm > 0.0 && index < 1.0 {
            faults.add(
                at,
                format!(
                    "{mohm} mohm is far below any cell of {} Ah ({low:.2} to {high:.0}); is it in \
                     ohm? Then it is {} mohm.",
                    self.cell_capacity_ah,
                    round_to_micro(mohm * 1000.0)
                ),
            );
        } else if index > 1000.0 {
            faults.add(
                at,
                format!(
                    "{mohm} mohm is far above any cell of {} Ah ({low:.2} to {high:.0}); is it in \
                     microohm, or of the whole pack?",
                    self.cell_capacity_ah
                ),
            );
        } else {
            faults.range(at, mohm, low, high);
        }
    }
}

/// Notes a reading that no cell of this chemistry shows.
pub(super) fn check_cell(chemistry: Chemistry, volts: f64, at: &str, faults: &mut Faults) {
    let most = chemistry.highest_reading_v();
    if volts > 2.0 * chemistry.quarantine_below_v() && volts <= 110.0 {
        let cells = (volts / chemistry.nominal_v()).round().max(2.0);
        faults.add(
            at,
            format!(
                "{volts} V is not the voltage of one {} cell (0 to {most}); is it the voltage of \
                 {cells} cells together?",
                chemistry.name()
            ),
        );
    } else {
        faults.range(at, volts, 0.0, most);
    }
}

/// Notes a state of charge outside 0 to 1, and asks whether it is a percentage.
pub(super) fn check_soc(soc: f64, at: &str, faults: &mut Faults) {
    if soc > 1.0 && soc <= 100.0 {
        faults.add(
            at,
            format!(
                "{soc} is not a fraction from 0 to 1; is it per cent? Then it is {}.",
                round_to_micro(soc / 100.0)
            ),
        );
    } else {
        faults.range(at, soc, 0.0, 1.0);
    }
}

/// Notes strings that cannot stand side by side, given how many cells each has in series.
pub(super) fn check_strings(series_cells: &[u64], faults: &mut Faults) {
    names::count(faults, "/strings", series_cells.len(), 1, 24, "strings");
    let Some(&first) = series_cells.first() else {
        return;
    };
    for (row, &cells) in series_cells.iter().enumerate() {
        if cells == 0 {
            faults.add(format!("/strings/{row}"), "A string has at least one pack.");
        } else if cells > 100 {
            faults.add(
                format!("/strings/{row}"),
                format!("{cells} cells in series; at most 100 are taken."),
            );
        } else if cells != first {
            faults.add(
                format!("/strings/{row}"),
                format!(
                    "{cells} cells in series beside a string of {first}: wired side by side they \
                     would charge each other at once."
                ),
            );
        }
    }
}

/// `value` without the digits that only multiplication left behind.
fn round_to_micro(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

/// Lowest of some numbers, if there are any.
pub(super) fn lowest(values: &[f64]) -> Option<f64> {
    values.iter().copied().reduce(f64::min)
}

/// Highest of some numbers, if there are any.
pub(super) fn highest(values: &[f64]) -> Option<f64> {
    values.iter().copied().reduce(f64::max)
}

/// Arithmetic mean of some numbers, if there are any.
pub(super) fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// Middle of some numbers, the mean of the two middle ones for an even count.
pub(super) fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    match sorted.len() {
        0 => None,
        odd if odd % 2 == 1 => Some(sorted[middle]),
        _ => Some((sorted[middle - 1] + sorted[middle]) / 2.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PACK: PackBuild = PackBuild {
        chemistry: Chemistry::Lipo,
        series_cells: 4,
        parallel_cells: 1,
        cell_capacity_ah: 5.0,
    };

    fn details(note: impl Fn(&mut Faults)) -> Vec<(String, String)> {
        let mut faults = Faults::none();
        note(&mut faults);
        faults
            .check()
            .err()
            .unwrap_or_default()
            .into_iter()
            .map(|fault| (fault.pointer, fault.detail))
            .collect()
    }

    #[test]
    fn a_missing_cell_and_a_five_volt_cell_are_both_named() {
        let told = details(|faults| PACK.check_cells(&[3.9, 5.1, 3.9], "/rest_cells_v", faults));
        assert_eq!(told.len(), 2);
        assert_eq!(told[0].0, "/rest_cells_v");
        assert!(told[0].1.contains("4 cells in series"));
        assert_eq!(told[1].0, "/rest_cells_v/1");
        assert!(told[1].1.contains("0 to 4.4"));
    }

    #[test]
    fn ohms_milliampere_hours_and_per_cent_are_asked_about() {
        let told = details(|faults| PACK.check_resistance(0.004, "/r", faults));
        assert!(told[0].1.contains("is it in ohm? Then it is 4 mohm."));
        let large = PackBuild {
            cell_capacity_ah: 5000.0,
            ..PACK
        };
        let told = details(|faults| large.check("/pack", faults));
        assert_eq!(told[0].0, "/pack/cell_capacity_ah");
        assert!(told[0].1.contains("is it in mAh? Then it is 5 Ah."));
        let told = details(|faults| check_soc(86.0, "/s", faults));
        assert!(told[0].1.contains("Then it is 0.86."));
    }

    #[test]
    fn a_negative_or_missing_number_is_a_fault() {
        assert_eq!(
            details(|faults| PACK.check_resistance(-3.0, "/r", faults)).len(),
            1
        );
        assert_eq!(
            details(|faults| PACK.check_resistance(f64::NAN, "/r", faults)).len(),
            1
        );
        assert_eq!(
            details(|faults| check_cell(Chemistry::Lipo, f64::NAN, "/v", faults)).len(),
            1
        );
        assert!(details(|faults| PACK.check_resistance(3.0, "/r", faults)).is_empty());
    }

    #[test]
    fn the_median_of_an_even_count_is_between_the_middle_two() {
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), Some(2.5));
        assert_eq!(median(&[4.0, 1.0, 2.0]), Some(2.0));
        assert_eq!(median(&[]), None);
    }
}
