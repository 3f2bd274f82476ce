//! Pages about problems: the one somebody met, and one for each kind.

use super::edge::Moment;
use super::pages::parts::frame::Frame;
use super::pages::problem::{Problem as Shown, page};
use super::problem::{Problem, ProblemDocument, ProblemKind};
use crate::pit::ids::LineId;
use actix_web::{HttpResponse, http::StatusCode, web};

/// The answer that shows somebody the problem they met.
pub fn answer(status: StatusCode, document: &ProblemDocument, moment: Moment) -> HttpResponse {
    let shown = Shown {
        title: document.title.clone(),
        detail: document.detail.clone(),
        faults: document
            .errors
            .iter()
            .map(|fault| format!("{} {}", fault.pointer, fault.detail))
            .collect(),
        ways: vec![
            ("What this means".to_owned(), document.address.clone()),
            ("To the start".to_owned(), "/".to_owned()),
        ],
        request: moment.request.to_string(),
    };
    HttpResponse::build(status)
        .content_type("text/html; charset=utf-8")
        .body(page(&outside(moment), &shown).into_string())
}

/// `/problems/<slug>`: what a kind of problem means and what to do about it.
pub fn routes(config: &mut web::ServiceConfig) {
    config.route("/problems/{slug}", web::get().to(about));
}

async fn about(slug: web::Path<String>, moment: Moment) -> Result<HttpResponse, Problem> {
    let kind = ProblemKind::named(&slug)
        .ok_or_else(|| Problem::new(ProblemKind::Unknown, "There is no such problem."))?;
    let shown = Shown {
        title: kind.title().to_owned(),
        detail: kind.advice().to_owned(),
        faults: vec![format!("Status {}.", kind.status().as_u16())],
        ways: vec![("To the start".to_owned(), "/".to_owned())],
        request: String::new(),
    };
    Ok(HttpResponse::Ok()
        .content_type("text/html; charset=utf-8")
        .body(page(&outside(moment), &shown).into_string()))
}

fn outside(moment: Moment) -> Frame {
    Frame::outside(moment.now, LineId(moment.request))
}
