//! One set: whether it serves, whether its packs match, and what they give the machine together.

use super::pack::{Fact, facts};
use crate::http::pages::bench::{LogLine, log_line};
use crate::http::pages::parts::{
    frame::{self, Frame, Tag},
    robot_row::tally,
};
use maud::{Markup, html};

/// A set.
#[derive(Debug)]
pub struct SetPage {
    /// What it is called.
    pub label: String,
    /// "for Pewter Finch".
    pub sub: String,
    /// Back to all of them.
    pub back: String,
    /// Whether it serves the next bout.
    pub serves: String,
    /// Why not, or why that is not proved.
    pub reasons: Vec<String>,
    /// What it holds, when it is ready, who watches.
    pub facts: Vec<Fact>,
    /// How its packs compare.
    pub matching: String,
    /// That stands against using them together.
    pub unmatched: bool,
    /// Its packs, string by string: name and address.
    pub strings: Vec<Vec<(String, String)>>,
    /// Cells, volts, capacity of all together; or why that cannot be said.
    pub together: Result<Vec<Fact>, Vec<String>>,
    /// What the robot's parts say to it: name, word, numbers.
    pub parts: Vec<(String, &'static str, String)>,
    /// Its keypad; none for those who enter nothing about it.
    pub keypad: Option<String>,
    /// Everything said of it, newest first.
    pub log: Vec<LogLine>,
    /// What the event says about a burning pack.
    pub burning: Option<String>,
}

/// The page.
pub fn page(frame: &Frame, view: &SetPage) -> Markup {
    let tag = Tag {
        name: if view.label.to_lowercase().contains("set") {
            view.label.clone()
        } else {
            format!("Set {}", view.label)
        },
        sub: view.sub.clone(),
        bench: None,
        href: Some(view.back.clone()),
    };
    frame::phone(
        frame,
        &tag.name.clone(),
        &tag,
        html! {
            section.panel data-part="serves" { h2 { (view.serves) }
                @if !view.reasons.is_empty() { ul.bullets { @for reason in &view.reasons { li { (reason) } } } }
                (facts(&view.facts))
                @if let Some(keypad) = &view.keypad { div.row.wraprow { a.btn.solid.grow href=(keypad) { "Cell volts" } } }
            }
            section.panel data-part="match" { h2 { "Do they match" }
                @if view.unmatched { p.fault { (view.matching) } } @else { p { (view.matching) } }
            }
            section.panel data-part="together" { h2 { "What they give together" }
                @match &view.together {
                    Ok(given) => {
                        ol.strings { @for (n, string) in (1..).zip(&view.strings) { li {
                            span.meta { @if view.strings.len() == 1 { "in series" } @else { "string " (n) ", in series" } }
                            div.row.wraprow { @for (name, href) in string { a.btn.small.soft href=(href) { (tally(name)) } } }
                        } } }
                        (facts(given))
                    }
                    Err(faults) => { ul.bullets { @for fault in faults { li { (fault) } } } }
                }
                @if !view.parts.is_empty() { table.tbl { thead { tr { th scope="col" { "Part" } th scope="col" { "Says" } } }
                    tbody { @for (name, word, detail) in &view.parts { tr { th scope="row" { (name) } td { (word) small { (detail) } } } } } } }
                @else if view.together.is_ok() { p.meta { "No voltage of the robot’s parts is entered: nothing says what they accept." } }
            }
            section.panel data-part="log" { h2 { "History" }
                @if view.log.is_empty() { p.intro { "Nothing entered yet." } }
                ul.rows.log { @for line in &view.log { (log_line(&frame.clock, line)) } } }
            (super::caution(view.burning.as_deref()))
        },
    )
}
