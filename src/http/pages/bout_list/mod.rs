//! Bouts by list: pasted, looked at, entered together; and everybody against everybody as an offer.

pub mod routes;

use super::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use maud::{Markup, html};

/// The page.
#[derive(Debug)]
pub struct BoutList {
    /// What it is about.
    pub tag: Tag,
    /// Where the list is looked at and entered.
    pub action: String,
    /// What would be entered, if the list can be read: number, call, corners, new or changed.
    pub preview: Option<Vec<Row>>,
    /// Robots that can meet each other.
    pub robots: Vec<Chip>,
    /// What came back.
    pub typed: Typed,
}

/// A bout as it would be entered.
#[derive(Debug, Clone)]
pub struct Row {
    /// Its number.
    pub number: i32,
    /// Its call.
    pub call: String,
    /// Its corners.
    pub corners: String,
    /// It changes a bout that is entered already.
    pub changes: bool,
}

/// The page.
pub fn page(frame: &Frame, view: &BoutList) -> Markup {
    let text = view.typed.or("list", "");
    frame::phone(
        frame,
        "Bouts by list",
        &view.tag,
        html! {
            @if !view.typed.is_sound() { div.panel.faults role="alert" tabindex="-1" autofocus { h2 { "Nothing was entered" }
                ul.plainlist { @for fault in view.typed.faults.values() { @for line in fault.split('\n') { li { (line) } } } } } }
            @if let Some(rows) = &view.preview {
                section.panel { h2 { (rows.len()) " bouts would be entered" }
                    ul.rows { @for row in rows { li { div { b { (row.number) } " at " b.num { (row.call) } " " (row.corners) @if row.changes { br; span.meta { "changes the bout that is there" } } } } } }
                    (fields::post_now(frame, &view.action, "stacked", html! {
                        input type="hidden" name="list" value=(text);
                        button.btn.big.solid name="do" value="enter" { "Enter these " (rows.len()) }
                    }))
                }
            }
            (fields::post_now(frame, &view.action, "panel stackform", html! {
                h2 { "Paste a list" }
                div.field { label for="list" { "number, call, one, other, fixed" }
                    textarea id="list" name="list" rows="8" spellcheck="false" { (text) }
                    p.meta { "One bout a line, commas, semicolons or tabs between. A call is 14:05, or 2027-01-15 14:05. A corner is a robot’s name, “winner of 12” or “loser of 12”. A number that is there already is changed." } }
                button.btn.big { "Look at it" }
            }))
            (fields::post_now(frame, &format!("{}/everybody", view.action), "panel stackform", html! {
                h2 { "Everybody against everybody" }
                p.intro { "An order in which nobody fights again before as many other bouts as can be promised to all." }
                fieldset { legend.lab-h { "Robots" } div.chips { @for robot in &view.robots {
                    label { input type="checkbox" name="robot" value=(robot.value); span { (robot.label) } }
                } } }
                (Text { hint: "The hall’s time, such as 14:05.", required: true, ..Text::new("first", "First call") }.show(&view.typed))
                (Text { kind: "number", value: "10", unit: "min", required: true, ..Text::new("every", "Minutes between calls") }.show(&view.typed))
                button.btn { "Write the list" }
            }))
        },
    )
}

/// Empty, with a preview, and with faults.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::frame;
    let view = |preview, typed| BoutList {
        tag: Tag {
            name: "Bouts by list".into(),
            sub: "Ropewalk <Shed>".into(),
            bench: None,
            href: None,
        },
        action: "/e/1/bout-list".into(),
        preview,
        robots: vec![Chip::new("1", "Pewter <Finch>")],
        typed,
    };
    let row = Row {
        number: 17,
        call: "14:40".into(),
        corners: "Pewter <Finch> v winner of 12".into(),
        changes: true,
    };
    let mut typed = Typed::default();
    let fault = "Line 1, call: ‘<i>’ is no time.\nLine 2, one: there is no robot.";
    typed.faults.insert(String::new(), fault.into());
    typed.values.insert("list".into(), "17,<i>,A,B".into());
    vec![
        ("bout-list", page(&frame(), &view(None, Typed::default()))),
        (
            "bout-list-preview",
            page(&frame(), &view(Some(vec![row]), Typed::default())),
        ),
        ("bout-list-faults", page(&frame(), &view(None, typed))),
    ]
}
