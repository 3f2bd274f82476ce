//! Several things at once: a line of text or a list of names, looked at before it is entered.

mod phrase;
pub mod routes;

use super::Field;
use crate::http::pages::parts::{
    fields::{self, Typed},
    frame::{self, Frame, Tag},
};
use maud::{Markup, html};

/// A page to enter several things.
#[derive(Debug)]
pub struct Several {
    /// Of what.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// Its fields.
    pub fields: Vec<Field>,
    /// What it will make: name and detail.
    pub made: Vec<(String, String)>,
    /// What came back.
    pub typed: Typed,
}

/// The page.
pub fn page(frame: &Frame, view: &Several) -> Markup {
    let looked = !view.made.is_empty();
    frame::sheet(
        frame,
        &format!("{}: {}", view.tag.name, view.tag.sub),
        &view.tag,
        &view.back,
        html! {
            (fields::post_now(frame, &view.action, "sheetform", html! {
                main.wrap #main {
                    (view.typed.summary())
                    @if looked { section.panel { h2 { "This will be entered" span.meta { (view.made.len()) } }
                        ul.rows { @for (name, detail) in &view.made { li { div { b { (name) } @if !detail.is_empty() { br; span.meta { (detail) } } } } } }
                        p.meta { "All of them or none." } } }
                    section.panel.stackform { @for one in &view.fields { (super::field(one, &view.typed)) } }
                }
                footer.sheetfoot {
                    @if looked {
                        button.btn.big.solid name="step" value="enter" { "Enter these " (view.made.len()) }
                        div.row { button.btn.soft.grow name="step" value="look" { "Look again" } a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) }
                    } @else {
                        button.btn.big.solid name="step" value="look" { "Look at what it makes" }
                        div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) }
                    }
                }
            }))
        },
    )
}
