//! Numbers: cell volts of a set, mass of a bottle or a supply cylinder.

pub mod gas;
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
    /// Numbers that may be left out, folded away.
    pub asides: Vec<Group>,
    /// What the numbers are held against: where to stop, what was last, how that compares.
    pub marks: Vec<(&'static str, String)>,
    /// Why the advice is not to do it.
    pub advice: Vec<String>,
    /// What was done, where that has to be said: filled, weighed.
    pub did: Vec<Chip>,
    /// A count that may go with it: name, label, a line that helps.
    pub counted: Option<(&'static str, &'static str, &'static str)>,
    /// What it may name besides.
    pub offered: Option<Offered>,
    /// The button.
    pub button: String,
    /// A caution of its own.
    pub caution: &'static str,
    /// What came back.
    pub typed: Typed,
}

/// One of several things that may be named.
#[derive(Debug)]
pub struct Offered {
    /// The field.
    pub name: &'static str,
    /// What is asked.
    pub legend: &'static str,
    /// What there is.
    pub chips: Vec<Chip>,
}

impl Offered {
    /// Asks only where there is a choice.
    pub fn of(name: &'static str, legend: &'static str, chips: Vec<Chip>) -> Option<Self> {
        (!chips.is_empty()).then_some(Self {
            name,
            legend,
            chips,
        })
    }
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
                    @if !view.marks.is_empty() { section.panel data-part="marks" {
                        dl.facts { @for (name, value) in &view.marks { dt { (name) } dd { (value) } } }
                        @if !view.advice.is_empty() { div.notfill { b { "Advice: do not fill" } ul { @for reason in &view.advice { li { (reason) } } } } }
                    } }
                    @for group in &view.groups { section.panel { h2 { (group.title) @if !group.detail.is_empty() { span.meta { (group.detail) } } }
                        div.numbers { @for (name, label, last) in &group.numbers {
                            (Text { kind: "number", unit: group.unit, value: last, required: true, ..Text::new(name, label) }.show(&view.typed))
                        } }
                    } }
                    @if !view.asides.is_empty() { details.act open[faulty(view)] { summary.btn.soft { (aside_names(view)) }
                        @for group in &view.asides { section.panel { h2 { (group.title) @if !group.detail.is_empty() { span.meta { (group.detail) } } }
                            div.numbers { @for (name, label, last) in &group.numbers {
                                (Text { kind: "number", unit: group.unit, value: last, ..Text::new(name, label) }.show(&view.typed))
                            } }
                        } }
                    } }
                    @if !view.did.is_empty() { div.panel { (fields::chips("did", "What was done", &view.did[0].value, &view.did, &view.typed)) } }
                    @if view.counted.is_some() || view.offered.is_some() { div.panel.stackform {
                        @if let Some((name, label, hint)) = view.counted { (Text { kind: "number", hint, ..Text::new(name, label) }.show(&view.typed)) }
                        @if let Some(offered) = &view.offered { (fields::chips(offered.name, offered.legend, "", &offered.chips, &view.typed)) }
                    } }
                    @if !view.caution.is_empty() { p.meta { (view.caution) } }
                    (frame::caution())
                }
                footer.sheetfoot { button.btn.big.solid { (view.button) } div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

/// Whether something is wrong in what is folded away.
fn faulty(view: &Keypad) -> bool {
    let mut names = view.asides.iter().flat_map(|group| &group.numbers);
    names.any(|(name, ..)| view.typed.fault(name).is_some())
}

fn aside_names(view: &Keypad) -> String {
    let names: Vec<&str> = view.asides.iter().map(|group| &*group.title).collect();
    names.join(", ")
}

/// Volts of a set.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    let mut typed = Typed::default();
    typed.values.insert("cell-2".into(), "42".into());
    typed
        .faults
        .insert("cell-2".into(), "42 V is not from 0 to 5 V.".into());
    let tag = |name: &str, sub: &str| Tag {
        name: name.into(),
        sub: sub.into(),
        bench: None,
        href: None,
    };
    let volts = Keypad {
        tag: tag("Set <A>", "volts of every cell"),
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
        asides: vec![Group {
            title: "Temperature".into(),
            detail: "warmest <spot>".into(),
            numbers: vec![("warm-1".into(), "A1 <i>".into(), String::new())],
            unit: "°C",
        }],
        marks: vec![],
        advice: vec![],
        did: vec![Chip::new("", "Measured")],
        counted: None,
        offered: None,
        button: "Measured".into(),
        caution: "A pack that is puffed, hot, dented or smells goes outside.",
        typed,
    };
    let mass = Keypad {
        tag: tag("Bottle <A>", "mass on the scale"),
        back: "/e/1/team".into(),
        action: "/e/1/bottles/1/mass".into(),
        groups: vec![Group {
            title: "Gross mass".into(),
            detail: "empty 5100 g".into(),
            numbers: vec![("mass".into(), "With valve".into(), String::new())],
            unit: "g",
        }],
        asides: vec![],
        marks: vec![
            ("Stop at", "7760 g gross".into()),
            ("Last", "7300 g gross, Ana <A>, 13:51".into()),
            ("Result", "460 g below the stop".into()),
        ],
        advice: vec!["The periodic <test> was due on 2026-03-14.".into()],
        did: vec![
            Chip::new("weighed", "Weighed"),
            Chip::new("filled", "Filled"),
        ],
        counted: Some(("shots", "Shots since <then>", "Weigh it first.")),
        offered: Offered::of(
            "supply",
            "Filled from",
            vec![Chip::new("1", "Cylinder <1>")],
        ),
        button: "Enter it".into(),
        caution: "Only within the stamped fill and test date.",
        typed: Typed::default(),
    };
    let frame = crate::http::pages::samples::frame;
    vec![
        ("volts", page(&frame(), &volts)),
        ("mass", page(&frame(), &mass)),
    ]
}
