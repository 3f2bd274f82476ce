//! What to pack: the box that is most likely to last the day within mass, price and volume, and the
//! cheapest box for a wanted confidence.

mod contents;
mod greedy;
mod labels;
mod prices;
mod problem;
mod target;
mod within;

pub use contents::{BoxContents, PackedPart, PartToPack};
pub use target::{
    MinimiseBox, PackForConfidenceInput, PackForConfidenceOutput, pack_for_confidence,
};
pub use within::{
    BoxLimits, FrontierPoint, NearbyBox, PackSparesInput, PackSparesOutput, pack_spares,
};

#[cfg(test)]
mod checks;
