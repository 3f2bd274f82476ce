//! Spares: how often parts fail, whether the box lasts the day, what to pack and what to buy.
//!
//! A failure rate is a belief about failures per fitted unit and bout (a gamma distribution that
//! learns from what was seen). Demand over the bouts still ahead is a mixture of negative binomial
//! (or, for units that fail once a bout, beta-binomial) counts over the number of those bouts, which is itself uncertain: plugging in mean values makes
//! the box look safer than it is, so nothing here does.

mod bouts;
mod buy;
mod day;
mod demand;
mod double_elimination;
mod forecast;
mod gamma;
mod joint;
mod packing;
mod part;
mod rate;
mod repair_sum;
mod repairable;

pub use bouts::{
    BoutsAhead, CertainBouts, DoubleEliminationAhead, GivenBouts, GroupThenKnockOut, KnockOutAhead,
    RemainingBoutsInput, RemainingBoutsOutput, remaining_bouts,
};
pub use buy::{BuyNowInput, BuyNowOutput, OfferGain, SpareOffer, buy_now};
pub use day::{BoutsTogether, DayAhead, RobotAhead};
pub use forecast::{
    PartForecast, RobotForecast, SparesForecastInput, SparesForecastOutput, UnitsFor,
    spares_forecast,
};
pub use packing::{
    BoxContents, BoxLimits, FrontierPoint, MinimiseBox, NearbyBox, PackForConfidenceInput,
    PackForConfidenceOutput, PackSparesInput, PackSparesOutput, PackedPart, PartToPack,
    pack_for_confidence, pack_spares,
};
pub use part::{FittedUnits, StockedPart};
pub use rate::{
    FailureRateInput, FailureRateOutput, FailuresSeen, FailuresSeenElsewhere, KnownRate,
    LearnedRate, MeanAndSpread, MeanAndWorst, PartRate, RatePrior, failure_rate,
};
pub use repairable::{RepairableSparesInput, RepairableSparesOutput, repairable_spares};

#[cfg(test)]
mod checks;
#[cfg(test)]
mod extremes;
#[cfg(test)]
mod played;
#[cfg(test)]
mod properties;
#[cfg(test)]
mod published;
