//! Labels of packs to print: scanned, each opens its pack.

use crate::http::pages::parts::frame::{self, Frame};
use maud::{Markup, PreEscaped, html};

/// Labels on a page.
#[derive(Debug)]
pub struct Labels {
    /// Where to go back to.
    pub back: String,
    /// Them.
    pub labels: Vec<Label>,
}

/// The label of a pack.
#[derive(Debug)]
pub struct Label {
    /// What is written on the pack.
    pub name: String,
    /// Its team.
    pub team: String,
    /// "6 cells, 5000 mAh, lithium polymer".
    pub kind: String,
    /// "charge with at most 10 A".
    pub charge: String,
    /// The code that opens its page, drawn.
    pub qr: PreEscaped<String>,
}

/// The labels, to print and cut out.
pub fn page(frame: &Frame, view: &Labels) -> Markup {
    frame::document(
        frame,
        "Labels",
        "cardpage",
        html! {
            p.noprint.cardhelp { "Print it, cut the labels out, and tape each flat on its pack, never round a swollen one. " a.btn href=(view.back) { "Back" } (frame::emergency_button()) }
            main.labels #main {
                h1.vh { "Labels of packs" }
                @for label in &view.labels { article.plabel {
                    figure { (label.qr) }
                    div { h2 { (label.name) } p { (label.team) } p { (label.kind) } p { (label.charge) }
                        p.small { "Puffed, hot, dented or smelling: outside, away from everything." } }
                } }
            }
        },
    )
}
