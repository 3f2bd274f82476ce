//! After the emergency button: what was told, to whom, and whether somebody answered.

use super::parts::{
    fields::{self, Chip},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// What was told.
#[derive(Debug)]
pub struct Told {
    /// The robot, or the hall.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where more is told.
    pub action: String,
    /// "Pewter Finch, bench 14, from Ana".
    pub about: String,
    /// When.
    pub at: DateTime<Utc>,
    /// Who answered, and when.
    pub answer: Option<(String, DateTime<Utc>)>,
    /// What it can be said to be.
    pub kinds: Vec<Chip>,
}

/// The page: it never says that help is coming until somebody says so.
pub fn page(frame: &Frame, view: &Told) -> Markup {
    frame::sheet(
        frame,
        "Told the marshals",
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                section.panel.told data-part="told" role="status" { h2 { "Shout. Get away." }
                    p.intro { "Told to every marshal and the organiser " (frame.clock.age(view.at)) ": " (view.about) }
                    @match &view.answer {
                        Some((who, at)) => { p { b { (who) " is coming" } ", said at " (frame.clock.time(*at)) } }
                        None => { p { b { "Nobody has answered yet." } " Shout, send somebody." } }
                    }
                }
                (fields::post(frame, &view.action, "panel stacked", html! {
                    p.lab-h { "What is it?" }
                    @for kind in &view.kinds { button.btn name="what" value=(kind.value) { (kind.label) } }
                }))
                @if !frame.emergency.text.is_empty() { section.panel { ul.rows { @for line in &frame.emergency.text { li { div { (line) } } } } } }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// Told, not answered; and answered.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::{at, frame};
    let told = |answer| Told {
        tag: Tag {
            name: "Pewter Finch".into(),
            sub: "told".into(),
            bench: Some(14),
            href: None,
        },
        back: "/e/1/robots/1".into(),
        action: "/e/1/robots/1/danger".into(),
        about: "Pewter Finch, bench 14, from Ana".into(),
        at: at(0),
        answer,
        kinds: vec![
            Chip::new("fire", "Smoke or fire"),
            Chip::new("hurt", "Somebody is hurt"),
        ],
    };
    vec![
        ("told", page(&frame(), &told(None))),
        (
            "told-answered",
            page(&frame(), &told(Some(("Ruth".into(), at(0))))),
        ),
    ]
}
