//! The link plan: what it says, what it lacks, its editing on one screen, its card.

use super::parts::{
    clock::Clock,
    fields::{self, Chip, Typed},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

pub mod card;
pub mod diagram;
pub mod edit;
pub mod routes;
#[cfg(test)]
pub mod samples;
pub mod view;

pub use diagram::Diagram;

/// A robot's link plan.
#[derive(Debug)]
pub struct LinkPlan {
    /// The robot.
    pub tag: Tag,
    /// The robot's address, such as `/e/<id>/robots/<id>`.
    pub robot: String,
    /// Its photographs.
    pub photos: String,
    /// Its team and type.
    pub about: String,
    /// The version that stands; none was saved yet where this is none.
    pub version: Option<Version>,
    /// What it lacks.
    pub gaps: Vec<Gap>,
    /// What it could say as well and does not.
    pub not_said: Vec<String>,
    /// Where everything is, seen from above.
    pub diagram: Option<Diagram>,
    /// What it says.
    pub facts: Vec<Fact>,
    /// What to do when it goes wrong.
    pub if_wrong: Vec<Fact>,
    /// Every link by its mark: what it breaks, where it is kept.
    pub links: Vec<(String, String, String)>,
    /// Steps of making safe.
    pub making_safe: Vec<String>,
    /// Steps of arming.
    pub arming: Vec<String>,
    /// Duties and who has read it back.
    pub duties: Vec<Duty>,
    /// Reach times against the event's limit: how it lies, the time, who measured it.
    pub reach: Vec<(&'static str, String, String)>,
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

/// Something the plan says.
#[derive(Debug, Clone)]
pub struct Fact {
    /// "Hatch".
    pub label: &'static str,
    /// "Quarter turn by hand".
    pub value: String,
    /// A smaller line below.
    pub small: String,
}

/// A duty of the plan.
#[derive(Debug, Clone)]
pub struct Duty {
    /// "Holder".
    pub duty: &'static str,
    /// Who.
    pub who: String,
    /// Who does it instead; blank if nobody is named.
    pub deputy: String,
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
            (gaps(view))
            @match &view.version {
                None => { section.panel { h2 { "No plan yet" } p.intro { "Where the link is, who pulls it, who looks: one screen, about five minutes, together at the machine." } } }
                Some(version) => {
                    section.panel { h2 { "Where it is " span.meta { "version " (version.number) ", " (version.by) ", " (frame.clock.time(version.at)) } }
                        @if let Some(diagram) = &view.diagram { (diagram.draw()) }
                        (facts(&view.facts)) }
                    div.two { (steps("Making safe", &view.making_safe)) (steps("Arming", &view.arming)) }
                    (people(&frame.clock, view))
                    (links(&view.links))
                    (reach(frame, view))
                    @if !view.if_wrong.is_empty() { section.panel data-part="if-wrong" { h2 { "When it goes wrong" } (facts(&view.if_wrong)) } }
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
                a.btn.soft.grow href=(view.photos) { "Photographs" }
            }
        },
    )
}

fn gaps(view: &LinkPlan) -> Markup {
    html! {
        section.panel data-part="gaps" { h2 { @match view.gaps.len() { 0 => { "No gaps" } 1 => { "One gap" } n => { (n) " gaps" } } }
            @if view.gaps.is_empty() { p.intro { "Nothing that this event asks for is missing." } }
            ul.rows { @for gap in &view.gaps { li { div { b { (gap.title) } @if !gap.why.is_empty() { br; span.meta { (gap.why) } } } } } }
            @if !view.not_said.is_empty() { p.meta { "Also not said: " (view.not_said.join(", ")) "." } }
        }
    }
}

fn steps(title: &str, steps: &[String]) -> Markup {
    html! {
        section.panel { h2 { (title) }
            @if steps.is_empty() { p.intro { "No steps written down." } }
            ol.orders { @for step in steps { @let (what, by) = step.split_once(" | ").unwrap_or((step, ""));
                li { div { b { (what) } @if !by.is_empty() { span { (by) } } } } } }
        }
    }
}

fn people(clock: &Clock, view: &LinkPlan) -> Markup {
    html! {
        section.panel data-part="duties" { h2 { "People" }
            table.tbl { thead { tr { th scope="col" { "Duty" } th scope="col" { "Who" } th.r scope="col" { "Read back" } } }
                tbody { @for duty in &view.duties { tr { th scope="row" { (duty.duty) } td { (duty.who) @if !duty.deputy.is_empty() { small { "deputy " (duty.deputy) } } }
                    td.r { @match (duty.read, &duty.named_by) {
                        (Some(at), _) => { (clock.time(at)) }
                        (None, Some(who)) => { "only named by " (who) }
                        (None, None) => { "not yet" }
                    } } } } } }
        }
    }
}

fn facts(facts: &[Fact]) -> Markup {
    html! {
        dl.facts { @for fact in facts { dt { (fact.label) } dd { (fact.value) @if !fact.small.is_empty() { small { (fact.small) } } } } }
    }
}

fn links(links: &[(String, String, String)]) -> Markup {
    html! {
        @if !links.is_empty() { section.panel { h2 { "Links " span.meta { (links.len()) " listed" } }
            table.tbl { thead { tr { th scope="col" { "Link" } th scope="col" { "Kept" } } }
                tbody { @for (mark, breaks, kept) in links { tr { th scope="row" { span.tally.q { (mark) } }
                    td { (kept) @if !breaks.is_empty() { small { (breaks) } } } } } } }
        } }
    }
}

fn reach(frame: &Frame, view: &LinkPlan) -> Markup {
    html! {
        section.panel data-part="reach" { h2 { "Reach time " span.meta { "gloves on, event limit " (view.limit) } }
            table.tbl { thead { tr { th scope="col" { "How it lies" } th scope="col" { "Who" } th.r scope="col" { "Time" } } }
                tbody { @for (lies, time, who) in &view.reach { tr { th scope="row" { (lies) } td { (who) } td.r.num { (time) } } } } }
            @if view.may_edit { details.act { summary.btn { "Time it" }
                (fields::post(frame, &format!("{}/plan/timed", view.robot), "stackform", html! {
                    (fields::chips("reach", "How it lies", "upright", &[Chip::new("upright", "Upright"), Chip::new("inverted", "Inverted"), Chip::new("hatch_bent", "Hatch bent")], &fields::Typed::default()))
                    (fields::Text { kind: "number", unit: "s", required: true, hint: "From the edge to the link out, gloves on.", ..fields::Text::new("seconds", "It took me") }.show(&fields::Typed::default()))
                    button.btn.solid { "Measured" }
                })) } }
        }
    }
}
