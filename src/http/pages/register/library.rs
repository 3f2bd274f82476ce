//! A team's own task lists: minutes, names, and what the team never does.

pub mod routes;

use super::Field;
use crate::http::pages::parts::{
    fields::{self, Typed},
    frame::{self, Frame, Tag},
};
use crate::pit::logbook::register::Machine;
use maud::{Markup, html};

/// A team's task lists for a type of machine.
#[derive(Debug)]
pub struct Lists {
    /// Whose.
    pub tag: Tag,
    /// "Version 3, changed by Ana, 14:02".
    pub versions: Vec<String>,
    /// Each list by its name.
    pub lists: Vec<(&'static str, Vec<Task>)>,
}

/// A task as the team has it.
#[derive(Debug)]
pub struct Task {
    /// What it is called.
    pub name: String,
    /// "4, 6, 10 min".
    pub minutes: String,
    /// "changed", "never", "safety".
    pub marks: Vec<&'static str>,
    /// Where it is changed.
    pub href: String,
}

/// What a type of machine is called.
pub fn machine_name(machine: Machine) -> &'static str {
    match machine {
        Machine::FlipperHeavyweight => "flippers",
        Machine::SpinnerHeavyweight => "spinners",
        Machine::SmallMachine => "small machines",
    }
}

/// The lists.
pub fn page(frame: &Frame, view: &Lists) -> Markup {
    frame::phone(
        frame,
        &format!("Task lists: {}", view.tag.name),
        &view.tag,
        html! {
            section.panel { h2 { "Versions" }
                @if view.versions.is_empty() { p { "As it comes: the minutes are starting values. Put in your own as you learn them." } }
                ul { @for version in &view.versions { li { (version) } } }
            }
            @for (title, tasks) in &view.lists { details.panel.reglist open[*title == "Turnaround"] {
                summary.btn.soft { h2 { (title) } span.meta { (tasks.len()) } }
                ul.rows { @for task in tasks { li {
                    div { b { (task.name) } br; span.meta { (task.minutes) @for mark in &task.marks { ", " (mark) } } }
                    a.btn.small.soft href=(task.href) aria-label=(format!("Change {}", task.name)) { "Change" }
                } } }
            } }
        },
    )
}

/// The form of one task.
#[derive(Debug)]
pub struct OneTask {
    /// Which.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// Its fields.
    pub fields: Vec<Field>,
    /// The revision of the team's list; none if it never changed it.
    pub revision: Option<i64>,
    /// It is never left out.
    pub safety: bool,
    /// What came back.
    pub typed: Typed,
}

/// The form.
pub fn task_page(frame: &Frame, view: &OneTask) -> Markup {
    frame::sheet(
        frame,
        &format!("{}: {}", view.tag.name, view.tag.sub),
        &view.tag,
        &view.back,
        html! {
            (fields::post_now(frame, &view.action, "sheetform", html! {
                main.wrap #main {
                    (view.typed.summary())
                    @if let Some(revision) = view.revision { input type="hidden" name="revision" value=(revision); }
                    section.panel.stackform { @for one in &view.fields { (super::field(one, &view.typed)) } }
                    @if view.safety { p.meta { "A task of safety is never left out." } }
                }
                footer.sheetfoot { button.btn.big.solid { "Save" } div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}
