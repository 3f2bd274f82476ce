//! Packs: what they hold, how long they charge, what a bout takes, how healthy they are.
//!
//! Equations are per cell: capacity in Ah, state of charge 0 to 1, rest voltage from a class
//! table, resistance in mohm. Charge current is positive. Temperatures are in degC.
//!
//! | published name | calculator | answers |
//! |---|---|---|
//! | `rest-voltage` | [`rest_voltage()`] | How full is it? |
//! | `charge-time` | [`charge_time()`] | When is it ready? |
//! | `charge-resistance` | [`charge_resistance()`] | What do its own charges teach? |
//! | `cool-down` | [`cool_down()`] | When may its charge start? |
//! | `cell-resistance` | [`cell_resistance()`] | What is a cell's resistance? |
//! | `bout-use` | [`bout_use()`] | What does a bout take from it? |
//! | `next-bout` | [`next_bout()`] | Does this set serve the next bout? |
//! | `pack-health` | [`pack_health()`] | May it still be used, and why not? |
//! | `storage-charge` | [`storage_charge()`] | How does it come to storage? |
//! | `pack-set` | [`pack_set()`] | What do packs give together, and do the parts accept it? |
//! | `mains-load` | [`mains_load()`] | Do circuit, lead and generator carry it? |
//! | `pack-allocation` | [`pack_allocation()`] | Which pack on which channel for which bout? |

mod allocation_check;
mod allocation_rule;
mod allocation_yard;
mod bout_load;
mod bout_use;
mod cell_resistance;
mod charge_curve;
mod charge_gate;
mod charge_plan;
mod charge_resistance;
mod charge_time;
mod chemistry;
mod cool_down;
mod health_capacity;
mod health_resistance;
mod health_rules;
mod mains_load;
mod mains_profile;
mod next_bout;
mod ocv;
mod pack;
mod pack_allocation;
mod pack_health;
mod pack_set;
mod rest_voltage;
mod serving;
mod storage_charge;

pub use bout_load::{CurrentPoint, LoadPattern, PastBout};
pub use bout_use::{BoutUseInput, BoutUseOutput, bout_use};
pub use cell_resistance::{CellResistanceInput, CellResistanceOutput, cell_resistance};
pub use charge_gate::{PackTemperature, StartAdvice};
pub use charge_plan::{ChargeForecast, HoldTimeout};
pub use charge_resistance::{
    ChargeLesson, ChargeResistanceInput, ChargeResistanceOutput, LoggedCharge, ResistanceBasis,
    charge_resistance,
};
pub use charge_time::{ChargeTimeInput, ChargeTimeOutput, charge_time};
pub use chemistry::Chemistry;
pub use cool_down::{CoolDownInput, CoolDownOutput, CoolingReading, TauBasis, cool_down};
pub use health_capacity::{CapacityCharge, CapacityEstimate};
pub use health_resistance::IrReading;
pub use mains_load::{
    MainsLoad, MainsLoadInput, MainsLoadOutput, MainsPlaceOutput, MainsStep, MainsVerdict,
    SupplyKind, SupplyPlace, mains_load,
};
pub use next_bout::{NextBoutInput, NextBoutOutput, SetPack, SetPackOutput, next_bout};
pub use pack::PackBuild;
pub use pack_allocation::{
    AllocatedCharge, AllocationBout, AllocationPack, ChargeChannel, FeedLoad, FeedPeak, LateCause,
    LatePack, MainsFeed, PackAllocationInput, PackAllocationOutput, PackAssignment,
    pack_allocation,
};
pub use pack_health::{
    EarlierRest, HealthReason, HealthVerdict, PackHealthInput, PackHealthOutput, PackSigns,
    pack_health,
};
pub use pack_set::{
    PackSetInput, PackSetOutput, RatedPart, SetPartOutput, SetPartVerdict, WiredPack,
    WiredPackOutput, WiringCheck, pack_set,
};
pub use rest_voltage::{RestAfter, RestVoltageInput, RestVoltageOutput, SocInterval, rest_voltage};
pub use serving::{ServingLimits, ServingVerdict};
pub use storage_charge::{StorageChargeInput, StorageChargeOutput, StorageStep, storage_charge};

#[cfg(test)]
mod allocation_checks;
#[cfg(test)]
mod allocation_search_checks;
#[cfg(test)]
mod bout_checks;
#[cfg(test)]
mod charge_checks;
#[cfg(test)]
mod example_checks;
#[cfg(test)]
mod health_checks;
#[cfg(test)]
mod mains_checks;
#[cfg(test)]
mod next_bout_checks;
#[cfg(test)]
mod pack_set_checks;
