//! Packs: a team's packs and sets, one pack with its history, one set with its arithmetic, labels.

pub mod label;
pub mod pack;
pub mod routes;
#[cfg(test)]
pub mod samples;
pub mod set;
pub mod view;

use super::parts::{
    frame::{self, Frame, Tag},
    robot_row::tally,
    signs::Sign,
};
use maud::{Markup, html};

/// A team's packs.
#[derive(Debug)]
pub struct PacksPage {
    /// The team, or "of which team?".
    pub sub: String,
    /// Where to go back to.
    pub back: Option<String>,
    /// Packs that somebody found wrong.
    pub aside: Vec<Aside>,
    /// Its sets.
    pub sets: Vec<SetRow>,
    /// Its packs, those that stand against something first.
    pub packs: Vec<PackRow>,
    /// What each pack needs for the night, once the team has no bout to come: name and words.
    pub night: Vec<(String, String)>,
    /// Its charging table; none if it has no channel.
    pub charging: Option<String>,
    /// The labels of all of them, to print.
    pub labels: Option<String>,
    /// Teams to choose from, for those who see several: name and address.
    pub teams: Vec<(String, String)>,
    /// What the event says about a burning pack.
    pub burning: Option<String>,
}

/// A pack that somebody found wrong.
#[derive(Debug, Clone)]
pub struct Aside {
    /// What is written on it.
    pub label: String,
    /// Its page.
    pub href: String,
    /// "swollen, seen by Ana, 13:51".
    pub found: String,
    /// Where it is, who watches it.
    pub place: String,
    /// What still ends it.
    pub still: String,
}

/// A set in the list.
#[derive(Debug, Clone)]
pub struct SetRow {
    /// What it is called.
    pub label: String,
    /// Its page.
    pub href: String,
    /// The robot it is for, and its packs.
    pub of: String,
    /// What it holds, whether it serves, what stands against it.
    pub detail: String,
    /// "14:44" if it is on charge.
    pub ready: String,
    /// The keypad for its cells; none for those who enter nothing about it.
    pub keypad: Option<String>,
}

/// A pack in the list.
#[derive(Debug, Clone)]
pub struct PackRow {
    /// What is written on it.
    pub label: String,
    /// Its page.
    pub href: String,
    /// Where it is, on which channel.
    pub state: String,
    /// When it is ready or cool; what stands against it.
    pub notes: Vec<String>,
    /// "62 to 74 %".
    pub holds: String,
    /// What that rests on.
    pub basis: String,
    /// "3.71 V low".
    pub low: String,
}

/// The page of a team.
pub fn page(frame: &Frame, view: &PacksPage) -> Markup {
    let tag = Tag {
        name: "Packs".into(),
        sub: view.sub.clone(),
        bench: None,
        href: view.back.clone(),
    };
    frame::phone(
        frame,
        "Packs",
        &tag,
        html! {
            @if !view.teams.is_empty() { section.panel data-part="teams" { h2 { "Teams" }
                ul.rows { @for (name, href) in &view.teams { li { a.btn.soft href=(href) { (name) } } } } } }
            @else if view.packs.is_empty() { p.panel { "No pack entered yet." } }
            @if !view.aside.is_empty() { section.panel data-part="aside" { h2 { "Found wrong" }
                ul.rows.packrows { @for one in &view.aside { li {
                    div { a.rname href=(one.href) { (tally(&one.label)) } b { (one.found) }
                        span.meta { (one.place) } span { (one.still) } }
                    (Sign::Must.beside_word())
                } } } } }
            @if !view.sets.is_empty() { section.panel data-part="sets" { h2 { "Sets" }
                ul.rows.packrows { @for set in &view.sets { li {
                    div { a.rname href=(set.href) { (tally(&set.label)) } span.meta { (set.of) } span { (set.detail) } }
                    span.gain { @if !set.ready.is_empty() { span.num { (set.ready) } span.meta { "ready" } }
                        @if let Some(keypad) = &set.keypad { a.btn.small.soft href=(keypad) aria-label=(format!("Cell volts of {}", set.label)) { "Volts" } } }
                } } } } }
            @if !view.packs.is_empty() { section.panel data-part="packs" { h2 { "Packs" span.meta { "what each holds" } }
                ul.rows.packrows { @for pack in &view.packs { li {
                    div { a.rname href=(pack.href) { (tally(&pack.label)) } span.meta { (pack.state) }
                        @for note in &pack.notes { span { (note) } }
                        @if !pack.basis.is_empty() { span.meta { (pack.basis) } } }
                    span.gain { span.num { (pack.holds) } span.meta { (pack.low) } }
                } } } } }
            @if !view.night.is_empty() { section.panel data-part="night" { h2 { "For the night" span.meta { "no bout to come" } }
                p.intro { "Packs are kept about half full and apart from each other, and nothing is left charging. Somebody watches while they are brought there." }
                ul.rows { @for (label, words) in &view.night { li { div { (tally(label)) " " (words) } } } } } }
            @if let Some(charging) = &view.charging { a.btn href=(charging) { "Charging table" } }
            @if let Some(labels) = &view.labels { a.btn.soft href=(labels) { "Labels to print" } }
            (caution(view.burning.as_deref()))
        },
    )
}

/// Stands on everything that charges or handles packs.
pub fn caution(burning: Option<&str>) -> Markup {
    html! {
        p.caution data-part="lithium" { (Sign::Must.beside_word()) span {
            "Never charge unwatched or inside the machine. A pack that is puffed, hot, dented or smells goes outside, away from everything else. Smoke: shout, get away, mains off if you can reach it safely. "
            @if let Some(words) = burning { "The event about a burning pack: " (words) " " }
            "The event’s rules and the fire lead come first; what a pack holds here is an estimate."
        } }
    }
}
