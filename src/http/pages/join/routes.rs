//! The addresses of coming in and going out.

use super::{Join, Names, OwnPin, Person, SignIn, join, names, sign_in};
use crate::app::people::{self, Who};
use crate::app::{App, AppError, Signed, pins};
use crate::auth::Action;
use crate::calc::units::Name;
use crate::http::Problem;
use crate::http::edge::Moment;
use crate::http::pages::form::{self, Fields, refused, see};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Frame,
};
use crate::http::pages::problem::{self, Problem as Shown};
use crate::http::pages::reader::{Place, Reader, capital};
use crate::http::pages::words;
use crate::http::signed::{Here, cookie, no_cookie};
use crate::pit::ids::{LineId, PersonId, Subject};
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Deserialize;
use std::{
    collections::BTreeSet,
    net::{IpAddr, Ipv4Addr},
};

/// The frame of a page before anybody has joined.
fn outside(app: &App, moment: Moment) -> Frame {
    Frame::outside(moment.now, LineId(app.ids.id(moment.now)))
}

fn from(request: &HttpRequest) -> IpAddr {
    request
        .peer_addr()
        .map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |from| from.ip())
}

/// What the address of a page to come in by carries.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct Asked {
    code: Option<String>,
    next: Option<String>,
}

/// An address on this host, or the start.
fn on_this_host(next: Option<&str>) -> String {
    next.filter(|next| {
        next.starts_with('/') && !next.starts_with("//") && !next.contains(['\\', '\n', '\r'])
    })
    .unwrap_or("/")
    .to_owned()
}

/// `GET /`: to where somebody works.
pub async fn start(
    signed: Option<Signed>,
    app: web::Data<App>,
    moment: Moment,
) -> Result<HttpResponse, Problem> {
    let Some(signed) = signed else {
        return Ok(see("/join"));
    };
    if let Some(event) = signed.event {
        return Ok(see(format!("/e/{event}")));
    }
    let mut ways = Vec::new();
    for id in app.events.all().await? {
        let pit = app.events.open(id).await?.pit();
        if let Some(event) = &pit.event {
            ways.push((event.body.name.to_string(), format!("/e/{id}")));
        }
    }
    if let [(_, only)] = ways.as_slice() {
        return Ok(see(only.clone()));
    }
    ways.push(("Enter a new event".to_owned(), "/events/new".to_owned()));
    let view = Shown {
        title: "Events".to_owned(),
        detail: "Where to?".to_owned(),
        faults: Vec::new(),
        ways,
        request: String::new(),
    };
    Ok(form::page(problem::page(&outside(&app, moment), &view)))
}

/// `GET /e/{event}`: to the page of one's role.
pub async fn home(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    Ok(see(reader.home()))
}

/// `GET /join`.
pub async fn to_join(
    request: HttpRequest,
    app: web::Data<App>,
    moment: Moment,
    asked: web::Query<Asked>,
) -> Result<HttpResponse, Problem> {
    let view = Join {
        code: asked.code.clone().unwrap_or_default(),
        typed: Typed::default(),
        plain_http: request.connection_info().scheme() != "https",
    };
    Ok(form::page(join(&outside(&app, moment), &view)))
}

/// `GET /join/{code}`, the address of the QR code: looking at it joins nobody.
pub async fn by_card(
    request: HttpRequest,
    app: web::Data<App>,
    moment: Moment,
    code: web::Path<String>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked {
        code: Some(code.into_inner()),
        next: None,
    };
    to_join(request, app, moment, web::Query(asked)).await
}

/// `POST /join`.
pub async fn joined(
    request: HttpRequest,
    app: web::Data<App>,
    moment: Moment,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let typed_code = fields.filled("code").unwrap_or_default();
    match people::join(
        &app,
        typed_code,
        Who::Nobody,
        None,
        from(&request),
        moment.now,
    )
    .await
    {
        Ok(opened) => {
            let event = opened.signed.event.ok_or(AppError::Unauthenticated)?;
            let until = opened.signed.expires_at;
            let mut answer = see(format!("/e/{event}/me"));
            set(
                &mut answer,
                cookie(&request, opened.token, moment.now, until),
            )?;
            Ok(answer)
        }
        Err(AppError::Unauthenticated) => {
            let mut typed = fields.typed();
            typed.faults.insert(
                "code".to_owned(),
                "No card has this code today. Look at it again, or ask for a new one.".to_owned(),
            );
            let view = Join {
                code: typed_code.to_owned(),
                typed,
                plain_http: request.connection_info().scheme() != "https",
            };
            Ok(refused(join(&outside(&app, moment), &view)))
        }
        Err(other) => Err(other.into()),
    }
}

fn set(answer: &mut HttpResponse, cookie: actix_web::cookie::Cookie<'_>) -> Result<(), AppError> {
    answer
        .add_cookie(&cookie)
        .map_err(|error| AppError::bug(error.to_string()))
}

/// `GET /e/{event}/me`.
pub async fn who(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    if here.signed.event.is_none() || matches!(here.signed.role, crate::pit::logbook::Role::Wall) {
        return Ok(see(reader.home()));
    }
    let view = choice(&reader, &app, Typed::default(), None).await?;
    Ok(form::page(names(&reader.frame(Place::Other), &view)))
}

async fn choice(
    reader: &Reader,
    app: &App,
    typed: Typed,
    asked: Option<super::Asked>,
) -> Result<Names, AppError> {
    let with_pin = match reader.signed.event {
        Some(event) => pins::who_have_one(app, event).await?,
        None => BTreeSet::new(),
    };
    let team = reader.signed.team;
    let of = team
        .and_then(|team| reader.pit.teams.get(&team))
        .map_or_else(
            || capital(reader.signed.role.as_str()),
            |team| team.body.name.to_string(),
        );
    let mut people: Vec<Person> = reader
        .pit
        .people
        .iter()
        .filter(|(_, person)| person.body.team == team && !person.body.retired)
        .filter_map(|(id, person)| {
            let last = reader.signed.person == Some(*id);
            Some(Person {
                id: id.to_string(),
                name: reader.names.get(id)?.clone(),
                does: words::list(
                    &person
                        .body
                        .skills
                        .iter()
                        .map(ToString::to_string)
                        .collect::<Vec<_>>(),
                ),
                used: match (last, with_pin.contains(id)) {
                    (true, _) => "on this phone".to_owned(),
                    (false, true) => "asks for a PIN".to_owned(),
                    (false, false) => String::new(),
                },
                last,
            })
        })
        .collect();
    people.sort_by_key(|person| (!person.last, person.name.to_lowercase()));
    let forgetful = people
        .iter()
        .filter(|_| reader.signed.may(Action::NamePeople, team))
        .filter(|person| person.id.parse().is_ok_and(|id| with_pin.contains(&id)))
        .map(|person| Chip::new(person.id.clone(), person.name.clone()))
        .collect();
    let own = reader.signed.person.map(|me| OwnPin {
        name: reader.name(Some(me)),
        is_set: with_pin.contains(&me),
    });
    Ok(Names {
        of,
        people,
        asked,
        own,
        forgetful,
        typed,
    })
}

/// `POST /e/{event}/me`: this phone writes for that person from now on.
pub async fn chosen(
    request: HttpRequest,
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let who = match (fields.id("person"), fields.filled("name").map(Name::new)) {
        (Some(person), _) => Who::Known(person),
        (None, Some(Ok(name))) => Who::Named(name),
        (None, name) => {
            let mut typed = fields.typed();
            let why = name
                .and_then(Result::err)
                .unwrap_or_else(|| "What does your crew call you?".to_owned());
            typed.faults.insert("name".to_owned(), why);
            return again(&reader, &app, typed, None).await;
        }
    };
    // A name that asks for its PIN is asked for it on a page of the same address.
    let asked = match &who {
        Who::Known(person) => Some(super::Asked {
            field: "person",
            value: person.to_string(),
            name: reader.name(Some(*person)),
        }),
        Who::Named(name) => Some(super::Asked {
            field: "name",
            value: name.to_string(),
            name: name.to_string(),
        }),
        Who::Nobody => None,
    };
    let pin = fields.filled("pin").map(str::to_owned);
    let opened = match people::become_person(&app, &here.signed, who, pin, here.now).await {
        Ok(opened) => opened,
        Err(error) => {
            let mut typed = form::refusal(&fields, error)?;
            typed.values.remove("name");
            // Asked for the first time, nothing is wrong yet.
            if fields.filled("pin").is_none() {
                typed.faults.clear();
            }
            return again(&reader, &app, typed, asked).await;
        }
    };
    let until = opened.signed.expires_at;
    let mut answer = see(reader.home());
    set(&mut answer, cookie(&request, opened.token, here.now, until))?;
    Ok(answer)
}

async fn again(
    reader: &Reader,
    app: &App,
    typed: Typed,
    asked: Option<super::Asked>,
) -> Result<HttpResponse, Problem> {
    let view = choice(reader, app, typed, asked).await?;
    Ok(refused(names(&reader.frame(Place::Other), &view)))
}

/// `POST /e/{event}/me/pin`: the person of this phone sets their PIN.
pub async fn pin_set(
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let me = here.signed.person.ok_or(AppError::Unknown)?;
    let current = fields.filled("current").map(str::to_owned);
    let wanted = fields.get("pin").unwrap_or_default().to_owned();
    match pins::set(&app, here.event.id(), me, current, wanted).await {
        Ok(()) => Ok(see(format!("{}/me", reader.base))),
        Err(error) => again(&reader, &app, form::refusal(&fields, error)?, None).await,
    }
}

/// `POST /e/{event}/me/forgotten`: the lead or the organiser takes a forgotten PIN away.
pub async fn pin_forgotten(
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let who: PersonId = fields.id("forgetful").ok_or(AppError::Unknown)?;
    let team = here.pit.team_of(Subject::Person(who));
    here.signed.sees(Action::NamePeople, team)?;
    pins::take_away(&app, here.event.id(), who).await?;
    Ok(see(format!("{}/me", reader.base)))
}

/// `GET /sign-in`.
pub async fn to_sign_in(
    app: web::Data<App>,
    moment: Moment,
    asked: web::Query<Asked>,
) -> Result<HttpResponse, Problem> {
    let view = SignIn {
        typed: Typed::default(),
        next: on_this_host(asked.next.as_deref()),
    };
    Ok(form::page(sign_in(&outside(&app, moment), &view)))
}

/// `POST /sign-in`.
pub async fn signed_in(
    request: HttpRequest,
    app: web::Data<App>,
    moment: Moment,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let login = fields.filled("name").unwrap_or_default();
    let password = fields.all("password").next().map(str::to_owned);
    match app
        .sessions
        .sign_in(
            login,
            password.unwrap_or_default(),
            from(&request),
            moment.now,
        )
        .await
    {
        Ok(opened) => {
            let until = opened.signed.expires_at;
            let mut answer = see(on_this_host(fields.get("next")));
            set(
                &mut answer,
                cookie(&request, opened.token, moment.now, until),
            )?;
            Ok(answer)
        }
        Err(AppError::Unauthenticated) => {
            let mut typed = fields.typed();
            typed.values.remove("password");
            typed.faults.insert(
                String::new(),
                "The name or the password is wrong.".to_owned(),
            );
            let view = SignIn {
                typed,
                next: on_this_host(fields.get("next")),
            };
            Ok(refused(sign_in(&outside(&app, moment), &view)))
        }
        Err(other) => Err(other.into()),
    }
}

/// `POST /sign-out`.
pub async fn signed_out(
    signed: Signed,
    app: web::Data<App>,
    moment: Moment,
) -> Result<HttpResponse, Problem> {
    app.sessions.end(signed.session, moment.now).await?;
    let mut answer = see("/join");
    set(&mut answer, no_cookie())?;
    Ok(answer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nobody_is_sent_to_another_host() {
        for next in [
            "//elsewhere.example/",
            "https://elsewhere.example",
            "/\\elsewhere.example",
            "/a\r\nx: y",
        ] {
            assert_eq!(on_this_host(Some(next)), "/", "{next}");
        }
        assert_eq!(on_this_host(Some("/e/1/board")), "/e/1/board");
        assert_eq!(on_this_host(None), "/");
    }
}
