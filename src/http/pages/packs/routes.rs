//! The addresses of packs and sets.

use super::label::{self, Labels};
use super::{pack, page, set, view};
use crate::app::{App, AppError};
use crate::auth::Action as Right;
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::keypad::routes::filed_under;
use crate::http::pages::parts::fields::Typed;
use crate::http::pages::reader::{Place, Reader};
use crate::http::signed::Here;
use crate::pit::ids::{PackId, SetId, Subject, TeamId};
use crate::pit::logbook::{Draft, How, Kind};
use crate::pit::packs::stories;
use actix_web::{HttpRequest, HttpResponse, web};
use serde::Deserialize;
use serde_json::json;

/// Which team, for those who see several.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct Which {
    team: Option<TeamId>,
}

/// Labels of one pack, or of all of a team's.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct WhichLabels {
    team: Option<TeamId>,
    pack: Option<PackId>,
}

/// A pack.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfPack {
    pack: PackId,
}

/// A set.
#[derive(Debug, Clone, Copy, Deserialize)]
pub struct OfSet {
    set: SetId,
}

/// `GET /e/{event}/packs`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let reader = Reader::of(&here, &app).await?;
    let team = which.team.or(here.signed.team);
    here.signed.sees(Right::SeeStations, team)?;
    let view = match team {
        Some(team) => view::of_team(&reader, team).ok_or(AppError::Unknown)?,
        // No team of their own: those who see every team's.
        None => view::teams(&reader),
    };
    Ok(form::page(page(&reader.frame(Place::Team), &view)))
}

/// The team of a pack, for those who may see it.
fn team_of(here: &Here, pack: PackId) -> Result<TeamId, AppError> {
    let known = here.pit.packs.get(&pack).ok_or(AppError::Unknown)?;
    let team = known.body.team;
    here.signed.sees(Right::SeeStations, Some(team))?;
    Ok(team)
}

/// `GET /e/{event}/packs/{pack}`.
pub async fn one(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfPack>,
) -> Result<HttpResponse, Problem> {
    team_of(&here, of.pack)?;
    let reader = Reader::of(&here, &app).await?;
    let view = view::pack::of(&reader, of.pack, Typed::default()).ok_or(AppError::Unknown)?;
    Ok(form::page(pack::page(&reader.frame(Place::Team), &view)))
}

/// `POST /e/{event}/packs/{pack}`: what somebody saw of it, or that it is set aside.
pub async fn looked(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfPack>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let team = team_of(&here, of.pack)?;
    let reader = Reader::of(&here, &app).await?;
    let again = |typed| -> Result<HttpResponse, Problem> {
        let view = view::pack::of(&reader, of.pack, typed).ok_or(AppError::Unknown)?;
        Ok(refused(pack::page(&reader.frame(Place::Team), &view)))
    };
    let recorded = match line(&here, &reader, &fields, team, of.pack) {
        Ok(Some(line)) => record(&here, &fields, vec![line]).await,
        Ok(None) => {
            let mut typed = fields.typed();
            let fault = "Say what you see.".to_owned();
            typed.faults.insert("looks".to_owned(), fault);
            return again(typed);
        }
        Err(error) => Err(error),
    };
    match recorded {
        Ok(()) => Ok(see(format!("{}/packs/{}", reader.base, of.pack))),
        Err(error) => again(refusal(&fields, error)?),
    }
}

/// The line of the form; none if it says nothing.
fn line(
    here: &Here,
    reader: &Reader,
    fields: &Fields,
    team: TeamId,
    pack: PackId,
) -> Result<Option<Draft>, AppError> {
    let (how, mut body) = match (fields.filled("aside"), fields.filled("looks")) {
        (Some(_), _) => (How::Did, json!({"pack": pack, "place": "quarantine"})),
        (None, Some(looks)) => (How::Saw, json!({"pack": pack, "looks": looks})),
        (None, None) => return Ok(None),
    };
    if let (How::Did, Some(me)) = (how, here.signed.person) {
        body["watcher"] = json!(me);
    }
    let known = stories(&here.pit, team)
        .get(&pack)
        .and_then(|story| story.robot);
    let robot = filed_under(reader, team, known)?;
    fields
        .line(here, 0, Subject::Robot(robot), Kind::Pack, Some(how), &body)
        .map(Some)
}

/// `GET /e/{event}/sets/{set}`.
pub async fn of_set(
    here: Here,
    app: web::Data<App>,
    of: web::Path<OfSet>,
) -> Result<HttpResponse, Problem> {
    let known = here.pit.sets.get(&of.set).ok_or(AppError::Unknown)?;
    here.signed
        .sees(Right::SeeStations, Some(known.body.team))?;
    let reader = Reader::of(&here, &app).await?;
    let view = view::set::of(&reader, of.set).ok_or(AppError::Unknown)?;
    Ok(form::page(set::page(&reader.frame(Place::Team), &view)))
}

/// `GET /e/{event}/packs/labels`: of one pack, or of all of a team's.
pub async fn labels(
    request: HttpRequest,
    here: Here,
    app: web::Data<App>,
    which: web::Query<WhichLabels>,
) -> Result<HttpResponse, Problem> {
    let team = match which.pack {
        Some(pack) => team_of(&here, pack)?,
        None => which
            .team
            .or(here.signed.team)
            .ok_or_else(|| AppError::malformed("/team", "Of which team?"))?,
    };
    here.signed.sees(Right::SeeStations, Some(team))?;
    let reader = Reader::of(&here, &app).await?;
    let connection = request.connection_info().clone();
    let host = format!("{}://{}", connection.scheme(), connection.host());
    let mut packs: Vec<_> = reader
        .pit
        .packs
        .iter()
        .filter(|(id, pack)| match which.pack {
            Some(only) => **id == only,
            None => pack.body.team == team && !pack.body.retired,
        })
        .collect();
    packs.sort_by_key(|(_, pack)| pack.body.label.to_string());
    let labels = packs
        .into_iter()
        .map(|(id, pack)| {
            let address = format!("{host}{}/packs/{id}", reader.base);
            view::pack::label(&reader, &pack.body, &address)
        })
        .collect::<Result<Vec<_>, _>>()
        .map_err(|error| AppError::bug(error.to_string()))?;
    let back = match which.pack {
        Some(pack) => format!("{}/packs/{pack}", reader.base),
        None => view::back(&reader, team),
    };
    let view = Labels { back, labels };
    Ok(form::page(label::page(&reader.frame(Place::Team), &view)))
}
