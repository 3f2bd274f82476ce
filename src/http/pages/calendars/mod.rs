//! Calendars to subscribe to: of the event, a team, a robot.

pub mod routes;

use super::parts::{
    fields,
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The page.
#[derive(Debug)]
pub struct Calendars {
    /// What it is about.
    pub tag: Tag,
    /// Where addresses are made; an address is ended below it.
    pub action: String,
    /// What one can subscribe to: name, field, id.
    pub offers: Vec<(String, &'static str, String)>,
    /// The address just made: what it is about, and where it is.
    pub made: Option<(String, String)>,
    /// Addresses that count: id, what about, when made.
    pub known: Vec<(String, String, DateTime<Utc>)>,
}

/// The page.
pub fn page(frame: &Frame, view: &Calendars) -> Markup {
    frame::phone(
        frame,
        "Calendars",
        &view.tag,
        html! {
            @if let Some((of, url)) = &view.made {
                section.panel { h2 { "Calendar of " (of) }
                    p { "Copy this address into your calendar program. It is shown this once." }
                    div.field { label for="address" { "Address" } input id="address" readonly value=(url); }
                    p.meta { "Whoever has it sees the bouts and their calls, without signing in. End it below when you need it no more." }
                }
            }
            section.panel { h2 { "Bouts in your calendar" }
                p.intro { "Your calendar program asks for it again by itself, some only a few times a day. The calls on these pages are the last word." }
                @for (name, field, id) in &view.offers {
                    (fields::post_now(frame, &view.action, "stacked", html! {
                        @if !field.is_empty() { input type="hidden" name=(field) value=(id); }
                        button.btn.soft { (name) }
                    }))
                }
            }
            @if !view.known.is_empty() { section.panel { h2 { "Addresses that count" }
                ul.rows { @for (id, of, at) in &view.known { li {
                    div { b { (of) } br; span.meta { "made " (frame.clock.day(*at)) " " (frame.clock.time(*at)) } }
                    (fields::post_now(frame, &format!("{}/{id}/ended", view.action), "", html! {
                        button.btn.small.soft aria-label=(format!("End the address of {of}")) { "End it" }
                    }))
                } } }
            } }
        },
    )
}

/// With one just made, and with none.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::{at, frame};
    let view = |made: Option<(String, String)>| Calendars {
        tag: Tag {
            name: "Calendars".into(),
            sub: "Ropewalk <Shed>".into(),
            bench: None,
            href: None,
        },
        action: "/e/1/calendars".into(),
        offers: vec![("Every bout".into(), "", String::new())],
        known: made
            .iter()
            .map(|(of, _)| ("7".into(), of.clone(), at(-3)))
            .collect(),
        made,
    };
    let made = (
        "Pewter <Finch>".into(),
        "http://hall/e/1/calendar/x.ics".into(),
    );
    vec![
        ("calendars", page(&frame(), &view(Some(made)))),
        ("calendars-none", page(&frame(), &view(None))),
    ]
}
