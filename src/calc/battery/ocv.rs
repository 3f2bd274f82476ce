//! Rest voltage of a cell by its state of charge, one table for each class.

/// States of charge at which the tables are given, 0 to 1.
const SOC: [f64; 22] = [
    0.0, 0.02, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75,
    0.8, 0.85, 0.9, 0.95, 1.0,
];

/// LiPo.
///
/// **Units** V. **Source** open-circuit voltage of parameter set Ai2020 (LCO pouch), PyBaMM
/// 26.10.1.1.
pub(super) static LIPO: Ocv = Ocv {
    volts: [
        3.0, 3.339, 3.542, 3.64, 3.665, 3.695, 3.717, 3.733, 3.748, 3.762, 3.776, 3.793, 3.812,
        3.836, 3.868, 3.909, 3.952, 3.994, 4.041, 4.088, 4.138, 4.2,
    ],
};

/// NMC lithium-ion.
///
/// **Units** V. **Source** mean of the NMC and NCO parameter sets of PyBaMM 26.10.1.1 (Mohtat2020,
/// Chen2020, Ecker2015) and one synthetic set.
pub(super) static NMC: Ocv = Ocv {
    volts: [
        2.6, 3.06, 3.288, 3.422, 3.501, 3.552, 3.602, 3.643, 3.675, 3.703, 3.726, 3.751, 3.78,
        3.818, 3.857, 3.903, 3.952, 4.0, 4.044, 4.084, 4.132, 4.2,
    ],
};

/// LFP.
///
/// **Units** V. **Source** parameter set Prada2013, PyBaMM 26.10.1.1.
pub(super) static LFP: Ocv = Ocv {
    volts: [
        2.0, 2.46, 2.785, 2.978, 3.108, 3.168, 3.186, 3.206, 3.232, 3.252, 3.262, 3.266, 3.268,
        3.269, 3.27, 3.274, 3.293, 3.31, 3.313, 3.314, 3.316, 3.6,
    ],
};

/// A rising table of rest voltage, straight between its points.
#[derive(Debug)]
pub(super) struct Ocv {
    volts: [f64; 22],
}

impl Ocv {
    /// Rest voltage at a state of charge; outside 0 to 1 the nearest end.
    pub(super) fn volts_at(&self, soc: f64) -> f64 {
        between(&SOC, &self.volts, soc)
    }

    /// State of charge at a rest voltage; outside the table the nearest end.
    pub(super) fn soc_at(&self, volts: f64) -> f64 {
        between(&self.volts, &SOC, volts)
    }

    /// Mean slope over the last tenth of the charge.
    ///
    /// **Units** V for the whole state of charge.
    pub(super) fn top_slope(&self) -> f64 {
        (self.volts_at(1.0) - self.volts_at(0.9)) / 0.1
    }

    /// The table's states of charge that lie strictly between two.
    pub(super) fn points_between(from: f64, to: f64) -> impl Iterator<Item = f64> {
        SOC.into_iter().filter(move |&soc| soc > from && soc < to)
    }
}

/// `ys` at `x` by a straight line between the neighbouring `xs`, which rise.
fn between(xs: &[f64; 22], ys: &[f64; 22], x: f64) -> f64 {
    let above = xs.partition_point(|&known| known <= x);
    if above == 0 {
        return ys[0];
    }
    if above == xs.len() {
        return ys[xs.len() - 1];
    }
    let share = (x - xs[above - 1]) / (xs[above] - xs[above - 1]);
    ys[above - 1] + share * (ys[above] - ys[above - 1])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The published class tables, PyBaMM 26.10.1.1.
    const REFERENCE: &str = include_str!("../../../tests/data/battery/ocv.csv");

    #[test]
    fn the_tables_are_the_published_ones() {
        let mut rows = 0;
        for (row, line) in REFERENCE.lines().skip(1).enumerate() {
            let cells: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
            assert_eq!(SOC[row], cells[0]);
            assert_eq!(LIPO.volts[row], cells[1]);
            assert_eq!(NMC.volts[row], cells[2]);
            assert_eq!(LFP.volts[row], cells[3]);
            rows += 1;
        }
        assert_eq!(rows, SOC.len());
    }

    #[test]
    fn volts_and_charge_invert_each_other() {
        for table in [&LIPO, &NMC, &LFP] {
            assert!(table.volts.is_sorted_by(|low, high| low < high));
            for step in 0..=1000 {
                let soc = f64::from(step) / 1000.0;
                assert!((table.soc_at(table.volts_at(soc)) - soc).abs() < 1e-9);
            }
            assert_eq!(table.soc_at(1.0), 0.0);
            assert_eq!(table.soc_at(5.0), 1.0);
        }
    }
}
