//! The addresses of duties.

use super::{Duties, Duty, Offered, page};
use crate::app::App;
use crate::http::Problem;
use crate::http::pages::bench::routes::{Of, of_team};
use crate::http::pages::bench::view::tag;
use crate::http::pages::form::{self, Fields, record_line, see};
use crate::http::pages::parts::fields::{Chip, Typed};
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::words;
use crate::http::signed::Here;
use crate::pit::ids::Subject;
use crate::pit::logbook::work::DutyOf;
use crate::pit::logbook::{How, Kind};
use actix_web::{HttpResponse, web};
use serde_json::json;

/// `GET .../duties`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let frame = reader.frame(Place::Bench(of.robot));
    let view = view(&reader, &now);
    Ok(form::page(page(
        &frame,
        &tag(&reader, &now),
        &view,
        &Typed::default(),
    )))
}

/// The duties of a robot, as the reader sees them.
pub fn view(reader: &Reader, now: &RobotNow<'_>) -> Duties {
    let state = &now.file.state;
    let me = reader.signed.person;
    let team = now.file.register.body.team;
    Duties {
        action: format!("{}/duty", reader.bench(now.id)),
        duties: DutyOf::ALL
            .into_iter()
            .map(|duty| {
                let has = state.duties.get(&duty).copied();
                let offered = state.duty_offers.get(&duty).map(|offer| Offered {
                    to: reader.name(Some(offer.value)),
                    to_me: me == Some(offer.value),
                    by: reader.name(offer.entered_by.person),
                    at: offer.at,
                });
                Duty {
                    duty: duty.as_str().to_owned(),
                    name: words::duty(duty),
                    has: has.map(|who| reader.name(Some(who))),
                    mine: has.is_some() && has == me,
                    offered,
                }
            })
            .collect(),
        people: reader
            .pit
            .people_of(team)
            .map(|(id, _)| Chip::new(id.to_string(), reader.name(Some(id))))
            .collect(),
    }
}

/// `POST .../duty`: taken by whoever sends it, offered to another, or ended.
pub async fn say(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let mut fields = fields.into_inner();
    let who = match fields.filled("takes") {
        Some("me") => here.signed.person.map(|me| me.to_string()),
        other => other.map(str::to_owned),
    };
    // Whoever stands beside the phone and gives their PIN takes it themselves.
    if let (Some(_), Some(who)) = (fields.filled("pin"), &who) {
        fields.0.push(("who".to_owned(), who.clone()));
    }
    let body = json!({"duty": fields.get("duty"), "who": who});
    let about = Subject::Robot(of.robot);
    let said = record_line(&here, &fields, about, Kind::Duty, Some(How::Did), &body).await;
    if let Err(refused) = said {
        let typed = form::refusal(&fields, refused)?;
        let frame = reader.frame(Place::Bench(of.robot));
        let view = view(&reader, &now);
        let again = page(&frame, &tag(&reader, &now), &view, &typed);
        return Ok(form::refused(again));
    }
    Ok(see(match fields.get("back") {
        Some("duties") => format!("{}/duties", reader.bench(of.robot)),
        _ => format!("{}/team", reader.base),
    }))
}
