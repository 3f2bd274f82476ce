//! The link plan: what it says, what it lacks, its editing on one screen, its card.

use super::parts::{
    clock::Clock,
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

pub mod routes;
#[cfg(test)]
pub mod samples;
pub mod view;

/// A robot's link plan.
#[derive(Debug)]
pub struct LinkPlan {
    /// The robot.
    pub tag: Tag,
    /// The robot's address, such as `/e/<id>/robots/<id>`.
    pub robot: String,
    /// Its team and type.
    pub about: String,
    /// The version that stands; none was saved yet where this is none.
    pub version: Option<Version>,
    /// What it lacks.
    pub gaps: Vec<Gap>,
    /// What it says, by label.
    pub facts: Vec<(&'static str, String)>,
    /// Steps of making safe.
    pub making_safe: Vec<String>,
    /// Steps of arming.
    pub arming: Vec<String>,
    /// Duties and who has read it back.
    pub duties: Vec<Duty>,
    /// Reach times against the event's limit.
    pub reach: Vec<(&'static str, String)>,
    /// The event's limit.
    pub limit: String,
    /// The person on this phone can still read it back.
    pub can_read: bool,
    /// Others who still have to, and can on this phone by their PIN.
    pub others: Vec<Chip>,
    /// The team, for whoever looks whether the plan still holds; the person of this phone first.
    pub people: Vec<Chip>,
    /// Who is chosen at first.
    pub who: String,
    /// What came back.
    pub typed: Typed,
    /// A change made since asks whether the plan still holds: which changes.
    pub to_confirm: Vec<String>,
    /// The reader may change it.
    pub may_edit: bool,
}

/// A saved version.
#[derive(Debug, Clone)]
pub struct Version {
    /// The number of times a plan was saved.
    pub number: u32,
    /// When.
    pub at: DateTime<Utc>,
    /// By whom.
    pub by: String,
}

/// Something the plan lacks.
#[derive(Debug, Clone)]
pub struct Gap {
    /// What.
    pub title: String,
    /// Why it is asked for.
    pub why: String,
}

/// A duty of the plan.
#[derive(Debug, Clone)]
pub struct Duty {
    /// "Holder".
    pub duty: &'static str,
    /// Who.
    pub who: String,
    /// When they read this version back; not needed for some.
    pub read: Option<DateTime<Utc>>,
    /// Who said so of them, which does not count.
    pub named_by: Option<String>,
}

/// The page.
pub fn page(frame: &Frame, view: &LinkPlan) -> Markup {
    frame::phone(
        frame,
        &format!("Link plan: {}", view.tag.name),
        &view.tag,
        html! {
            (view.typed.summary())
            (gaps(&view.gaps))
            @match &view.version {
                None => { section.panel { h2 { "No plan yet" } p.intro { "Where the link is, who pulls it, who looks: one screen, about five minutes, together at the machine." } } }
                Some(version) => {
                    section.panel { h2 { "Where it is " span.meta { "version " (version.number) ", " (version.by) ", " (frame.clock.time(version.at)) } }
                        dl.facts { @for (label, value) in &view.facts { dt { (label) } dd { (value) } } } }
                    div.two { (steps("Making safe", &view.making_safe)) (steps("Arming", &view.arming)) }
                    (people(&frame.clock, view))
                    section.panel { h2 { "Reach time " span.meta { "event limit " (view.limit) } }
                        dl.facts { @for (label, value) in &view.reach { dt { (label) } dd { (value) } } } }
                    @if !view.to_confirm.is_empty() { section.panel { h2 { "Does it still hold?" } p.intro { "Changed since: " (view.to_confirm.join(", ")) }
                        (fields::post(frame, &format!("{}/plan/confirm", view.robot), "", html! {
                                input type="hidden" name="version" value=(version.number);
                            (fields::who(&view.people, &view.who, &view.typed))
                            button.btn { "Looked: it still holds" }
                        })) } }
                    @if view.can_read { (fields::post(frame, &format!("{}/plan/read-back", view.robot), "", html! {
                        input type="hidden" name="version" value=(version.number);
                        button.btn.big.solid { "Read it back" small { "I have read version " (version.number) " aloud and say the same order" } }
                    })) }
                    @if !view.others.is_empty() { section.panel { h2 { "Read back on this phone" }
                        (fields::post(frame, &format!("{}/plan/read-back", view.robot), "stacked", html! {
                            input type="hidden" name="version" value=(version.number);
                            (fields::chips("who", "Who", "", &view.others, &view.typed))
                            (fields::pin("reader-pin", &view.typed))
                            button.btn { "Read it back as that person" }
                        }))
                    } }
                }
            }
            div.row {
                @if view.may_edit { a.btn.grow href=(format!("{}/plan/edit", view.robot)) { @if view.version.is_some() { "Change it" } @else { "Write it" } } }
                @if view.version.is_some() { a.btn.grow href=(format!("{}/plan/card", view.robot)) { "Print the card" } }
            }
        },
    )
}

fn gaps(gaps: &[Gap]) -> Markup {
    html! {
        section.panel data-part="gaps" { h2 { @match gaps.len() { 0 => { "No gaps" } 1 => { "One gap" } n => { (n) " gaps" } } }
            @if gaps.is_empty() { p.intro { "Nothing that this event asks for is missing." } }
            ul.rows { @for gap in gaps { li { div { b { (gap.title) } @if !gap.why.is_empty() { br; span.meta { (gap.why) } } } } } }
        }
    }
}

fn steps(title: &str, steps: &[String]) -> Markup {
    html! {
        section.panel { h2 { (title) }
            @if steps.is_empty() { p.intro { "No steps written down." } }
            ol.orders { @for step in steps { li { div { b { (step) } } } } }
        }
    }
}

fn people(clock: &Clock, view: &LinkPlan) -> Markup {
    html! {
        section.panel data-part="duties" { h2 { "People" }
            table.tbl { thead { tr { th scope="col" { "Duty" } th scope="col" { "Who" } th.r scope="col" { "Read back" } } }
                tbody { @for duty in &view.duties { tr { th scope="row" { (duty.duty) } td { (duty.who) }
                    td.r { @match (duty.read, &duty.named_by) {
                        (Some(at), _) => { (clock.time(at)) }
                        (None, Some(who)) => { "only named by " (who) }
                        (None, None) => { "not yet" }
                    } } } } } }
        }
    }
}

/// The plan as a form.
#[derive(Debug)]
pub struct Edit {
    /// The robot.
    pub tag: Tag,
    /// The robot's address.
    pub robot: String,
    /// What stands, by field; steps one a line.
    pub plan: Typed,
    /// The team's people.
    pub people: Vec<Chip>,
}

/// The one-screen form.
pub fn edit(frame: &Frame, view: &Edit) -> Markup {
    let back = format!("{}/plan", view.robot);
    let typed = &view.plan;
    let text = |name: &'static str, label: &'static str, hint: &'static str| {
        Text {
            hint,
            ..Text::new(name, label)
        }
        .show(typed)
    };
    let seconds = |name: &'static str, label: &'static str| {
        Text {
            kind: "number",
            unit: "s",
            ..Text::new(name, label)
        }
        .show(typed)
    };
    let who = |name: &str, label: &str| {
        fields::select(name, label, "", "nobody yet", &view.people, typed)
    };
    frame::sheet(
        frame,
        &format!("Change the link plan: {}", view.tag.name),
        &view.tag,
        &back,
        html! {
            (fields::post(frame, &format!("{back}/edit"), "sheetform", html! {
                main.wrap #main {
                    (typed.summary())
                    section.panel.stackform { h2 { "Where it is" }
                        (text("configuration", "Configuration", "The lid or weapon this plan is for."))
                        (text("place", "Place of the link", "By the clock, weapon towards 12, upright and inverted."))
                        (text("hatch", "Hatch", "How it opens, with which hand, without tools."))
                        (text("retention", "What keeps it in, and the pull", ""))
                        (text("dead_when", "Dead when", "Light dark, how long to wait, where to meter."))
                        (Text { kind: "number", unit: "links", ..Text::new("links", "Links, spare included") }.show(typed))
                        (text("spare", "Where the spare is", ""))
                    }
                    section.panel.stackform { h2 { "Who" }
                        (who("holder", "Holds it between bouts")) (who("inserter", "Puts it in")) (who("remover", "Takes it out")) (who("verifier", "Looks that it is done: another person"))
                    }
                    section.panel.stackform { h2 { "Steps " span.meta { "one a line" } }
                        (lines("making_safe", "Making safe", typed)) (lines("arming", "Arming", typed))
                    }
                    section.panel.stackform { h2 { "Reach time, gloves on" }
                        (seconds("reach_upright_s", "Upright")) (seconds("reach_inverted_s", "Inverted"))
                    }
                    (frame::caution())
                }
                footer.sheetfoot { button.btn.big.solid { "Save as a new version" small { "everybody named reads it back again" } } div.row { a.btn.soft.grow href=(back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

fn lines(name: &str, label: &str, typed: &Typed) -> Markup {
    let fault = typed.fault(name);
    html! {
        div.field { label for=(name) { (label) }
            textarea id=(name) name=(name) rows="6" aria-invalid=[fault.map(|_| "true")] { (typed.or(name, "")) }
            @if let Some(fault) = fault { p.fault { (fault) } } }
    }
}

/// The card, A6, black on white.
pub fn card(frame: &Frame, view: &LinkPlan) -> Markup {
    let version = view.version.as_ref();
    let steps = |title: &str, steps: &[String]| html! { section { h2 { (title) } ol { @for step in steps { li { span { b { (step) } } } } } } };
    frame::document(
        frame,
        &format!("Card: {}", view.tag.name),
        "cardpage",
        html! {
            p.noprint.cardhelp { "Print at 100 % on A6, or two on A5. " a.btn href=(format!("{}/plan", view.robot)) { "Back" } }
            main.a6 #main {
                header.hd { div { h1 { (view.tag.name) } p { (view.about) @if let Some(v) = version { ". Link plan " (v.number) ", " (frame.clock.day(v.at)) ", " (v.by) } } }
                    @if let Some(bench) = view.tag.bench { p.bno { small { "bench" } (bench) } } }
                dl { @for (label, value) in view.facts.iter().chain(&view.reach) { dt { (label) } dd { (value) } } }
                div.cols { (steps("Making safe", &view.making_safe)) (steps("Arming", &view.arming)) }
                footer.ft { p { b { "Smoke or fire:" } " not the link. Out, door shut. " b { "The marshal decides." } }
                    div.sig { @for duty in &view.duties { span { (duty.duty) ": " (duty.who) @if let Some(at) = duty.read { " " (frame.clock.hm(at)) } } } } }
            }
        },
    )
}
