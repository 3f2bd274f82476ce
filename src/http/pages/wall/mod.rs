//! The wall: calls and times, readable from ten metres.

pub mod routes;

use crate::http::pages::parts::{
    frame::{self, Frame},
    signs,
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The wall page.
#[derive(Debug)]
pub struct Wall {
    /// The event.
    pub event: String,
    /// Minutes behind; why, as the organiser said.
    pub late: String,
    /// Everyone was told to stop: what the organiser says.
    pub stopped: Option<String>,
    /// The next call.
    pub next: Option<WallBout>,
    /// Those after it.
    pub later: Vec<WallBout>,
}

/// A call on the wall.
#[derive(Debug, Clone)]
pub struct WallBout {
    /// Its number.
    pub number: i32,
    /// When.
    pub call: DateTime<Utc>,
    /// Both robots with their benches.
    pub robots: [(String, Option<i32>); 2],
    /// "called", "in the arena", or nothing.
    pub state: &'static str,
}

/// The page.
pub fn page(frame: &Frame, wall: &Wall) -> Markup {
    let robot = |(name, bench): &(String, Option<i32>)| html! { (name) @if let Some(bench) = bench { small { "bench " (bench) } } };
    frame::document(
        frame,
        "Calls",
        "wallbody",
        html! {
            div.wall data-part="wall" {
                header { h1 { (wall.event) } p.late { (wall.late) } p.clock { time data-clock { (frame.clock.hm(frame.clock.now)) } } }
                main #main {
                    @if let Some(words) = &wall.stopped {
                        section.everyone role="alert" { svg.sign aria-hidden="true" { use href="#s-liveinv" {} } div { h2 { "Everyone stop." } p { (words) } } }
                    } @else if let Some(next) = &wall.next {
                        section.lead { span.hole {} div { p.lab { "Call, bout " (next.number) @if !next.state.is_empty() { ", " (next.state) } } p.t { (frame.clock.time(next.call)) } }
                            p.pair { @for (i, r) in next.robots.iter().enumerate() { @if i > 0 { br; } (robot(r)) } }
                            p.in { b { (frame.clock.left(next.call)) } } }
                    } @else { section.lead { span.hole {} p.pair { "No call is due" } } }
                    table { thead { tr { th scope="col" { "Call" } th scope="col" { "Bout" } th scope="col" { "Robots" } th.a scope="col" { "" } } }
                        tbody { @for bout in &wall.later { tr {
                            td.t { (frame.clock.time(bout.call)) } th.b scope="row" { (bout.number) }
                            td.r { (robot(&bout.robots[0])) " v " (robot(&bout.robots[1])) }
                            td.a { @if bout.state.is_empty() { (frame.clock.left(bout.call)) } @else { (bout.state) } }
                        } } } }
                }
                footer { p { "Be in the arena queue by your call, link out, its holder known." } p { (signs::Sign::Must.beside_word()) " The marshal’s word comes first." } }
            }
        },
    )
}

/// The wall in the afternoon, and when everyone must stop.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use crate::http::pages::samples::{at, frame};
    let bout = |number, minutes, one: &str, two: &str| WallBout {
        number,
        call: at(minutes),
        robots: [(one.into(), Some(14)), (two.into(), Some(22))],
        state: "",
    };
    let wall = |stopped: Option<&str>| Wall {
        event: "Ropewalk Hall".into(),
        late: "7 min late".into(),
        stopped: stopped.map(str::to_owned),
        next: Some(bout(16, 16, "Amber Shrike", "Tin Plover")),
        later: vec![
            bout(17, 31, "Pewter <Finch>", "Copper Newt"),
            bout(18, 41, "Flint Magpie", "Chalk Adder"),
            bout(19, 51, "Brass Heron", "Rust Hare"),
        ],
    };
    vec![
        ("wall", page(&frame(), &wall(None))),
        (
            "wall-stop",
            page(&frame(), &wall(Some("Stand where you are."))),
        ),
    ]
}
