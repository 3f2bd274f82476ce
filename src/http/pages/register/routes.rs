//! The addresses of what exists.

use super::things::{self, Noun};
use super::{Form, JoinCard, List, Register, draw_qr, form as shown, join_card, page};
use crate::app::sessions::CodeFor;
use crate::app::{App, AppError, Signed, door, people, receive::receive};
use crate::auth::Action as Right;
use crate::calc::units::Name;
use crate::http::Problem;
use crate::http::edge::Moment;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::parts::{
    fields::Typed,
    frame::{Frame, Tag},
};
use crate::http::pages::reader::{Place, Reader, capital};
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::{EventId, LineId, PersonId, Subject, TeamId};
use crate::pit::logbook::{Body, Draft, Kind, Role};
use crate::pit::state::Pit;
use actix_web::{HttpRequest, HttpResponse, web};
use chrono::TimeDelta;
use serde::Deserialize;
use serde_json::json;
use uuid::Uuid;

/// How long a card lets people in: the event with the days around it.
const CARD_DAYS: i64 = 4;

/// A thing of the register.
#[derive(Debug, Clone, Deserialize)]
pub struct OfThing {
    noun: Noun,
    id: String,
}

impl OfThing {
    fn id(&self) -> Result<Option<Uuid>, AppError> {
        match self.id.as_str() {
            "new" | "it" => Ok(None),
            id => id.parse().map(Some).map_err(|_| AppError::Unknown),
        }
    }
}

fn may(signed: &Signed) -> Result<(), AppError> {
    match signed.role {
        Role::Lead | Role::Organiser => Ok(()),
        _ => Err(AppError::forbidden(
            "This is for organisers and team leads.",
        )),
    }
}

/// `GET /e/{event}/register`.
pub async fn all(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    may(&here.signed)?;
    let reader = Reader::of(&here, &app).await?;
    let view = view(&reader);
    Ok(form::page(page(&reader.frame(Place::Register), &view)))
}

fn view(reader: &Reader) -> Register {
    let base = format!("{}/register", reader.base);
    let organiser = reader.signed.role == Role::Organiser;
    let own = |team: Option<TeamId>| organiser || team.is_some() && team == reader.signed.team;
    let link = |noun: Noun, id: Uuid| format!("{base}/{}/{id}", noun.path());
    let new = |noun: Noun| format!("{base}/{}/new", noun.path());
    let team_name = |team: Option<TeamId>| {
        team.and_then(|team| reader.pit.teams.get(&team))
            .map_or_else(
                || "the event’s own".to_owned(),
                |team| team.body.name.to_string(),
            )
    };
    let mut lists = Vec::new();
    if organiser {
        lists.push(List {
            title: "Event",
            things: Vec::new(),
            more: ("Name, days, emergency text", format!("{base}/event/it")),
            cards: vec![
                (
                    "Card for marshals".to_owned(),
                    "marshal".to_owned(),
                    String::new(),
                ),
                (
                    "Card for officials".to_owned(),
                    "official".to_owned(),
                    String::new(),
                ),
                (
                    "Card for the wall".to_owned(),
                    "wall".to_owned(),
                    String::new(),
                ),
            ],
        });
    }
    let teams: Vec<_> = reader
        .pit
        .teams
        .iter()
        .filter(|(id, team)| own(Some(**id)) && !team.body.retired)
        .collect();
    lists.push(List {
        title: "Teams",
        cards: teams
            .iter()
            .flat_map(|(id, team)| {
                ["crew", "lead"].map(|role| {
                    (
                        format!("{role} card, {}", team.body.name),
                        role.to_owned(),
                        id.to_string(),
                    )
                })
            })
            .collect(),
        things: teams
            .iter()
            .map(|(id, team)| {
                (
                    team.body.name.to_string(),
                    String::new(),
                    link(Noun::Teams, id.0),
                )
            })
            .collect(),
        more: ("Enter a team", new(Noun::Teams)),
    });
    lists.push(plain(
        "Robots",
        ("Enter a robot", new(Noun::Robots)),
        reader
            .pit
            .robots
            .iter()
            .filter(|(_, file)| own(Some(file.register.body.team)))
            .map(|(id, file)| {
                let bench = file
                    .register
                    .body
                    .bench
                    .map_or_else(String::new, |bench| format!(", bench {}", bench.get()));
                (
                    file.register.body.name.to_string(),
                    format!("{}{bench}", team_name(Some(file.register.body.team))),
                    link(Noun::Robots, id.0),
                )
            }),
    ));
    lists.push(plain(
        "People",
        ("Enter a person", new(Noun::People)),
        reader
            .pit
            .people
            .iter()
            .filter(|(_, person)| own(person.body.team))
            .map(|(id, person)| {
                let skills: Vec<String> =
                    person.body.skills.iter().map(ToString::to_string).collect();
                let detail = if skills.is_empty() {
                    team_name(person.body.team)
                } else {
                    format!("{}: {}", team_name(person.body.team), words::list(&skills))
                };
                (reader.name(Some(*id)), detail, link(Noun::People, id.0))
            }),
    ));
    lists.push(plain(
        "Sets of packs",
        ("Enter a set", new(Noun::Sets)),
        reader
            .pit
            .sets
            .iter()
            .filter(|(_, set)| own(Some(set.body.team)))
            .map(|(id, set)| {
                (
                    set.body.label.to_string(),
                    format!(
                        "{} packs, {}",
                        set.body.packs.len(),
                        team_name(Some(set.body.team))
                    ),
                    format!("{}/sets/{id}/volts", reader.base),
                )
            }),
    ));
    lists.push(plain(
        "Bottles",
        ("Enter a bottle", new(Noun::Bottles)),
        reader
            .pit
            .bottles
            .iter()
            .filter(|(_, bottle)| own(Some(bottle.body.team)))
            .map(|(id, bottle)| {
                (
                    bottle.body.label.to_string(),
                    team_name(Some(bottle.body.team)),
                    link(Noun::Bottles, id.0),
                )
            }),
    ));
    if organiser {
        lists.push(plain(
            "Bouts",
            ("Enter a bout", new(Noun::Bouts)),
            reader.pit.running_order().iter().map(|bout| {
                let names: Vec<String> = bout
                    .robots
                    .iter()
                    .flatten()
                    .map(|id| reader.robot(*id))
                    .collect();
                (
                    format!("Bout {}, {}", bout.number, reader.clock.hm(bout.call)),
                    names.join(" v "),
                    link(Noun::Bouts, bout.id.0),
                )
            }),
        ));
    }
    Register {
        tag: Tag {
            name: "Register".to_owned(),
            sub: reader
                .pit
                .event
                .as_ref()
                .map_or_else(String::new, |event| event.body.name.to_string()),
            bench: None,
            href: None,
        },
        codes: format!("{base}/codes"),
        lists,
    }
}

fn plain(
    title: &'static str,
    more: (&'static str, String),
    things: impl Iterator<Item = (String, String, String)>,
) -> List {
    let mut things: Vec<_> = things.collect();
    if title != "Bouts" {
        things.sort();
    }
    List {
        title,
        things,
        more,
        cards: Vec::new(),
    }
}

/// `GET /e/{event}/register/{noun}/{id}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfThing>,
) -> Result<HttpResponse, Problem> {
    may(&here.signed)?;
    let reader = Reader::of(&here, &app).await?;
    let view = things::form(&reader, of.noun, of.id()?, Typed::default())?;
    Ok(form::page(shown(&reader.frame(Place::Register), &view)))
}

/// `POST /e/{event}/register/{noun}/{id}`.
pub async fn save(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfThing>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    may(&here.signed)?;
    let reader = Reader::of(&here, &app).await?;
    let id = of.id()?;
    let saved = match things::read(&reader, of.noun, id, &fields) {
        Ok(entered) => match drafts(&here, &fields, entered) {
            Ok(drafts) => write(&here, &app, &fields, of.noun, drafts).await,
            Err(error) => Err(error),
        },
        Err(typed) => return again(&reader, of.noun, id, typed),
    };
    match saved {
        Ok(()) => Ok(see(format!("{}/register", reader.base))),
        Err(error) => again(&reader, of.noun, id, refusal(&fields, error)?),
    }
}

fn again(
    reader: &Reader,
    noun: Noun,
    id: Option<Uuid>,
    typed: Typed,
) -> Result<HttpResponse, Problem> {
    let view = things::form(reader, noun, id, typed)?;
    Ok(refused(shown(&reader.frame(Place::Register), &view)))
}

fn drafts(
    here: &Here,
    fields: &Fields,
    entered: Vec<things::Entered>,
) -> Result<Vec<Draft>, AppError> {
    (0..)
        .zip(entered)
        .map(|(n, thing)| {
            let mut draft = fields.line(here, n, thing.subject, thing.kind, None, &thing.body)?;
            draft.if_revision = thing.revision;
            Ok(draft)
        })
        .collect()
}

async fn write(
    here: &Here,
    app: &App,
    fields: &Fields,
    noun: Noun,
    drafts: Vec<Draft>,
) -> Result<(), AppError> {
    let person = drafts.first().and_then(|draft| match draft.subject {
        Subject::Person(person) => Some(person),
        _ => None,
    });
    let name: Option<(PersonId, Name)> = match (noun, person, fields.filled("name")) {
        (Noun::People, Some(person), Some(text)) => {
            let name = Name::new(text).map_err(|why| AppError::refused("/name", why))?;
            Some((person, name))
        }
        _ => None,
    };
    record(here, fields, drafts).await?;
    if let Some((person, name)) = name {
        people::name(app, &here.event, person, &name).await?;
    }
    Ok(())
}

/// `POST /e/{event}/register/codes`: a card for a team or a role. The code is shown this once and
/// kept only as a hash, so the answer is the card itself and not the way to it.
pub async fn card(
    request: HttpRequest,
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let team: Option<TeamId> = fields.id("team");
    here.signed
        .sees(Right::MakeJoinCode, team.or(here.signed.team))?;
    let role = fields
        .get("role")
        .and_then(Role::named)
        .filter(|role| {
            here.signed.role == Role::Organiser || matches!(role, Role::Crew | Role::Lead)
        })
        .ok_or_else(|| AppError::malformed("/role", "For whom?"))?;
    let team = match role {
        Role::Crew | Role::Lead => Some(
            team.or(here.signed.team)
                .ok_or_else(|| AppError::malformed("/team", "For which team?"))?,
        ),
        _ => None,
    };
    let code = app
        .sessions
        .make_code(
            here.signed.account,
            CodeFor {
                event: here.event.id(),
                team,
                role,
                expires_at: here.now + TimeDelta::days(CARD_DAYS),
                uses: None,
            },
        )
        .await?;
    let connection = request.connection_info().clone();
    let host = format!("{}://{}", connection.scheme(), connection.host());
    let of = team
        .and_then(|team| reader.pit.teams.get(&team))
        .map_or_else(
            || capital(role.as_str()),
            |team| format!("{}, {}", team.body.name, role.as_str()),
        );
    let card = JoinCard {
        event: reader
            .pit
            .event
            .as_ref()
            .map_or_else(String::new, |event| event.body.name.to_string()),
        of,
        qr: draw_qr(&format!("{host}/join/{code}"))
            .map_err(|error| AppError::bug(error.to_string()))?,
        code,
        url: format!("{host}/join"),
        back: format!("{}/register", reader.base),
    };
    Ok(form::page(join_card(&reader.frame(Place::Register), &card)))
}

fn outside(app: &App, moment: Moment) -> Frame {
    Frame::outside(moment.now, LineId(app.ids.id(moment.now)))
}

fn new_event(typed: Typed, moment: Moment) -> Form {
    let today = moment.now.date_naive().to_string();
    Form {
        tag: Tag {
            name: "New event".to_owned(),
            sub: String::new(),
            bench: None,
            href: None,
        },
        back: "/".to_owned(),
        action: "/events/new".to_owned(),
        fields: things::event_fields("", "", "Europe/London", (&today, &today), ""),
        revision: None,
        button: "Enter it",
        note: "Teams, robots and bouts come next.",
        typed,
    }
}

/// `GET /events/new`.
pub async fn to_found(
    signed: Signed,
    app: web::Data<App>,
    moment: Moment,
) -> Result<HttpResponse, Problem> {
    signed.organises()?;
    Ok(form::page(shown(
        &outside(&app, moment),
        &new_event(Typed::default(), moment),
    )))
}

/// `POST /events/new`.
pub async fn found(
    signed: Signed,
    app: web::Data<App>,
    moment: Moment,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let account = signed.organises()?;
    let key = fields.key()?;
    let event = EventId(key.nth(32).0);
    let body = things::event_with(&fields, &json!({}));
    let nothing = Pit::default();
    let founded = async {
        let draft = Draft {
            id: key.nth(0),
            at: moment.now,
            seen_by: None,
            subject: Subject::Event,
            how: None,
            corrects: None,
            if_revision: None,
            body: Body::read(Kind::RegisterEvent, &body, "").map_err(AppError::Refused)?,
        };
        door::admit(&nothing, signed.enterer(), std::slice::from_ref(&draft), "")?;
        let first = receive(draft, None, moment.now, signed.author(), nothing.settings());
        app.events
            .found(event, moment.now, Some(account), vec![first])
            .await
    };
    match founded.await {
        Ok(_) => Ok(see(format!("/e/{event}/register"))),
        Err(error) => {
            let view = new_event(refusal(&fields, error)?, moment);
            Ok(refused(shown(&outside(&app, moment), &view)))
        }
    }
}
