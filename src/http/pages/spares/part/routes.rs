//! The addresses of one part: its page, and what happened to its spares.

use super::super::in_100;
use super::super::routes::{Asked, Which};
use super::{Part, page};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::fields::{Chip, Typed};
use crate::http::pages::reader::Place;
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::{PartTypeId, Subject};
use crate::pit::logbook::Kind;
use crate::pit::logbook::stock::SpareState;
use crate::pit::stock::{BoxDay, InBox, Swap, swap};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::json;

/// A part.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfPart {
    part: PartTypeId,
}

/// `GET /e/{event}/spares/{part}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfPart>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, *which).await?;
    let view = one(&asked, of.part, Typed::default()).await?;
    Ok(form::page(page(&asked.reader.frame(Place::Team), &view)))
}

async fn one(asked: &Asked, id: PartTypeId, typed: Typed) -> Result<Part, Problem> {
    let day = asked.day().await?;
    let part = day
        .parts
        .iter()
        .find(|part| part.id == id)
        .ok_or(AppError::Unknown)?;
    let reader = &asked.reader;
    let sub: Vec<String> = [
        part.part.place.as_ref().map(ToString::to_string),
        part.part.mass_g.map(|mass| format!("{} g", mass.get())),
    ]
    .into_iter()
    .flatten()
    .collect();
    Ok(Part {
        label: part.part.label.to_string(),
        sub: sub.join(", "),
        back: format!("{}{}", asked.base(), asked.query()),
        action: format!("{}/{id}{}", asked.base(), asked.query()),
        states: SpareState::ALL
            .into_iter()
            .filter(|state| part.shelf.of(*state) > 0)
            .map(|state| (words::spare_state(state).to_owned(), part.shelf.of(state)))
            .collect(),
        unaccounted: part.shelf.unaccounted,
        odds: odds(&day, part),
        fits: fits(asked, part),
        lines: part
            .shelf
            .lines
            .iter()
            .rev()
            .take(20)
            .map(|line| {
                format!(
                    "{} {}: {}",
                    reader.clock.hm(line.at),
                    reader.name(line.seen_by.or(line.entered_by.person)),
                    words::body(reader, line)
                )
            })
            .collect(),
        register: asked
            .registers()
            .then(|| format!("{}/register/part/{id}", reader.base)),
        choices: SpareState::ALL
            .into_iter()
            .map(|state| Chip::new(state.as_str(), words::spare_state(state)))
            .collect(),
        typed,
    })
}

fn odds(day: &BoxDay, part: &InBox) -> Vec<String> {
    let rate = &part.rate;
    let mut lines = Vec::new();
    if let Some(forecast) = part
        .place
        .and_then(|place| day.forecast.as_ref()?.parts.get(place))
    {
        lines.push(format!(
            "Enough for the rest of the day: {}. Likely to be used: {:.1}.",
            in_100(forecast.enough_probability),
            forecast.expected_demand_units
        ));
        for needed in &forecast.needed {
            if let Some(units) = needed.units {
                lines.push(format!("For {}: {units}.", in_100(needed.confidence)));
            }
        }
    }
    if let Some(mended) = &part.mended {
        lines.push(format!(
            "With repairs, back after {} bouts: {}.",
            mended.repair_lag_bouts,
            mended.enough_probability.map_or_else(
                || format!("at least {}", in_100(mended.enough_probability_at_least)),
                in_100
            )
        ));
    }
    let elsewhere = part.part.elsewhere.map_or_else(String::new, |seen| {
        format!(
            ", {} in {} at earlier events at {} %",
            seen.failures.get(),
            seen.unit_bouts.get(),
            seen.weight_percent().get()
        )
    });
    lines.push(format!(
        "Fails {:.0} times in 1,000 fitted parts and bouts, 9 in 10 sure of {:.0} to {:.0}: from {} failures in {:.0} part-bouts here{elsewhere}, and what was believed before.",
        rate.mean_failures_per_unit_bout * 1000.0,
        rate.low_failures_per_unit_bout * 1000.0,
        rate.high_failures_per_unit_bout * 1000.0,
        part.shelf.failed(),
        part.unit_bouts
    ));
    lines
}

fn fits(asked: &Asked, part: &InBox) -> Vec<(String, String, bool)> {
    let reader = &asked.reader;
    part.part
        .fits
        .iter()
        .map(|fit| {
            let robot = format!("{}, {} fitted", reader.robot(fit.robot), fit.units.get());
            let (weight, heed) = swap(&reader.pit, fit.robot, part.id).map_or_else(
                || (String::new(), false),
                |swap| (weight_after(swap), swap.may_be_over()),
            );
            (robot, weight, heed)
        })
        .collect()
}

/// What fitting a spare leaves to the robot's limit.
pub fn weight_after(swap: Swap) -> String {
    let left = swap.limit_g - swap.mass_g;
    if left < 0 {
        format!("Fitting one puts it {} g over its limit.", -left)
    } else if swap.may_be_over() {
        format!("Fitting one leaves {left} g, less than the scale can tell: weigh it.")
    } else {
        format!("Fitting one leaves {left} g to its limit.")
    }
}

/// `POST /e/{event}/spares/{part}`.
pub async fn entered(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfPart>,
    which: web::Query<Which>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, *which).await?;
    let units: Option<i64> = fields
        .filled("units")
        .map_or(Some(1), |text| text.parse().ok());
    let mut typed = fields.typed();
    let recorded = match (units, fields.get("word")) {
        (None, _) => {
            typed
                .faults
                .insert("units".to_owned(), "A whole number, such as 3.".to_owned());
            Ok(())
        }
        (Some(units), Some(word)) => {
            let inside = match word {
                "became" => {
                    json!({"units": units, "from": fields.get("from"), "to": fields.get("to")})
                }
                _ => json!({"units": units, "as": fields.get("as")}),
            };
            let body = json!({ word: inside });
            record_line(
                &here,
                &fields,
                Subject::Part(of.part),
                Kind::Stock,
                None,
                &body,
            )
            .await
        }
        (_, None) => Err(AppError::malformed("/word", "Say what happened.")),
    };
    match recorded {
        Ok(()) if typed.is_sound() => {
            return Ok(see(format!(
                "{}/{}{}",
                asked.base(),
                of.part,
                asked.query()
            )));
        }
        Ok(()) => {}
        Err(error) => typed = refusal(&fields, error)?,
    }
    let view = one(&asked, of.part, typed).await?;
    Ok(refused(page(&asked.reader.frame(Place::Team), &view)))
}
