//! The addresses to enter several things at once.

use super::phrase::{self, MOST, Wish};
use super::{Several, page};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::register::things::{Noun, convert};
use crate::http::pages::register::{Field, entry, routes::may};
use crate::http::signed::Here;
use crate::pit::logbook::{Draft, Role};
use actix_web::{HttpResponse, web};
use serde_json::{Value, json};

/// Something that will be entered.
struct Made {
    noun: Noun,
    label: String,
    detail: String,
    body: Value,
}

/// `GET /e/{event}/register/several/{noun}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<(String, Noun)>,
) -> Result<HttpResponse, Problem> {
    let noun = of.1;
    allowed(&here, noun)?;
    let reader = Reader::of(&here, &app).await?;
    let view = view(&reader, noun, Vec::new(), Typed::default());
    Ok(form::page(page(&reader.frame(Place::Register), &view)))
}

/// `POST /e/{event}/register/several/{noun}`: what it makes, and then it.
pub async fn save(
    here: Here,
    app: web::Data<App>,
    of: web::Path<(String, Noun)>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let noun = of.1;
    allowed(&here, noun)?;
    let reader = Reader::of(&here, &app).await?;
    let again = |made: Vec<(String, String)>, typed: Typed| {
        page(
            &reader.frame(Place::Register),
            &view(&reader, noun, made, typed),
        )
    };
    let made = match made(&reader, noun, &fields) {
        Ok(made) => made,
        Err((field, detail)) => {
            let mut typed = fields.typed();
            typed.faults.insert(field.to_owned(), detail);
            return Ok(refused(again(Vec::new(), typed)));
        }
    };
    let shown = || {
        made.iter()
            .map(|one| (one.label.clone(), one.detail.clone()))
            .collect()
    };
    if fields.get("step") != Some("enter") {
        return Ok(form::page(again(shown(), fields.typed())));
    }
    match enter(&here, &reader, &fields, &made).await {
        Ok(()) => Ok(see(format!("{}/register", reader.base))),
        Err(error) => {
            let typed = refusal(&fields, error)?;
            Ok(refused(again(Vec::new(), typed)))
        }
    }
}

fn allowed(here: &Here, noun: Noun) -> Result<(), AppError> {
    may(&here.signed)?;
    let organiser = here.signed.role == Role::Organiser;
    match noun {
        Noun::Teams if !organiser => Err(AppError::forbidden("This is for organisers.")),
        Noun::Teams
        | Noun::Robots
        | Noun::Packs
        | Noun::Channels
        | Noun::Bottles
        | Noun::Circuits => Ok(()),
        _ => Err(AppError::Unknown),
    }
}

async fn enter(
    here: &Here,
    reader: &Reader,
    fields: &Fields,
    made: &[Made],
) -> Result<(), AppError> {
    let key = fields.key()?;
    let stands = |one: &Made| one.noun.known(reader, key.nth(0).0);
    if made
        .first()
        .and_then(stands)
        .is_some_and(|known| known.line == key.nth(0))
    {
        return Ok(());
    }
    let drafts: Vec<Draft> = (0..)
        .zip(made)
        .map(|(n, one)| {
            let subject = one.noun.subject(key.nth(n).0);
            fields.line(here, n, subject, one.noun.kind(), None, &one.body)
        })
        .collect::<Result<_, AppError>>()?;
    record(here, fields, drafts).await
}

/// What the form makes, or which field is wrong and why.
fn made(reader: &Reader, noun: Noun, fields: &Fields) -> Result<Vec<Made>, (&'static str, String)> {
    let text = fields.get("several").unwrap_or_default();
    let team = fields
        .filled("team")
        .map(str::to_owned)
        .or(reader.signed.team.map(|team| team.to_string()));
    match noun {
        Noun::Teams => names(text).map(|names| {
            names
                .into_iter()
                .map(|name| plain(noun, name, String::new(), json!({})))
                .collect()
        }),
        Noun::Robots => robots(fields, text, team),
        _ => {
            let wishes = phrase::read(text).map_err(|why| ("several", why))?;
            let of_event = wishes.iter().all(|wish| wish.noun == Noun::Circuits);
            if team.is_none() && !of_event {
                return Err(("team", "For which team?".to_owned()));
            }
            Ok(numbered(reader, team.as_deref(), &wishes))
        }
    }
}

fn robots(
    fields: &Fields,
    text: &str,
    team: Option<String>,
) -> Result<Vec<Made>, (&'static str, String)> {
    let team = team.ok_or(("team", "For which team?".to_owned()))?;
    let machine = fields
        .filled("machine")
        .ok_or(("machine", "Which type?".to_owned()))?;
    let bench = match fields.filled("bench") {
        Some(bench) => Some(convert::whole(bench, 1).map_err(|why| ("bench", why))?),
        None => None,
    };
    let made = (0..).zip(names(text)?).map(|(n, name)| {
        let mut body = json!({"team": team, "machine": machine, "links": 1});
        let mut detail = "1 link".to_owned();
        if let Some(bench) = bench {
            body["bench"] = json!(bench + n);
            detail = format!("bench {}, 1 link", bench + n);
        }
        plain(Noun::Robots, name, detail, body)
    });
    Ok(made.collect())
}

fn plain(noun: Noun, name: &str, detail: String, mut body: Value) -> Made {
    body["name"] = json!(name);
    Made {
        noun,
        label: name.to_owned(),
        detail,
        body,
    }
}

fn names(text: &str) -> Result<Vec<&str>, (&'static str, String)> {
    let names: Vec<&str> = convert::lines(text).collect();
    match names.len() {
        0 => Err(("several", "One name a line.".to_owned())),
        n if n > MOST => Err(("several", format!("{n} names; at most {MOST} are taken."))),
        _ => Ok(names),
    }
}

/// Each wish with labels that go on from those the team has.
fn numbered(reader: &Reader, team: Option<&str>, wishes: &[Wish]) -> Vec<Made> {
    let mut made: Vec<Made> = Vec::new();
    for wish in wishes {
        let number = |label: &str| {
            let rest = label.to_lowercase();
            rest.strip_prefix(&wish.prefix.to_lowercase())?
                .parse::<usize>()
                .ok()
        };
        let registered = wish.noun.all(reader).into_iter().filter_map(|(_, known)| {
            let same = known.body["team"].as_str() == team;
            same.then(|| number(&known.label())).flatten()
        });
        let earlier = made.iter().filter(|one| one.noun == wish.noun);
        let earlier = earlier.filter_map(|one| number(&one.label));
        let last = registered.chain(earlier).max().unwrap_or(0);
        for n in 1..=wish.count {
            let label = format!("{}{}", wish.prefix, last + n);
            let mut body = wish.body.clone();
            body["label"] = json!(label);
            if let Some(team) = team {
                body["team"] = json!(team);
            }
            made.push(Made {
                noun: wish.noun,
                label,
                detail: wish.detail.clone(),
                body,
            });
        }
    }
    made
}

fn view(reader: &Reader, noun: Noun, made: Vec<(String, String)>, typed: Typed) -> Several {
    let mut fields = Vec::new();
    let names = matches!(noun, Noun::Teams | Noun::Robots);
    fields.push(Field::Lines {
        name: "several",
        label: if names {
            "Names, one a line"
        } else {
            "What, one kind a line"
        },
        value: String::new(),
        hint: if names {
            String::new()
        } else {
            "Such as: 12 packs 4S 5 Ah; 4 channels 20 A 500 W; 2 bottles 1.34 l 2.95 kg; \
             3 leads 13 A; and “called green” behind it for the labels."
                .to_owned()
        },
    });
    if noun != Noun::Teams && reader.signed.role == Role::Organiser {
        fields.push(team_choice(reader, noun));
    }
    if noun == Noun::Robots {
        fields.push(Field::Chips {
            name: "machine",
            label: "Type of machine",
            value: String::new(),
            hint: String::new(),
            options: vec![
                Chip::new("flipper_heavyweight", "Flipper"),
                Chip::new("spinner_heavyweight", "Spinner"),
                Chip::new("small_machine", "Small machine"),
            ],
        });
        fields.push(Field::Line {
            name: "bench",
            label: "First bench",
            kind: "number",
            value: String::new(),
            hint: "The others follow.".to_owned(),
            unit: "",
            required: false,
        });
    }
    let base = format!("{}/register", reader.base);
    Several {
        tag: Tag {
            name: if names {
                format!("{} by name", noun.many())
            } else {
                "Several at once".to_owned()
            },
            sub: entry::event_name(reader),
            bench: None,
            href: None,
        },
        action: format!("{base}/several/{}", noun.path()),
        back: base,
        fields,
        made,
        typed,
    }
}

fn team_choice(reader: &Reader, noun: Noun) -> Field {
    let teams = reader
        .pit
        .teams
        .iter()
        .filter(|(_, team)| !team.body.retired);
    let mut options: Vec<Chip> = teams
        .map(|(id, team)| Chip::new(id.to_string(), team.body.name.to_string()))
        .collect();
    options.sort_by(|a, b| a.label.cmp(&b.label));
    Field::Choice {
        name: "team",
        label: "Team",
        value: String::new(),
        none: if noun == Noun::Circuits {
            "the event’s own"
        } else {
            "choose"
        },
        hint: String::new(),
        options,
    }
}
