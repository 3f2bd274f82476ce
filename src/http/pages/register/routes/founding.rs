//! Founding an event.

use crate::app::{App, AppError, Signed, door, receive::receive};
use crate::http::Problem;
use crate::http::edge::Moment;
use crate::http::pages::form::{self, Fields, refusal, refused, see};
use crate::http::pages::parts::{
    fields::Typed,
    frame::{Frame, Tag},
};
use crate::http::pages::register::{Field, Form, Section, form as shown};
use crate::pit::ids::{EventId, LineId, Subject};
use crate::pit::logbook::{Body, Draft, Kind};
use crate::pit::state::Pit;
use actix_web::{HttpResponse, web};
use serde_json::json;

fn outside(app: &App, moment: Moment) -> Frame {
    Frame::outside(moment.now, LineId(app.ids.id(moment.now)))
}

fn day(name: &'static str, label: &'static str, value: &str) -> Field {
    Field::Line {
        name,
        label,
        kind: "date",
        value: value.to_owned(),
        hint: String::new(),
        unit: "",
        required: true,
    }
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
        sections: vec![Section {
            title: "",
            folded: false,
            fields: vec![
                Field::line("name", "Name", String::new()),
                Field::line("time_zone", "Time zone", "Europe/London".to_owned())
                    .with_hint("As in Europe/London.".to_owned()),
                day("first_day", "First day", &today),
                day("last_day", "Last day", &today),
            ],
        }],
        revision: None,
        was: None,
        button: "Enter it",
        note: "Hall, emergency text, rules, teams, robots and bouts come next.",
        changed: Vec::new(),
        copies: Vec::new(),
        sources: &[],
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
    let text = |name: &str| fields.filled(name);
    let body = json!({"name": text("name"), "time_zone": text("time_zone"),
        "first_day": text("first_day"), "last_day": text("last_day")});
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
