//! The addresses of what exists.

mod cards;
mod founding;

pub use cards::card;
pub use founding::{found, to_found};

use super::entry::{self, Start};
use super::met::met;
use super::things::{Known, Noun};
use super::{form as shown, index, page};
use crate::app::{App, AppError, Signed, people};
use crate::calc::units::Name;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{BoutId, PersonId};
use crate::pit::logbook::Role;
use actix_web::{HttpResponse, web};
use chrono::{DateTime, TimeDelta, Utc};
use serde::Deserialize;
use serde_json::{Value, json};
use uuid::Uuid;

/// A thing of the register.
#[derive(Debug, Clone, Deserialize)]
pub struct OfThing {
    noun: Noun,
    id: String,
}

impl OfThing {
    fn id(&self) -> Result<Option<Uuid>, AppError> {
        match (self.noun, self.id.as_str()) {
            // There is one event: any id stands for it.
            (Noun::Event | Noun::Settings, _) => Ok(Some(Uuid::nil())),
            (Noun::GasSystems, "new") => Err(AppError::Unknown),
            (_, "new") => Ok(None),
            (_, id) => id.parse().map(Some).map_err(|_| AppError::Unknown),
        }
    }
}

/// What a new thing is copied from.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct From {
    from: Option<Uuid>,
}

/// Whether somebody enters things at all.
///
/// # Errors
/// [`AppError::Forbidden`].
pub fn may(signed: &Signed) -> Result<(), AppError> {
    match signed.role {
        Role::Lead | Role::Organiser => Ok(()),
        _ => Err(AppError::forbidden(
            "This is for organisers and team leads.",
        )),
    }
}

fn may_enter(signed: &Signed, noun: Noun, id: Option<Uuid>) -> Result<(), AppError> {
    may(signed)?;
    let own_team = noun == Noun::Teams && id.is_some();
    if signed.role == Role::Organiser || noun.for_leads() || own_team {
        Ok(())
    } else {
        Err(AppError::forbidden("This is for organisers."))
    }
}

/// `GET /e/{event}/register`.
pub async fn all(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    may(&here.signed)?;
    let reader = Reader::of(&here, &app).await?;
    let view = index::view(&reader);
    Ok(form::page(page(&reader.frame(Place::Register), &view)))
}

/// What is changed, if it is there and theirs to see.
fn known(reader: &Reader, noun: Noun, id: Option<Uuid>) -> Result<Option<Known>, AppError> {
    let Some(id) = id else {
        return Ok(None);
    };
    let mut known = noun
        .known(reader, id)
        .filter(|known| noun.shown_to(reader, known.team(), id))
        .ok_or(AppError::Unknown)?;
    if noun == Noun::Bouts
        && let Some(stands) = reader.pit.bout(BoutId(id))
    {
        // Moved calls counted: what is saved is taken as the call from then on.
        known.body["call_at"] = json!(stands.call);
    }
    Ok(Some(known))
}

/// Notes in the body of a bout the call it had, if this is another one.
fn note_move(reader: &Reader, id: Option<Uuid>, body: &mut Value) {
    let Some(stands) = id.and_then(|id| reader.pit.bout(BoutId(id))) else {
        return;
    };
    let call: Option<DateTime<Utc>> = body["call_at"].as_str().and_then(|at| at.parse().ok());
    // A form knows no seconds.
    let same = call.is_some_and(|call| (stands.call - call).abs() < TimeDelta::minutes(1));
    let from = if same {
        stands.moved_from.map(|(from, _)| from)
    } else {
        Some(stands.call)
    };
    match (from, body.as_object_mut()) {
        (Some(from), _) => body["moved_from"] = json!(from),
        (None, Some(fields)) => {
            fields.remove("moved_from");
        }
        (None, None) => {}
    }
}

/// `GET /e/{event}/register/{noun}/{id}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfThing>,
    from: web::Query<From>,
) -> Result<HttpResponse, Problem> {
    let (noun, id) = (of.noun, of.id()?);
    may_enter(&here.signed, noun, id)?;
    let reader = Reader::of(&here, &app).await?;
    let now = known(&reader, noun, id)?;
    let copied = known(&reader, noun, from.from)?.map(|other| entry::copied(&other.body));
    let body = now.as_ref().map(|known| known.body.clone()).or(copied);
    let view = entry::form(
        &reader,
        Start {
            noun,
            id,
            body: &body.unwrap_or_else(|| json!({})),
            revision: now.map(|known| known.revision),
            typed: Typed::default(),
        },
    );
    Ok(form::page(shown(&reader.frame(Place::Register), &view)))
}

/// `POST /e/{event}/register/{noun}/{id}`.
pub async fn save(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfThing>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let (noun, id) = (of.noun, of.id()?);
    may_enter(&here.signed, noun, id)?;
    let mut reader = Reader::of(&here, &app).await?;
    let now = known(&reader, noun, id)?;
    let key = fields.key()?;
    let about = id.unwrap_or_else(|| key.nth(32).0);
    let done = || Ok(see(format!("{}/register", reader.base)));
    // The same form again: its line is what stands.
    if noun
        .known(&reader, about)
        .is_some_and(|known| known.line == key.nth(0))
    {
        return done();
    }
    let revision: Option<i64> = fields.id("revision");
    if let Some(now) = &now
        && revision != Some(now.revision)
    {
        return Ok(stale(&reader, noun, id, now, &fields));
    }
    let before = now
        .as_ref()
        .map_or_else(|| json!({}), |known| known.body.clone());
    let saved = match entry::read(&reader, noun, &before, &fields) {
        Ok(mut body) => {
            if noun == Noun::Bouts {
                note_move(&reader, id, &mut body);
            }
            write(&here, &app, &fields, (noun, about), revision, &body).await
        }
        Err(typed) => return Ok(again(&reader, noun, id, now, typed)),
    };
    match saved {
        Ok(()) => done(),
        Err(AppError::Stale { .. }) => {
            reader.pit = here.event.pit();
            let now = known(&reader, noun, id)?.ok_or(AppError::Unknown)?;
            Ok(stale(&reader, noun, id, &now, &fields))
        }
        Err(error) => {
            let typed = refusal(&fields, entry::named(error))?;
            Ok(again(&reader, noun, id, now, typed))
        }
    }
}

fn stale(
    reader: &Reader,
    noun: Noun,
    id: Option<Uuid>,
    now: &Known,
    fields: &Fields,
) -> HttpResponse {
    let view = met(reader, noun, id, now, fields);
    HttpResponse::PreconditionFailed()
        .content_type("text/html; charset=utf-8")
        .body(shown(&reader.frame(Place::Register), &view).into_string())
}

fn again(
    reader: &Reader,
    noun: Noun,
    id: Option<Uuid>,
    now: Option<Known>,
    typed: Typed,
) -> HttpResponse {
    let view = entry::form(
        reader,
        Start {
            noun,
            id,
            body: &now
                .as_ref()
                .map_or_else(|| json!({}), |known| known.body.clone()),
            revision: now.as_ref().map(|known| known.revision),
            typed,
        },
    );
    refused(shown(&reader.frame(Place::Register), &view))
}

async fn write(
    here: &Here,
    app: &App,
    fields: &Fields,
    (noun, about): (Noun, Uuid),
    revision: Option<i64>,
    body: &Value,
) -> Result<(), AppError> {
    let name = match (noun, fields.filled("name")) {
        (Noun::People, Some(text)) => {
            Some(Name::new(text).map_err(|why| AppError::refused("/name", why))?)
        }
        (Noun::People, None) => return Err(AppError::refused("/name", "This is needed.")),
        _ => None,
    };
    let mut draft = fields.line(here, 0, noun.subject(about), noun.kind(), None, body)?;
    draft.if_revision = revision;
    record(here, fields, vec![draft]).await?;
    if let Some(name) = name {
        people::name(app, &here.event, PersonId(about), &name).await?;
    }
    Ok(())
}
