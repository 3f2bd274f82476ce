//! The spares pages: what runs out today, a part, what to pack, lists to print.

pub mod csv;
pub mod lists;
pub mod packing;
pub mod part;
pub mod routes;

use super::parts::{
    fields,
    frame::{self, Frame, Tag},
};
use maud::{Markup, html};

/// A team's spares.
#[derive(Debug)]
pub struct Spares {
    /// The team.
    pub team: String,
    /// The address of the team's spares, without a question mark.
    pub base: String,
    /// Which team, for those who see several: "?team=..".
    pub which: String,
    /// Chance that nothing runs out, in words; none if no part sits on a robot.
    pub chance: Option<String>,
    /// What that chance rests on.
    pub because: String,
    /// The part most likely to run out.
    pub weakest: Option<String>,
    /// The parts, most likely to run out first.
    pub rows: Vec<Row>,
    /// What to get now, greatest gain first.
    pub gains: Vec<Gain>,
    /// Where parts are entered; none for crew.
    pub register: Option<String>,
}

/// A type of part.
#[derive(Debug, Clone)]
pub struct Row {
    /// Its page.
    pub href: String,
    /// What people call it.
    pub label: String,
    /// Where it is, and what else there is of it.
    pub detail: String,
    /// Spares one can rely on.
    pub ready: i32,
    /// Chance that they are enough, in words.
    pub enough: String,
    /// Something somebody has to do about it: count it, or it is wanted now.
    pub note: String,
}

/// What one more of a part would add.
#[derive(Debug, Clone)]
pub struct Gain {
    /// What.
    pub label: String,
    /// "adds 4 in 100".
    pub adds: String,
    /// Its price, where known.
    pub price: String,
}

/// The page.
pub fn page(frame: &Frame, view: &Spares) -> Markup {
    let tag = Tag {
        name: "Spares".to_owned(),
        sub: view.team.clone(),
        bench: None,
        href: None,
    };
    let (base, which) = (&view.base, &view.which);
    frame::phone(
        frame,
        "Spares",
        &tag,
        html! {
            section.panel data-part="box" {
                @match &view.chance {
                    Some(chance) => {
                        p.meta { "Nothing runs out for the rest of the day" }
                        p.big.num { (chance) }
                        @if let Some(weakest) = &view.weakest { p { "First to run out: " b { (weakest) } } }
                    }
                    None => p { "No part sits on a robot of this team yet: enter what is fitted, and the odds stand here." }
                }
                p.meta { (view.because) }
            }
            @if !view.gains.is_empty() { section.panel data-part="gains" { h2 { "What to get now" }
                ul.rows { @for gain in &view.gains { li {
                    div { b { (gain.label) } br; span.meta { (gain.price) } }
                    span.num { (gain.adds) }
                } } }
            } }
            section.panel data-part="parts" { h2 { "In the box" }
                @if view.rows.is_empty() { p.intro { "No part type entered yet." } }
                @else { table.tbl.stock { thead { tr { th scope="col" { "Part" } th.r scope="col" { "Ready" } th.r scope="col" { "Enough, in 100 days" } } }
                    tbody { @for row in &view.rows { tr {
                        th scope="row" { a.btn.small.soft href=(row.href) { (row.label) }
                            @if !row.detail.is_empty() { small { (row.detail) } }
                            @if !row.note.is_empty() { small { b { (row.note) } } } }
                        td.r.num { (row.ready) }
                        td.r.num { (row.enough) }
                    } } }
                } }
            }
            nav.ways aria-label="More about spares" {
                a.btn.soft href={ (base) "/packing" (which) } { "Pack for the next event" }
                a.btn.soft href={ (base) "/lists" (which) } { "Shopping and loan lists" }
                a.btn.soft href={ (base) "/csv" (which) } { "As a table, in and out" }
                @if let Some(href) = &view.register { a.btn.soft href=(href) { "Enter a part type" } }
            }
        },
    )
}

/// A chance as people say it: whole hundredths, never a certainty that is none.
pub fn in_100(chance: f64) -> String {
    let hundredths = (chance * 100.0).round();
    if chance >= 1.0 {
        "certain".to_owned()
    } else if hundredths >= 100.0 {
        "over 99 in 100".to_owned()
    } else if hundredths < 1.0 {
        "under 1 in 100".to_owned()
    } else {
        format!("{hundredths:.0} in 100")
    }
}

/// A chance as a number of hundredths, where its column says so.
pub fn hundredths(chance: f64) -> String {
    match in_100(chance).strip_suffix(" in 100") {
        Some(number) => number.to_owned(),
        None => "100".to_owned(),
    }
}

/// A price in whole coins of the event's currency.
pub fn price(minor: u64, currency: &str) -> String {
    format!("{}.{:02} {currency}", minor / 100, minor % 100)
        .trim_end()
        .to_owned()
}

/// One button that records one change of stock.
pub fn tap(frame: &Frame, action: &str, label: &str, values: &[(&str, &str)]) -> Markup {
    fields::post(
        frame,
        action,
        "grow",
        html! {
            @for (name, value) in values { input type="hidden" name=(name) value=(value); }
            button.btn { (label) }
        },
    )
}

/// A box, and an empty one.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::frame;
    let mut view = Spares {
        team: "Quayside <Shed>".into(),
        base: "/e/1/spares".into(),
        which: String::new(),
        chance: Some("92 in 100".into()),
        because: "By 14 bouts watched; two robots share the box.".into(),
        weakest: Some("Fire valve".into()),
        rows: vec![Row {
            href: "/e/1/spares/1".into(),
            label: "Fire valve".into(),
            detail: "box 2; 1 in repair".into(),
            ready: 1,
            enough: "95 in 100".into(),
            note: "1 wanted now".into(),
        }],
        gains: vec![Gain {
            label: "Fire valve".into(),
            adds: "adds 4 in 100".into(),
            price: "42.00 GBP".into(),
        }],
        register: Some("/e/1/register".into()),
    };
    let full = page(&frame(), &view);
    view.rows.clear();
    view.gains.clear();
    view.chance = None;
    vec![("spares", full), ("spares-empty", page(&frame(), &view))]
}
