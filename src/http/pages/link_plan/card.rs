//! The card of a link plan, A6, black on white: for the machine's box, readable without any phone.

use super::{Fact, LinkPlan};
use crate::http::pages::parts::frame::{self, Frame};
use maud::{Markup, html};

/// The card. `qr` is a drawing that opens the plan on a phone.
pub fn card(frame: &Frame, view: &LinkPlan, qr: &Markup) -> Markup {
    let version = view.version.as_ref();
    let steps = |title: &str, steps: &[String]| {
        html! { section { h2 { (title) } ol { @for step in steps {
            @let (what, by) = step.split_once(" | ").unwrap_or((step, ""));
            li { span { b { (what) } (by) } }
        } } } }
    };
    // Hours stand in the drawing, where there is one; the small lines are on the page.
    let small = |fact: &Fact| view.diagram.is_none() || fact.label == "Held by";
    let first = |facts: &[Fact]| {
        html! { dl { @for fact in facts { dt { (fact.label) } dd { (fact.value) @if !fact.small.is_empty() && small(fact) { ". " (fact.small) } } } } }
    };
    frame::document(
        frame,
        &format!("Card: {}", view.tag.name),
        "cardpage",
        html! {
            p.noprint.cardhelp { "Print at 100 % on A6, or two on A5. " a.btn href=(format!("{}/plan", view.robot)) { "Back" } }
            main.a6 #main {
                header.hd { div { h1 { (view.tag.name) } p { (view.about) @if let Some(v) = version { ". Link plan " (v.number) ", " (frame.clock.day(v.at)) ", " (v.by) } } }
                    @if let Some(bench) = view.tag.bench { p.bno { small { "bench" } (bench) } } }
                div.topcols[view.diagram.is_some()] {
                    @if let Some(diagram) = &view.diagram { (diagram.draw()) }
                    div { (first(&view.facts))
                        dl { dt { "Reach" } dd { @for (n, (lies, time, _)) in view.reach.iter().enumerate() { @if n > 0 { ", " } (lies.to_lowercase()) " " (time) } } } }
                }
                div.cols { (steps("Making safe", &view.making_safe)) (steps("Arming", &view.arming)) }
                footer.ft { div.wrong { p { @for fact in &view.if_wrong { b { (fact.label) ":" } " " (fact.value) ". " } b { "The marshal decides." } } figure.qr role="img" aria-label="Opens this plan on a phone" { (qr) } }
                    div.sig { @for duty in &view.duties { span { (duty.duty) ": " (duty.who) @if let Some(at) = duty.read { " " (frame.clock.hm(at)) } } } } }
            }
        },
    )
}
