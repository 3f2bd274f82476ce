//! Numbers: cell volts of a set, mass of a bottle or a machine.

pub mod routes;

use crate::http::pages::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use maud::{Markup, html};

/// A page of numbers.
#[derive(Debug)]
pub struct Keypad {
    /// What it is about.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// The numbers, in groups: packs of a set.
    pub groups: Vec<Group>,
    /// What was done, where that has to be said: filled, weighed.
    pub did: Vec<Chip>,
    /// The button.
    pub button: String,
    /// A caution of its own.
    pub caution: &'static str,
    /// What came back.
    pub typed: Typed,
}

/// Numbers that belong together.
#[derive(Debug)]
pub struct Group {
    /// Their title.
    pub title: String,
    /// A line below.
    pub detail: String,
    /// Name, label, value as last entered.
    pub numbers: Vec<(String, String, String)>,
    /// Their unit.
    pub unit: &'static str,
}

/// The page.
pub fn page(frame: &Frame, view: &Keypad) -> Markup {
    frame::sheet(
        frame,
        &format!("{}: {}", view.tag.name, view.tag.sub),
        &view.tag,
        &view.back,
        html! {
            (fields::post(frame, &view.action, "sheetform", html! {
                main.wrap #main {
                    (view.typed.summary())
                    @for group in &view.groups { section.panel { h2 { (group.title) @if !group.detail.is_empty() { span.meta { (group.detail) } } }
                        div.numbers { @for (name, label, last) in &group.numbers {
                            (Text { kind: "number", unit: group.unit, value: last, required: true, ..Text::new(name, label) }.show(&view.typed))
                        } }
                    } }
                    @if !view.did.is_empty() { div.panel { (fields::chips("did", "What was done", &view.did[0].value, &view.did, &view.typed)) } }
                    @if !view.caution.is_empty() { p.meta { (view.caution) } }
                    (frame::caution())
                }
                footer.sheetfoot { button.btn.big.solid { (view.button) } div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

/// Volts of a set.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    let mut typed = Typed::default();
    typed.values.insert("cell-2".into(), "42".into());
    typed
        .faults
        .insert("cell-2".into(), "42 V is not from 0 to 5 V.".into());
    vec![(
        "volts",
        page(
            &crate::http::pages::samples::frame(),
            &Keypad {
                tag: Tag {
                    name: "Set <A>".into(),
                    sub: "volts of every cell".into(),
                    bench: None,
                    href: None,
                },
                back: "/e/1/team".into(),
                action: "/e/1/sets/1/volts".into(),
                groups: vec![Group {
                    title: "A1".into(),
                    detail: "6 cells".into(),
                    numbers: (1..=6)
                        .map(|n| (format!("cell-{n}"), format!("Cell {n}"), "4.18".into()))
                        .collect(),
                    unit: "V",
                }],
                did: vec![Chip::new("", "Measured")],
                button: "Measured".into(),
                caution: "A pack that is puffed, hot, dented or smells goes outside.",
                typed,
            },
        ),
    )]
}
