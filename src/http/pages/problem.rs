//! What went wrong, in words a person can act on.

use super::parts::frame::{self, Frame};
use maud::{Markup, html};

/// A page in the place of the one asked for.
#[derive(Debug)]
pub struct Problem {
    /// What.
    pub title: String,
    /// What can be done about it.
    pub detail: String,
    /// What is wrong in single fields.
    pub faults: Vec<String>,
    /// Where to go.
    pub ways: Vec<(String, String)>,
    /// Names the request in the service's log.
    pub request: String,
}

/// The page.
pub fn page(frame: &Frame, problem: &Problem) -> Markup {
    frame::document(
        frame,
        &problem.title,
        "phone",
        html! {
            main.wrap #main {
                header.joinhead { h1.h { (problem.title) } p { (problem.detail) } }
                @if !problem.faults.is_empty() { section.panel { ul.rows { @for fault in &problem.faults { li { div { (fault) } } } } } }
                @for (label, href) in &problem.ways { a.btn.big href=(href) { (label) } }
                @if !problem.request.is_empty() { p.meta { "If you ask about it, say: " (problem.request) } }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// A refused form.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    vec![(
        "problem",
        page(
            &super::samples::outside_frame(),
            &Problem {
                title: "There is no such page".into(),
                detail: "The address may be of another event, or of another team’s <robot>.".into(),
                faults: vec!["/body/state: 'inn' is not 'in' or 'out'.".into()],
                ways: vec![("To the start".into(), "/".into())],
                request: "0197-1".into(),
            },
        ),
    )]
}
