//! What to buy or borrow now.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::day::DayAhead;
use super::joint::Joint;
use super::part::{Need, StockedPart, check_stock};
use crate::calc::fault::{Fault, Faults};
use crate::calc::names;

/// Input of `buy-now`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!(BuyNowInput::example()))]
pub struct BuyNowInput {
    /// The bouts still ahead.
    pub day: DayAhead,
    /// The part types and the spares of each (1 to 500).
    #[schema(min_items = 1, max_items = 500)]
    pub parts: Vec<StockedPart>,
    /// What could be had (1 to 500).
    #[schema(min_items = 1, max_items = 500)]
    pub offers: Vec<SpareOffer>,
}

impl BuyNowInput {
    /// A wheel to buy, a gearbox to borrow, a valve to buy.
    pub fn example() -> Self {
        let offer = |part: &str, price_cents| SpareOffer {
            part: part.to_owned(),
            units: 1,
            price_cents,
        };
        Self {
            day: DayAhead::example(),
            parts: StockedPart::examples(),
            offers: vec![
                offer("wheel", 1200),
                offer("gearbox", 0),
                offer("valve", 4000),
            ],
        }
    }
}

/// Spares that could be had.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SpareOffer {
    /// Name of the part type.
    #[schema(min_length = 1, max_length = 80)]
    pub part: String,
    /// Units it brings (1 to 100; 1 unless told).
    #[serde(default = "one")]
    #[schema(minimum = 1, maximum = 100)]
    pub units: u32,
    /// Price of all of them in hundredths of the event's currency (0 to 100,000,000); 0 is borrowed.
    #[schema(minimum = 0, maximum = 100_000_000)]
    pub price_cents: u32,
}

fn one() -> u32 {
    1
}

/// Output of `buy-now`.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
#[schema(example = json!(buy_now(&BuyNowInput::example()).ok()))]
pub struct BuyNowOutput {
    /// Chance now that nothing runs out.
    pub nothing_runs_out_probability: f64,
    /// Whether the chances are exact; if not they are products of the parts' own chances.
    pub exact: bool,
    /// The offers, in the order given.
    pub offers: Vec<OfferGain>,
    /// Places in `offers`, greatest gain first; what helps nothing is left out.
    pub by_gain: Vec<usize>,
    /// Places in `offers`, greatest gain for its price first, borrowed before bought.
    pub by_gain_for_price: Vec<usize>,
}

/// What an offer would change.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct OfferGain {
    /// Name of the part type.
    pub part: String,
    /// Units it brings.
    pub units: u32,
    /// Price of all of them in hundredths of the event's currency.
    pub price_cents: u32,
    /// Chance with it that nothing runs out.
    pub nothing_runs_out_probability: f64,
    /// What it adds to that chance.
    pub gain_probability: f64,
    /// What it adds for each whole unit of the currency; nothing if it costs nothing.
    pub gain_probability_per_100_cents: Option<f64>,
    /// Units it takes off the average shortage.
    pub shortage_avoided_units: f64,
}

/// Ranks what could be bought or borrowed now by what it adds to the chance that nothing runs out.
///
/// The greatest gain and the greatest gain for its price are often different offers.
///
/// **Units**: chances from 0 to 1, prices in hundredths of the event's currency.
/// **Assumptions**: as `spares-forecast`; each offer taken alone.
/// **Source**: marginal analysis, Sherbrooke, Optimal Inventory Modeling of Systems, ch. 2 (from
/// memory), applied to the joint chance.
///
/// # Errors
/// Every value out of its range, offers of unknown parts.
pub fn buy_now(input: &BuyNowInput) -> Result<BuyNowOutput, Vec<Fault>> {
    let mut faults = Faults::none();
    check_stock(&mut faults, &input.day, &input.parts);
    let places = check_offers(&mut faults, input);
    faults.check()?;

    let outlook = input.day.outlook();
    let cases = outlook.cases();
    let mut joint = Joint::new(cases.as_deref());
    let needs: Vec<Need> = input
        .parts
        .iter()
        .map(|part| Need::of(part, &input.day, &outlook))
        .collect();
    for (part, need) in input.parts.iter().zip(&needs) {
        joint.add(&joint.factors(need, part.stock_units as usize));
    }
    let now = joint.probability();
    let offers: Vec<OfferGain> = input
        .offers
        .iter()
        .zip(places)
        .map(|(offer, place)| {
            let need = &needs[place];
            let stock = input.parts[place].stock_units as usize;
            let more = stock + offer.units as usize;
            let then = joint.with_replaced(&joint.factors(need, stock), &joint.factors(need, more));
            let enough = need.enough(more);
            let gain = (then - now).max(0.0);
            OfferGain {
                part: offer.part.clone(),
                units: offer.units,
                price_cents: offer.price_cents,
                nothing_runs_out_probability: then,
                gain_probability: gain,
                gain_probability_per_100_cents: (offer.price_cents > 0)
                    .then(|| gain * 100.0 / f64::from(offer.price_cents)),
                shortage_avoided_units: need.shortage(&enough, stock)
                    - need.shortage(&enough, more),
            }
        })
        .collect();
    Ok(BuyNowOutput {
        nothing_runs_out_probability: now,
        exact: cases.is_some(),
        by_gain: ranked(&offers, |offer| offer.gain_probability),
        by_gain_for_price: ranked(&offers, |offer| {
            offer
                .gain_probability_per_100_cents
                .unwrap_or(f64::INFINITY)
        }),
        offers,
    })
}

/// Places of the offers that help at all, by `worth`, then by gain, then by shortage avoided.
fn ranked(offers: &[OfferGain], worth: impl Fn(&OfferGain) -> f64) -> Vec<usize> {
    let helps = |place: &usize| offers[*place].shortage_avoided_units > 0.0;
    let mut places: Vec<usize> = (0..offers.len()).filter(helps).collect();
    places.sort_by(|a, b| {
        let (a, b) = (&offers[*a], &offers[*b]);
        worth(b)
            .total_cmp(&worth(a))
            .then(b.gain_probability.total_cmp(&a.gain_probability))
            .then(
                b.shortage_avoided_units
                    .total_cmp(&a.shortage_avoided_units),
            )
    });
    places
}

fn check_offers(faults: &mut Faults, input: &BuyNowInput) -> Vec<usize> {
    names::count(faults, "/offers", input.offers.len(), 1, 500, "offers");
    let parts: Vec<&str> = input.parts.iter().map(|part| part.name.as_str()).collect();
    let places = input.offers.iter().enumerate().map(|(index, offer)| {
        let at = format!("/offers/{index}");
        faults.range(format!("{at}/units"), f64::from(offer.units), 1.0, 100.0);
        let price = f64::from(offer.price_cents);
        faults.range(format!("{at}/price_cents"), price, 0.0, 1.0e8);
        names::place(faults, format!("{at}/part"), &parts, &offer.part).unwrap_or(0)
    });
    places.collect()
}
