//! The register as a list of lists.

use super::entry::event_name;
use super::things::{Known, Noun};
use super::{List, Register};
use crate::http::pages::parts::frame::Tag;
use crate::http::pages::reader::Reader;
use crate::http::pages::register::things::convert;
use crate::pit::ids::{PersonId, TeamId};
use crate::pit::logbook::Role;
use crate::pit::logbook::register::Machine;
use uuid::Uuid;

/// Everything somebody may enter or change.
pub fn view(reader: &Reader) -> Register {
    let base = format!("{}/register", reader.base);
    let organiser = reader.signed.role == Role::Organiser;
    let mut lists = Vec::new();
    if organiser {
        lists.push(event(&base));
    }
    for noun in Noun::LISTED {
        if *noun != Noun::Bouts || organiser {
            lists.push(list(reader, &base, *noun));
        }
    }
    lists.push(libraries(reader, &base));
    Register {
        tag: Tag {
            name: "Register".to_owned(),
            sub: event_name(reader),
            bench: None,
            href: None,
        },
        codes: format!("{base}/codes"),
        lists,
    }
}

fn event(base: &str) -> List {
    let card = |label: &str, role: &str| (label.to_owned(), role.to_owned(), String::new());
    let page = |name: &str, detail: &str, path: &str| {
        (
            name.to_owned(),
            detail.to_owned(),
            format!("{base}/{path}/it"),
        )
    };
    List {
        title: "Event",
        things: vec![
            page("Name, days, emergency text", "", "event"),
            page(
                "Rules of the event",
                "limits, charging, gas, time, weight",
                "settings",
            ),
        ],
        retired: Vec::new(),
        more: Vec::new(),
        cards: vec![
            card("Card for marshals", "marshal"),
            card("Card for officials", "official"),
            card("Card for the wall", "wall"),
        ],
    }
}

fn list(reader: &Reader, base: &str, noun: Noun) -> List {
    let organiser = reader.signed.role == Role::Organiser;
    let link = |id: &Uuid| format!("{base}/{}/{id}", noun.path());
    let mut things = Vec::new();
    let mut retired = Vec::new();
    let mut cards = Vec::new();
    for (id, known) in noun.all(reader) {
        if !noun.shown_to(reader, known.team(), id) {
            continue;
        }
        let name = match noun {
            Noun::People => reader.name(Some(PersonId(id))),
            _ => known.label(),
        };
        if known.retired() {
            retired.push((name, link(&id)));
            continue;
        }
        if noun == Noun::Teams {
            cards.extend(["crew", "lead"].map(|role| {
                (
                    format!("{role} card, {name}"),
                    role.to_owned(),
                    id.to_string(),
                )
            }));
        }
        let team = organiser.then(|| team_name(reader, known.team()));
        let mut detail = detail(reader, noun, &known);
        if let Some(team) = team.filter(|_| !matches!(noun, Noun::Teams | Noun::Bouts)) {
            detail.insert(0, team);
        }
        things.push((
            known.body["number"].as_i64(),
            name,
            detail.join(", "),
            link(&id),
        ));
        if noun == Noun::Robots && is_flipper(&known) {
            let (name, href) = (
                format!("{}: gas system", known.label()),
                format!("{base}/gas-systems/{id}"),
            );
            let detail = if known.body["gas_system"].is_null() {
                "not entered"
            } else {
                "entered"
            };
            things.push((None, name, detail.to_owned(), href));
        }
    }
    things.sort();
    let mut more = Vec::new();
    if organiser || noun.for_leads() {
        let new = format!("{base}/{}/new", noun.path());
        more.push((format!("Enter a {}", noun.one().to_lowercase()), new));
        let bulk = match noun {
            Noun::Teams | Noun::Robots => Some("Paste names"),
            Noun::Packs | Noun::Channels | Noun::Bottles | Noun::Circuits => {
                Some("Several at once")
            }
            _ => None,
        };
        more.extend(
            bulk.map(|label| (label.to_owned(), format!("{base}/several/{}", noun.path()))),
        );
    }
    List {
        title: noun.many(),
        things: things
            .into_iter()
            .map(|(_, name, detail, href)| (name, detail, href))
            .collect(),
        retired,
        more,
        cards,
    }
}

fn is_flipper(known: &Known) -> bool {
    known.body["machine"] == Machine::FlipperHeavyweight.as_str()
}

fn team_name(reader: &Reader, team: Option<TeamId>) -> String {
    team.and_then(|team| reader.pit.teams.get(&team))
        .map_or_else(
            || "the event’s own".to_owned(),
            |team| team.body.name.to_string(),
        )
}

fn detail(reader: &Reader, noun: Noun, known: &Known) -> Vec<String> {
    let body = &known.body;
    let number = |field: &str, per: i64, unit: &str| {
        let value = body[field].as_i64()?;
        Some(format!("{} {unit}", convert::shown(value, per)))
    };
    let texts = |field: &str| convert::notes_text(&body[field]).replace('\n', ", ");
    let found: Vec<Option<String>> = match noun {
        Noun::Robots => vec![
            body["bench"].as_i64().map(|bench| format!("bench {bench}")),
            body["configuration"].as_str().map(str::to_owned),
        ],
        Noun::People => vec![
            Some(texts("skills")),
            (!body["away"].is_null())
                .then(|| format!("away {}", convert::away_text(reader, &body["away"]))),
        ],
        Noun::Packs => vec![
            body["cells"].as_i64().map(|cells| format!("{cells}S")),
            number("capacity_mah", 1, "mAh"),
        ],
        Noun::Sets => vec![Some(
            convert::packs_text(reader, &body["packs"]).replace('\n', ", "),
        )],
        Noun::Channels => vec![
            number("max_current_ma", 1000, "A"),
            number("max_power_w", 1, "W"),
        ],
        Noun::Circuits => vec![
            body["kind"].as_str().map(str::to_owned),
            number("rating_ma", 1000, "A"),
            number("rating_va", 1, "VA"),
        ],
        Noun::Bottles | Noun::Supplies => vec![number("volume_ml", 1000, "l")],
        Noun::Parts => vec![number("spares", 1, "spare")],
        Noun::Bouts => {
            let at = convert::local_text(reader, &body["call_at"]).replace('T', " ");
            vec![Some(format!("call {at}"))]
        }
        _ => Vec::new(),
    };
    found
        .into_iter()
        .flatten()
        .filter(|text| !text.is_empty())
        .collect()
}

fn libraries(reader: &Reader, base: &str) -> List {
    let mut things = Vec::new();
    for (team, registered) in &reader.pit.teams {
        if !Noun::Teams.shown_to(reader, Some(*team), team.0) || registered.body.retired {
            continue;
        }
        for machine in Machine::ALL {
            let used = reader
                .pit
                .robots_of(*team)
                .any(|(_, file)| file.register.body.machine == machine);
            if used {
                let changes = reader.pit.libraries.get(&(*team, machine));
                let changed = changes.map_or(0, |library| library.body.changes.len());
                things.push((
                    format!(
                        "{}, {}",
                        registered.body.name,
                        super::library::machine_name(machine)
                    ),
                    if changed == 0 {
                        "as it comes".to_owned()
                    } else {
                        format!("{changed} tasks changed")
                    },
                    format!("{base}/library/{team}/{}", machine.as_str()),
                ));
            }
        }
    }
    List {
        title: "Task lists",
        things,
        retired: Vec::new(),
        more: Vec::new(),
        cards: Vec::new(),
    }
}
