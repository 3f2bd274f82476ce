//! The stations: who is next, one keypad for the result, and the queue behind it.

pub mod bench;
pub mod gas_bay;
pub mod results;
pub mod routes;
#[cfg(test)]
pub mod samples;
pub mod view;
pub mod work;

use super::bench::{LogLine, log_line};
use super::parts::{
    fields::{self, Chip, Typed},
    frame::{self, Frame, Tag},
    robot_row::tally,
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};
use work::Work;

/// The page of one station.
#[derive(Debug)]
pub struct StationPage {
    /// What it is called.
    pub name: &'static str,
    /// "3 in the queue, about 4 min each".
    pub sub: String,
    /// Where its steps and results are posted, without what follows.
    pub address: String,
    /// Whoever is served or next, each with a keypad; for the people of the station.
    pub in_hand: Vec<InHand>,
    /// Everybody in the queue.
    pub queue: Vec<Waiting>,
    /// The reader's own robots that may join.
    pub join: Vec<Join>,
    /// Robots that the station can put into its queue.
    pub add: Vec<Chip>,
    /// The reader works at the station.
    pub serves: bool,
    /// Machines that are inside, where only one may be live.
    pub inside: Vec<Inside>,
    /// The air there; at the gas bay.
    pub air: Option<gas_bay::Air>,
    /// Its last results.
    pub results: Vec<LogLine>,
    /// What came back.
    pub typed: Typed,
}

/// Whoever is served or next.
#[derive(Debug)]
pub struct InHand {
    /// The robot's id.
    pub robot: String,
    /// Its name.
    pub name: String,
    /// Its bench.
    pub bench: Option<i32>,
    /// "being served for 3 min", "waits for 6 min, is there".
    pub state: String,
    /// It is being served.
    pub served: bool,
    /// The keypad.
    pub work: Work,
}

/// A robot in the queue.
#[derive(Debug, Clone)]
pub struct Waiting {
    /// Its place.
    pub place: usize,
    /// Its id.
    pub robot: String,
    /// Its name.
    pub name: String,
    /// Its bench.
    pub bench: Option<i32>,
    /// "being served", "next, its bottle is there".
    pub state: String,
    /// When it is likely to be served.
    pub starts: DateTime<Utc>,
    /// It is being served already.
    pub served: bool,
    /// The station said that it is next.
    pub next: bool,
    /// It is the reader's.
    pub own: bool,
}

/// A robot of the reader that does not wait here.
#[derive(Debug, Clone)]
pub struct Join {
    /// Its id.
    pub robot: String,
    /// Its name.
    pub name: String,
    /// When it is likely to be served if it asks now.
    pub starts: DateTime<Utc>,
}

/// A machine inside an area where only one may be live.
#[derive(Debug, Clone)]
pub struct Inside {
    /// Its name.
    pub name: String,
    /// "link in, seen by Gil".
    pub state: String,
    /// Its link is not known to be out.
    pub may_be_live: bool,
}

/// Every station, with its queue in a few words.
#[derive(Debug)]
pub struct Overview {
    /// Them.
    pub stations: Vec<Short>,
}

/// A station in the list.
#[derive(Debug, Clone)]
pub struct Short {
    /// What it is called.
    pub name: &'static str,
    /// Its page.
    pub href: String,
    /// "2 waiting", "nobody waits".
    pub queue: String,
    /// "Pewter Finch is second, about 14:20".
    pub own: Vec<String>,
}

/// Every station.
pub fn overview(frame: &Frame, view: &Overview) -> Markup {
    let tag = Tag {
        name: "Stations".into(),
        sub: String::new(),
        bench: None,
        href: None,
    };
    frame::phone(
        frame,
        "Stations",
        &tag,
        html! {
            section.panel data-part="stations" { h2 { "Who waits where" }
                ul.rows { @for station in &view.stations { li {
                    div { b { (station.name) } br; span.meta { (station.queue) }
                        @for own in &station.own { br; (own) } }
                    a.btn.small.soft href=(station.href) aria-label=(format!("Open: {}", station.name)) { "Open" }
                } } }
            }
        },
    )
}

/// One station.
pub fn page(frame: &Frame, view: &StationPage) -> Markup {
    let tag = Tag {
        name: view.name.into(),
        sub: view.sub.clone(),
        bench: None,
        href: None,
    };
    frame::phone(
        frame,
        view.name,
        &tag,
        html! {
            (view.typed.summary())
            (inside(view))
            @for hand in &view.in_hand { (in_hand(frame, view, hand)) }
            (queue(frame, view))
            (join(frame, view))
            @if view.serves && !view.add.is_empty() {
                section.panel { h2 { "Somebody came without asking" }
                    (fields::post(frame, &format!("{}/steps", view.address), "stacked", html! {
                        input type="hidden" name="step" value="asked";
                        (fields::select("robot", "Robot", "", "", &view.add, &Typed::default()))
                        button.btn { "Put into the queue" }
                    }))
                }
            }
            @if let Some(air) = &view.air { (gas_bay::panel(frame, air, &view.typed)) }
            @if !view.results.is_empty() {
                section.panel data-part="results" { h2 { "Last results" }
                    ul.rows.log { @for line in &view.results { (log_line(&frame.clock, line)) } } }
            }
            a.btn.soft href=(format!("{}/stations", frame.base)) { "All stations" }
        },
    )
}

/// One machine is live at a time: the others inside are told by name.
fn inside(view: &StationPage) -> Markup {
    let live = view.inside.iter().filter(|one| one.may_be_live).count();
    html! {
        @if !view.inside.is_empty() {
            section.panel data-part="inside" {
                h2 { "Inside " span.meta { (view.inside.len()) } }
                @if live > 1 { p { b { "More than one may be live in here. Nobody goes in; the marshal says which is made safe first." } } }
                ul.rows { @for one in &view.inside { li { div { b { (one.name) } br; span.meta { (one.state) } } } } }
            }
        }
    }
}

fn in_hand(frame: &Frame, view: &StationPage, hand: &InHand) -> Markup {
    let steps = format!("{}/steps", view.address);
    let step = |step: &str, label: &str| {
        fields::post(
            frame,
            &steps,
            "grow",
            html! {
                input type="hidden" name="robot" value=(hand.robot);
                input type="hidden" name="step" value=(step);
                button.btn.small.soft aria-label=(format!("{label}: {}", hand.name)) { (label) }
            },
        )
    };
    // What was typed is for the robot it was typed for.
    let blank = Typed::default();
    let typed = if view.typed.or("robot", "") == hand.robot {
        &view.typed
    } else {
        &blank
    };
    html! {
        section.panel.next.station data-part="in-hand" {
            h2 { span { (hand.name) @if let Some(bench) = hand.bench { " " span.vh { "bench" } (tally(bench)) } } span.meta { (hand.state) } }
            (work::keypad(frame, &view.address, hand, typed))
            div.row.wraprow {
                @if !hand.served { (step("serving", "Being served")) }
                @if hand.served { (step("served", "Done, no result")) }
                (step("left", "Not here"))
            }
        }
    }
}

fn queue(frame: &Frame, view: &StationPage) -> Markup {
    html! {
        section.panel data-part="queue" { h2 { "Queue " span.meta { (view.queue.len()) } }
            @if view.queue.is_empty() { p.intro { "Nobody waits." } }
            ul.rows.places { @for one in &view.queue { li {
                span.num { (one.place) }
                div { b { (one.name) } @if let Some(bench) = one.bench { " " span.vh { "bench" } (tally(bench)) }
                    span.meta { (one.state) @if !one.served { ", about " (frame.clock.time(one.starts)) } } }
                div.acts {
                    @if view.serves && !one.served && !one.next && one.place > 1 {
                        (short_step(frame, view, one, "next", "Next"))
                    }
                    @if one.own && !view.serves && !one.served { (short_step(frame, view, one, "left", "Leave")) }
                }
            } } }
        }
    }
}

fn short_step(frame: &Frame, view: &StationPage, one: &Waiting, step: &str, label: &str) -> Markup {
    fields::post(
        frame,
        &format!("{}/steps", view.address),
        "",
        html! {
            input type="hidden" name="robot" value=(one.robot);
            input type="hidden" name="step" value=(step);
            button.btn.small.soft aria-label=(format!("{label}: {}", one.name)) { (label) }
        },
    )
}

fn join(frame: &Frame, view: &StationPage) -> Markup {
    html! {
        @if !view.join.is_empty() {
            section.panel data-part="join" { h2 { "Join the queue" }
                @for own in &view.join {
                    (fields::post(frame, &format!("{}/steps", view.address), "", html! {
                        input type="hidden" name="robot" value=(own.robot);
                        input type="hidden" name="step" value="asked";
                        button.btn.big.solid { span { "Queue " (own.name) small { "served about " (frame.clock.time(own.starts)) } } }
                    }))
                }
            }
        }
    }
}
