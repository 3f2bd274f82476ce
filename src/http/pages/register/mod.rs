//! Entering what exists: the event, its teams and their cards, robots, people, bouts.

pub mod routes;
pub mod things;

use super::parts::{
    fields::{self, Chip, Text, Typed},
    frame::{self, Frame, Tag},
};
use maud::{Markup, PreEscaped, html};

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
    /// Each with its address.
    pub things: Vec<(String, String, String)>,
    /// "Enter a team", and where.
    pub more: (&'static str, String),
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
            @for list in &view.lists { section.panel { h2 { (list.title) span.meta { (list.things.len()) } }
                ul.rows { @for (name, detail, href) in &list.things { li {
                    div { b { (name) } @if !detail.is_empty() { br; span.meta { (detail) } } }
                    a.btn.small.soft href=(href) aria-label=(format!("Open {name}")) { "Open" }
                } } }
                div.row.wraprow {
                    a.btn href=(list.more.1) { (list.more.0) }
                    @for (label, role, team) in &list.cards {
                        (fields::post_now(frame, &view.codes, "", html! {
                            input type="hidden" name="role" value=(role);
                            input type="hidden" name="team" value=(team);
                            button.btn.soft { (label) }
                        }))
                    }
                }
            } }
        },
    )
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
    pub fields: Vec<Field>,
    /// The revision it is based on; none for a new thing.
    pub revision: Option<i64>,
    /// The button.
    pub button: &'static str,
    /// What is not done from here, or what comes next.
    pub note: &'static str,
    /// What came back.
    pub typed: Typed,
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
        hint: &'static str,
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
    },
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
                    @if let Some(revision) = view.revision { input type="hidden" name="revision" value=(revision); }
                    section.panel.stackform { @for one in &view.fields { (field(one, &view.typed)) } }
                    @if !view.note.is_empty() { p.meta { (view.note) } }
                }
                footer.sheetfoot { button.btn.big.solid { (view.button) } div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) } }
            }))
        },
    )
}

fn field(field: &Field, typed: &Typed) -> Markup {
    match field {
        Field::Line {
            name,
            label,
            kind,
            value,
            hint,
            required,
        } => Text {
            kind,
            value,
            hint,
            required: *required,
            ..Text::new(name, label)
        }
        .show(typed),
        Field::Chips {
            name,
            label,
            value,
            options,
        } => fields::chips(name, label, value, options, typed),
        Field::Choice {
            name,
            label,
            value,
            none,
            options,
        } => fields::select(name, label, value, none, options, typed),
        Field::Lines { name, label, value } => html! {
            div.field { label for=(name) { (label) } textarea id=(name) name=(name) rows="4" { (typed.or(name, value)) }
                @if let Some(fault) = typed.fault(name) { p.fault { (fault) } } }
        },
    }
}

/// A card that lets a phone join: code and QR.
#[derive(Debug)]
pub struct JoinCard {
    /// The event.
    pub event: String,
    /// The team or role it is for.
    pub of: String,
    /// The code as people type it.
    pub code: String,
    /// The address it stands for.
    pub url: String,
    /// The QR code, drawn.
    pub qr: PreEscaped<String>,
    /// Where to go back to.
    pub back: String,
}

/// The card, to print or to hold up.
pub fn join_card(frame: &Frame, card: &JoinCard) -> Markup {
    frame::document(
        frame,
        &format!("Card: {}", card.of),
        "cardpage",
        html! {
            p.noprint.cardhelp { "Print it, or let people scan it from here. " a.btn href=(card.back) { "Back" } }
            main.a6.joincard #main {
                header.hd { div { h1 { (card.of) } p { (card.event) } } }
                figure { (card.qr) }
                div { p.bigcode { (card.code) } p { "Scan it, or open " (card.url) " and type the code. It signs a phone in to " (card.of) " for this event only." } }
                footer.ft { p { "Whoever has this card can write for " (card.of) ". Keep it at the bench." } }
            }
        },
    )
}

/// Draws a QR code.
///
/// # Errors
/// The address is too long for one.
pub fn draw_qr(url: &str) -> Result<PreEscaped<String>, qrcode::types::QrError> {
    let code = qrcode::QrCode::new(url.as_bytes())?;
    let svg = code
        .render::<qrcode::render::svg::Color<'_>>()
        .min_dimensions(220, 220)
        .dark_color(qrcode::render::svg::Color("#000"))
        .light_color(qrcode::render::svg::Color("#fff"))
        .build();
    // The drawing comes with an XML declaration, which does not belong inside a page.
    let svg = svg.find("<svg").map_or(svg.as_str(), |at| &svg[at..]);
    Ok(PreEscaped(svg.to_owned()))
}
