//! The addresses of announcements.

use super::{Announcements, Made, page};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::announcements::{Announcement, announcements};
use crate::pit::ids::{LineId, PersonId, Subject};
use crate::pit::logbook::{Kind, Role};
use actix_web::{HttpResponse, web};
use serde::Deserialize;
use serde_json::json;

fn may(here: &Here) -> Result<(), AppError> {
    match here.signed.role {
        Role::Organiser => Ok(()),
        _ => Err(AppError::forbidden("Announcements are the organiser’s.")),
    }
}

/// `GET /e/{event}/announcements`.
pub async fn show(here: Here, app: web::Data<App>) -> Result<HttpResponse, Problem> {
    may(&here)?;
    let reader = Reader::of(&here, &app).await?;
    let view = view(&here, &app, &reader, Typed::default()).await?;
    Ok(form::page(page(&reader.frame(Place::Other), &view)))
}

async fn view(
    here: &Here,
    app: &App,
    reader: &Reader,
    typed: Typed,
) -> Result<Announcements, AppError> {
    let people = app.sessions.people_at(here.event.id(), here.now).await?;
    let teams = reader.pit.teams.iter();
    Ok(Announcements {
        tag: Tag {
            name: "Announcements".to_owned(),
            sub: reader.event_name(),
            bench: None,
            href: Some(format!("{}/board", reader.base)),
        },
        action: format!("{}/announcements", reader.base),
        teams: teams
            .filter(|(_, team)| !team.body.retired)
            .map(|(id, team)| Chip::new(id.to_string(), team.body.name.to_string()))
            .collect(),
        made: announcements(&here.pit, here.now)
            .iter()
            .map(|one| made(reader, one, &people))
            .collect(),
        typed,
    })
}

fn made(reader: &Reader, one: &Announcement, people: &[(PersonId, Role)]) -> Made {
    let (mut seen, mut unseen) = (Vec::new(), Vec::new());
    for (person, role) in people {
        let known = reader.pit.people.get(person);
        if !one.is_for(*role, known.and_then(|known| known.body.team)) {
            continue;
        }
        let name = reader.name(Some(*person));
        match one.seen_by(&reader.pit, *person) {
            Some(_) => seen.push(name),
            None => unseen.push(name),
        }
    }
    seen.sort();
    unseen.sort();
    let mut to = Vec::new();
    if let Some(body) = one.body() {
        to.extend(
            body.roles
                .iter()
                .map(|role| format!("every {}", role.as_str())),
        );
        let teams = body.teams.iter().filter_map(|id| reader.pit.teams.get(id));
        to.extend(teams.map(|team| team.body.name.to_string()));
    }
    Made {
        text: one
            .body()
            .map_or_else(String::new, |body| body.text.to_string()),
        at: one.at(),
        to: match to.is_empty() {
            true => "everyone".to_owned(),
            false => crate::http::pages::words::list(&to),
        },
        seen,
        unseen,
        line: format!("{}/lines/{}", reader.base, one.id),
    }
}

/// `POST /e/{event}/announcements`.
pub async fn announce(
    here: Here,
    app: web::Data<App>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    may(&here)?;
    let team = fields.filled("team");
    // One team alone, or roles: a role and a team together would reach more than was meant.
    let roles: Vec<&str> = match team {
        Some(_) => Vec::new(),
        None => fields
            .get("roles")
            .unwrap_or_default()
            .split_whitespace()
            .collect(),
    };
    let body = json!({"text": fields.get("text"), "roles": roles, "teams": team.into_iter().collect::<Vec<_>>()});
    let written = record_line(&here, &fields, Subject::Event, Kind::Announced, None, &body).await;
    match written {
        Ok(()) => Ok(see(format!("/e/{}/announcements", here.event.id()))),
        Err(error) => {
            let reader = Reader::of(&here, &app).await?;
            let view = view(&here, &app, &reader, refusal(&fields, error)?).await?;
            Ok(refused(page(&reader.frame(Place::Other), &view)))
        }
    }
}

/// The announcement an address names.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfLine {
    line: LineId,
}

/// `POST /e/{event}/announcements/{line}/seen`: by the person of this phone.
pub async fn seen(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfLine>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let person = here
        .signed
        .person
        .ok_or_else(|| AppError::forbidden("Say who you are first."))?;
    let about = Subject::Person(person);
    let body = json!({"announcement": of.line});
    record_line(&here, &fields, about, Kind::AnnouncementSeen, None, &body).await?;
    let home = reader.home();
    let back = fields
        .filled("back")
        .filter(|back| back.starts_with(&format!("{}/", reader.base)));
    Ok(see(back.map_or(home, str::to_owned)))
}
