//! Hazards of a robot with what people say about them, what is not right, and starting a task whose
//! states are not there.

pub mod routes;
pub mod rules;
#[cfg(test)]
pub mod samples;
pub mod view;

use super::parts::{
    fields::{self, Chip, Typed},
    frame::{self, Frame, Tag},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// A hazard as a page shows it.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Its rule; none for danger that somebody told.
    pub rule: Option<String>,
    /// "Hold".
    pub severity: &'static str,
    /// What it is called.
    pub title: String,
    /// What is so, and whom it concerns.
    pub why: String,
    /// Since when.
    pub since: DateTime<Utc>,
    /// What to do.
    pub advise: String,
    /// What ends it.
    pub clears: String,
    /// "Open with Ben.", "Accepted by Ana: spare is in the trolley."
    pub said: Vec<String>,
    /// Where it is dealt with: label and address.
    pub act: Option<(&'static str, String)>,
    /// Who reads may accept it with a reason.
    pub may_accept: bool,
    /// A word of this reader that it is over counts: the two people's, or the marshal's.
    pub may_clear: Option<&'static str>,
}

/// The hazards of a robot.
#[derive(Debug)]
pub struct Hazards {
    /// The robot.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where words on them are posted.
    pub action: String,
    /// Where something else is told.
    pub found: String,
    /// The hazards, worst first.
    pub shown: Vec<Shown>,
    /// What came back.
    pub typed: Typed,
}

/// The page.
pub fn page(frame: &Frame, view: &Hazards) -> Markup {
    frame::sheet(
        frame,
        &format!("Hazards: {}", view.tag.name),
        &view.tag,
        &view.back,
        html! {
            main.wrap #main data-part="main" {
                (view.typed.summary())
                @if view.shown.is_empty() {
                    section.panel { h2 { "No hazard stands" }
                        p.intro { "By what people said. Before hands go in, read the verdict and look." } }
                }
                @for hazard in &view.shown { (full(frame, view, hazard)) }
                a.btn.soft href=(view.found) { "Something else is not right" }
                a.btn.soft href=(format!("{}/rules", frame.base)) { "All thirty rules" }
                (frame::caution())
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

fn full(frame: &Frame, view: &Hazards, hazard: &Shown) -> Markup {
    html! {
        section.panel.hazard {
            h2 { (hazard.severity) ": " (hazard.title) }
            p { (hazard.why) " " span.meta { "since " (frame.clock.time(hazard.since)) } }
            p { (hazard.advise) }
            p.meta { "Ends: " (hazard.clears) "." }
            @for said in &hazard.said { p.meta { (said) } }
            @if let Some((label, href)) = &hazard.act { a.btn href=(href) { (label) } }
            @if let Some(rule) = &hazard.rule {
                @if let Some(label) = hazard.may_clear { (word(frame, view, rule, "cleared", label)) }
                @if hazard.may_accept { (accept(frame, view, rule)) }
                a.btn.soft href=(format!("{}/rules/{rule}", frame.base)) { "Rule " (rule) }
            }
        }
    }
}

fn word(frame: &Frame, view: &Hazards, rule: &str, said: &str, label: &str) -> Markup {
    fields::post(
        frame,
        &view.action,
        "",
        html! {
            input type="hidden" name="rule" value=(rule);
            input type="hidden" name="said" value=(said);
            button.btn { (label) }
        },
    )
}

fn accept(frame: &Frame, view: &Hazards, rule: &str) -> Markup {
    // What was typed belongs to the form it was typed in.
    let own = view
        .typed
        .values
        .get("rule")
        .is_some_and(|typed| typed == rule);
    let typed = if own {
        view.typed.clone()
    } else {
        Typed::default()
    };
    let name = "because";
    fields::post(
        frame,
        &view.action,
        "stacked",
        html! {
            input type="hidden" name="rule" value=(rule);
            input type="hidden" name="said" value="accepted";
            (fields::Text { id: &format!("because-{rule}"), ..fields::Text::new(name, "Take it on, because") }.show(&typed))
            button.btn.soft { "Take it on" }
        },
    )
}

/// The hazards as the bench lists them; nothing where there is none.
pub fn panel(href: &str, shown: &[Shown]) -> Markup {
    html! {
        @if !shown.is_empty() {
            section.panel data-part="hazards" { h2 { "Hazards " span.meta { (shown.len()) } }
                ul.rows { @for hazard in shown { li {
                    div { b { (hazard.severity) ": " (hazard.title) } br; span.meta { (hazard.why) }
                        @for said in &hazard.said { br; span.meta { (said) } } }
                    a.btn.small.soft href=(href) aria-label=(format!("Open: {}", hazard.title)) { "Open" }
                } } }
            }
        }
    }
}

/// What can be found not to be right, one tap each.
#[derive(Debug)]
pub struct Found {
    /// The robot.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// Parts of the gas system: value, what is wrong, what is right again; and whether it is bad now.
    pub parts: Vec<(&'static str, &'static str, &'static str, bool)>,
    /// Things that store energy: value and the words for gone, blocked and stored.
    pub stored: Vec<(&'static str, [&'static str; 3])>,
    /// Who is inside, as last told.
    pub inside: Option<String>,
    /// The air, as last told.
    pub air: Option<String>,
    /// Gas is of interest here.
    pub gas: bool,
    /// What came back.
    pub typed: Typed,
}

/// The page.
pub fn found(frame: &Frame, view: &Found) -> Markup {
    let tap = |value: &str, label: &str| {
        html! { button.btn.soft name="found" value=(value) { (label) } }
    };
    frame::sheet(
        frame,
        &format!("Not right: {}", view.tag.name),
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                (view.typed.summary())
                @if view.gas {
                    section.panel { h2 { "Gas" } p.intro { "One tap enters it, as seen by you just now." }
                        @for (value, bad, good, is_bad) in &view.parts {
                            (fields::post(frame, &view.action, "pair", html! {
                                (tap(&format!("{value}-bad"), bad))
                                @if *is_bad { (tap(&format!("{value}-good"), good)) }
                            }))
                        }
                    }
                    section.panel { h2 { "Air at the gas bay" }
                        @if let Some(air) = &view.air { p.intro { "Last: " (air) } }
                        (fields::post(frame, &view.action, "stacked", html! {
                            (fields::Text { kind: "number", unit: "ppm", ..fields::Text::new("co2_ppm", "Monitor at knee height") }.show(&view.typed))
                            button.btn name="found" value="air" { "Read" }
                        }))
                        (fields::post(frame, &view.action, "", tap("symptoms", "Somebody has a headache or is short of breath")))
                    }
                }
                section.panel { h2 { "Stored energy" }
                    @for (value, words) in &view.stored {
                        (fields::post(frame, &view.action, "threes", html! {
                            (tap(&format!("{value}-loaded"), words[2]))
                            (tap(&format!("{value}-blocked"), words[1]))
                            (tap(&format!("{value}-released"), words[0]))
                        }))
                    }
                }
                section.panel { h2 { "People inside with it" }
                    @if let Some(inside) = &view.inside { p.intro { "Last: " (inside) } }
                    (fields::post(frame, &view.action, "stacked", html! {
                        (fields::chips("watched", "Somebody outside watches whoever arms", "", &[Chip::new("true", "yes"), Chip::new("false", "no")], &view.typed))
                        div.fours { @for n in 0..4 { button.btn name="found" value=(format!("inside-{n}")) { (n) } } }
                    }))
                }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// A task about to be started whose states are not all there.
#[derive(Debug)]
pub struct Start {
    /// The robot.
    pub tag: Tag,
    /// The bench.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// The task's id.
    pub task: String,
    /// Its area.
    pub instance: Option<String>,
    /// Its name.
    pub name: String,
    /// What is asked for and not there, with why.
    pub missing: Vec<(String, String)>,
    /// Where to look.
    pub look: String,
    /// People who may be on it, where it is a lift.
    pub people: Vec<Chip>,
    /// People it takes.
    pub hands: u32,
    /// It is a lift.
    pub lift: bool,
}

/// The page: it warns, and records it all the same.
pub fn start(frame: &Frame, view: &Start) -> Markup {
    frame::sheet(
        frame,
        &format!("Before: {}", view.name),
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                @if !view.missing.is_empty() {
                    section.panel.hazard role="alert" { h2 { "Not there for “" (view.name) "”" }
                        ul.rows { @for (state, why) in &view.missing { li { div { b { (state) } br; span.meta { (why) } } } } }
                        a.btn.big.solid href=(view.look) { "Look now" small { "then begin" } }
                    }
                }
                (fields::post(frame, &view.action, "panel stacked", html! {
                    input type="hidden" name="task" value=(view.task);
                    @if let Some(instance) = &view.instance { input type="hidden" name="instance" value=(instance); }
                    input type="hidden" name="state" value="started";
                    input type="hidden" name="anyway" value="true";
                    @if view.lift {
                        fieldset { legend.lab-h { "Who else lifts? It takes " (view.hands) }
                            div.chips { @for person in &view.people { label { input type="checkbox" name="with" value=(person.value); span { (person.label) } } } }
                        }
                        fieldset { legend.lab-h { "Help" }
                            div.chips { label { input type="checkbox" name="aid" value="true"; span { "Lift table, hoist or ramp" } } } }
                    }
                    button.btn.soft { "It has begun" small { "recorded as it is" } }
                    @if !view.missing.is_empty() { p.meta { "Whoever has hands in is told at once what is not proved." } }
                }))
                (frame::caution())
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}
