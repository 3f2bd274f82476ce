//! A crew asks the organiser to put its bout off: some minutes, and why.

pub mod routes;

use super::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// What a crew asks from.
#[derive(Debug)]
pub struct Postpone {
    /// The robot.
    pub tag: Tag,
    /// Where it posts.
    pub action: String,
    /// The bout's id, and its number.
    pub bout: (String, i32),
    /// Its call.
    pub call: DateTime<Utc>,
    /// Postponements used today, and how many there may be.
    pub used: (usize, i32),
    /// What was said about it last, and when.
    pub last: Option<(String, DateTime<Utc>)>,
    /// Minutes that may be asked for.
    pub minutes: Vec<i32>,
    /// What came back.
    pub typed: Typed,
}

/// The page.
pub fn page(frame: &Frame, view: &Postpone) -> Markup {
    let (used, most) = view.used;
    let chips: Vec<Chip> = view
        .minutes
        .iter()
        .map(|min| Chip::new(min.to_string(), format!("{min} min")))
        .collect();
    let chosen = view.minutes.first().map_or(String::new(), i32::to_string);
    html! {
        (frame::phone(frame, &format!("Put off bout {}", view.bout.1), &view.tag, html! {
            section.panel data-part="postpone" {
                h2 { "Ask to put off bout " (view.bout.1) }
                p.stands { "Call " (frame.clock.time(view.call)) ", " (frame.clock.left(view.call)) }
                p.meta { (used) " of " (most) " used today" @if let Some((said, at)) = &view.last { ". " (said) ", " (frame.clock.age(*at)) } }
                (view.typed.summary())
                (fields::post(frame, &view.action, "stacked", html! {
                    input type="hidden" name="bout" value=(view.bout.0);
                    (fields::chips("by_min", "By how much", &chosen, &chips, &view.typed))
                    (Text::new("because", "Why, in a few words").show(&view.typed))
                    button.btn.big.solid { "Ask the organiser" }
                }))
                p.intro { "The call stands until the organiser grants it; every phone is told." }
            }
        }))
    }
}

/// The page after a refusal.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::{at, frame};
    let view = Postpone {
        tag: Tag {
            name: "Pewter <Finch>".into(),
            sub: "v Tin Plover, bout 16".into(),
            bench: Some(14),
            href: None,
        },
        action: "/e/1/robots/14/postpone".into(),
        bout: ("16".into(), 16),
        call: at(22),
        used: (0, 1),
        last: Some(("Refused".into(), at(-4))),
        minutes: vec![5, 10, 15, 20],
        typed: Typed::default(),
    };
    vec![("postpone", page(&frame(), &view))]
}
