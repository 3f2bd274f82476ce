//! What a form sent, and how its lines are recorded.

use super::parts::fields::Typed;
use crate::app::{AppError, door, door::Enterer, pins};
use crate::http::signed::Here;
use crate::pit::ids::{LineId, PersonId, Subject};
use crate::pit::logbook::{Body, Draft, How, Kind};
use actix_web::{HttpResponse, http::header};
use chrono::{DateTime, TimeDelta, Utc};
use maud::Markup;
use serde_json::Value;

/// The fields of a form, in order; a name may come more than once.
#[derive(Debug, Clone, Default, serde::Deserialize)]
#[serde(transparent)]
pub struct Fields(pub Vec<(String, String)>);

impl Fields {
    /// The first value of `name`.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.0
            .iter()
            .find(|(n, _)| n == name)
            .map(|(_, value)| value.trim())
    }

    /// The first value of `name`, if it is not blank.
    pub fn filled(&self, name: &str) -> Option<&str> {
        self.get(name).filter(|value| !value.is_empty())
    }

    /// Every value of `name`.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.0
            .iter()
            .filter(move |(n, _)| n == name)
            .map(|(_, value)| value.as_str())
    }

    /// An id in the field `name`.
    pub fn id<T: std::str::FromStr>(&self, name: &str) -> Option<T> {
        self.filled(name)?.parse().ok()
    }

    /// A number in the field `name`, as people type it, with point or comma.
    pub fn decimal(&self, name: &str) -> Option<f64> {
        decimal(self.filled(name)?)
    }

    /// The id the form's lines get theirs from.
    ///
    /// # Errors
    /// [`AppError::Malformed`] if the form carries none.
    pub fn key(&self) -> Result<LineId, AppError> {
        self.id("key")
            .ok_or_else(|| AppError::malformed("/key", "The form carries no id for its lines."))
    }

    /// When the phone says it was entered, if it waited in the outbox.
    fn entered_at(&self) -> Option<DateTime<Utc>> {
        self.id("at")
    }

    /// What the phone's clock said when it sent the form.
    pub fn sent_at(&self) -> Option<DateTime<Utc>> {
        self.id("sent_at")
    }

    /// When it was seen: entered, less the minutes ago that were chosen.
    pub fn seen_at(&self, now: DateTime<Utc>) -> DateTime<Utc> {
        let ago: i64 = self.id("ago").unwrap_or(0);
        self.entered_at().unwrap_or(now) - TimeDelta::minutes(ago.clamp(0, 24 * 60))
    }

    /// Who saw or did it: whoever was named, else the person of this phone.
    pub fn seen_by(&self, here: &Here) -> Option<PersonId> {
        self.id("who").or(here.signed.person)
    }

    /// Everything typed, to show again beside what is wrong.
    pub fn typed(&self) -> Typed {
        let mut typed = Typed::default();
        for (name, value) in &self.0 {
            typed
                .values
                .entry(name.clone())
                .and_modify(|known| {
                    known.push(' ');
                    known.push_str(value);
                })
                .or_insert_with(|| value.clone());
        }
        typed
    }

    /// A line of this form: its `n`th, about `subject`, with a body as JSON.
    ///
    /// # Errors
    /// [`AppError::Refused`] if the body cannot be read.
    pub fn line(
        &self,
        here: &Here,
        n: u16,
        subject: Subject,
        kind: Kind,
        how: Option<How>,
        body: &Value,
    ) -> Result<Draft, AppError> {
        Ok(Draft {
            id: self.key()?.nth(n),
            at: self.seen_at(here.now),
            seen_by: self.seen_by(here),
            subject,
            how,
            corrects: None,
            if_revision: None,
            body: Body::read(kind, body, "").map_err(AppError::Refused)?,
        })
    }
}

/// A number as people type it, with point or comma.
pub fn decimal(text: &str) -> Option<f64> {
    let number: f64 = text.trim().replace(',', ".").parse().ok()?;
    number.is_finite().then_some(number)
}

/// Who enters a form: the person of this phone, or whoever was named with their PIN. Named without
/// it, they stand as named by the person of this phone.
async fn enterer(here: &Here, fields: &Fields) -> Result<Enterer, AppError> {
    let Some(pin) = fields.filled("pin") else {
        return Ok(here.signed.enterer());
    };
    let who = fields
        .id("who")
        .filter(|who| here.signed.person != Some(*who))
        .ok_or_else(|| AppError::refused("/pin", "Choose whose PIN it is."))?;
    pins::second(
        &here.app,
        &here.event,
        &here.signed,
        who,
        pin.to_owned(),
        "/pin",
    )
    .await
}

/// Records the lines of a form, all or none. The same form again is recorded once, whatever was
/// entered in between: its first line is known already.
///
/// # Errors
/// As [`door::hand_in`] and [`pins::second`].
pub async fn record(here: &Here, fields: &Fields, drafts: Vec<Draft>) -> Result<(), AppError> {
    let sent_before = drafts
        .first()
        .is_some_and(|draft| here.pit.entry(draft.id).is_some());
    if sent_before {
        return Ok(());
    }
    let who = enterer(here, fields).await?;
    door::hand_in(
        &here.event,
        who,
        drafts,
        fields.sent_at(),
        here.now,
        "/lines",
    )
    .await
    .map(drop)
}

/// Records the one line of a form.
///
/// # Errors
/// As [`Fields::line`] and [`record`].
pub async fn record_line(
    here: &Here,
    fields: &Fields,
    subject: Subject,
    kind: Kind,
    how: Option<How>,
    body: &Value,
) -> Result<(), AppError> {
    let line = fields.line(here, 0, subject, kind, how, body)?;
    record(here, fields, vec![line]).await
}

/// A refusal as faults of the form as a whole; anything else stays what it is.
///
/// # Errors
/// Whatever is not a refusal.
pub fn refusal(fields: &Fields, error: AppError) -> Result<Typed, AppError> {
    let faults = match error {
        AppError::Refused(faults) | AppError::Malformed(faults) => faults,
        AppError::Stale { .. } => vec![crate::calc::fault::Fault::new(
            "",
            "Somebody changed it in between. Look at it again, then save.",
        )],
        AppError::Conflict { detail } => vec![crate::calc::fault::Fault::new("", detail)],
        other => return Err(other),
    };
    let mut typed = fields.typed();
    for fault in faults {
        let name = fault
            .pointer
            .rsplit('/')
            .next()
            .unwrap_or_default()
            .to_owned();
        let known = typed.values.contains_key(&name);
        let detail = fault.detail;
        typed
            .faults
            .entry(if known { name } else { String::new() })
            .and_modify(|text| {
                text.push(' ');
                text.push_str(&detail);
            })
            .or_insert(detail);
    }
    Ok(typed)
}

/// A page.
pub fn page(markup: Markup) -> HttpResponse {
    HttpResponse::Ok()
        .content_type("text/html; charset=utf-8")
        .body(markup.into_string())
}

/// The page of a form that could not be taken, with what is wrong in it.
pub fn refused(markup: Markup) -> HttpResponse {
    HttpResponse::UnprocessableEntity()
        .content_type("text/html; charset=utf-8")
        .body(markup.into_string())
}

/// After a form was taken: go and look at `to`.
pub fn see(to: impl Into<String>) -> HttpResponse {
    HttpResponse::SeeOther()
        .insert_header((header::LOCATION, to.into()))
        .finish()
}
