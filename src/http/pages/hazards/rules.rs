//! The thirty rules: what each watches, where it comes from, and when it is likely to be wrong.

use crate::http::pages::parts::frame::{self, Frame, Tag};
use crate::pit::hazards::matrix::{PlaceRow, WorkRow};
use maud::{Markup, html};

/// A rule as its page shows it.
#[derive(Debug, Clone)]
pub struct RulePage {
    /// `H01`.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// "Stop now".
    pub severity: &'static str,
    /// When it rises.
    pub rises: Option<String>,
    /// Who has to be exposed before it speaks.
    pub exposure: String,
    /// The condition, in the words of the rule.
    pub when: String,
    /// What to do.
    pub advise: String,
    /// What clears it.
    pub clears: String,
    /// Who clears it.
    pub clears_by: &'static str,
    /// Who is told.
    pub tell: String,
    /// When it is likely to be wrong.
    pub false_alarm: String,
    /// "published", "quoted", "common practice", "own".
    pub mark: &'static str,
    /// Sources: id and what it stands for.
    pub sources: Vec<(String, String)>,
    /// Settings of this event that change it: label and value here.
    pub settings: Vec<(String, String)>,
    /// What else there is to say.
    pub note: String,
}

fn tag(sub: &str) -> Tag {
    Tag {
        name: "Rules".into(),
        sub: sub.into(),
        bench: None,
        href: None,
    }
}

/// Every rule.
pub fn list(frame: &Frame, back: &str, rules: &[RulePage]) -> Markup {
    frame::sheet(
        frame,
        "Rules",
        &tag("what is watched"),
        back,
        html! {
            main.wrap #main {
                section.panel { p.intro { "Advice for people, never a control. The event’s rules and the marshal come first. What is unknown, old or disputed counts as live." } }
                section.panel { ul.rows { @for rule in rules { li {
                    div { b { (rule.id) " " (rule.title) } br;
                        span.meta { (rule.severity) ", " (rule.mark) @if !rule.settings.is_empty() { ", set by this event" } } }
                    a.btn.small.soft href=(format!("{}/rules/{}", frame.base, rule.id)) aria-label=(format!("Open: {} {}", rule.id, rule.title)) { "Open" }
                } } } }
                a.btn.soft href=(format!("{}/rules/matrices", frame.base)) { "What each place and work asks" }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// One rule.
pub fn one(frame: &Frame, rule: &RulePage) -> Markup {
    let fact = |label: &str, text: &str| html! { dt { (label) } dd { (text) } };
    frame::sheet(
        frame,
        &format!("{} {}", rule.id, rule.title),
        &tag(&rule.id),
        &format!("{}/rules", frame.base),
        html! {
            main.wrap #main {
                section.panel { h2 { (rule.title) }
                    dl.facts {
                        dt { "How bad" } dd { (rule.severity) @if let Some(rises) = &rule.rises { ". " (rises) } }
                        (fact("Speaks when", &rule.exposure))
                        (fact("What to do", &rule.advise))
                        (fact("Ends when", &rule.clears))
                        (fact("By", rule.clears_by))
                        (fact("Told", &rule.tell))
                        (fact("Likely wrong", &rule.false_alarm))
                        @if !rule.note.is_empty() { (fact("Note", &rule.note)) }
                    }
                }
                section.panel { h2 { "At this event" }
                    @if rule.settings.is_empty() { p.intro { "No setting of the event changes it." } }
                    dl.facts { @for (label, value) in &rule.settings { (fact(label, value)) } }
                }
                section.panel { h2 { "Where it comes from: " (rule.mark) }
                    dl.facts { @for (id, text) in &rule.sources { (fact(id, text)) } }
                    p.meta { "Condition, as written for programs: " code { (rule.when) } }
                }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// What places and kinds of work ask.
pub fn matrices(
    frame: &Frame,
    places: &[PlaceRow],
    works: &[WorkRow],
    place_name: impl Fn(&PlaceRow) -> &'static str,
) -> Markup {
    let fact =
        |label: &str, text: &str| html! { @if text != "n/a" { dt { (label) } dd { (text) } } };
    frame::sheet(
        frame,
        "What each place and work asks",
        &tag("places and work"),
        &format!("{}/rules", frame.base),
        html! {
            main.wrap #main {
                h2 { "Places" }
                @for row in places { section.panel { h3 { (place_name(row)) } dl.facts {
                    (fact("Link", &row.words.link)) (fact("Gas", &row.words.gas)) (fact("Weapon", &row.words.weapon_bar))
                    (fact("Stored energy", &row.words.stored_mechanical)) (fact("Transmitter", &row.words.transmitter))
                    (fact("Charging", &row.words.charging)) (fact("Wheels", &row.words.wheels)) (fact("Who", &row.words.who))
                } } }
                h2 { "Work" }
                @for row in works { section.panel { h3 { (row.label) } dl.facts {
                    (fact("Link", &row.words.link)) (fact("Gas", &row.words.gas)) (fact("Weapon", &row.words.restraint))
                    (fact("Transmitter", &row.words.transmitter)) (fact("Wheels clear", &row.words.wheels_clear))
                    dt { "Rules" } dd { @for rule in &row.rules { a href=(format!("{}/rules/{rule}", frame.base)) { (rule) } " " } }
                } } }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}
