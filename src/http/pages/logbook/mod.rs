//! The logbook: every line, filtered, one robot followed.

pub mod routes;

use super::{
    bench::{self, LogLine},
    parts::{
        fields::{self, Chip, Typed},
        frame::{self, Frame, Tag},
    },
};
use maud::{Markup, html};

/// The logbook page.
#[derive(Debug)]
pub struct Logbook {
    /// "everything", or the robot followed.
    pub of: String,
    /// Robots to follow.
    pub robots: Vec<Chip>,
    /// The one followed; empty for all.
    pub robot: String,
    /// Kinds of line to show.
    pub kinds: Vec<Chip>,
    /// The one shown; empty for all.
    pub kind: String,
    /// The lines, newest first, each under its day where that changes.
    pub lines: Vec<(Option<String>, LogLine)>,
    /// Older lines.
    pub older: Option<String>,
}

/// The page.
pub fn page(frame: &Frame, view: &Logbook) -> Markup {
    let tag = Tag {
        name: "Logbook".into(),
        sub: view.of.clone(),
        bench: None,
        href: None,
    };
    let none = Typed::default();
    frame::phone(
        frame,
        "Logbook",
        &tag,
        html! {
            form.panel.stackform method="get" {
                (fields::select("robot", "Follow", &view.robot, "everything", &view.robots, &none))
                (fields::select("kind", "Lines about", &view.kind, "anything", &view.kinds, &none))
                button.btn { "Show" }
            }
            section.panel data-part="lines" {
                @if view.lines.is_empty() { p.intro { "No line fits." } }
                ul.rows.log { @for (day, line) in &view.lines {
                    @if let Some(day) = day { li.day { b { (day) } } }
                    (bench::log_line(&frame.clock, line))
                } }
            }
            @if let Some(older) = &view.older { a.btn.soft href=(older) { "Older lines" } }
        },
    )
}

/// A logbook of two lines.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::{at, frame};
    let line = LogLine {
        at: at(-4),
        who: "Ben".into(),
        how: Some("saw"),
        what: "link <out>, in Ben’s hand".into(),
        fate: Some("put right"),
        put_right: None,
    };
    vec![(
        "logbook",
        page(
            &frame(),
            &Logbook {
                of: "Pewter Finch".into(),
                robots: vec![Chip::new("1", "Pewter Finch")],
                robot: "1".into(),
                kinds: vec![Chip::new("link", "link")],
                kind: String::new(),
                lines: vec![
                    (Some("Sat 28 Nov".into()), line.clone()),
                    (
                        None,
                        LogLine {
                            fate: None,
                            put_right: Some("/e/1/lines/1".into()),
                            ..line
                        },
                    ),
                ],
                older: Some("/e/1/logbook?before=2".into()),
            },
        ),
    )]
}
