//! A registered pack as the calculators know it, and how long its charge takes.

use crate::calc::battery::{
    self, ChargeTimeInput, PackBuild, RestAfter, RestVoltageInput, SocInterval, charge_time,
    rest_voltage,
};
use crate::pit::logbook::register::{Chemistry, Pack};

/// Resistance of a cell times its capacity where nobody measured it.
///
/// **Units** mohm Ah. **Source** own starting value between the 41 and 123 of the reference sets.
const ASSUMED_MOHM_AH: f64 = 60.0;

/// State of charge a charge is planned from where nothing is known. **Source** own value, safe side.
pub(super) const UNKNOWN_START: f64 = 0.10;

/// Planning time of a charge that the calculator cannot foretell. **Units** min. **Source** own value.
const UNFORETOLD_MIN: f64 = 120.0;

/// How a pack is built.
pub(super) fn build(pack: &Pack) -> PackBuild {
    let parallel = u32::try_from(pack.parallel_cells.get()).unwrap_or(1).max(1);
    PackBuild {
        chemistry: match pack.chemistry {
            Chemistry::Lipo => battery::Chemistry::Lipo,
            Chemistry::Nmc => battery::Chemistry::Nmc,
            Chemistry::Lfp => battery::Chemistry::Lfp,
        },
        series_cells: u32::try_from(pack.cells.get()).unwrap_or(0),
        parallel_cells: parallel,
        cell_capacity_ah: capacity_ah(pack) / f64::from(parallel),
    }
}

/// Nominal capacity of the whole pack. **Units** Ah.
pub(super) fn capacity_ah(pack: &Pack) -> f64 {
    f64::from(pack.capacity_mah.get()) / 1000.0
}

/// Resistance of one cell: as measured, as registered, or the general estimate. **Units** mohm.
pub(super) fn cell_mohm(pack: &Pack, measured: Option<f64>) -> f64 {
    let registered = pack
        .cell_resistance_uohm
        .map(|uohm| f64::from(uohm.get()) / 1000.0);
    measured
        .or(registered)
        .unwrap_or(ASSUMED_MOHM_AH / build(pack).cell_capacity_ah)
}

/// Most charge current the pack's label allows, as a multiple of its capacity.
pub(super) fn most_rate(pack: &Pack) -> f64 {
    pack.max_charge_ma.map_or(1.0, |most| {
        (f64::from(most.get()) / f64::from(pack.capacity_mah.get())).clamp(0.05, 10.0)
    })
}

/// What a pack gets of its channel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Share {
    /// **Units** A.
    pub amps: f64,
    /// **Units** W.
    pub watts: f64,
}

/// Minutes until a charge is over: the likely, and the time to plan with.
pub(super) fn charge_min(pack: &Pack, mohm: f64, start: f64, share: Share) -> (f64, f64) {
    let input = ChargeTimeInput {
        pack: build(pack),
        cell_ir_mohm: mohm,
        charges: Vec::new(),
        start_soc_fraction: Some(start.clamp(0.0, 1.0)),
        rest_cells_v: Vec::new(),
        rested_min: None,
        charger_a: share.amps.clamp(0.05, 200.0),
        charger_w: Some(share.watts.clamp(1.0, 10_000.0)),
        most_charge_rate_c: Some(most_rate(pack)),
        hold_cell_v: None,
        temperature: None,
        top_spread_mv: None,
        balance_a: None,
        hold_timeout_min: None,
    };
    let forecast = charge_time(&input).ok().and_then(|output| output.forecast);
    forecast.map_or((UNFORETOLD_MIN, UNFORETOLD_MIN), |forecast| {
        let likely = forecast.to_c10_min;
        (
            likely,
            forecast.ready_plan_min.unwrap_or(likely).max(likely),
        )
    })
}

/// State of charge of the lowest cell from cell voltages; none if no such pack shows them.
pub(super) fn soc_of(
    pack: &Pack,
    cells_v: Vec<f64>,
    rested_min: Option<f64>,
    after: RestAfter,
) -> Option<(SocInterval, bool)> {
    rest_voltage(&RestVoltageInput {
        pack: build(pack),
        rest_cells_v: cells_v,
        rested_min,
        rest_after: Some(after),
    })
    .ok()
    .map(|output| (output.lowest_cell, output.rested && output.telling))
}
