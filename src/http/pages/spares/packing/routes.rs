//! The address of the packing page, which carries what was asked.

use super::super::routes::{Asked, Which};
use super::super::{hundredths, in_100, price};
use super::{Packed, Packing, page};
use crate::app::{App, AppError, spares};
use crate::calc::spares::BoxLimits;
use crate::http::Problem;
use crate::http::pages::form::{self, refused};
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::Place;
use crate::http::signed::Here;
use crate::pit::ids::TeamId;
use crate::pit::stock::{self, Format, Proof, Wish, pack};
use actix_web::{HttpResponse, web};
use serde::Deserialize;

/// What the box may be, as typed into the address.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct Wanted {
    team: Option<TeamId>,
    mass_kg: Option<String>,
    price: Option<String>,
    volume_l: Option<String>,
    confidence: Option<String>,
    rounds: Option<String>,
    bouts: Option<String>,
}

/// `GET /e/{event}/spares/packing`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    wanted: web::Query<Wanted>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, Which { team: wanted.team }).await?;
    let mut typed = Typed::default();
    let numbers = numbers(&wanted, &mut typed);
    let day = asked.day().await?;
    let known = day.forecast.is_some();
    if !known {
        typed.faults.insert(
            String::new(),
            "No part sits on a robot of this team yet: enter what is fitted first.".to_owned(),
        );
    }
    let packed = match numbers {
        Some(numbers) if known => {
            let currency = asked.currency();
            let packed = spares::beside(move || {
                pack(&day, numbers.format, numbers.wish).map_err(AppError::Refused)
            });
            Some(shown(packed.await?, &currency))
        }
        _ => None,
    };
    let sound = typed.is_sound();
    let view = Packing {
        team: asked.name(),
        back: format!("{}{}", asked.base(), asked.query()),
        action: format!("{}/packing", asked.base()),
        team_id: wanted.team.map(|team| team.to_string()),
        typed,
        packed,
    };
    let page = page(&asked.reader.frame(Place::Team), &view);
    Ok(if sound {
        form::page(page)
    } else {
        refused(page)
    })
}

#[derive(Debug, Clone, Copy)]
struct Numbers {
    format: Format,
    wish: Wish,
}

fn numbers(wanted: &Wanted, typed: &mut Typed) -> Option<Numbers> {
    let mut number = |name: &str, text: &Option<String>, before: Option<f64>, most: f64| {
        let Some(text) = text.as_deref() else {
            return before;
        };
        typed.values.insert(name.to_owned(), text.to_owned());
        if text.trim().is_empty() {
            return None;
        }
        let value = form::decimal(text).filter(|value| (0.0..=most).contains(value));
        if value.is_none() {
            typed
                .faults
                .insert(name.to_owned(), format!("A number from 0 to {most}."));
        }
        value
    };
    let mass_kg = number("mass_kg", &wanted.mass_kg, Some(15.0), 1_000.0);
    let price = number("price", &wanted.price, None, 1_000_000.0);
    let volume_l = number("volume_l", &wanted.volume_l, None, 10_000.0);
    let confidence = number("confidence", &wanted.confidence, None, 99.99);
    let rounds = number("rounds", &wanted.rounds, Some(5.0), 10.0).unwrap_or(0.0);
    let bouts = number("bouts", &wanted.bouts, Some(0.0), 14.0).unwrap_or(0.0);
    if mass_kg.is_none() && price.is_none() && volume_l.is_none() && confidence.is_none() {
        typed
            .faults
            .entry("mass_kg".to_owned())
            .or_insert_with(|| "Give a limit, or a confidence.".to_owned());
    }
    let scaled = |value: Option<f64>, by: f64| value.map(|value| (value * by).round() as u32);
    let limits = BoxLimits {
        mass_g: scaled(mass_kg, 1000.0),
        price_cents: scaled(price, 100.0),
        volume_ml: scaled(volume_l, 1000.0),
    };
    typed.is_sound().then(|| Numbers {
        format: Format {
            bouts: bouts.round() as u32,
            rounds: rounds.round() as u32,
        },
        wish: confidence.map_or(Wish::Within(limits), |hundredths| {
            Wish::Sure((hundredths / 100.0).max(0.01))
        }),
    })
}

fn shown(packed: stock::Packed, currency: &str) -> Packed {
    let best = packed.best;
    let mut lines = vec![
        format!(
            "{:.1} kg, {}, {:.1} l",
            best.mass_g as f64 / 1000.0,
            price(best.price_cents, currency),
            best.volume_ml as f64 / 1000.0
        ),
        match packed.proof {
            Proof::Best => "Proved: no other box does better.".to_owned(),
            Proof::ChanceAtMost(chance) => format!(
                "The best found; none within these limits is above {}.",
                in_100(chance)
            ),
            Proof::MassAtLeast(grams) => format!(
                "The lightest found; none is below {:.1} kg.",
                grams / 1000.0
            ),
        },
    ];
    lines.extend(
        packed
            .last_kg
            .map(|chance| format!("The last kilogram buys {:.1} in 100.", chance * 100.0)),
    );
    let by_mass = packed.frontier.iter().any(|point| point.mass_g > 0);
    Packed {
        headline: format!(
            "Nothing runs out: {}",
            in_100(best.nothing_runs_out_probability)
        ),
        lines,
        parts: best
            .parts
            .into_iter()
            .map(|part| {
                (
                    part.name,
                    part.add_units,
                    hundredths(part.enough_probability),
                )
            })
            .collect(),
        frontier: packed
            .frontier
            .iter()
            .map(|point| {
                let cost = if by_mass {
                    point.mass_g as f64 / 1000.0
                } else {
                    point.price_cents as f64 / 100.0
                };
                (cost, point.product_of_parts_probability)
            })
            .collect(),
        axis: if by_mass { "kg" } else { "of price" },
    }
}
