//! The addresses of the spares pages.

use super::lists::Lists;
use super::packing::{Packed, Packing};
use super::part::Part;
use super::{Gain, Row, Spares, hundredths, in_100, price};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::calc::spares::{
    BoutsAhead, BoxContents, BoxLimits, CertainBouts, FrontierPoint, GroupThenKnockOut,
    KnockOutAhead, MinimiseBox, PackForConfidenceInput, PackSparesInput, pack_for_confidence,
    pack_spares,
};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::fields::{Chip, Typed};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::{PartTypeId, Subject, TeamId};
use crate::pit::logbook::stock::SpareState;
use crate::pit::logbook::{Kind, Role};
use crate::pit::stock::{BoxDay, InBox, box_day, packing_input, swap};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::json;

/// Which team, for those who see several.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Which {
    team: Option<TeamId>,
}

/// A part.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfPart {
    part: PartTypeId,
}

/// Who reads, of which team, and the team's box.
pub(super) struct Asked {
    pub reader: Reader,
    pub team: TeamId,
    pub which: Which,
}

impl Asked {
    pub async fn of(here: &Here, app: &App, which: Which) -> Result<Self, Problem> {
        let reader = Reader::of(here, app).await?;
        let team = which.team.or(here.signed.team).ok_or(AppError::Unknown)?;
        here.signed.sees(Right::SeeTeam, Some(team))?;
        Ok(Self {
            reader,
            team,
            which,
        })
    }

    /// The team's box, worked out beside the requests.
    async fn day(&self) -> Result<BoxDay, Problem> {
        let (pit, team, now) = (self.reader.pit.clone(), self.team, self.reader.clock.now);
        Ok(web::block(move || box_day(&pit, team, now))
            .await
            .map_err(|_| AppError::Unavailable {
                retry_after_s: 1,
                cause: None,
            })?
            .map_err(AppError::Refused)?)
    }

    pub fn name(&self) -> String {
        self.reader
            .pit
            .teams
            .get(&self.team)
            .map_or_else(String::new, |team| team.body.name.to_string())
    }

    pub fn base(&self) -> String {
        format!("{}/spares", self.reader.base)
    }

    pub fn query(&self) -> String {
        self.which
            .team
            .map_or_else(String::new, |team| format!("?team={team}"))
    }

    pub fn currency(&self) -> String {
        let event = self.reader.pit.event.as_ref();
        event
            .and_then(|event| event.body.currency.as_ref())
            .map_or_else(String::new, |currency| currency.as_str().to_owned())
    }

    pub fn registers(&self) -> bool {
        matches!(self.reader.signed.role, Role::Lead | Role::Organiser)
    }
}

/// `GET /e/{event}/spares`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, *which).await?;
    let day = asked.day().await?;
    let view = view(&asked, &day);
    Ok(form::page(super::page(
        &asked.reader.frame(Place::Team),
        &view,
    )))
}

fn view(asked: &Asked, day: &BoxDay) -> Spares {
    let watched: f64 = day.parts.iter().map(|part| part.unit_bouts).sum();
    let left_out = match day.robots_left_out {
        0 => String::new(),
        n => format!(" {n} robots of the team are not counted."),
    };
    Spares {
        team: asked.name(),
        base: asked.base(),
        which: asked.query(),
        chance: day.forecast.as_ref().map(|forecast| {
            let chance = in_100(forecast.nothing_runs_out_probability);
            if forecast.exact {
                chance
            } else {
                format!("at least {chance}")
            }
        }),
        because: format!(
            "Counted with what each part did here ({watched:.0} part-bouts watched) and what the team believed before. Untested, lent and broken spares count for nothing.{left_out}"
        ),
        weakest: day
            .forecast
            .as_ref()
            .filter(|forecast| forecast.nothing_runs_out_probability < 1.0)
            .map(|forecast| forecast.weakest_part.clone()),
        rows: day.parts.iter().map(|part| row(asked, day, part)).collect(),
        gains: gains(asked, day),
        register: asked
            .registers()
            .then(|| format!("{}/register/part/new", asked.reader.base)),
    }
}

fn row(asked: &Asked, day: &BoxDay, part: &InBox) -> Row {
    let others = SpareState::ALL
        .into_iter()
        .filter(|state| !state.is_ready() && part.shelf.of(*state) > 0)
        .map(|state| format!("{} {}", part.shelf.of(state), words::spare_state(state)));
    let detail: Vec<String> = part
        .part
        .place
        .iter()
        .map(ToString::to_string)
        .chain(others)
        .collect();
    let note = match (part.shelf.unaccounted, part.pending) {
        (0, 0) => String::new(),
        (0, wanted) => format!("{wanted} wanted now"),
        (missing, _) => format!("{missing} more used than entered: count them"),
    };
    Row {
        href: format!("{}/{}{}", asked.base(), part.id, asked.query()),
        label: part.part.label.to_string(),
        detail: detail.join("; "),
        ready: part.shelf.ready(),
        enough: day
            .enough(part)
            .map_or_else(|| "not fitted".to_owned(), hundredths),
        note,
    }
}

fn gains(asked: &Asked, day: &BoxDay) -> Vec<Gain> {
    let Some(gains) = &day.gains else {
        return Vec::new();
    };
    gains
        .by_gain
        .iter()
        .filter_map(|place| gains.offers.get(*place))
        .filter(|offer| offer.gain_probability >= 0.005)
        .take(5)
        .map(|offer| Gain {
            label: format!("One more {}", offer.part),
            adds: format!("adds {:.0} in 100", offer.gain_probability * 100.0),
            price: match offer.price_cents {
                0 => "to borrow, or no price entered".to_owned(),
                cents => price(u64::from(cents), &asked.currency()),
            },
        })
        .collect()
}

/// `GET /e/{event}/spares/{part}`.
pub async fn part(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfPart>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, *which).await?;
    let view = one(&asked, of.part, Typed::default()).await?;
    Ok(form::page(super::part::page(
        &asked.reader.frame(Place::Team),
        &view,
    )))
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
    lines.push(format!(
        "Fails {:.0} times in 1,000 fitted parts and bouts, 9 in 10 sure of {:.0} to {:.0}: from {} failures in {:.0} part-bouts here, and what was believed before.",
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
                |swap| {
                    let left = swap.limit_g - swap.mass_g;
                    let heed = swap.may_be_over();
                    let words = if left < 0 {
                        format!("Fitting one puts it {} g over its limit.", -left)
                    } else if heed {
                        format!(
                            "Fitting one leaves {left} g, less than the scale can tell: weigh it."
                        )
                    } else {
                        format!("Fitting one leaves {left} g to its limit.")
                    };
                    (words, heed)
                },
            );
            (robot, weight, heed)
        })
        .collect()
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
    Ok(refused(super::part::page(
        &asked.reader.frame(Place::Team),
        &view,
    )))
}

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
pub async fn packing(
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
            web::block(move || pack(&day, numbers, &currency))
                .await
                .map_err(|_| AppError::Unavailable {
                    retry_after_s: 1,
                    cause: None,
                })?
                .map_err(AppError::Refused)
                .map(Some)?
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
    let page = super::packing::page(&asked.reader.frame(Place::Team), &view);
    Ok(if sound {
        form::page(page)
    } else {
        refused(page)
    })
}

#[derive(Debug, Clone, Copy)]
struct Numbers {
    limits: BoxLimits,
    confidence: Option<f64>,
    rounds: u32,
    bouts: u32,
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
        let value = text.trim().replace(',', ".").parse::<f64>().ok();
        let value = value.filter(|value| (0.0..=most).contains(value));
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
    typed.is_sound().then(|| Numbers {
        limits: BoxLimits {
            mass_g: scaled(mass_kg, 1000.0),
            price_cents: scaled(price, 100.0),
            volume_ml: scaled(volume_l, 1000.0),
        },
        confidence: confidence.map(|hundredths| (hundredths / 100.0).max(0.01)),
        rounds: rounds.round() as u32,
        bouts: bouts.round() as u32,
    })
}

fn pack(
    day: &BoxDay,
    numbers: Numbers,
    currency: &str,
) -> Result<Packed, Vec<crate::calc::fault::Fault>> {
    let (mut ahead, parts) = packing_input(day);
    let even = vec![0.5];
    let format = match (numbers.bouts, numbers.rounds) {
        (bouts, 0) => BoutsAhead::Certain(CertainBouts { bouts }),
        (0, rounds) => BoutsAhead::KnockOut(KnockOutAhead {
            rounds_left: rounds,
            win_probability_by_round: even,
        }),
        (bouts, rounds) => BoutsAhead::GroupThenKnockOut(GroupThenKnockOut {
            group_bouts_left: bouts,
            advance_probability: 0.5,
            rounds,
            win_probability_by_round: even,
        }),
    };
    for robot in &mut ahead.robots {
        robot.bouts_ahead = Some(format.clone());
    }
    let mut lines = Vec::new();
    let (best, frontier) = match numbers.confidence {
        Some(confidence) => {
            let packed = pack_for_confidence(&PackForConfidenceInput {
                day: ahead,
                parts,
                confidence,
                minimise: MinimiseBox::Mass,
            })?;
            lines.push(if packed.proved_best {
                "Proved: no box for this confidence is lighter.".to_owned()
            } else {
                format!(
                    "The lightest found; none is below {:.1} kg.",
                    packed.minimised_at_least / 1000.0
                )
            });
            (packed.best, Vec::new())
        }
        None => {
            let packed = pack_spares(&PackSparesInput {
                day: ahead,
                parts,
                limits: numbers.limits,
            })?;
            lines.push(if packed.proved_best {
                "Proved: no box within these limits does better.".to_owned()
            } else {
                format!(
                    "The best found; none within these limits is above {}.",
                    in_100(packed.product_of_parts_probability_at_most)
                )
            });
            if let Some(less) = &packed.one_kg_less {
                lines.push(format!(
                    "The last kilogram buys {:.1} in 100.",
                    less.difference_probability.abs() * 100.0
                ));
            }
            (packed.best, packed.frontier)
        }
    };
    lines.insert(
        0,
        format!(
            "{:.1} kg, {}, {:.1} l",
            best.mass_g as f64 / 1000.0,
            price(best.price_cents, currency),
            best.volume_ml as f64 / 1000.0
        ),
    );
    Ok(packed(best, &frontier, lines))
}

fn packed(best: BoxContents, frontier: &[FrontierPoint], lines: Vec<String>) -> Packed {
    let by_mass = frontier.iter().any(|point| point.mass_g > 0);
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
        frontier: frontier
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

/// `GET /e/{event}/spares/lists`.
pub async fn lists(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, *which).await?;
    let day = asked.day().await?;
    let mut lists = Lists {
        team: asked.name(),
        back: format!("{}{}", asked.base(), asked.query()),
        ..Lists::default()
    };
    let mut total = 0;
    for part in &day.parts {
        let label = part.part.label.to_string();
        let held = |state| Some((label.clone(), part.shelf.of(state))).filter(|(_, n)| *n > 0);
        lists.lent.extend(held(SpareState::Lent));
        lists.borrowed.extend(held(SpareState::Borrowed));
        let ready = u32::try_from(part.shelf.ready()).unwrap_or(0);
        let needed = part
            .place
            .and_then(|place| day.forecast.as_ref()?.parts.get(place))
            .and_then(|forecast| forecast.needed.iter().find(|n| n.confidence == 0.95)?.units);
        if let Some(needed) = needed.filter(|needed| *needed > ready) {
            let buy = needed - ready;
            let each = part
                .part
                .price_minor
                .map_or(0, |price| u64::from(price.get().unsigned_abs()));
            total += each * u64::from(buy);
            let cost = match each {
                0 => "no price".to_owned(),
                each => price(each * u64::from(buy), ""),
            };
            let why = format!("{needed} needed, {ready} ready");
            lists.shopping.push((label, buy, cost, why));
        }
    }
    lists.total = price(total, &asked.currency());
    Ok(form::page(super::lists::page(
        &asked.reader.frame(Place::Team),
        &lists,
    )))
}
