//! The forms of what exists, and the register lines they write.

mod entered;

pub use entered::{Entered, event_with, read};

use super::{Field, Form};
use crate::app::AppError;
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::Reader;
use crate::http::pages::words;
use crate::pit::ids::{PersonId, TeamId};
use crate::pit::logbook::register::{Machine, Slot};
use serde::Deserialize;
use serde_json::json;
use uuid::Uuid;

/// What can be entered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Noun {
    /// The event itself.
    Event,
    /// A team.
    Teams,
    /// A person.
    People,
    /// A robot.
    Robots,
    /// A bout.
    Bouts,
    /// A set with its packs.
    Sets,
    /// A bottle.
    Bottles,
}

impl Noun {
    /// As it stands in addresses.
    pub fn path(self) -> &'static str {
        match self {
            Self::Event => "event",
            Self::Teams => "teams",
            Self::People => "people",
            Self::Robots => "robots",
            Self::Bouts => "bouts",
            Self::Sets => "sets",
            Self::Bottles => "bottles",
        }
    }

    fn title(self) -> &'static str {
        match self {
            Self::Event => "Event",
            Self::Teams => "Team",
            Self::People => "Person",
            Self::Robots => "Robot",
            Self::Bouts => "Bout",
            Self::Sets => "Set of packs",
            Self::Bottles => "Bottle",
        }
    }
}

fn line(name: &'static str, label: &'static str, value: impl ToString) -> Field {
    Field::Line {
        name,
        label,
        kind: "text",
        value: value.to_string(),
        hint: "",
        required: true,
    }
}

fn number(
    name: &'static str,
    label: &'static str,
    value: Option<i32>,
    required: bool,
    hint: &'static str,
) -> Field {
    Field::Line {
        name,
        label,
        kind: "number",
        value: value.map_or_else(String::new, |value| value.to_string()),
        hint,
        required,
    }
}

/// The form of a thing; of a new one where `id` is none.
///
/// # Errors
/// [`AppError::Unknown`] if it does not exist.
pub fn form(reader: &Reader, noun: Noun, id: Option<Uuid>, typed: Typed) -> Result<Form, AppError> {
    let (fields, revision, note) = fields(reader, noun, id)?;
    let event = reader
        .pit
        .event
        .as_ref()
        .map_or_else(String::new, |event| event.body.name.to_string());
    let address = id.map_or_else(|| "new".to_owned(), |id| id.to_string());
    Ok(Form {
        tag: Tag {
            name: noun.title().to_owned(),
            sub: event,
            bench: None,
            href: None,
        },
        back: format!("{}/register", reader.base),
        action: format!("{}/register/{}/{address}", reader.base, noun.path()),
        fields,
        revision,
        button: if id.is_some() || noun == Noun::Event {
            "Save"
        } else {
            "Enter it"
        },
        note,
        typed,
    })
}

type Shape = (Vec<Field>, Option<i64>, &'static str);

fn fields(reader: &Reader, noun: Noun, id: Option<Uuid>) -> Result<Shape, AppError> {
    match noun {
        Noun::Event => event(reader),
        Noun::Teams => {
            let known = found(id, |id| reader.pit.teams.get(&TeamId(id)))?;
            let name = known.map_or_else(String::new, |team| team.body.name.to_string());
            Ok((
                vec![line("name", "Name", name)],
                known.map(|team| team.revision),
                "",
            ))
        }
        Noun::People => person(reader, id),
        Noun::Robots => robot(reader, id),
        Noun::Bouts => bout(reader, id),
        Noun::Sets => set(reader, id),
        Noun::Bottles => bottle(reader, id),
    }
}

fn found<'a, T>(
    id: Option<Uuid>,
    get: impl Fn(Uuid) -> Option<&'a T>,
) -> Result<Option<&'a T>, AppError> {
    match id {
        None => Ok(None),
        Some(id) => get(id).map(Some).ok_or(AppError::Unknown),
    }
}

fn event(reader: &Reader) -> Result<Shape, AppError> {
    let event = reader.pit.event.as_ref().ok_or(AppError::Unknown)?;
    let body = &event.body;
    Ok((
        event_fields(
            body.name.as_str(),
            body.hall.as_ref().map_or("", |hall| hall.as_str()),
            &body.time_zone,
            (&body.first_day.to_string(), &body.last_day.to_string()),
            &body
                .emergency
                .iter()
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join("\n"),
        ),
        Some(event.revision),
        "The emergency text stands on every page behind the emergency button: one line each, whom to call and where to go.",
    ))
}

/// The fields of an event.
pub fn event_fields(
    name: &str,
    hall: &str,
    zone: &str,
    (first, last): (&str, &str),
    emergency: &str,
) -> Vec<Field> {
    let day = |name, label, value: &str| Field::Line {
        name,
        label,
        kind: "date",
        value: value.to_owned(),
        hint: "",
        required: true,
    };
    vec![
        line("name", "Name", name),
        Field::Line {
            name: "hall",
            label: "Hall",
            kind: "text",
            value: hall.to_owned(),
            hint: "",
            required: false,
        },
        Field::Line {
            name: "time_zone",
            label: "Time zone",
            kind: "text",
            value: zone.to_owned(),
            hint: "As in Europe/London.",
            required: true,
        },
        day("first_day", "First day", first),
        day("last_day", "Last day", last),
        Field::Lines {
            name: "emergency_text",
            label: "Emergency text, one line each",
            value: emergency.to_owned(),
        },
    ]
}

/// The teams a reader may enter things for.
fn teams(reader: &Reader) -> Vec<Chip> {
    let mut teams: Vec<Chip> = reader
        .pit
        .teams
        .iter()
        .filter(|(id, team)| !team.body.retired && reader.signed.team.is_none_or(|own| own == **id))
        .map(|(id, team)| Chip::new(id.to_string(), team.body.name.to_string()))
        .collect();
    teams.sort_by(|a, b| a.label.cmp(&b.label));
    teams
}

fn team_field(reader: &Reader, chosen: Option<TeamId>, none: &'static str) -> Field {
    let chosen = chosen.or(reader.signed.team);
    Field::Choice {
        name: "team",
        label: "Team",
        value: chosen.map_or_else(String::new, |team| team.to_string()),
        none,
        options: teams(reader),
    }
}

fn person(reader: &Reader, id: Option<Uuid>) -> Result<Shape, AppError> {
    let known = found(id, |id| reader.pit.people.get(&PersonId(id)))?;
    let name = id
        .and_then(|id| reader.names.get(&PersonId(id)).cloned())
        .unwrap_or_default();
    let skills = known.map_or_else(String::new, |person| {
        person
            .body
            .skills
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join(", ")
    });
    let of_event = if reader.signed.team.is_none() {
        "the event’s own"
    } else {
        ""
    };
    Ok((
        vec![
            line("name", "Name", name),
            team_field(reader, known.and_then(|person| person.body.team), of_event),
            Field::Line {
                name: "skills",
                label: "Skills",
                kind: "text",
                value: skills,
                hint: "Any of mechanic, electrics, pneumatics, fabricator, driver, with commas between.",
                required: false,
            },
        ],
        known.map(|person| person.revision),
        "The name is kept apart from the logbook, so that it can be erased.",
    ))
}

fn robot(reader: &Reader, id: Option<Uuid>) -> Result<Shape, AppError> {
    let known = match id {
        None => None,
        Some(id) => Some(
            &reader
                .pit
                .robots
                .get(&crate::pit::ids::RobotId(id))
                .ok_or(AppError::Unknown)?
                .register,
        ),
    };
    let body = known.map(|known| &known.body);
    let mates = body.map(|body| body.team).or(reader.signed.team);
    let drivers = mates.map_or_else(Vec::new, |team| words::team_mates(reader, team));
    Ok((
        vec![
            line(
                "name",
                "Name",
                body.map_or_else(String::new, |robot| robot.name.to_string()),
            ),
            team_field(reader, body.map(|robot| robot.team), ""),
            Field::Chips {
                name: "machine",
                label: "Type of machine",
                value: body.map_or("", |robot| robot.machine.as_str()).to_owned(),
                options: vec![
                    Chip::new(Machine::FlipperHeavyweight.as_str(), "Flipper"),
                    Chip::new(Machine::SpinnerHeavyweight.as_str(), "Spinner"),
                    Chip::new(Machine::SmallMachine.as_str(), "Small machine"),
                ],
            },
            number(
                "bench",
                "Bench",
                body.and_then(|robot| robot.bench).map(|n| n.get()),
                false,
                "",
            ),
            number(
                "links",
                "Links, spares not counted",
                Some(body.map_or(1, |robot| robot.links.get())),
                true,
                "",
            ),
            Field::Choice {
                name: "driver",
                label: "Driver",
                value: body
                    .and_then(|robot| robot.driver)
                    .map_or_else(String::new, |who| who.to_string()),
                none: "nobody yet",
                options: drivers
                    .into_iter()
                    .map(|(id, name)| Chip::new(id.to_string(), name))
                    .collect(),
            },
            Field::Line {
                name: "configuration",
                label: "Configuration",
                kind: "text",
                value: body
                    .and_then(|robot| robot.configuration.as_ref())
                    .map_or_else(String::new, ToString::to_string),
                hint: "The lid or weapon fitted.",
                required: false,
            },
        ],
        known.map(|known| known.revision),
        "The type of machine chooses the task lists and the areas for damage.",
    ))
}

fn bout(reader: &Reader, id: Option<Uuid>) -> Result<Shape, AppError> {
    let known = found(id, |id| reader.pit.bouts.get(&crate::pit::ids::BoutId(id)))?;
    let next = reader
        .pit
        .bouts
        .values()
        .map(|bout| bout.body.number.get())
        .max()
        .unwrap_or(0)
        + 1;
    let number_now = known.map_or(next, |bout| bout.body.number.get());
    let stands = id.and_then(|id| reader.pit.bout(crate::pit::ids::BoutId(id)));
    let call = known.map_or_else(String::new, |bout| {
        // Moved calls counted: what is saved is taken as the call from then on.
        stands
            .map_or(bout.body.call_at, |stands| stands.call)
            .with_timezone(&reader.clock.zone)
            .format("%Y-%m-%dT%H:%M")
            .to_string()
    });
    let options = slots(reader, id);
    let chosen = |n: usize| known.map_or_else(String::new, |bout| slot_text(bout.body.slots[n]));
    let corner = |name, label, n| Field::Choice {
        name,
        label,
        value: chosen(n),
        none: "choose",
        options: options.clone(),
    };
    Ok((
        vec![
            number("number", "Bout number", Some(number_now), true, ""),
            Field::Line {
                name: "call_at",
                label: "Call at the arena queue",
                kind: "datetime-local",
                value: call,
                hint: "The hall’s time.",
                required: true,
            },
            corner("one", "One corner", 0),
            corner("other", "The other corner", 1),
            Field::Chips {
                name: "fixed",
                label: "When the order changes",
                value: match known.is_some_and(|bout| bout.body.fixed) {
                    true => "true".to_owned(),
                    false => "false".to_owned(),
                },
                options: vec![
                    Chip::new("false", "may move"),
                    Chip::new("true", "keeps its place"),
                ],
            },
        ],
        known.map(|bout| bout.revision),
        "",
    ))
}

fn slot_text(slot: Slot) -> String {
    match slot {
        Slot::Robot(id) => format!("robot:{id}"),
        Slot::Winner(id) => format!("winner:{id}"),
        Slot::Loser(id) => format!("loser:{id}"),
    }
}

fn slots(reader: &Reader, not: Option<Uuid>) -> Vec<Chip> {
    let mut robots: Vec<Chip> = reader
        .pit
        .robots
        .iter()
        .filter(|(_, file)| !file.register.body.retired)
        .map(|(id, _)| Chip::new(slot_text(Slot::Robot(*id)), reader.robot(*id)))
        .collect();
    robots.sort_by(|a, b| a.label.cmp(&b.label));
    for bout in reader.pit.running_order() {
        if Some(bout.id.0) != not {
            robots.push(Chip::new(
                slot_text(Slot::Winner(bout.id)),
                format!("winner of {}", bout.number),
            ));
            robots.push(Chip::new(
                slot_text(Slot::Loser(bout.id)),
                format!("loser of {}", bout.number),
            ));
        }
    }
    robots
}

fn set(reader: &Reader, id: Option<Uuid>) -> Result<Shape, AppError> {
    // A set that exists is changed where its packs are; here a whole new one is entered at once.
    if id.is_some() {
        return Err(AppError::Unknown);
    }
    Ok((
        vec![
            line("label", "Label", ""),
            team_field(reader, None, ""),
            number(
                "packs",
                "Packs in it",
                Some(1),
                true,
                "They are called like the set, with a number.",
            ),
            number("cells", "Cells in series, each pack", Some(6), true, ""),
            number("capacity_mah", "Capacity of a pack in mAh", None, true, ""),
            Field::Chips {
                name: "chemistry",
                label: "Chemistry",
                value: "lipo".to_owned(),
                options: vec![
                    Chip::new("lipo", "LiPo"),
                    Chip::new("nmc", "NMC"),
                    Chip::new("lfp", "LiFePO4"),
                ],
            },
        ],
        None,
        "",
    ))
}

fn bottle(reader: &Reader, id: Option<Uuid>) -> Result<Shape, AppError> {
    let known = found(id, |id| {
        reader.pit.bottles.get(&crate::pit::ids::BottleId(id))
    })?;
    let body = known.map(|known| &known.body);
    Ok((
        vec![
            line(
                "label",
                "Label",
                body.map_or_else(String::new, |bottle| bottle.label.to_string()),
            ),
            team_field(reader, body.map(|bottle| bottle.team), ""),
            Field::Chips {
                name: "gas",
                label: "Gas",
                value: body.map_or_else(
                    || "co2".to_owned(),
                    |bottle| json!(bottle.gas).as_str().unwrap_or("co2").to_owned(),
                ),
                options: vec![
                    Chip::new("co2", "CO2"),
                    Chip::new("nitrogen", "nitrogen"),
                    Chip::new("air", "air"),
                ],
            },
            number(
                "volume_ml",
                "Inner volume in ml",
                body.map(|bottle| bottle.volume_ml.get()),
                true,
                "",
            ),
            number(
                "tare_g",
                "Empty, with valve, in g",
                body.map(|bottle| bottle.tare_g.get()),
                true,
                "",
            ),
            number(
                "permitted_fill_g",
                "Most gas it may hold, as stamped, in g",
                body.and_then(|bottle| bottle.permitted_fill_g)
                    .map(|n| n.get()),
                false,
                "Unknown: advice is not to fill.",
            ),
            Field::Line {
                name: "tested_on",
                label: "Date of its last test, as stamped",
                kind: "date",
                value: body
                    .and_then(|bottle| bottle.tested_on)
                    .map_or_else(String::new, |day| day.to_string()),
                hint: "",
                required: false,
            },
        ],
        known.map(|known| known.revision),
        "The event’s rules, the supplier and the steward decide what is filled.",
    ))
}
