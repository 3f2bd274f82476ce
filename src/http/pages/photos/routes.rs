//! The addresses of photographs.

use super::{Photos, Taken, page};
use crate::app::photos::{self, Picture};
use crate::app::{App, AppError};
use crate::auth::rights::{Reach, may_write_kind};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record_line, refusal, refused, see};
use crate::http::pages::parts::{fields::Typed, frame::Tag};
use crate::http::pages::reader::{Place, Reader, capital};
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::Subject;
use crate::pit::logbook::Kind;
use crate::pit::logbook::photo::Shows;
use crate::pit::photos::{Shot, of as photos_of};
use actix_multipart::form::{MultipartForm, bytes::Bytes, text::Text};
use actix_web::{HttpResponse, web};
use chrono::{DateTime, Utc};
use serde::Deserialize;
use serde_json::json;

/// What photographs are of.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfThing {
    subject: Subject,
}

/// A photograph as a form sends it.
#[derive(MultipartForm)]
pub struct Sent {
    key: Text<String>,
    shows: Text<String>,
    note: Option<Text<String>>,
    at: Option<Text<DateTime<Utc>>>,
    sent_at: Option<Text<DateTime<Utc>>>,
    #[multipart(limit = "12 MiB")]
    photo: Bytes,
}

impl Sent {
    fn fields(&self) -> Fields {
        let mut fields = vec![
            ("key".to_owned(), self.key.0.clone()),
            ("shows".to_owned(), self.shows.0.clone()),
            ("photo".to_owned(), String::new()),
        ];
        let times = [("at", &self.at), ("sent_at", &self.sent_at)];
        for (name, time) in times {
            fields.extend(time.iter().map(|time| (name.to_owned(), time.to_rfc3339())));
        }
        let note = self.note.iter().filter(|note| !note.trim().is_empty());
        fields.extend(note.map(|note| ("note".to_owned(), note.0.clone())));
        Fields(fields)
    }
}

/// `GET /e/{event}/photos/{subject}`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfThing>,
) -> Result<HttpResponse, Problem> {
    photos::may_see(&here.pit, &here.signed, of.subject)?;
    let reader = Reader::of(&here, &app).await?;
    let view = view(&reader, of.subject, Typed::default());
    Ok(form::page(page(&reader.frame(place(of.subject)), &view)))
}

fn place(subject: Subject) -> Place {
    match subject {
        Subject::Robot(robot) => Place::Bench(robot),
        _ => Place::Team,
    }
}

fn view(reader: &Reader, subject: Subject, typed: Typed) -> Photos {
    let (name, bench, back) = match subject {
        Subject::Robot(robot) => {
            let file = reader.pit.robot(robot);
            let bench = file.and_then(|file| file.register.body.bench);
            (
                reader.robot(robot),
                bench.map(|bench| bench.get()),
                reader.bench(robot),
            )
        }
        Subject::Bottle(bottle) => {
            let known = reader.pit.bottles.get(&bottle);
            let label = known.map_or_else(String::new, |known| known.body.label.to_string());
            (
                format!("Bottle {label}"),
                None,
                format!("{}/gas/{bottle}", reader.base),
            )
        }
        _ => (capital(subject.noun()), None, reader.home()),
    };
    let takes = [
        (
            Shows::Damage,
            "Damage",
            "Near enough to see what is bent or cracked.",
        ),
        (
            Shows::LinkPlan,
            "Where the links are",
            "From where the marshal stands, hatch open.",
        ),
        (
            Shows::BottleStamp,
            "The stamp",
            "Test pressure, date and mass must be readable.",
        ),
    ];
    let writes = may_write_kind(reader.signed.role, Kind::Photo) > Reach::Nothing;
    Photos {
        tag: Tag {
            name,
            sub: "Photographs".to_owned(),
            bench,
            href: Some(back),
        },
        action: format!("{}/photos/{subject}", reader.base),
        takes: takes
            .into_iter()
            .filter(|(shows, ..)| writes && shows.noun() == subject.noun())
            .map(|(shows, name, hint)| (shows.as_str(), name, hint))
            .collect(),
        taken: photos_of(&reader.pit, subject)
            .iter()
            .map(|shot| taken(reader, shot))
            .collect(),
        typed,
    }
}

fn taken(reader: &Reader, shot: &Shot) -> Taken {
    Taken {
        shows: words::photo(shot.photo.shows),
        at: shot.line.at,
        by: reader.name(shot.line.seen_by.or(shot.line.entered_by.person)),
        note: shot.photo.note.as_ref().map(ToString::to_string),
        picture: format!("{}/photos/{}", reader.api(), shot.id),
        line: format!("{}/lines/{}", reader.base, shot.id),
    }
}

/// `POST /e/{event}/photos/{subject}`: the picture is looked at first, so that no line stands for
/// something that is no picture.
pub async fn sent(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfThing>,
    sent: MultipartForm<Sent>,
) -> Result<HttpResponse, Problem> {
    photos::may_see(&here.pit, &here.signed, of.subject)?;
    let fields = sent.fields();
    match keep(&here, &app, of.subject, &fields, sent.into_inner().photo).await {
        Ok(()) => Ok(see(format!("/e/{}/photos/{}", here.event.id(), of.subject))),
        Err(error) => {
            let typed = refusal(&fields, error)?;
            let reader = Reader::of(&here, &app).await?;
            let view = view(&reader, of.subject, typed);
            Ok(refused(page(&reader.frame(place(of.subject)), &view)))
        }
    }
}

async fn keep(
    here: &Here,
    app: &App,
    subject: Subject,
    fields: &Fields,
    photo: Bytes,
) -> Result<(), AppError> {
    let picture = Picture::read(photo.data.to_vec(), "/photo").await?;
    let mut body = json!({"shows": fields.get("shows")});
    if let Some(note) = fields.filled("note") {
        body["note"] = json!(note);
    }
    record_line(here, fields, subject, Kind::Photo, None, &body).await?;
    photos::keep(
        app,
        &here.event,
        &here.signed,
        fields.key()?,
        &picture,
        here.now,
    )
    .await
}
