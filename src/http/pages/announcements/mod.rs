//! What the organiser tells people, and who has seen it.

pub mod routes;

use super::parts::{
    fields::{self, Chip, Typed},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The announcements of an event.
#[derive(Debug)]
pub struct Announcements {
    /// Where the page goes back to, and what it is about.
    pub tag: Tag,
    /// Where they are posted.
    pub action: String,
    /// Teams to choose from.
    pub teams: Vec<Chip>,
    /// Those made, the newest first.
    pub made: Vec<Made>,
    /// What came back.
    pub typed: Typed,
}

/// An announcement that was made.
#[derive(Debug)]
pub struct Made {
    /// What it says.
    pub text: String,
    /// When.
    pub at: DateTime<Utc>,
    /// Whom it is for.
    pub to: String,
    /// Who has seen it.
    pub seen: Vec<String>,
    /// Who has not, of those who are signed in.
    pub unseen: Vec<String>,
    /// Where it is taken back.
    pub line: String,
}

/// The page.
pub fn page(frame: &Frame, view: &Announcements) -> Markup {
    let to = [
        ("", "Everyone"),
        ("crew lead", "All crews"),
        ("lead", "Leads"),
        ("official marshal", "Officials, marshals"),
        ("marshal", "Marshals"),
    ];
    let chips: Vec<Chip> = to
        .iter()
        .map(|(value, label)| Chip::new(*value, *label))
        .collect();
    frame::phone(
        frame,
        "Announcements",
        &view.tag,
        html! {
            (fields::post(frame, &view.action, "panel stackform", html! {
                (view.typed.summary())
                div.field { label for="text" { "Tell people" }
                    textarea id="text" name="text" rows="3" maxlength="500" required { (view.typed.or("text", "")) }
                    @if let Some(fault) = view.typed.fault("text") { p.fault { (fault) } } }
                (fields::chips("roles", "To", "", &chips, &view.typed))
                (fields::select("team", "Or to one team", "", "no single team", &view.teams, &view.typed))
                p.meta { "It stands on their pages without a sound until they say that they have seen it." }
                button.btn.big.solid { "Announce" }
            }))
            div.stack data-part="announced" {
                @for made in &view.made { (one(frame, made)) }
                @if view.made.is_empty() { p.panel { "Nothing announced in the last hours." } }
            }
        },
    )
}

fn one(frame: &Frame, made: &Made) -> Markup {
    html! {
        section.panel.announced { h2 { (frame.clock.time(made.at)) " " span.meta { "to " (made.to) } }
            p { (made.text) }
            p.meta { "Seen by " (made.seen.len()) " of " (made.seen.len() + made.unseen.len()) " who are signed in." }
            @if !made.unseen.is_empty() { p { b { "Not yet: " } (made.unseen.join(", ")) } }
            @if !made.seen.is_empty() { details { summary.btn.small.soft { "Who has" } p { (made.seen.join(", ")) } } }
            a.btn.small.soft href=(made.line) { "Put right" }
        }
    }
}

/// With one that most have seen, and with none and a refusal.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::{at, frame};
    let view = |made, typed| Announcements {
        tag: Tag {
            name: "Announcements".into(),
            sub: "Ropewalk <Shed>".into(),
            bench: None,
            href: None,
        },
        action: "/e/1/announcements".into(),
        teams: vec![Chip::new("1", "Millrace")],
        made,
        typed,
    };
    let made = Made {
        text: "Drivers’ meeting at <15:30>, by the stage.".into(),
        at: at(-12),
        to: "all crews".into(),
        seen: vec!["Ana".into(), "Ben".into()],
        unseen: vec!["Cal".into()],
        line: "/e/1/lines/1".into(),
    };
    let mut typed = Typed::default();
    typed.faults.insert("text".into(), "Say something.".into());
    vec![
        (
            "announcements",
            page(&frame(), &view(vec![made], Typed::default())),
        ),
        ("announcements-none", page(&frame(), &view(vec![], typed))),
    ]
}
