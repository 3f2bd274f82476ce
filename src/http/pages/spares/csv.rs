//! The box as a table: to take away, and to enter all at once.

use super::super::parts::{
    fields::{self, Typed},
    frame::{self, Frame, Tag},
};
use super::routes::{Asked, Which};
use crate::app::{App, AppError};
use crate::http::Problem;
use crate::http::pages::form::{self, Fields, record, refusal, refused, see};
use crate::http::pages::reader::Place;
use crate::http::signed::Here;
use crate::pit::ids::{PartTypeId, Subject};
use crate::pit::logbook::{Body, Draft};
use crate::pit::stock::table;
use actix_web::{HttpResponse, web};
use maud::{Markup, html};

/// The table's page.
#[derive(Debug)]
pub struct Table {
    /// The team.
    pub team: String,
    /// The spares page.
    pub back: String,
    /// Where it is posted.
    pub action: String,
    /// Where the table is.
    pub download: String,
    /// Whether this reader may enter part types.
    pub enters: bool,
    /// What was typed and what is wrong.
    pub typed: Typed,
}

/// The page.
pub fn page(frame: &Frame, view: &Table) -> Markup {
    let tag = Tag {
        name: "Spares as a table".to_owned(),
        sub: view.team.clone(),
        bench: None,
        href: None,
    };
    let fault = view.typed.fault("table");
    frame::sheet(
        frame,
        "Spares as a table",
        &tag,
        &view.back,
        html! {
            main.wrap #main data-part="main" {
                (view.typed.summary())
                section.panel { h2 { "Take it away" }
                    a.btn.soft href=(view.download) { "Comma-separated values" }
                    p.meta { "With what is ready and how long it lasts." }
                }
                @if view.enters { section.panel { h2 { "Enter a table" }
                    p.intro { "The first row names the columns, such as label, spares, mass_g, price_minor, fits. A label that exists is changed, any other is new. All rows are entered or none." }
                    (fields::post(frame, &view.action, "stackform", html! {
                        div.field {
                            label for="table" { "Rows" }
                            textarea #table name="table" rows="10" required aria-invalid=[fault.map(|_| "true")] aria-describedby=[fault.map(|_| "table-fault")] { (view.typed.or("table", "")) }
                            @if let Some(fault) = fault { p.fault #table-fault { (fault) } }
                        }
                        button.btn.solid { "Enter" }
                    }))
                } }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

fn view(asked: &Asked, typed: Typed) -> Table {
    let api = asked.reader.api();
    Table {
        team: asked.name(),
        back: format!("{}{}", asked.base(), asked.query()),
        action: format!("{}/csv{}", asked.base(), asked.query()),
        download: format!("{api}/teams/{}/spares.csv", asked.team),
        enters: asked.registers(),
        typed,
    }
}

/// `GET /e/{event}/spares/csv`.
pub async fn show(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, *which).await?;
    Ok(form::page(page(
        &asked.reader.frame(Place::Team),
        &view(&asked, Typed::default()),
    )))
}

/// `POST /e/{event}/spares/csv`.
pub async fn enter(
    here: Here,
    app: web::Data<App>,
    which: web::Query<Which>,
    fields: web::Form<Fields>,
) -> Result<HttpResponse, Problem> {
    let asked = Asked::of(&here, &app, *which).await?;
    if !asked.registers() {
        return Err(AppError::forbidden("This is for team leads.").into());
    }
    let entered = match drafts(&here, &asked, &fields) {
        // The same form was taken before.
        Ok(drafts) if drafts.is_empty() => Ok(()),
        Ok(drafts) => record(&here, &fields, drafts).await,
        Err(error) => Err(error),
    };
    match entered {
        Ok(()) => Ok(see(format!("{}{}", asked.base(), asked.query()))),
        Err(error) => {
            let mut typed = refusal(&fields, error)?;
            if let Some(whole) = typed.faults.remove("") {
                typed.faults.insert("table".to_owned(), whole);
            }
            Ok(refused(page(
                &asked.reader.frame(Place::Team),
                &view(&asked, typed),
            )))
        }
    }
}

fn drafts(here: &Here, asked: &Asked, fields: &Fields) -> Result<Vec<Draft>, AppError> {
    let key = fields.key()?;
    let pit = &asked.reader.pit;
    let sent_before = |id: PartTypeId| pit.part_types.contains_key(&id);
    if sent_before(PartTypeId(key.nth(0).0)) {
        return Ok(Vec::new());
    }
    let rows = table::read(pit, asked.team, fields.get("table").unwrap_or_default())
        .map_err(AppError::Refused)?;
    Ok((0..)
        .zip(rows)
        .map(|(n, row)| {
            let id = row.known.unwrap_or(PartTypeId(key.nth(n).0));
            Draft {
                id: key.nth(n),
                at: fields.seen_at(here.now),
                seen_by: fields.seen_by(here),
                subject: Subject::Part(id),
                how: None,
                corrects: None,
                if_revision: pit.part_types.get(&id).map(|known| known.revision),
                body: Body::RegisterPartType(row.part),
            }
        })
        .collect())
}

/// The table's page with a fault.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::super::samples::frame;
    let mut typed = Typed::default();
    typed
        .values
        .insert("table".into(), "label,mass\nx,1".into());
    typed
        .faults
        .insert("table".into(), "There is no column 'mass'.".into());
    vec![(
        "spares-table",
        page(
            &frame(),
            &Table {
                team: "Quayside <Shed>".into(),
                back: "/e/1/spares".into(),
                action: "/e/1/spares/csv".into(),
                download: "/api/v1/events/1/teams/1/spares.csv".into(),
                enters: true,
                typed,
            },
        ),
    )]
}
