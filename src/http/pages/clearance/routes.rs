//! The addresses of a clearance: the whole answer, and what is said about it.

use super::{page, view};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::bench::routes::{Of, after, to_look_at};
use crate::http::pages::bench::view::tag;
use crate::http::pages::form::{self, Fields, record_line, see};
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::clearance::place_asked;
use crate::pit::ids::Subject;
use crate::pit::logbook::hall::ArmedAt;
use crate::pit::logbook::{How, Kind};
use actix_web::{HttpResponse, web};
use serde_json::json;

/// `GET .../clearance`: where it stands, or was asked for, comes first.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = to_look_at(&reader, of.robot)?;
    let first = place_asked(&reader.pit, of.robot);
    let places = match first {
        Some(place) => vec![place],
        None => vec![ArmedAt::TestArea, ArmedAt::Arena],
    };
    let all: Vec<_> = places
        .into_iter()
        .filter_map(|place| view::of(&reader, &now, place))
        .collect();
    let frame = reader.frame(Place::Bench(of.robot));
    Ok(form::page(page(&frame, &tag(&reader, &now), &all)))
}

/// `POST .../clearance`: asked, looked, or not yet.
pub async fn say(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    to_look_at(&reader, of.robot)?;
    let place = fields
        .filled("place")
        .ok_or_else(|| AppError::malformed("/place", "Where is it to be armed?"))?;
    let said = fields
        .filled("said")
        .ok_or_else(|| AppError::malformed("/said", "What do you say?"))?;
    let mut body = json!({"place": place, "said": said});
    if let Some(because) = fields.filled("because") {
        body["because"] = json!(because);
    }
    let about = Subject::Robot(of.robot);
    record_line(&here, &fields, about, Kind::Clearance, None, &body).await?;
    Ok(see(after(&reader, of.robot)))
}

/// `POST .../inside`: so many are inside with it.
pub async fn inside(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    to_look_at(&reader, of.robot)?;
    let people: i32 = fields
        .id("people")
        .ok_or_else(|| AppError::malformed("/people", "How many are inside?"))?;
    let about = Subject::Robot(of.robot);
    let body = json!({"people": people});
    record_line(&here, &fields, about, Kind::Inside, Some(How::Saw), &body).await?;
    Ok(see(after(&reader, of.robot)))
}
