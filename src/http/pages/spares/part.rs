//! A part: how many there are, how often it fails, one tap for what happens to them.

pub mod routes;

use super::super::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use super::tap;
use maud::{Markup, html};

/// A type of part.
#[derive(Debug)]
pub struct Part {
    /// What people call it.
    pub label: String,
    /// Where it is and what it weighs.
    pub sub: String,
    /// The spares page.
    pub back: String,
    /// Where its lines are posted.
    pub action: String,
    /// How many of each state, with its word.
    pub states: Vec<(String, i32)>,
    /// More were used than there were.
    pub unaccounted: i32,
    /// The odds and what they rest on, line by line.
    pub odds: Vec<String>,
    /// Robots it fits, with what a swap does to the weight, and whether that is to be heeded.
    pub fits: Vec<(String, String, bool)>,
    /// What was entered, latest first.
    pub lines: Vec<String>,
    /// Its form in the register; none for crew.
    pub register: Option<String>,
    /// What can be counted.
    pub choices: Vec<Chip>,
    /// What came back from a form.
    pub typed: Typed,
}

/// The page.
pub fn page(frame: &Frame, part: &Part) -> Markup {
    let tag = Tag {
        name: part.label.clone(),
        sub: part.sub.clone(),
        bench: None,
        href: None,
    };
    let change = |label, values: &[(&str, &str)]| tap(frame, &part.action, label, values);
    let has = |state: &str| {
        part.states
            .iter()
            .any(|(known, n)| known == state && *n > 0)
    };
    frame::sheet(
        frame,
        &part.label,
        &tag,
        &part.back,
        html! {
            main.wrap #main data-part="main" {
                (part.typed.summary())
                section.panel data-part="shelf" { h2 { "Spares" }
                    @if part.states.is_empty() { p { "None entered." } }
                    ul.rows { @for (state, units) in &part.states { li { div { (state) } span.num { b { (units) } } } } }
                    @if part.unaccounted > 0 { p { b { (part.unaccounted) " more used than there were by what was entered: count the box." } } }
                    div.row {
                        (change("One more, new", &[("word", "came"), ("as", "new")]))
                        (change("One borrowed", &[("word", "came"), ("as", "borrowed")]))
                        @if has("in repair") { (change("One mended and tested", &[("word", "became"), ("from", "in_repair"), ("to", "tested")])) }
                        @if has("untested") { (change("One tested, works", &[("word", "became"), ("from", "untested"), ("to", "tested")])) }
                        @if has("lent") { (change("One back, not tried", &[("word", "became"), ("from", "lent"), ("to", "untested")])) }
                        @if has("borrowed") { (change("One given back", &[("word", "went"), ("as", "borrowed")])) }
                        @if has("new") { (change("One new lent", &[("word", "became"), ("from", "new"), ("to", "lent")])) }
                    }
                }
                section.panel { h2 { "Counted in the box" }
                    (fields::post(frame, &part.action, "stackform", html! {
                        input type="hidden" name="word" value="counted";
                        (fields::select("as", "Which", "new", "", &part.choices, &part.typed))
                        (Text { kind: "number", required: true, unit: "units", ..Text::new("units", "How many") }.show(&part.typed))
                        button.btn.solid { "Counted" }
                    }))
                }
                @if !part.odds.is_empty() { section.panel data-part="odds" { h2 { "How long they last" }
                    @for line in &part.odds { p { (line) } }
                } }
                @if !part.fits.is_empty() { section.panel data-part="fits" { h2 { "Fits" }
                    ul.rows { @for (robot, weight, heed) in &part.fits { li { div { (robot) br; @if *heed { b { (weight) } } @else { span.meta { (weight) } } } } } }
                } }
                @if !part.lines.is_empty() { section.panel data-part="lines" { h2 { "What was entered" }
                    ul.rows { @for line in &part.lines { li { div { (line) } } } }
                } }
                @if let Some(href) = &part.register { a.btn.soft href=(href) { "Change what is entered of it" } }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// A part with a swap that may be over the limit.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::super::samples::frame;
    vec![(
        "part",
        page(
            &frame(),
            &Part {
                label: "Fire valve <b>".into(),
                sub: "box 2, 310 g".into(),
                back: "/e/1/spares".into(),
                action: "/e/1/spares/1".into(),
                states: vec![("new".into(), 1), ("in repair".into(), 1)],
                unaccounted: 1,
                odds: vec!["Enough for the rest of the day: 95 in 100.".into()],
                fits: vec![(
                    "Pewter Finch, 1 fitted".into(),
                    "2 g over the limit".into(),
                    true,
                )],
                lines: vec!["14:02 Ana: 1 new came in".into()],
                register: Some("/e/1/register/part/1".into()),
                choices: vec![Chip::new("new", "new")],
                typed: Typed::default(),
            },
        ),
    )]
}
