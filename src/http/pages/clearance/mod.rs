//! May this machine be armed here, now: what it rests on, what speaks against it, what the marshal
//! said. A word between people; the page says that it is no permit.

pub mod routes;
pub mod view;

use super::parts::{
    clock::Clock,
    fields,
    frame::{self, Frame, Tag},
};
use crate::pit::logbook::hall::ArmedAt;
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// The clearance of a robot at one place.
#[derive(Debug, Clone)]
pub struct Clearance {
    /// Where it is to be armed.
    pub place: ArmedAt,
    /// "Arming in the arena".
    pub title: String,
    /// Where words about it are posted, and its own page.
    pub action: String,
    /// What was said about it, and what became of that.
    pub said: String,
    /// Since when.
    pub since: Option<DateTime<Utc>>,
    /// What speaks against it.
    pub against: Vec<Point>,
    /// What it rests on.
    pub grounds: Vec<Point>,
    /// The reader may ask the marshal, and it makes sense now.
    pub may_ask: bool,
    /// The reader may answer, and an answer is asked for.
    pub may_answer: bool,
    /// It is being armed, or armed.
    pub arming: bool,
    /// Where people may be inside with it: where that is posted, and how many were said to be.
    pub inside: Option<(String, Option<i32>)>,
}

/// A ground, or something against it.
#[derive(Debug, Clone)]
pub struct Point {
    /// What.
    pub title: String,
    /// Who said so, or why it matters.
    pub detail: String,
    /// When it was said.
    pub at: Option<DateTime<Utc>>,
}

/// More people than this never arm one machine.
const MOST_INSIDE: i32 = 4;

/// What the page says of itself.
const ADVICE: &str = "A word between crew and marshal, no permit. linkout isolates nothing and \
                      allows nothing: the event’s rules and the marshal come first.";

/// The panel of the bench: the answer in a few lines.
pub fn panel(frame: &Frame, clearance: Option<&Clearance>) -> Markup {
    let Some(clearance) = clearance else {
        return html! {};
    };
    html! {
        section.panel data-part="clearance" {
            h2 { (clearance.title) " " a.meta href=(clearance.action) { "what it rests on" } }
            (said(&frame.clock, clearance))
            (points(&frame.clock, &clearance.against))
            (ask(frame, clearance))
            (inside(frame, clearance))
            p.intro { (ADVICE) }
        }
    }
}

/// The page: the whole answer.
pub fn page(frame: &Frame, tag: &Tag, all: &[Clearance]) -> Markup {
    frame::phone(
        frame,
        &format!("Arming, {}", tag.name),
        tag,
        html! {
            @for clearance in all {
                section.panel data-part="clearance" {
                    h2 { (clearance.title) }
                    (said(&frame.clock, clearance))
                    (ask(frame, clearance))
                    (answer(frame, clearance))
                    (inside(frame, clearance))
                    h3 { "Against it" }
                    @if clearance.against.is_empty() { p.intro { "Nothing that linkout knows of." } }
                    (points(&frame.clock, &clearance.against))
                    h3 { "What it rests on" }
                    (points(&frame.clock, &clearance.grounds))
                }
            }
            p.intro { (ADVICE) }
        },
    )
}

/// What was said, and when.
pub fn said(clock: &Clock, clearance: &Clearance) -> Markup {
    html! {
        p.stands { (clearance.said) @if let Some(at) = clearance.since { ", " (clock.age(at)) } }
    }
}

/// Points, one a row.
pub fn points(clock: &Clock, points: &[Point]) -> Markup {
    html! {
        @if !points.is_empty() { ul.rows { @for point in points { li { div {
            b { (point.title) }
            @if !point.detail.is_empty() || point.at.is_some() {
                br; span.meta { (point.detail) @if let Some(at) = point.at { @if !point.detail.is_empty() { ", " } (clock.age(at)) } }
            }
        } } } } }
    }
}

fn ask(frame: &Frame, clearance: &Clearance) -> Markup {
    html! {
        @if clearance.may_ask {
            (fields::post(frame, &clearance.action, "", html! {
                (place(clearance.place))
                input type="hidden" name="said" value="asked";
                button.btn.big { "Ask the marshal to look" }
            }))
        }
    }
}

/// The marshal's two answers. While something speaks against it, "not yet" is the only one offered;
/// what a marshal decides beside the page is the marshal's.
pub fn answer(frame: &Frame, clearance: &Clearance) -> Markup {
    html! {
        @if clearance.may_answer {
            div.row {
                @if clearance.against.is_empty() {
                    (fields::post(frame, &clearance.action, "grow", html! {
                        (place(clearance.place))
                        input type="hidden" name="said" value="confirmed";
                            button.btn.grow { "I looked, nothing against it" }
                    }))
                }
                (fields::post(frame, &clearance.action, "grow", html! {
                    (place(clearance.place))
                    input type="hidden" name="said" value="refused";
                    button.btn.soft.grow { "Not yet" }
                }))
            }
        }
    }
}

/// How many are inside with it, one tap each: two rules rest on it.
fn inside(frame: &Frame, clearance: &Clearance) -> Markup {
    let Some((action, known)) = &clearance.inside else {
        return html! {};
    };
    html! {
        h3 { "Inside with it: " @match known { Some(people) => { (people) } None => { "nobody said" } } }
        div.row {
            @for people in 0..=MOST_INSIDE {
                (fields::post(frame, action, "grow", html! {
                    input type="hidden" name="people" value=(people);
                    button.btn.grow.soft[*known != Some(people)] aria-label=(format!("{people} inside")) { (people) }
                }))
            }
        }
    }
}

fn place(place: ArmedAt) -> Markup {
    let value = match place {
        ArmedAt::Arena => "arena",
        ArmedAt::TestArea => "test_area",
    };
    html! { input type="hidden" name="place" value=(value); }
}

/// A clearance asked for, with one thing against it.
#[cfg(test)]
pub fn sample() -> Clearance {
    use super::samples::at;
    let point = |title: &str, detail: &str| Point {
        title: title.into(),
        detail: detail.into(),
        at: Some(at(-2)),
    };
    Clearance {
        place: ArmedAt::Arena,
        title: "Arming in the arena".into(),
        action: "/e/1/robots/4/clearance".into(),
        said: "Ivy asked; no marshal has answered".into(),
        since: Some(at(-2)),
        against: vec![point(
            "Nobody said: Hatch shut, covers on",
            "Departure check",
        )],
        grounds: vec![point("Link out", "Ivy"), point("Driver named", "<Gil>")],
        may_ask: true,
        may_answer: true,
        arming: false,
        inside: Some(("/e/1/robots/4/inside".into(), Some(2))),
    }
}

/// The page with something against it.
#[cfg(test)]
pub fn samples() -> Vec<(&'static str, Markup)> {
    use super::samples::frame;
    let tag = Tag {
        name: "Amber Shrike".into(),
        sub: "v Tin Plover, bout 16".into(),
        bench: Some(4),
        href: None,
    };
    vec![("clearance", page(&frame(), &tag, &[sample()]))]
}
