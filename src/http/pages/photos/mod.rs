//! Photographs of a robot or a bottle: taken with one tap, shown newest first.

pub mod routes;

use super::parts::{
    fields::{self, Typed},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The photographs of a thing.
#[derive(Debug)]
pub struct Photos {
    /// What they are of.
    pub tag: Tag,
    /// Where they are posted.
    pub action: String,
    /// What a new one can show: the word in the form, what it is called, a line that helps. Empty
    /// for whoever takes none.
    pub takes: Vec<(&'static str, &'static str, &'static str)>,
    /// Those taken, the newest first.
    pub taken: Vec<Taken>,
    /// What came back.
    pub typed: Typed,
}

/// A photograph that was taken.
#[derive(Debug)]
pub struct Taken {
    /// What it shows.
    pub shows: &'static str,
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
    /// What was said of it.
    pub note: Option<String>,
    /// The address of its picture.
    pub picture: String,
    /// Where it is put right or taken back.
    pub line: String,
}

/// The page.
pub fn page(frame: &Frame, view: &Photos) -> Markup {
    frame::phone(
        frame,
        &format!("Photographs: {}", view.tag.name),
        &view.tag,
        html! {
            (view.typed.summary())
            @if !view.takes.is_empty() { div.two {
                @for (shows, name, hint) in &view.takes { (take(frame, view, shows, name, hint)) }
            } }
            div.shots data-part="taken" {
                @for taken in &view.taken { (one(frame, taken)) }
                @if view.taken.is_empty() { p.panel { "No photographs yet." } }
            }
        },
    )
}

fn take(frame: &Frame, view: &Photos, shows: &str, name: &str, hint: &str) -> Markup {
    let id = format!("photo-{shows}");
    let fault = view
        .typed
        .fault("photo")
        .filter(|_| view.typed.or("shows", "") == shows);
    let note = fields::Text {
        hint: "Type it first: the photograph goes out as it is taken.",
        id: &format!("note-{shows}"),
        ..fields::Text::new("note", "Note")
    };
    fields::post_file(
        frame,
        &view.action,
        "panel stackform",
        html! {
            input type="hidden" name="shows" value=(shows);
            div.field { label for=(id) { (name) } p.hint { (hint) }
                input id=(id) type="file" name="photo" accept="image/jpeg,image/png,image/webp" capture="environment" required data-photo;
                @if let Some(fault) = fault { p.fault { (fault) } } }
            (note.show(&Typed::default()))
            button.btn.solid { "Send" }
        },
    )
}

fn one(frame: &Frame, taken: &Taken) -> Markup {
    html! {
        figure.panel.shot {
            a href=(taken.picture) { img src=(taken.picture) loading="lazy" alt=(format!("{}, {}", taken.shows, frame.clock.hm(taken.at))); }
            figcaption {
                b { (taken.shows) } " " span.meta { (frame.clock.time(taken.at)) ", " (taken.by) }
                @if let Some(note) = &taken.note { p { (note) } }
                a.btn.small.soft href=(taken.line) { "Put right" }
            }
        }
    }
}

/// A robot with one that was taken, one refused, and a bottle without for somebody who takes none.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::{at, frame};
    let view = |takes, taken, typed| Photos {
        tag: Tag {
            name: "Pewter <Finch>".into(),
            sub: "Photographs".into(),
            bench: Some(14),
            href: Some("/e/1/robots/1".into()),
        },
        action: "/e/1/photos/robot:1".into(),
        takes,
        taken,
        typed,
    };
    let taken = Taken {
        shows: "damage",
        at: at(-12),
        by: "Ana".into(),
        note: Some("hinge <bent>".into()),
        picture: "/e/1/photos/robot:1/1".into(),
        line: "/e/1/lines/1".into(),
    };
    let mut typed = Typed::default();
    typed.values.insert("shows".into(), "damage".into());
    typed
        .faults
        .insert("photo".into(), "This is no picture.".into());
    let takes = || vec![("damage", "Damage", "Near enough to see the crack.")];
    vec![
        ("photos", page(&frame(), &view(takes(), vec![taken], typed))),
        (
            "photos-none",
            page(&frame(), &view(vec![], vec![], Typed::default())),
        ),
    ]
}
