//! Lines about packs, bottles, parts and things that are counted or borrowed.

use super::register::Chemistry;
use crate::calc::units::{
    CellVoltage, Charge as ChargeAmount, Count, Current, Mass, Minutes, Resistance, Temperature,
    Word,
};
use crate::pit::ids::{BottleId, ChannelId, PackId, PartTypeId, PersonId, SetId, SupplyId};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Where a pack, set or bottle is.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum ThingPlace {
    /// In the machine.
    Machine,
    /// On the bench.
    Bench,
    /// On the charging table.
    ChargingTable,
    /// Set aside in the observation box.
    Quarantine,
    /// At the gas bay.
    GasStation,
    /// Handed back or vented for the road.
    Returned,
}

/// How something looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Looks {
    /// Nothing wrong to see or smell.
    Fine,
    /// Swollen.
    Swollen,
    /// Hot to the touch.
    Hot,
    /// Hit, dented or cut.
    Hit,
    /// Smells.
    Smells,
}

/// All of a team's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum All {
    /// Every one.
    All,
}

/// A set, a pack, or all sets: where, and how they look.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[schema(as = PackReport)]
#[serde(deny_unknown_fields)]
pub struct Pack {
    /// The set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set: Option<SetId>,
    /// Every set of the team.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sets: Option<All>,
    /// One pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack: Option<PackId>,
    /// Where it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<ThingPlace>,
    /// How it looks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub looks: Option<Looks>,
    /// Strapped in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strapped: Option<bool>,
    /// The packs match each other and the total is as expected.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub matched: Option<bool>,
    /// Who watches it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub watcher: Option<PersonId>,
    /// Rest voltage of every cell, pack after pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 64)]
    pub cells_mv: Option<Vec<CellVoltage>>,
    /// Temperature of the warmest pack, on its surface.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pack_c: Option<Temperature>,
    /// Resistance of one cell, the mean of the pack, as a charger read it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cell_resistance_uohm: Option<Resistance>,
}

/// Whether a charge began, was cut short or is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ChargeState {
    /// Current flows.
    Started,
    /// The mains failed: nobody knows what the charger does since.
    Interrupted,
    /// Off the channel.
    Ended,
}

/// A charge of a set, or the word that nothing is charging.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[schema(as = ChargeReport)]
#[serde(deny_unknown_fields)]
pub struct Charge {
    /// The set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set: Option<SetId>,
    /// The channels it is on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(max_items = 16)]
    pub channels: Option<Vec<ChannelId>>,
    /// Started or ended.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub state: Option<ChargeState>,
    /// Who watches it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub watcher: Option<PersonId>,
    /// Who read the settings back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub read_back_by: Option<PersonId>,
    /// The chemistry the charger is set to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub chemistry: Option<Chemistry>,
    /// The cells in series it is set to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cells: Option<Count>,
    /// The current it is set to, for each pack.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub current_ma: Option<Current>,
    /// How many charges are still running.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub running: Option<Count>,
    /// How long it will take, as the charger or the crew says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expected_min: Option<Minutes>,
    /// What the charger counted into the whole set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charged_mah: Option<ChargeAmount>,
    /// The charger ended it by itself, full; or it was cut short.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub full: Option<bool>,
}

/// What was done with a bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum BottleState {
    /// Filled.
    Filled,
    /// Weighed.
    Weighed,
    /// Emptied.
    Dumped,
}

/// A bottle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, ToSchema)]
#[schema(as = BottleReport)]
#[serde(deny_unknown_fields)]
pub struct Bottle {
    /// Which bottle; none for all of the team's.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bottle: Option<BottleId>,
    /// Where it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<ThingPlace>,
    /// How it looks.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub looks: Option<Looks>,
    /// Its valve.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub valve: Option<super::machine::Valve>,
    /// Strapped in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub strapped: Option<bool>,
    /// What was done with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub state: Option<BottleState>,
    /// Gross mass on the scale.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<Mass>,
    /// Shots fired from it since it was weighed before, tests too; with a mass.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shots: Option<Count>,
    /// The supply cylinder it was filled from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub supply: Option<SupplyId>,
}

/// A supply cylinder weighed: what was filled from it before no longer counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SupplyWeighed {
    /// Gross mass on the scale.
    pub mass_g: Mass,
}

/// What became of the old part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum OldPart {
    /// Thrown away.
    Scrap,
    /// To be mended.
    Mend,
}

/// A part swapped for a spare.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// The part type.
    pub part: Word,
    /// The area it is in.
    #[serde(rename = "where", default, skip_serializing_if = "Option::is_none")]
    pub area: Option<Word>,
    /// Which spare was used, by its type.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spare: Option<PartTypeId>,
    /// What became of the old one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub old: Option<OldPart>,
    /// The task it finishes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub task: Option<Word>,
}

/// Borrowed and lent things that are not home.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Loan {
    /// How many are still out.
    pub open: Count,
}

/// Things counted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Counted {
    /// What was counted.
    pub what: Word,
    /// How many are missing.
    pub missing: Count,
    /// Who holds what was counted, for links.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holder: Option<super::machine::Holder>,
}
