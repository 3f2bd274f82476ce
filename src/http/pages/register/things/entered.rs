//! What a form of the register says: the lines it writes.

use super::Noun;
use crate::http::pages::form::Fields;
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::Reader;
use crate::pit::ids::{PersonId, Subject, TeamId};
use crate::pit::library::tasks::Skill;
use crate::pit::logbook::Kind;
use chrono::{DateTime, NaiveDateTime, TimeZone as _, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

/// A register line of a form, before it has its id.
pub struct Entered {
    /// What it is about.
    pub subject: Subject,
    /// Its kind.
    pub kind: Kind,
    /// Its body.
    pub body: Value,
    /// The revision it is based on.
    pub revision: Option<i64>,
}

/// The register lines a form writes. New things get their ids from the form's key, so that the same
/// form sent twice enters one thing.
///
/// # Errors
/// What is wrong, by field.
pub fn read(
    reader: &Reader,
    noun: Noun,
    id: Option<Uuid>,
    fields: &Fields,
) -> Result<Vec<Entered>, Typed> {
    let mut typed = fields.typed();
    let new = |n: u16| {
        fields
            .key()
            .map_or_else(|_| Uuid::nil(), |key| key.nth(n).0)
    };
    let about = id.unwrap_or_else(|| new(32));
    let mut whole = |name: &str| -> Value {
        match fields
            .filled(name)
            .map(|text| text.replace(' ', "").parse::<i64>())
        {
            None => Value::Null,
            Some(Ok(value)) => json!(value),
            Some(Err(_)) => {
                typed
                    .faults
                    .insert(name.to_owned(), "A whole number.".to_owned());
                Value::Null
            }
        }
    };
    let text = |name: &str| fields.filled(name).map_or(Value::Null, |text| json!(text));
    let team = || {
        fields
            .filled("team")
            .map(str::to_owned)
            .or(reader.signed.team.map(|team| team.to_string()))
            .map_or(Value::Null, |team| json!(team))
    };
    let (subject, kind, body) = match noun {
        Noun::Event => (
            Subject::Event,
            Kind::RegisterEvent,
            event_body(reader, fields),
        ),
        Noun::Teams => (
            Subject::Team(TeamId(about)),
            Kind::RegisterTeam,
            json!({"name": text("name")}),
        ),
        Noun::People => {
            let skills: Vec<&str> = fields
                .get("skills")
                .unwrap_or_default()
                .split(',')
                .map(str::trim)
                .filter(|skill| !skill.is_empty())
                .collect();
            if let Some(wrong) = skills.iter().find(|skill| Skill::named(skill).is_none()) {
                typed
                    .faults
                    .insert("skills".to_owned(), format!("There is no skill “{wrong}”."));
            }
            (
                Subject::Person(PersonId(about)),
                Kind::RegisterPerson,
                json!({"team": team(), "skills": skills}),
            )
        }
        Noun::Robots => (
            Subject::Robot(crate::pit::ids::RobotId(about)),
            Kind::RegisterRobot,
            json!({"team": team(), "name": text("name"), "machine": text("machine"), "bench": whole("bench"),
                "links": whole("links"), "driver": text("driver"), "configuration": text("configuration")}),
        ),
        Noun::Bouts => {
            let call = local(reader, fields.filled("call_at"));
            if call.is_none() {
                typed.faults.insert(
                    "call_at".to_owned(),
                    "A day and a time of the hall.".to_owned(),
                );
            }
            let slot = |name: &str| {
                fields
                    .filled(name)
                    .and_then(|text| text.split_once(':'))
                    .map_or(Value::Null, |(what, id)| json!({what: id}))
            };
            for name in ["one", "other"] {
                if slot(name).is_null() {
                    typed.faults.insert(name.to_owned(), "Who?".to_owned());
                }
            }
            let body = json!({"number": fields.filled("number").and_then(|n| n.parse::<i64>().ok()), "slots": [slot("one"), slot("other")], "call_at": call,
                "fixed": fields.get("fixed") == Some("true"), "moved_from": moved_from(reader, id, call)});
            (
                Subject::Bout(crate::pit::ids::BoutId(about)),
                Kind::RegisterBout,
                body,
            )
        }
        Noun::Sets => return set_lines(fields, &new, team(), typed),
        Noun::Bottles => (
            Subject::Bottle(crate::pit::ids::BottleId(about)),
            Kind::RegisterBottle,
            json!({"team": team(), "label": text("label"), "gas": text("gas"), "volume_ml": whole("volume_ml"), "tare_g": whole("tare_g"),
                "permitted_fill_g": whole("permitted_fill_g"), "tested_on": text("tested_on")}),
        ),
    };
    if !typed.is_sound() {
        return Err(typed);
    }
    Ok(vec![Entered {
        subject,
        kind,
        body: without_nulls(body),
        revision: fields.id("revision"),
    }])
}

/// An empty field is one that is not there.
fn without_nulls(mut body: Value) -> Value {
    if let Some(fields) = body.as_object_mut() {
        fields.retain(|_, value| !value.is_null());
    }
    body
}

/// The body of an event's register line; its settings stay as they are.
pub fn event_body(reader: &Reader, fields: &Fields) -> Value {
    let settings = json!(reader.pit.settings());
    event_with(fields, &settings)
}

/// The body of an event's register line with these settings.
pub fn event_with(fields: &Fields, settings: &Value) -> Value {
    let text = |name: &str| fields.filled(name).map_or(Value::Null, |text| json!(text));
    let emergency: Vec<&str> = fields
        .get("emergency_text")
        .unwrap_or_default()
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect();
    without_nulls(
        json!({"name": text("name"), "hall": text("hall"), "time_zone": text("time_zone"),
        "first_day": text("first_day"), "last_day": text("last_day"), "emergency": emergency, "settings": settings}),
    )
}

/// The call a bout had, if this is another one.
fn moved_from(
    reader: &Reader,
    id: Option<Uuid>,
    call: Option<DateTime<Utc>>,
) -> Option<DateTime<Utc>> {
    let bout = reader.pit.bout(crate::pit::ids::BoutId(id?))?;
    // A form knows no seconds.
    let same = call.is_some_and(|call| (bout.call - call).abs() < chrono::TimeDelta::minutes(1));
    if same {
        bout.moved_from.map(|(from, _)| from)
    } else {
        Some(bout.call)
    }
}

/// A time of the hall, as a browser writes it.
fn local(reader: &Reader, text: Option<&str>) -> Option<DateTime<Utc>> {
    let text = text?;
    let local = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"]
        .iter()
        .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())?;
    // An hour that comes twice is taken the first time; one that does not exist is no time.
    reader
        .clock
        .zone
        .from_local_datetime(&local)
        .earliest()
        .map(|at| at.with_timezone(&Utc))
}

fn set_lines(
    fields: &Fields,
    new: &dyn Fn(u16) -> Uuid,
    team: Value,
    mut typed: Typed,
) -> Result<Vec<Entered>, Typed> {
    let whole = |name: &str| {
        fields
            .filled(name)
            .and_then(|text| text.parse::<i64>().ok())
    };
    let label = fields.filled("label").unwrap_or_default();
    let count = whole("packs").filter(|count| (1..=16).contains(count));
    if count.is_none() {
        typed
            .faults
            .insert("packs".to_owned(), "From 1 to 16 packs.".to_owned());
    }
    for name in ["cells", "capacity_mah"] {
        if whole(name).is_none() {
            typed
                .faults
                .insert(name.to_owned(), "A whole number.".to_owned());
        }
    }
    let (Some(count), true) = (count, typed.is_sound()) else {
        return Err(typed);
    };
    let ids: Vec<Uuid> = (0..count)
        .map(|n| new(33 + u16::try_from(n).unwrap_or(0)))
        .collect();
    let mut lines: Vec<Entered> = (1..)
        .zip(&ids)
        .map(|(n, id)| Entered {
            subject: Subject::Pack(crate::pit::ids::PackId(*id)),
            kind: Kind::RegisterPack,
            body: json!({"team": team, "label": format!("{label}{n}"), "chemistry": fields.get("chemistry"),
                "cells": whole("cells"), "capacity_mah": whole("capacity_mah")}),
            revision: None,
        })
        .collect();
    lines.push(Entered {
        subject: Subject::Set(crate::pit::ids::SetId(new(32))),
        kind: Kind::RegisterSet,
        body: json!({"team": team, "label": label, "packs": ids}),
        revision: None,
    });
    Ok(lines)
}
