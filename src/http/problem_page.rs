//! Pages about problems: the one somebody met, and one for each kind.

use super::problem::{ProblemDocument, ProblemKind};
use actix_web::{HttpResponse, http::StatusCode, web};
use maud::{DOCTYPE, Markup, html};

/// The answer that shows somebody the problem they met.
pub fn answer(status: StatusCode, document: &ProblemDocument) -> HttpResponse {
    let main = html! {
        p { (document.detail) }
        @if !document.errors.is_empty() {
            ul { @for fault in &document.errors { li { code { (fault.pointer) } " " (fault.detail) } } }
        }
        p { a href=(document.address) { "What this means" } " · " a href="/" { "To the start" } }
        p { small { "If you ask about it, say " (document.instance) "." } }
    };
    HttpResponse::build(status)
        .content_type("text/html; charset=utf-8")
        .body(page(&document.title, &main).into_string())
}

/// `/problems/<slug>`: what a kind of problem means and what to do about it.
pub fn routes(config: &mut web::ServiceConfig) {
    config.route("/problems/{slug}", web::get().to(about));
}

async fn about(slug: web::Path<String>) -> Result<Markup, super::Problem> {
    let kind = ProblemKind::named(&slug)
        .ok_or_else(|| super::Problem::new(ProblemKind::Unknown, "There is no such problem."))?;
    let main = html! {
        p { "Status " (kind.status().as_u16()) "." }
        p { (kind.advice()) }
    };
    Ok(page(kind.title(), &main))
}

fn page(title: &str, main: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) " · linkout" }
            }
            body { main { h1 { (title) } (main) } }
        }
    }
}
