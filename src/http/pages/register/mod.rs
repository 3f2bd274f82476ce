//! Entering what exists: the event, its teams and their cards, robots, people, bouts.

pub mod bulk;
pub mod card;
mod entry;
mod index;
pub mod library;
mod met;
pub mod routes;
pub mod things;

use super::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use maud::{Markup, html};

#[cfg(test)]
pub mod samples;

/// Everything that exists, with what can be entered.
#[derive(Debug)]
pub struct Register {
    /// The event or the team.
    pub tag: Tag,
    /// Where cards to join with are asked for.
    pub codes: String,
    /// Lists, each with its own page to enter one more.
    pub lists: Vec<List>,
}

/// Things of one kind.
#[derive(Debug)]
pub struct List {
    /// "Teams".
    pub title: &'static str,
    /// What is used: name, detail and address of each.
    pub things: Vec<(String, String, String)>,
    /// What no longer is.
    pub retired: Vec<(String, String)>,
    /// "Enter a team", and where.
    pub more: Vec<(String, String)>,
    /// Cards that can be made: label, role, team.
    pub cards: Vec<(String, String, String)>,
}

/// The register.
pub fn page(frame: &Frame, view: &Register) -> Markup {
    frame::phone(
        frame,
        &format!("Register: {}", view.tag.name),
        &view.tag,
        html! {
            @for list in &view.lists { (one_list(frame, view, list)) }
        },
    )
}

fn one_list(frame: &Frame, view: &Register, list: &List) -> Markup {
    html! {
        details.panel.reglist open[list.things.len() < 8] {
            summary.btn.soft { h2 { (list.title) } span.meta { @if list.things.is_empty() { "none yet" } @else { (list.things.len()) } } }
            ul.rows { @for (name, detail, href) in &list.things { li {
                div { b { (name) } @if !detail.is_empty() { br; span.meta { (detail) } } }
                a.btn.small.soft href=(href) aria-label=(format!("Open {name}")) { "Open" }
            } } }
            @if !list.retired.is_empty() { p.meta { "No longer used: "
                @for (name, href) in &list.retired { a.btn.small.soft href=(href) { (name) } } } }
            div.row.wraprow {
                @for (label, href) in &list.more { a.btn.soft href=(href) { (label) } }
                @for (label, role, team) in &list.cards {
                    (fields::post_now(frame, &view.codes, "", html! {
                        input type="hidden" name="role" value=(role);
                        input type="hidden" name="team" value=(team);
                        button.btn.soft { (label) }
                    }))
                }
            }
        }
    }
}

/// A short form for one thing.
#[derive(Debug)]
pub struct Form {
    /// What.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// Its fields.
    pub sections: Vec<Section>,
    /// The revision it is based on; none for a new thing.
    pub revision: Option<i64>,
    /// The body of that revision, so that a change in between can be told.
    pub was: Option<String>,
    /// The button.
    pub button: &'static str,
    /// What is not done from here, or what comes next.
    pub note: &'static str,
    /// What somebody else changed while it was open.
    pub changed: Vec<String>,
    /// What it can be copied from, or to.
    pub copies: Vec<(String, String)>,
    /// What the ids of sources stand for.
    pub sources: &'static [(&'static str, &'static str)],
    /// What came back.
    pub typed: Typed,
}

/// Fields that belong together.
#[derive(Debug)]
pub struct Section {
    /// Its heading, if it has one.
    pub title: &'static str,
    /// It opens by a tap.
    pub folded: bool,
    /// The fields.
    pub fields: Vec<Field>,
}

/// A field of such a form.
#[derive(Debug)]
pub enum Field {
    /// A line of text or a number.
    Line {
        /// Its name in the form.
        name: &'static str,
        /// Its label.
        label: &'static str,
        /// `text`, `number`, `date`, `datetime-local`.
        kind: &'static str,
        /// What stands.
        value: String,
        /// A line that helps.
        hint: String,
        /// The unit behind it.
        unit: &'static str,
        /// It cannot be left empty.
        required: bool,
    },
    /// One of a few.
    Chips {
        /// Its name in the form.
        name: &'static str,
        /// Its label.
        label: &'static str,
        /// What stands.
        value: String,
        /// A line that helps.
        hint: String,
        /// The choice.
        options: Vec<Chip>,
    },
    /// One of many.
    Choice {
        /// Its name in the form.
        name: &'static str,
        /// Its label.
        label: &'static str,
        /// What stands.
        value: String,
        /// What none is called; empty where one must be chosen.
        none: &'static str,
        /// A line that helps.
        hint: String,
        /// The choice.
        options: Vec<Chip>,
    },
    /// Several lines.
    Lines {
        /// Its name in the form.
        name: &'static str,
        /// Its label.
        label: &'static str,
        /// What stands.
        value: String,
        /// A line that helps.
        hint: String,
    },
}

impl Field {
    /// A line of text that cannot be left empty.
    pub fn line(name: &'static str, label: &'static str, value: String) -> Self {
        Self::Line {
            name,
            label,
            kind: "text",
            value,
            hint: String::new(),
            unit: "",
            required: true,
        }
    }

    /// The same field with another line that helps.
    #[must_use]
    pub fn with_hint(mut self, text: String) -> Self {
        match &mut self {
            Self::Line { hint, .. }
            | Self::Chips { hint, .. }
            | Self::Choice { hint, .. }
            | Self::Lines { hint, .. } => *hint = text,
        }
        self
    }
}

/// The form.
pub fn form(frame: &Frame, view: &Form) -> Markup {
    frame::sheet(
        frame,
        &format!("{}: {}", view.tag.name, view.tag.sub),
        &view.tag,
        &view.back,
        html! {
            // Register lines rest on a revision, so they need their answer at once.
            (fields::post_now(frame, &view.action, "sheetform", html! {
                main.wrap #main {
                    (view.typed.summary())
                    @if !view.changed.is_empty() { section.panel { h2 { "Changed meanwhile" }
                        ul { @for change in &view.changed { li { (change) } } } } }
                    @if let Some(revision) = view.revision { input type="hidden" name="revision" value=(revision); }
                    @if let Some(was) = &view.was { input type="hidden" name="was" value=(was); }
                    @if !view.copies.is_empty() { div.row.wraprow.copies { @for (label, href) in &view.copies { a.btn.small.soft href=(href) { (label) } } } }
                    @for part in &view.sections { (section(part, &view.typed)) }
                    @if !view.sources.is_empty() { details.panel { summary.btn.soft { h2 { "Where the values found come from" } }
                        dl.sources { @for (id, what) in view.sources { dt { (id) } dd { (what) } } } } }
                    @if !view.note.is_empty() { p.meta { (view.note) } }
                }
                footer.sheetfoot { button.btn.big.solid { (view.button) } div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

fn section(part: &Section, typed: &Typed) -> Markup {
    let fields = html! { @for one in &part.fields { (field(one, typed)) } };
    html! {
        @if part.folded {
            details.panel { summary.btn.soft { h2 { (part.title) } } div.stackform { (fields) } }
        } @else {
            section.panel.stackform { @if !part.title.is_empty() { h2 { (part.title) } } (fields) }
        }
    }
}

fn field(field: &Field, typed: &Typed) -> Markup {
    let help = |hint: &str| html! { @if !hint.is_empty() { p.meta { (hint) } } };
    match field {
        Field::Line {
            name,
            label,
            kind,
            value,
            hint,
            unit,
            required,
        } => Text {
            kind,
            value,
            hint,
            unit,
            required: *required,
            ..Text::new(name, label)
        }
        .show(typed),
        Field::Chips {
            name,
            label,
            value,
            hint,
            options,
        } => html! { div { (fields::chips(name, label, value, options, typed)) (help(hint)) } },
        Field::Choice {
            name,
            label,
            value,
            none,
            hint,
            options,
        } => {
            html! { div { (fields::select(name, label, value, none, options, typed)) (help(hint)) } }
        }
        Field::Lines {
            name,
            label,
            value,
            hint,
        } => html! {
            div.field { label for=(name) { (label) } textarea id=(name) name=(name) rows="4" { (typed.or(name, value)) }
                @if let Some(fault) = typed.fault(name) { p.fault { (fault) } } (help(hint)) }
        },
    }
}
