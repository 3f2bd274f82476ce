//! A form of the register: what stands in it, and what it says when it comes back.

use super::things::{Known, Noun, convert, settings, specs};
use super::{Field, Form, Section};
use crate::app::AppError;
use crate::http::pages::form::Fields;
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::Reader;
use crate::http::pages::words;
use crate::pit::ids::TeamId;
use crate::pit::logbook::Role;
use crate::pit::settings::Settings;
use serde_json::{Value, json};
use specs::{Spec, Take};
use uuid::Uuid;

/// The body that a form sends.
///
/// # Errors
/// What is wrong, by field.
pub fn read(reader: &Reader, noun: Noun, before: &Value, fields: &Fields) -> Result<Value, Typed> {
    let mut typed = fields.typed();
    let mut body = before.clone();
    let team = fields
        .id("team")
        .or_else(|| before["team"].as_str().and_then(|id| id.parse().ok()))
        .or(reader.signed.team);
    for spec in specs::of(noun) {
        // What a form does not show stays as it is.
        let Some(text) = fields.get(spec.name()) else {
            continue;
        };
        match value(reader, team, &spec, text) {
            Ok(value) => put(&mut body, spec.at, value),
            Err(detail) => {
                typed.faults.insert(spec.name().to_owned(), detail);
            }
        }
        if spec.required && text.is_empty() {
            typed
                .faults
                .insert(spec.name().to_owned(), "This is needed.".to_owned());
        }
    }
    if body["team"].is_null()
        && let Some(own) = reader.signed.team
        && !matches!(
            noun,
            Noun::Teams | Noun::Event | Noun::Settings | Noun::Bouts
        )
    {
        body["team"] = json!(own);
    }
    if typed.is_sound() {
        Ok(body)
    } else {
        Err(typed)
    }
}

/// Puts a value at its place; an empty one is one that is not there.
fn put(body: &mut Value, at: &str, value: Value) {
    let (parent, last) = at.rsplit_once('/').unwrap_or(("", at));
    if let Ok(n) = last.parse::<usize>() {
        let mut list = body[parent].as_array().cloned().unwrap_or_default();
        list.resize(list.len().max(n + 1), Value::Null);
        list[n] = value;
        body[parent] = json!(list);
        return;
    }
    let inside = if parent.is_empty() {
        &mut *body
    } else {
        if body[parent].is_null() {
            if value.is_null() {
                return;
            }
            body[parent] = json!({});
        }
        &mut body[parent]
    };
    let Some(object) = inside.as_object_mut() else {
        return;
    };
    if value.is_null() {
        object.remove(last);
    } else {
        object.insert(last.to_owned(), value);
    }
    let emptied = object.is_empty() && !parent.is_empty();
    if emptied && let Some(object) = body.as_object_mut() {
        object.remove(parent);
    }
}

pub(super) fn at<'a>(body: &'a Value, spec: &Spec) -> &'a Value {
    let pointer = format!("/{}", spec.at);
    body.pointer(&pointer).unwrap_or(&Value::Null)
}

fn value(reader: &Reader, team: Option<TeamId>, spec: &Spec, text: &str) -> Result<Value, String> {
    if text.is_empty() {
        return Ok(match spec.take {
            Take::Skills | Take::Away | Take::Notes | Take::Configurations | Take::Fits => {
                json!([])
            }
            _ => Value::Null,
        });
    }
    match spec.take {
        Take::Number(_, per) => convert::whole(text, per).map(|n| json!(n)),
        Take::Flag => Ok(json!(text == "yes")),
        Take::Time => convert::local(reader, text)
            .map(|at| json!(at))
            .ok_or_else(|| "A day and a time of the hall.".to_owned()),
        Take::Corner => text
            .split_once(':')
            .map(|(what, id)| json!({what: id}))
            .ok_or_else(|| "Who?".to_owned()),
        Take::Skills => convert::skills(text),
        Take::Away => convert::away(reader, text),
        Take::Notes => Ok(json!(convert::lines(text).collect::<Vec<_>>())),
        Take::Configurations => convert::configurations(text),
        Take::FedParts => convert::fed_parts(text),
        Take::Fits => convert::fits(reader, team, text),
        Take::Packs => convert::packs(reader, team, text),
        Take::Text | Take::Date | Take::Of(_) | Take::Pick(..) | Take::Driver => Ok(json!(text)),
    }
}

/// A value as it stands in its field.
pub(super) fn text(reader: &Reader, spec: &Spec, value: &Value) -> String {
    let plain = || value.as_str().unwrap_or_default().to_owned();
    match spec.take {
        Take::Number(_, per) => value
            .as_i64()
            .map_or_else(String::new, |n| convert::shown(n, per)),
        Take::Flag => if value == &json!(true) { "yes" } else { "no" }.to_owned(),
        Take::Time => convert::local_text(reader, value),
        Take::Corner => value
            .as_object()
            .and_then(|slot| slot.iter().next())
            .map_or_else(String::new, |(what, id)| {
                format!("{what}:{}", id.as_str().unwrap_or_default())
            }),
        Take::Skills => convert::notes_text(value).replace('\n', ", "),
        Take::Away => convert::away_text(reader, value),
        Take::Notes => convert::notes_text(value),
        Take::Configurations => convert::configurations_text(value),
        Take::FedParts => convert::fed_parts_text(value),
        Take::Fits => convert::fits_text(reader, value),
        Take::Packs => convert::packs_text(reader, value),
        Take::Text | Take::Date | Take::Of(_) | Take::Pick(..) | Take::Driver => plain(),
    }
}

/// What a person reads where the field holds an id or a word of the API.
pub(super) fn words_of(reader: &Reader, spec: &Spec, value: &Value) -> String {
    let text = text(reader, spec, value);
    let options = options(reader, spec, None, None);
    let word = options.into_iter().find(|chip| chip.value == text);
    let unit = match spec.take {
        Take::Number(unit, _) if !text.is_empty() && !unit.is_empty() => format!(" {unit}"),
        _ => String::new(),
    };
    match word {
        Some(chip) => chip.label,
        None if text.is_empty() => "nothing".to_owned(),
        None => format!("{}{unit}", text.replace('\n', "; ")),
    }
}

fn options(reader: &Reader, spec: &Spec, team: Option<TeamId>, this: Option<Uuid>) -> Vec<Chip> {
    match spec.take {
        Take::Of(words) => words.iter().map(|(v, w)| Chip::new(*v, *w)).collect(),
        Take::Flag => vec![Chip::new("no", "no"), Chip::new("yes", "yes")],
        Take::Pick(noun, _) => {
            let mut chips: Vec<Chip> = noun
                .all(reader)
                .into_iter()
                .filter(|(id, known)| {
                    let of_event = noun == Noun::Circuits && known.team().is_none();
                    Some(*id) != this
                        && !known.retired()
                        && (of_event || noun.shown_to(reader, known.team(), *id))
                })
                .map(|(id, known)| Chip::new(id.to_string(), known.label()))
                .collect();
            chips.sort_by(|a, b| a.label.cmp(&b.label));
            chips
        }
        Take::Driver => {
            let mates = team.map_or_else(Vec::new, |team| words::team_mates(reader, team));
            let mates = mates.into_iter();
            mates
                .map(|(id, name)| Chip::new(id.to_string(), name))
                .collect()
        }
        Take::Corner => corners(reader, this),
        _ => Vec::new(),
    }
}

fn corners(reader: &Reader, not: Option<Uuid>) -> Vec<Chip> {
    let mut chips: Vec<Chip> = reader
        .pit
        .robots
        .iter()
        .filter(|(_, file)| !file.register.body.retired)
        .map(|(id, _)| Chip::new(format!("robot:{id}"), reader.robot(*id)))
        .collect();
    chips.sort_by(|a, b| a.label.cmp(&b.label));
    for bout in reader.pit.running_order() {
        if Some(bout.id.0) != not {
            for what in ["winner", "loser"] {
                let label = format!("{what} of {}", bout.number);
                chips.push(Chip::new(format!("{what}:{}", bout.id), label));
            }
        }
    }
    chips
}

/// What a form starts from.
pub struct Start<'a> {
    /// Of what.
    pub noun: Noun,
    /// Which; none for a new one.
    pub id: Option<Uuid>,
    /// As it is registered, or another that it is copied from.
    pub body: &'a Value,
    /// The revision of what is changed.
    pub revision: Option<i64>,
    /// What came back.
    pub typed: Typed,
}

/// A form with its fields.
pub fn form(reader: &Reader, start: Start<'_>) -> Form {
    let Start {
        noun,
        id,
        body,
        revision,
        typed,
    } = start;
    let base = format!("{}/register", reader.base);
    let address = match noun {
        Noun::Event | Noun::Settings => "it".to_owned(),
        _ => id.map_or_else(|| "new".to_owned(), |id| id.to_string()),
    };
    let team = body["team"]
        .as_str()
        .and_then(|id| id.parse().ok())
        .or(reader.signed.team);
    let fresh = revision.is_none();
    let shown = |spec: &Spec| field(reader, spec, body, (team, id), fresh);
    let specs = specs::of(noun);
    let mut sections = Vec::new();
    if noun == Noun::Settings {
        sections.extend(settings::GROUPS.iter().map(|group| {
            Section {
                title: group.title,
                folded: false,
                fields: group
                    .rules
                    .iter()
                    .map(|rule| rule_field(reader, rule, body))
                    .collect(),
            }
        }));
    } else {
        let (more, first): (Vec<Spec>, Vec<Spec>) = specs.iter().partition(|spec| spec.more);
        let mut fields: Vec<Field> = first.iter().map(shown).collect();
        if noun == Noun::People {
            let name = id.and_then(|id| reader.names.get(&crate::pit::ids::PersonId(id)));
            fields.insert(
                0,
                Field::line("name", "Name", name.cloned().unwrap_or_default()),
            );
        }
        sections.push(Section {
            title: "",
            folded: false,
            fields,
        });
        if !more.is_empty() {
            // What is wrong is never folded away.
            let faulty = more.iter().any(|spec| typed.fault(spec.name()).is_some());
            sections.push(Section {
                title: "More",
                folded: !faulty,
                fields: more.iter().map(shown).collect(),
            });
        }
    }
    Form {
        tag: Tag {
            name: noun.one().to_owned(),
            sub: id.map_or_else(
                || event_name(reader),
                |_| {
                    body["name"]
                        .as_str()
                        .or(body["label"].as_str())
                        .unwrap_or_default()
                        .to_owned()
                },
            ),
            bench: None,
            href: None,
        },
        back: base.clone(),
        action: format!("{base}/{}/{address}", noun.path()),
        sections,
        revision,
        was: revision.map(|_| body.to_string()),
        button: if revision.is_some() {
            "Save"
        } else {
            "Enter it"
        },
        note: note(noun),
        changed: Vec::new(),
        copies: copies(reader, noun, id, revision),
        sources: if noun == Noun::Settings {
            settings::SOURCES
        } else {
            &[]
        },
        typed,
    }
}

fn note(noun: Noun) -> &'static str {
    match noun {
        Noun::People => "The name is kept apart from the logbook, so that it can be erased.",
        Noun::Bottles | Noun::Supplies => {
            "The event’s rules, the supplier and the steward decide what is filled."
        }
        _ => "",
    }
}

/// The name of the event.
pub fn event_name(reader: &Reader) -> String {
    let event = reader.pit.event.as_ref();
    event.map_or_else(String::new, |event| event.body.name.to_string())
}

fn rule_field(reader: &Reader, rule: &settings::Rule, body: &Value) -> Field {
    let spec = specs::may(rule.at, rule.label, rule.take);
    let usual = json!({"settings": Settings::default()});
    let mut hint = format!("Usual: {}.", words_of(reader, &spec, at(&usual, &spec)));
    if !rule.found.is_empty() {
        hint.push_str(&format!(" Found: {}.", rule.found));
    }
    field(reader, &spec, body, (None, None), false).with_hint(hint)
}

fn field(
    reader: &Reader,
    spec: &Spec,
    body: &Value,
    (team, this): (Option<TeamId>, Option<Uuid>),
    fresh: bool,
) -> Field {
    let stands = at(body, spec);
    let inside = spec.at.split_once('/').map_or("", |(parent, _)| parent);
    let new = fresh || (!inside.is_empty() && body[inside].is_null());
    let value = if stands.is_null() && new && !spec.usual.is_empty() {
        spec.usual.to_owned()
    } else {
        text(reader, spec, stands)
    };
    let options = options(reader, spec, team, this);
    let (name, label, hint) = (spec.name(), spec.label, spec.hint.to_owned());
    let line = |kind, unit| Field::Line {
        name,
        label,
        kind,
        value: value.clone(),
        hint: hint.clone(),
        unit,
        required: spec.required,
    };
    match spec.take {
        Take::Text => line("text", ""),
        Take::Number(unit, _) => line("number", unit),
        Take::Date => line("date", ""),
        Take::Time => line("datetime-local", ""),
        Take::Skills => line("text", ""),
        Take::Flag | Take::Of(_) => Field::Chips {
            name,
            label,
            value,
            hint,
            options,
        },
        Take::Pick(Noun::Teams, none) => Field::Choice {
            name,
            label,
            value: if value.is_empty() {
                reader.signed.team.map_or(value, |own| own.to_string())
            } else {
                value
            },
            none: if reader.signed.role == Role::Organiser && none.is_empty() {
                "choose"
            } else if reader.signed.role == Role::Organiser {
                none
            } else {
                ""
            },
            hint,
            options,
        },
        Take::Pick(_, none) => Field::Choice {
            name,
            label,
            value,
            none,
            hint,
            options,
        },
        Take::Driver => Field::Choice {
            name,
            label,
            value,
            none: "nobody yet",
            hint,
            options,
        },
        Take::Corner => Field::Choice {
            name,
            label,
            value,
            none: "choose",
            hint,
            options,
        },
        Take::Away
        | Take::Notes
        | Take::Configurations
        | Take::FedParts
        | Take::Fits
        | Take::Packs => Field::Lines {
            name,
            label,
            value,
            hint,
        },
    }
}

/// Others that a new one can be copied from.
fn copies(
    reader: &Reader,
    noun: Noun,
    id: Option<Uuid>,
    revision: Option<i64>,
) -> Vec<(String, String)> {
    let new = format!("{}/register/{}/new", reader.base, noun.path());
    if !Noun::LISTED.contains(&noun) || matches!(noun, Noun::Teams | Noun::Bouts | Noun::People) {
        return Vec::new();
    }
    if let (Some(id), Some(_)) = (id, revision) {
        return vec![(
            "Enter another like it".to_owned(),
            format!("{new}?from={id}"),
        )];
    }
    let mut others: Vec<(Uuid, Known)> = noun
        .all(reader)
        .into_iter()
        .filter(|(id, known)| !known.retired() && noun.shown_to(reader, known.team(), *id))
        .collect();
    others.sort_by_key(|(_, known)| std::cmp::Reverse(known.revision));
    others
        .into_iter()
        .take(4)
        .map(|(id, known)| {
            (
                format!("Copy {}", known.label()),
                format!("{new}?from={id}"),
            )
        })
        .collect()
}

/// The body a new thing starts from: another's, without what is its alone.
pub fn copied(other: &Value) -> Value {
    let mut body = other.clone();
    if let Some(fields) = body.as_object_mut() {
        for own in [
            "name", "label", "code", "bench", "packs", "driver", "retired",
        ] {
            fields.remove(own);
        }
    }
    body
}

/// Faults of a body that stand at a place no field is named after.
pub fn named(error: AppError) -> AppError {
    const LISTS: [&str; 7] = [
        "configurations",
        "parts",
        "fits",
        "skills",
        "away",
        "packs",
        "emergency",
    ];
    let rename = |pointer: &str| match pointer.split_once("/slots/") {
        Some((_, corner)) => Some(
            if corner.starts_with('0') {
                "/one"
            } else {
                "/other"
            }
            .to_owned(),
        ),
        None => LISTS
            .iter()
            .find(|list| pointer.contains(&format!("/{list}/")))
            .map(|list| match *list {
                "emergency" => "/emergency_text".to_owned(),
                list => format!("/{list}"),
            }),
    };
    let mend = |mut faults: Vec<crate::calc::fault::Fault>| {
        for fault in &mut faults {
            if let Some(name) = rename(&fault.pointer) {
                fault.pointer = name;
            }
        }
        faults
    };
    match error {
        AppError::Refused(faults) => AppError::Refused(mend(faults)),
        AppError::Malformed(faults) => AppError::Malformed(mend(faults)),
        other => other,
    }
}
