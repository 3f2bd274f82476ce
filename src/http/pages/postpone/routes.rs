//! The addresses of asking for a postponement.

use super::{Postpone, page};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::bench::routes::{Of, of_team};
use crate::http::pages::bench::view::tag;
use crate::http::pages::form::{self, Fields, record_line, see};
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::pages::robot_now::RobotNow;
use crate::http::signed::Here;
use crate::pit::ids::Subject;
use crate::pit::logbook::Kind;
use crate::pit::logbook::bout::Postponing;
use crate::pit::postponements;
use actix_web::{HttpResponse, web};
use serde_json::json;

/// Minutes that are offered, as far as the event allows them.
const MINUTES: [i32; 4] = [5, 10, 15, 20];

/// `GET .../postpone`; without a bout there is nothing to put off.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let frame = reader.frame(Place::Bench(of.robot));
    Ok(match view(&reader, &now, Typed::default()) {
        Some(view) => form::page(page(&frame, &view)),
        None => see(reader.bench(of.robot)),
    })
}

fn view(reader: &Reader, now: &RobotNow<'_>, typed: Typed) -> Option<Postpone> {
    let settings = reader.pit.settings();
    let bout = &now
        .next
        .as_ref()
        .filter(|next| next.if_first.is_none())?
        .bout;
    let most = settings.postponement_min.get();
    let mut minutes: Vec<i32> = MINUTES.into_iter().filter(|min| *min < most).collect();
    minutes.push(most);
    let last = postponements::last(now.file, bout.id).map(|(at, word)| {
        let said = match word.said {
            Postponing::Asked => "Asked, not answered yet",
            Postponing::Granted => "Granted",
            Postponing::Refused => "Refused",
        };
        (said.to_owned(), at)
    });
    Some(Postpone {
        tag: tag(reader, now),
        action: format!("{}/postpone", reader.bench(now.id)),
        bout: (bout.id.to_string(), bout.number),
        call: bout.call,
        used: (
            postponements::used(now.file, reader.clock.now),
            settings.postponements.get(),
        ),
        last,
        minutes,
        typed,
    })
}

/// `POST .../postpone`.
pub async fn ask(
    here: Here,
    app: web::Data<App>,
    of: web::Path<Of>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let now = of_team(&reader, of.robot)?;
    let bout = fields
        .filled("bout")
        .ok_or_else(|| AppError::malformed("/bout", "Which bout?"))?;
    let mut body = json!({"bout": bout, "said": "asked"});
    if let Some(by) = fields.id::<i32>("by_min") {
        body["by_min"] = json!(by);
    }
    if let Some(because) = fields.filled("because") {
        body["because"] = json!(because);
    }
    let about = Subject::Robot(of.robot);
    match record_line(&here, &fields, about, Kind::Postponement, None, &body).await {
        Ok(()) => Ok(see(reader.bench(of.robot))),
        Err(refused) => {
            let typed = form::refusal(&fields, refused)?;
            let view = view(&reader, &now, typed).ok_or(AppError::Unknown)?;
            let frame = reader.frame(Place::Bench(of.robot));
            Ok(form::refused(page(&frame, &view)))
        }
    }
}
