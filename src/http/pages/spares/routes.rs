//! The addresses of the spares pages.

use super::lists::Lists;
use super::{Gain, Row, Spares, hundredths, in_100, price};
use crate::app::{App, AppError, spares};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form;
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::TeamId;
use crate::pit::logbook::Role;
use crate::pit::logbook::stock::SpareState;
use crate::pit::stock::{BoxDay, InBox};
use actix_web::{HttpResponse, web};
use serde::Deserialize;

/// Which team, for those who see several.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Which {
    pub team: Option<TeamId>,
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

    pub async fn day(&self) -> Result<BoxDay, AppError> {
        spares::of_team(&self.reader.pit, self.team, self.reader.clock.now).await
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
    }
    for (part, needed) in day.to_buy() {
        let ready = u32::try_from(part.shelf.ready()).unwrap_or(0);
        let buy = needed - ready;
        let each = part
            .part
            .price_minor
            .map_or(0, |price| u64::from(price.get().unsigned_abs()));
        total += each * u64::from(buy);
        lists.shopping.push((
            part.part.label.to_string(),
            buy,
            match each {
                0 => "no price".to_owned(),
                each => price(each * u64::from(buy), ""),
            },
            format!("{needed} needed, {ready} ready"),
        ));
    }
    lists.total = price(total, &asked.currency());
    Ok(form::page(super::lists::page(
        &asked.reader.frame(Place::Team),
        &lists,
    )))
}
