//! What a supply cylinder still fills.

use super::limits::{BottleLimits, litres};
use crate::calc::gas::{GasSupplyInput, gas_supply};
use crate::pit::ids::{SupplyId, TeamId};
use crate::pit::logbook::register::{GasOf, Supply};
use crate::pit::state::Pit;
use chrono::NaiveDate;
use serde::Serialize;
use utoipa::ToSchema;

/// A supply cylinder as far as it is known.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SupplyNow {
    /// The cylinder.
    pub supply: SupplyId,
    /// Gas in it when it was last weighed, as registered.
    pub contents_g: Option<i32>,
    /// What one filling is taken to put into a bottle: the most any bottle of this team may hold.
    pub fill_g: Option<i32>,
    /// Whole fillings in what was weighed; nothing if that is not known.
    pub fills: Option<u32>,
    /// What stays in it when the liquid is gone.
    pub residual_g: Option<i32>,
    /// Why the fillings are not known.
    pub unknown: Vec<String>,
}

/// Gas lost at each filling: hose and purge, kg.
///
/// **Source** common practice, no source.
const LOSS_KG: f64 = 0.15;
/// A supply stands in a gas bay by the door, degC; the colder, the less stays behind as vapour.
///
/// **Assumptions** common practice, no source. Warm is the safe side: more stays behind.
const BAY_DEGC: f64 = 20.0;

/// The cylinders that `team` may fill from: its own and the event's.
pub fn supplies_for(pit: &Pit, team: TeamId, today: NaiveDate) -> Vec<SupplyNow> {
    pit.supplies
        .iter()
        .filter(|(_, known)| !known.body.retired)
        .filter(|(_, known)| known.body.team.is_none_or(|own| own == team))
        .map(|(id, known)| {
            let fill = pit
                .bottles
                .values()
                .map(|bottle| &bottle.body)
                .filter(|bottle| bottle.team == team && bottle.gas == known.body.gas)
                .filter(|bottle| !bottle.retired)
                .filter_map(|bottle| BottleLimits::of(bottle, None, today).permitted_g)
                .max();
            supply(*id, &known.body, fill)
        })
        .collect()
}

fn supply(id: SupplyId, body: &Supply, fill_g: Option<i32>) -> SupplyNow {
    let contents_g = body.contents_g.map(|mass| mass.get());
    let mut now = SupplyNow {
        supply: id,
        contents_g,
        fill_g,
        fills: None,
        residual_g: None,
        unknown: Vec::new(),
    };
    if body.gas != GasOf::Co2 {
        now.unknown
            .push("Air and nitrogen pass by pressure, not by counted fillings.".to_owned());
        return now;
    }
    let Some(contents) = contents_g else {
        now.unknown.push("Nobody entered what is in it.".to_owned());
        return now;
    };
    let Some(fill) = fill_g else {
        now.unknown
            .push("No bottle of the team says what it may hold.".to_owned());
        return now;
    };
    let out = gas_supply(&GasSupplyInput {
        water_capacity_l: litres(body.volume_ml),
        gas_mass_kg: f64::from(contents) / 1000.0,
        temperature_degc: BAY_DEGC,
        heel_kg: body
            .heel_g
            .map_or(0.0, |mass| f64::from(mass.get()) / 1000.0),
        per_fill_kg: f64::from(fill) / 1000.0,
        loss_per_fill_kg: LOSS_KG,
    });
    match out {
        Ok(out) => {
            now.fills = Some(out.fills);
            now.residual_g = Some(rounded_up(out.residual_kg));
        }
        Err(faults) => now
            .unknown
            .extend(faults.into_iter().map(|fault| fault.detail)),
    }
    now
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "no cylinder of the register holds more than 100 kg"
)]
fn rounded_up(kg: f64) -> i32 {
    (kg * 1000.0).ceil() as i32
}
