//! Lists to print: what to buy, what is lent, what has to go back.

use super::super::parts::frame::{self, Frame, Tag};
use maud::{Markup, html};

/// The lists.
#[derive(Debug, Default)]
pub struct Lists {
    /// The team.
    pub team: String,
    /// The spares page.
    pub back: String,
    /// Part, units to buy, what they cost, why.
    pub shopping: Vec<(String, u32, String, String)>,
    /// Their price together.
    pub total: String,
    /// Part and units that are with somebody else.
    pub lent: Vec<(String, i32)>,
    /// Part and units that have to go back.
    pub borrowed: Vec<(String, i32)>,
}

/// The page.
pub fn page(frame: &Frame, lists: &Lists) -> Markup {
    let tag = Tag {
        name: "Lists".to_owned(),
        sub: lists.team.clone(),
        bench: None,
        href: None,
    };
    let loans = |title: &str, none: &str, rows: &[(String, i32)]| {
        html! {
            section.panel { h2 { (title) }
                @if rows.is_empty() { p { (none) } }
                ul.rows { @for (part, units) in rows { li { div { (part) } span.num { (units) } } } }
            }
        }
    };
    frame::sheet(
        frame,
        "Shopping and loan lists",
        &tag,
        &lists.back,
        html! {
            main.wrap #main data-part="main" {
                section.panel data-part="shopping" { h2 { "To buy" }
                    p.intro { "So many that each part is enough for the rest of the day in 95 days of 100." }
                    @if lists.shopping.is_empty() { p { "Nothing." } }
                    @else { table.tbl { thead { tr { th scope="col" { "Part" } th.r scope="col" { "Buy" } th.r scope="col" { "Price" } } }
                        tbody { @for (part, units, price, why) in &lists.shopping { tr {
                            th scope="row" { (part) small { (why) } } td.r.num { (units) } td.r.num { (price) }
                        } } }
                        tfoot { tr { th scope="row" { "Together" } td {} td.r.num { (lists.total) } } }
                    } }
                }
                (loans("Lent to others", "Nothing is lent.", &lists.lent))
                (loans("Borrowed, to go back", "Nothing is borrowed.", &lists.borrowed))
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// Full lists.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::super::samples::frame;
    vec![(
        "spares-lists",
        page(
            &frame(),
            &Lists {
                team: "Quayside <Shed>".into(),
                back: "/e/1/spares".into(),
                shopping: vec![(
                    "Wheel".into(),
                    2,
                    "36.00".into(),
                    "3 needed, 1 ready".into(),
                )],
                total: "36.00 GBP".into(),
                lent: vec![("Receiver".into(), 1)],
                borrowed: Vec::new(),
            },
        ),
    )]
}
