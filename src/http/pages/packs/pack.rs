//! One pack: how it is, what stands against it, and everything that was said of it.

use crate::http::pages::bench::{LogLine, log_line};
use crate::http::pages::parts::{
    fields::{self, Chip, Typed},
    frame::{self, Frame, Tag},
    robot_row::tally,
    signs::Sign,
};
use maud::{Markup, html};

/// A pack.
#[derive(Debug)]
pub struct PackPage {
    /// What is written on it.
    pub label: String,
    /// "6 cells, 5000 mAh, lithium polymer".
    pub kind: String,
    /// Back to all of them.
    pub back: String,
    /// Where it is found wrong: since when and what still ends it.
    pub suspect: Option<(String, String)>,
    /// Why its last reading cannot be right.
    pub doubtful: Option<String>,
    /// Where it is, what it holds, when it is ready.
    pub facts: Vec<Fact>,
    /// Its cells as they were read last: volts of each, and whether one stands out.
    pub cells: Option<Cells>,
    /// How healthy it is, in a word.
    pub health: &'static str,
    /// Why.
    pub reasons: Vec<String>,
    /// What that rests on: capacity, resistance, cycles.
    pub measures: Vec<Fact>,
    /// Sets it is in: name and address.
    pub sets: Vec<(String, String)>,
    /// Its label, to print.
    pub print: String,
    /// Everything that was said of it, newest first.
    pub log: Vec<LogLine>,
    /// What may be entered about it; none for those who enter nothing.
    pub form: Option<SayForm>,
    /// What the event says about a burning pack.
    pub burning: Option<String>,
}

/// A name, a value, and a line below.
pub type Fact = (&'static str, String, String);

/// The cells of a pack as they were read.
#[derive(Debug, Clone)]
pub struct Cells {
    /// When, by whom, rested or not.
    pub read: String,
    /// Volts of each, and whether it is the lowest of a pack that is out of balance.
    pub volts: Vec<(String, bool)>,
}

/// What may be said of a pack by one tap.
#[derive(Debug)]
pub struct SayForm {
    /// Where it posts.
    pub action: String,
    /// Who may have looked, the person of this phone first.
    pub people: Vec<Chip>,
    /// Who is chosen at first.
    pub who: String,
    /// It may be set aside: it is not.
    pub to_set_aside: bool,
    /// It should be: somebody found it wrong.
    pub should_be_aside: bool,
    /// What came back.
    pub typed: Typed,
}

/// The page.
pub fn page(frame: &Frame, view: &PackPage) -> Markup {
    let tag = Tag {
        name: format!("Pack {}", view.label),
        sub: view.kind.clone(),
        bench: None,
        href: Some(view.back.clone()),
    };
    frame::phone(
        frame,
        &tag.name.clone(),
        &tag,
        html! {
            @if let Some(form) = &view.form { (form.typed.summary()) }
            @if let Some((found, still)) = &view.suspect { section.panel.clash data-part="suspect" { (Sign::Must.beside_word())
                div { h2 { (found) } p { (still) } } } }
            @if let Some(doubtful) = &view.doubtful { p.panel.fault data-part="doubtful" { (doubtful) } }
            section.panel data-part="now" { h2 { "How it is" } (facts(&view.facts)) }
            @if let Some(cells) = &view.cells { section.panel data-part="cells" { h2 { "Cells" span.meta { (cells.read) } }
                ol.cellrow { @for (n, (volts, low)) in (1..).zip(&cells.volts) { li.low[*low] { span.meta { (n) } b.num { (volts) } @if *low { span.meta { "lowest" } } } } } } }
            section.panel data-part="health" { h2 { (view.health) }
                @if !view.reasons.is_empty() { ul.bullets { @for reason in &view.reasons { li { (reason) } } } }
                (facts(&view.measures)) }
            @if let Some(form) = &view.form { (say(frame, form)) }
            @if !view.sets.is_empty() { section.panel data-part="sets" { h2 { "Used in" }
                div.row.wraprow { @for (name, href) in &view.sets { a.btn.soft.grow href=(href) { (tally(name)) } } } } }
            section.panel data-part="log" { h2 { "History" }
                @if view.log.is_empty() { p.intro { "Nothing entered yet." } }
                ul.rows.log { @for line in &view.log { (log_line(&frame.clock, line)) } } }
            a.btn.soft href=(view.print) { "Label to print" }
            (super::caution(view.burning.as_deref()))
        },
    )
}

/// Names, values, and what each rests on.
pub fn facts(facts: &[Fact]) -> Markup {
    html! { dl.facts { @for (name, value, detail) in facts { dt { (name) } dd { (value) @if !detail.is_empty() { small { (detail) } } } } } }
}

fn say(frame: &Frame, form: &SayForm) -> Markup {
    let looks = [
        Chip::new("fine", "Nothing wrong"),
        Chip::new("swollen", "Swollen"),
        Chip::new("hot", "Hot"),
        Chip::new("hit", "Hit or dented"),
        Chip::new("smells", "Smells"),
    ];
    let aside = fields::post(
        frame,
        &form.action,
        "stacked",
        html! {
            input type="hidden" name="aside" value="1";
            button.btn.solid[form.should_be_aside] { "Set aside, and I watch it" }
        },
    );
    html! {
        section.panel data-part="say" { h2 { "Look at it" }
            @if form.to_set_aside && form.should_be_aside { (aside) }
            (fields::post(frame, &form.action, "stacked", html! {
                (fields::chips("looks", "What do you see?", "", &looks, &form.typed))
                (fields::who(&form.people, &form.who, &form.typed))
                button.btn.big { "I looked" }
            }))
            @if form.to_set_aside && !form.should_be_aside { (aside) }
        }
    }
}
