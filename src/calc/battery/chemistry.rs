//! What a cell is made of, and the voltages that follow from it.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::ocv::{self, Ocv};

/// The class a cell belongs to.
///
/// **Assumptions** ordinary 4.2 V lithium polymer and nickel-manganese-cobalt cells, and lithium
/// iron phosphate. High-voltage polymer cells (4.35 V) are outside what was checked.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[schema(as = CellChemistry)]
#[serde(rename_all = "snake_case")]
pub enum Chemistry {
    /// Lithium polymer pouch, 4.2 V full.
    Lipo,
    /// Lithium-ion with a nickel-manganese-cobalt cathode, 4.2 V full.
    Nmc,
    /// Lithium iron phosphate, 3.6 V full.
    Lfp,
}

impl Chemistry {
    /// The name people say.
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Lipo => "LiPo",
            Self::Nmc => "NMC lithium-ion",
            Self::Lfp => "LFP",
        }
    }

    /// Rest voltage by state of charge.
    pub(super) fn ocv(self) -> &'static Ocv {
        match self {
            Self::Lipo => &ocv::LIPO,
            Self::Nmc => &ocv::NMC,
            Self::Lfp => &ocv::LFP,
        }
    }

    /// Voltage a charger holds a cell at.
    ///
    /// **Units** V. **Source** 4.20 V: ICR18650-26C cell specification; LFP: top of the class
    /// table, 0.05 V below the 3.65 V of cell makers' pages.
    pub fn full_v(self) -> f64 {
        match self {
            Self::Lipo | Self::Nmc => 4.20,
            Self::Lfp => 3.60,
        }
    }

    /// Highest hold voltage this chemistry may be set to.
    ///
    /// **Units** V. **Source** as [`Self::full_v`]; LFP 3.65 V from a 26650 cell maker's page.
    pub(super) fn highest_hold_v(self) -> f64 {
        match self {
            Self::Lipo | Self::Nmc => 4.20,
            Self::Lfp => 3.65,
        }
    }

    /// Lowest hold voltage that still makes sense as an end of charge.
    ///
    /// **Units** V. **Source** common practice, no source.
    pub(super) fn lowest_hold_v(self) -> f64 {
        match self {
            Self::Lipo | Self::Nmc => 4.00,
            Self::Lfp => 3.40,
        }
    }

    /// Voltage above which a cell has been overcharged.
    ///
    /// **Units** V. **Source** 4.20 V with its 0.05 V tolerance, ICR18650-26C specification; LFP
    /// 3.65 V with the same tolerance.
    pub(super) fn overcharged_v(self) -> f64 {
        match self {
            Self::Lipo | Self::Nmc => 4.25,
            Self::Lfp => 3.70,
        }
    }

    /// Highest reading that is taken for a voltage rather than for a slip of the finger.
    ///
    /// **Units** V. **Source** own policy.
    pub(super) fn highest_reading_v(self) -> f64 {
        match self {
            Self::Lipo | Self::Nmc => 4.40,
            Self::Lfp => 4.00,
        }
    }

    /// Voltage below which a charge may only start gently and after asking a person.
    ///
    /// **Units** V. **Source** NMC 2.75 V: ICR18650-26C cut-off; LiPo 3.0 V and LFP 2.5 V common
    /// practice, no source.
    pub(super) fn gentle_below_v(self) -> f64 {
        match self {
            Self::Lipo => 3.00,
            Self::Nmc => 2.75,
            Self::Lfp => 2.50,
        }
    }

    /// Voltage below which a cell goes to quarantine.
    ///
    /// **Units** V. **Source** own policy (2.5 V); LFP 2.0 V, the cut-off on a 26650 cell maker's
    /// page.
    pub fn quarantine_below_v(self) -> f64 {
        match self {
            Self::Lipo | Self::Nmc => 2.50,
            Self::Lfp => 2.00,
        }
    }

    /// Lowest cell voltage under load that a bout may reach.
    ///
    /// **Units** V. **Source** LiPo 3.2 V: hobby LiPo guidelines (commonsenserc.com); NMC and LFP
    /// own policy.
    pub(super) fn floor_under_load_v(self) -> f64 {
        match self {
            Self::Lipo => 3.20,
            Self::Nmc => 3.00,
            Self::Lfp => 2.50,
        }
    }

    /// Voltage a cell is sold under.
    ///
    /// **Units** V. **Source** common practice, no source.
    pub(super) fn nominal_v(self) -> f64 {
        match self {
            Self::Lipo => 3.70,
            Self::Nmc => 3.60,
            Self::Lfp => 3.20,
        }
    }

    /// Whether rest voltage says little about charge over most of the range.
    pub(super) fn is_flat(self) -> bool {
        matches!(self, Self::Lfp)
    }
}
