//! Each source of energy: what was seen, by whom, how long ago, and how much of its limit is used.

use super::{clock::iso, fields, frame::Frame, signs::Sign, verdict::limit_bar};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// One source.
#[derive(Debug, Clone)]
pub struct SourceRow {
    /// What is known about it.
    pub sign: Sign,
    /// The state in words: "Link out".
    pub state: String,
    /// A line below: "in Ben’s hand".
    pub detail: String,
    /// Who, and whether it was done or seen.
    pub by: Option<SeenBy>,
    /// When it goes stale; none where nothing does.
    pub until: Option<DateTime<Utc>>,
}

/// Who saw or did something, and when.
#[derive(Debug, Clone)]
pub struct SeenBy {
    /// Seen, not only done.
    pub saw: bool,
    /// The name.
    pub name: String,
    /// When.
    pub at: DateTime<Utc>,
}

/// The energy panel.
#[derive(Debug, Clone)]
pub struct Energy {
    /// "limit 30 min on the bench".
    pub limit: String,
    /// The sources.
    pub rows: Vec<SourceRow>,
    /// What "Looked: all as before" asserts, and where it posts; none if nothing stands to be seen again.
    pub looked: Option<Looked>,
}

/// "Looked: all as before".
#[derive(Debug, Clone)]
pub struct Looked {
    /// Where it posts.
    pub action: String,
    /// What it says was seen, for reading.
    pub asserts: String,
    /// The same as the form sends it: source and state.
    pub fields: Vec<(&'static str, String)>,
}

/// The panel.
pub fn panel(frame: &Frame, energy: &Energy) -> Markup {
    html! {
        section.panel data-part="energy" aria-labelledby="enh" {
            h2 #enh { "Energy " span.meta { (energy.limit) } }
            table.energy {
                thead { tr { th scope="col" { "Source" } th.by scope="col" { "Seen by" } th.age scope="col" { "Age" } } }
                tbody { @for row in &energy.rows { (source(frame, row)) } }
            }
            @if let Some(looked) = &energy.looked { (looked_form(frame, looked)) }
        }
    }
}

/// The button that sees everything again, with what it asserts below.
pub fn looked_form(frame: &Frame, looked: &Looked) -> Markup {
    fields::post(
        frame,
        &looked.action,
        "asserts",
        html! {
            @for (name, value) in &looked.fields { input type="hidden" name=(name) value=(value); }
            button.btn { "Looked: all as before" }
            p.meta { "Says that you saw, just now: " (looked.asserts) "." }
        },
    )
}

fn source(frame: &Frame, row: &SourceRow) -> Markup {
    let claims = row.sign == Sign::MadeSafe;
    html! {
        tr data-till=[row.until.filter(|_| claims).map(iso)] data-claims[claims] {
            th scope="row" { span.src { (row.sign.of_source()) span { b { (row.state) } @if !row.detail.is_empty() { span data-reason { (row.detail) } } } } }
            td.by { @match &row.by {
                Some(by) => { @if by.saw { span.how.saw { "saw" } } @else { span.how.did { "did" } } " " (by.name) }
                None => { "nobody" }
            } }
            td.age { @if let Some(by) = &row.by {
                span.num { (frame.clock.age(by.at)) }
                @if let Some(until) = row.until { (limit_bar(&frame.clock, by.at, until, 64)) }
            } }
        }
    }
}
