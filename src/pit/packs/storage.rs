//! What a pack needs before the night: neither full nor empty.

use super::build::build;
use super::set::mohm;
use super::{PackNow, unusable};
use crate::calc::battery::{StorageChargeInput, StorageChargeOutput, storage_charge};

/// How a pack comes to storage, at its capacity in one hour; none if nothing tells what it holds, if it
/// is on charge, or if it is out of use: then nobody charges it.
pub fn storage(pack: &PackNow) -> Option<StorageChargeOutput> {
    if pack.story.charge.is_some() || unusable(pack) {
        return None;
    }
    let soc = pack.soc()?;
    storage_charge(&StorageChargeInput {
        pack: build(&pack.body),
        soc_fraction: soc.likely_fraction.clamp(0.0, 1.0),
        target_cell_v: None,
        discharge_a: None,
        charger_a: (f64::from(pack.body.capacity_mah.get()) / 1000.0).clamp(0.05, 200.0),
        charger_w: None,
        cell_ir_mohm: mohm(pack),
    })
    .ok()
}
