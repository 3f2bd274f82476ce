//! One cell on a charger: its current at every state of charge, and the time that takes.

use super::ocv::Ocv;
use super::pack::PackBuild;

/// Everything the current of one cell depends on.
///
/// The current is the least of three: what the charger's amperes allow, what its watts allow, and
/// what the hold voltage drives through the cell's resistance.
///
/// **Units** V, A, W, Ah, ohm, all of one cell.
///
/// **Assumptions** 4.2 V chemistries up to 2C; one resistance over the whole charge; every cell
/// alike.
///
/// **Source** constant-current, constant-voltage charge with a rest-voltage table and one
/// resistance; checked against the Doyle-Fuller-Newman model of PyBaMM 26.10.1.1.
#[derive(Debug, Clone, Copy)]
pub(super) struct CellOnCharge {
    /// Rest voltage by state of charge.
    pub(super) ocv: &'static Ocv,
    /// Capacity of the cell, Ah.
    pub(super) capacity_ah: f64,
    /// Effective resistance, ohm.
    pub(super) resistance_ohm: f64,
    /// Voltage the charger holds, V.
    pub(super) hold_v: f64,
    /// Most current, A.
    pub(super) limit_a: f64,
    /// Most power at the terminals, W.
    pub(super) limit_w: Option<f64>,
}

/// What one stretch of a charge takes.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Leg {
    /// Time, s.
    pub(super) seconds: f64,
    /// Charge into the cell, Ah.
    pub(super) charged_ah: f64,
    /// Energy over the terminals, Wh.
    pub(super) terminal_wh: f64,
}

/// Which of the three limits rules.
#[derive(Debug, Clone, Copy)]
enum Ruling {
    Amps,
    Watts(f64),
    Hold,
}

impl CellOnCharge {
    /// One cell of a pack that shares the charger's amperes and watts evenly with the others.
    pub(super) fn of(
        pack: &PackBuild,
        resistance_mohm: f64,
        charger_a: f64,
        charger_w: Option<f64>,
    ) -> Self {
        Self {
            ocv: pack.chemistry.ocv(),
            capacity_ah: pack.cell_capacity_ah,
            resistance_ohm: resistance_mohm / 1000.0,
            hold_v: pack.chemistry.full_v(),
            limit_a: charger_a / pack.parallel(),
            limit_w: charger_w.map(|watts| watts / (pack.series() * pack.parallel())),
        }
    }

    /// Time from a state of charge until the current has tapered to a share of the capacity, s.
    pub(super) fn seconds_to_taper(&self, from: f64, share_of_capacity: f64) -> f64 {
        let end = self.soc_at_taper(self.capacity_ah * share_of_capacity);
        self.leg(from, end).seconds
    }

    /// Current with which the charge enters the hold phase, A.
    pub(super) fn current_at_hold(&self) -> f64 {
        match self.limit_w {
            Some(watts) => self.limit_a.min(watts / self.hold_v),
            None => self.limit_a,
        }
    }

    /// State of charge at which the hold voltage is reached.
    pub(super) fn soc_at_hold(&self) -> f64 {
        self.ocv
            .soc_at(self.hold_v - self.current_at_hold() * self.resistance_ohm)
    }

    /// State of charge at which the hold phase has tapered to `cut_a`.
    ///
    /// A charger weaker than `cut_a` ends where the hold voltage is reached.
    pub(super) fn soc_at_taper(&self, cut_a: f64) -> f64 {
        let cut_a = cut_a.min(self.current_at_hold());
        self.ocv.soc_at(self.hold_v - cut_a * self.resistance_ohm)
    }

    /// Highest power at the terminals between two states of charge, W.
    pub(super) fn peak_w(&self, from: f64, to: f64) -> f64 {
        // Power rises up to the hold voltage and falls after it.
        let at = self.soc_at_hold().clamp(from, to.max(from));
        let current = self.current_at(at);
        current * (self.ocv.volts_at(at) + current * self.resistance_ohm)
    }

    /// Current at a state of charge, A.
    fn current_at(&self, soc: f64) -> f64 {
        let rest_v = self.ocv.volts_at(soc);
        let held = ((self.hold_v - rest_v) / self.resistance_ohm).max(0.0);
        let powered = self
            .limit_w
            .map_or(f64::INFINITY, |watts| self.powered(watts, rest_v));
        self.limit_a.min(held).min(powered)
    }

    /// Current that `watts` at the terminals give at a rest voltage, A.
    fn powered(&self, watts: f64, rest_v: f64) -> f64 {
        let ohm = self.resistance_ohm;
        // The positive root of I (U + I R) = P, written so that a small R loses no digits.
        2.0 * watts / (rest_v + (rest_v * rest_v + 4.0 * ohm * watts).sqrt())
    }

    /// Time, charge and energy from one state of charge to a higher one.
    ///
    /// Rest voltage is straight between the points of its table, so each piece is integrated
    /// exactly: a step of current I takes `dt = 3600 Q ds / I`.
    pub(super) fn leg(&self, from: f64, to: f64) -> Leg {
        let mut total = Leg::default();
        if to <= from {
            return total;
        }
        let hold = self.soc_at_hold();
        let crossing = self.limit_w.map_or(hold, |watts| {
            self.ocv
                .soc_at(watts / self.limit_a - self.limit_a * self.resistance_ohm)
        });
        let mut low = from;
        let mut marks: Vec<f64> = Ocv::points_between(from, to)
            .chain(
                [hold, crossing]
                    .into_iter()
                    .filter(|&at| at > from && at < to),
            )
            .chain([to])
            .collect();
        marks.sort_by(f64::total_cmp);
        for high in marks {
            if high > low {
                self.add_piece(low, high, self.ruling(low, high, hold), &mut total);
                low = high;
            }
        }
        total
    }

    /// The limit that rules between two neighbouring marks.
    fn ruling(&self, low: f64, high: f64, hold: f64) -> Ruling {
        let middle = f64::midpoint(low, high);
        if middle > hold {
            return Ruling::Hold;
        }
        match self.limit_w {
            Some(watts) if self.powered(watts, self.ocv.volts_at(middle)) < self.limit_a => {
                Ruling::Watts(watts)
            }
            Some(_) | None => Ruling::Amps,
        }
    }

    /// Adds one piece on which rest voltage is straight and one limit rules.
    fn add_piece(&self, low: f64, high: f64, ruling: Ruling, total: &mut Leg) {
        let charged_ah = self.capacity_ah * (high - low);
        let (low_v, high_v) = (self.ocv.volts_at(low), self.ocv.volts_at(high));
        let ohm = self.resistance_ohm;
        let (hours, terminal_wh) = match ruling {
            Ruling::Amps => (
                charged_ah / self.limit_a,
                charged_ah * (f64::midpoint(low_v, high_v) + self.limit_a * ohm),
            ),
            Ruling::Watts(watts) => {
                let root = 4.0 * ohm * watts;
                let hours = charged_ah * mean_powered_volts(low_v, high_v, root) / watts;
                (hours, hours * watts)
            }
            Ruling::Hold => {
                let first = (self.hold_v - low_v).max(0.0) / ohm;
                let last = (self.hold_v - high_v).max(0.0) / ohm;
                (
                    charged_ah / logarithmic_mean(first, last),
                    charged_ah * self.hold_v,
                )
            }
        };
        total.seconds += 3600.0 * hours;
        total.charged_ah += charged_ah;
        total.terminal_wh += terminal_wh;
    }
}

/// Mean terminal voltage over a straight rise of rest voltage at constant power.
///
/// The terminal voltage is `(U + sqrt(U^2 + c)) / 2` with `c = 4 R P`; its integral over U is
/// closed.
fn mean_powered_volts(low_v: f64, high_v: f64, c: f64) -> f64 {
    let integral = |u: f64| 0.25 * (u * u + u * (u * u + c).sqrt() + c * (u / c.sqrt()).asinh());
    (integral(high_v) - integral(low_v)) / (high_v - low_v)
}

/// Logarithmic mean of two currents: the steady current that takes as long as a straight fall.
fn logarithmic_mean(first: f64, last: f64) -> f64 {
    let (large, small) = (first.max(last), first.min(last));
    if small <= 0.0 {
        return 0.0;
    }
    let excess = (large - small) / small;
    if excess < 1e-9 {
        return small;
    }
    (large - small) / excess.ln_1p()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::ocv;
    use super::*;

    fn any_cell() -> impl Strategy<Value = CellOnCharge> {
        (
            prop_oneof![Just(&ocv::LIPO), Just(&ocv::NMC)],
            0.5_f64..20.0,
            5.0_f64..150.0,
            0.1_f64..2.0,
            prop::option::of(0.3_f64..8.0),
        )
            .prop_map(|(table, capacity_ah, index, rate, watts)| CellOnCharge {
                ocv: table,
                capacity_ah,
                resistance_ohm: index / capacity_ah / 1000.0,
                hold_v: 4.2,
                limit_a: rate * capacity_ah,
                limit_w: watts.map(|per_ah| per_ah * capacity_ah),
            })
    }

    /// Time, terminal energy, stored energy and heat by the midpoint rule in fine steps.
    fn by_steps(cell: &CellOnCharge, from: f64, to: f64) -> (f64, f64, f64, f64) {
        let steps = 40_000;
        let width = (to - from) / f64::from(steps);
        let mut sums = (0.0, 0.0, 0.0, 0.0);
        for step in 0..steps {
            let soc = from + width * (f64::from(step) + 0.5);
            let rest_v = cell.ocv.volts_at(soc);
            let current = cell.current_at(soc);
            let hours = cell.capacity_ah * width / current;
            sums.0 += 3600.0 * hours;
            sums.1 += current * (rest_v + current * cell.resistance_ohm) * hours;
            sums.2 += rest_v * cell.capacity_ah * width;
            sums.3 += current * current * cell.resistance_ohm * hours;
        }
        sums
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(48))]

        #[test]
        fn the_closed_form_is_the_sum_of_fine_steps(cell in any_cell(), from in 0.0_f64..0.95) {
            let to = cell.soc_at_taper(cell.capacity_ah / 20.0).max(from);
            let leg = cell.leg(from, to);
            let (seconds, terminal, stored, heat) = by_steps(&cell, from, to);
            prop_assert!((leg.seconds - seconds).abs() <= 1e-4 * seconds + 1e-6);
            prop_assert!((leg.terminal_wh - terminal).abs() <= 1e-4 * terminal + 1e-9);
            // What goes in is what is stored and what warms the cell.
            prop_assert!((leg.terminal_wh - stored - heat).abs() <= 2e-4 * terminal + 1e-9);
        }

        #[test]
        fn more_amps_are_never_slower(cell in any_cell(), from in 0.0_f64..0.9, more in 1.0_f64..3.0) {
            let cut = cell.capacity_ah / 10.0;
            let faster = CellOnCharge { limit_a: cell.limit_a * more, ..cell };
            let slow = cell.leg(from, cell.soc_at_taper(cut)).seconds;
            let fast = faster.leg(from, faster.soc_at_taper(cut)).seconds;
            prop_assert!(fast <= slow * (1.0 + 1e-9) + 1e-6);
        }

        #[test]
        fn a_lower_start_is_never_earlier(cell in any_cell(), from in 0.0_f64..0.9, lower in 0.0_f64..1.0) {
            let end = cell.soc_at_taper(cell.capacity_ah / 10.0);
            let later = cell.leg(from * lower, end).seconds;
            prop_assert!(later >= cell.leg(from, end).seconds * (1.0 - 1e-12));
        }

        #[test]
        fn a_charge_cut_in_two_takes_as_long(cell in any_cell(), from in 0.0_f64..0.5, cut in 0.5_f64..0.9) {
            let end = cell.soc_at_taper(cell.capacity_ah / 10.0).max(cut);
            let whole = cell.leg(from, end).seconds;
            let parts = cell.leg(from, cut).seconds + cell.leg(cut, end).seconds;
            prop_assert!((whole - parts).abs() <= 1e-9 * whole);
        }
    }

    #[test]
    fn watts_give_the_worked_currents() {
        // Worked cases w02 and w03: 1344 W on 8 cells at 4.20 V, 300 W on 12 at 3.70 and 4.20 V.
        let cell = |watts: f64| CellOnCharge {
            ocv: &ocv::LIPO,
            capacity_ah: 40.0,
            resistance_ohm: 1e-9,
            hold_v: 4.2,
            limit_a: 1000.0,
            limit_w: Some(watts),
        };
        assert!((cell(1344.0 / 8.0).current_at_hold() - 40.0).abs() < 1e-6);
        assert!((cell(25.0).powered(25.0, 3.70) - 6.7568).abs() < 1e-4);
        assert!((cell(25.0).powered(25.0, 4.20) - 5.9524).abs() < 1e-4);
    }

    #[test]
    fn the_table_gives_the_worked_charge_times() {
        // Worked cases w04 and w05, quadrature over the LiPo table in coarse steps that end with
        // the last whole one: 57.74 min there, 42.72 + 60 (0.1 ln(5/3.1) + 0.1/1.24 ln(3.1/0.25))
        // = 57.77 by hand.
        let one_c = CellOnCharge {
            ocv: &ocv::LIPO,
            capacity_ah: 5.0,
            resistance_ohm: 0.020,
            hold_v: 4.2,
            limit_a: 5.0,
            limit_w: None,
        };
        let constant = one_c.leg(0.2, one_c.soc_at_hold()).seconds / 60.0;
        let total = one_c.leg(0.2, one_c.soc_at_taper(0.25)).seconds / 60.0;
        assert!((constant - 42.72).abs() < 0.01, "{constant}");
        assert!((total - 57.77).abs() < 0.005, "{total}");
        assert!((total - 57.74).abs() < 0.04, "{total}");
        let two_c = CellOnCharge {
            resistance_ohm: 0.003,
            limit_a: 10.0,
            ..one_c
        };
        let total = two_c.leg(0.2, two_c.soc_at_taper(0.5)).seconds / 60.0;
        // 0.7758 / 2 h of constant current and 60 0.015/1.24 ln 20 min by hand: 25.45; the coarse
        // quadrature gave 25.38.
        assert!((total - 25.448).abs() < 0.005, "{total}");
        assert!((total - 25.38).abs() < 0.08, "{total}");
    }
}
