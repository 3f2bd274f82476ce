//! What a supply cylinder still fills.

use super::history::{Filling, History};
use super::limits::{BottleLimits, litres};
use super::{LIQUID_TO_DEGC, hall_degc};
use crate::calc::gas::{GasSupplyInput, gas_supply};
use crate::pit::ids::{LineId, PersonId, Subject, SupplyId, TeamId};
use crate::pit::logbook::Body;
use crate::pit::logbook::register::{Bottle, GasOf, Supply};
use crate::pit::state::Pit;
use chrono::{DateTime, NaiveDate, Utc};
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;

/// A supply cylinder as far as it is known.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct SupplyNow {
    /// The cylinder.
    pub supply: SupplyId,
    /// The last weighing of it here; nothing if what the register says counts.
    pub weighed: Option<SupplyWeighing>,
    /// Gas in it when it was last weighed, here or as registered.
    pub contents_g: Option<i32>,
    /// Fillings from it since then: those that name it, and those that name none while it is the only
    /// one for their gas.
    pub filled: u32,
    /// The most those took out of it: what went into the bottles, hose and purge.
    pub drawn_g: i32,
    /// Gas that is left at least.
    pub left_g: Option<i32>,
    /// What one filling is taken to put into a bottle: the most any bottle of this team may hold.
    pub fill_g: Option<i32>,
    /// Whole fillings in what is left at least; nothing if that is not known.
    pub fills: Option<u32>,
    /// What stays in it when the liquid is gone.
    pub residual_g: Option<i32>,
    /// Why the fillings are not known.
    pub unknown: Vec<String>,
}

/// A supply cylinder on the scale.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct SupplyWeighing {
    /// What the scale showed.
    pub gross_g: i32,
    /// Who read it.
    pub seen_by: Option<PersonId>,
    /// When.
    pub at: DateTime<Utc>,
}

/// Gas lost at each filling: hose and purge, g.
///
/// **Source** common practice, no source.
const LOSS_G: i32 = 150;

/// The cylinders that `team` may fill from: its own and the event's.
pub fn supplies_for(pit: &Pit, team: TeamId, today: NaiveDate) -> Vec<SupplyNow> {
    let hall = hall_degc(pit);
    supplies_of(pit, team)
        .map(|(id, body)| {
            let fill = bottles_of(pit, team, body.gas)
                .filter_map(|bottle| BottleLimits::of(bottle, None, today, hall).permitted_g)
                .max();
            supply(pit, id, body, fill, today)
        })
        .collect()
}

/// The cylinders in use that `team` may fill bottles of `gas` from.
pub fn supplies_of_gas(
    pit: &Pit,
    team: TeamId,
    gas: GasOf,
) -> impl Iterator<Item = (SupplyId, &Supply)> {
    supplies_of(pit, team).filter(move |(_, supply)| supply.gas == gas)
}

fn supplies_of(pit: &Pit, team: TeamId) -> impl Iterator<Item = (SupplyId, &Supply)> {
    pit.supplies
        .iter()
        .map(|(id, known)| (*id, &known.body))
        .filter(|(_, supply)| !supply.retired)
        .filter(move |(_, supply)| supply.team.is_none_or(|own| own == team))
}

fn bottles_of(pit: &Pit, team: TeamId, gas: GasOf) -> impl Iterator<Item = &Bottle> {
    pit.bottles
        .values()
        .map(|bottle| &bottle.body)
        .filter(move |bottle| bottle.team == team && bottle.gas == gas && !bottle.retired)
}

/// The fillings that took from `supply` after `since`, with the most each put into its bottle.
///
/// **Units** g.
///
/// **Assumptions** a filling that names no cylinder was made from the only one its team may fill
/// from; where there are several nobody knows, and it counts for none.
fn fillings(
    pit: &Pit,
    supply: SupplyId,
    gas: GasOf,
    since: Option<DateTime<Utc>>,
    today: NaiveDate,
) -> Vec<i32> {
    let mut all: BTreeMap<LineId, i32> = BTreeMap::new();
    for (id, known) in &pit.bottles {
        let body = &known.body;
        if body.gas != gas {
            continue;
        }
        let mut open = supplies_of_gas(pit, body.team, gas).map(|(id, _)| id);
        let only = open.next().filter(|_| open.next().is_none());
        let most = || {
            let limits = BottleLimits::of(body, None, today, hall_degc(pit));
            limits.permitted_g.unwrap_or(0)
        };
        let counts = |filling: &&Filling| {
            filling.supply.or(only) == Some(supply) && since.is_none_or(|since| filling.at > since)
        };
        let history = History::of(pit, body.team, *id);
        for filling in history.fillings.iter().filter(counts) {
            let put_in = filling.at_most_g.unwrap_or_else(most);
            let counted = all.entry(filling.line).or_insert(put_in);
            *counted = put_in.max(*counted);
        }
    }
    all.into_values().collect()
}

fn supply(
    pit: &Pit,
    id: SupplyId,
    body: &Supply,
    fill_g: Option<i32>,
    today: NaiveDate,
) -> SupplyNow {
    let weighed = pit
        .facts(Subject::Supply(id))
        .iter()
        .rev()
        .find_map(|line| {
            let Body::SupplyWeighed(weighed) = &line.body else {
                return None;
            };
            Some(SupplyWeighing {
                gross_g: weighed.mass_g.get(),
                seen_by: line.seen_by,
                at: line.at,
            })
        });
    let contents_g = match weighed {
        Some(weighed) => body
            .tare_g
            .map(|tare| (weighed.gross_g - tare.get()).max(0)),
        None => body.contents_g.map(|mass| mass.get()),
    };
    let filled = fillings(pit, id, body.gas, weighed.map(|weighed| weighed.at), today);
    let drawn_g: i32 = filled.iter().map(|put_in| put_in + LOSS_G).sum();
    let mut now = SupplyNow {
        supply: id,
        weighed,
        contents_g,
        filled: u32::try_from(filled.len()).unwrap_or(u32::MAX),
        drawn_g,
        left_g: contents_g.map(|contents| (contents - drawn_g).max(0)),
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
    let Some(left) = now.left_g else {
        now.unknown.push(
            match weighed {
                Some(_) => "It was weighed, and its empty mass is not registered.",
                None => "Nobody entered what is in it.",
            }
            .to_owned(),
        );
        return now;
    };
    let Some(fill) = fill_g else {
        now.unknown
            .push("No bottle of the team says what it may hold.".to_owned());
        return now;
    };
    let kg = |grams: i32| f64::from(grams) / 1000.0;
    let out = gas_supply(&GasSupplyInput {
        water_capacity_l: litres(body.volume_ml),
        gas_mass_kg: kg(left),
        // The warmer, the more stays behind as vapour; above this nothing is liquid.
        temperature_degc: hall_degc(pit).min(LIQUID_TO_DEGC),
        heel_kg: body.heel_g.map_or(0.0, |mass| kg(mass.get())),
        per_fill_kg: kg(fill),
        loss_per_fill_kg: kg(LOSS_G),
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
