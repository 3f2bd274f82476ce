//! A report sheet: rows unticked, one button for all, exceptions by row.

use super::{
    fields::{self, Chip, Typed},
    frame::{self, Frame},
};
use maud::{Markup, html};

/// A report of a robot, about to be entered.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Where it posts.
    pub action: String,
    /// Who may be named as having seen it, the person on this phone first.
    pub people: Vec<Chip>,
    /// Who is chosen at first.
    pub who: String,
    /// The rows.
    pub rows: Vec<SheetRow>,
    /// What is often done in the same walk, to be ticked with the rest: never said by "all of these".
    pub also: Option<SheetRow>,
    /// Who or what the link is with; asked where the report has the link in it, never set at first.
    pub holder: Option<Vec<Chip>>,
    /// What is filled into the rows already; it rides in the form.
    pub hidden: Vec<(String, String)>,
    /// Further numbers it asks for.
    pub numbers: Vec<Number>,
    /// Said before anything else: whose hands are in while this makes it live.
    pub warning: Option<String>,
    /// The button.
    pub button: String,
    /// What saving does: what it writes, what it closes.
    pub effect: String,
    /// What came back, if it was refused.
    pub typed: Typed,
}

/// A row of a report.
#[derive(Debug, Clone)]
pub struct SheetRow {
    /// Its id in the report.
    pub id: String,
    /// What it says.
    pub text: String,
    /// A line below.
    pub detail: String,
    /// It has no opposite to say by one tap, such as "damage tapped in".
    pub no_opposite: bool,
}

/// A number the report asks for.
#[derive(Debug, Clone)]
pub struct Number {
    /// Its name in the form.
    pub name: String,
    /// Its label.
    pub label: String,
    /// Its unit.
    pub unit: &'static str,
    /// As last entered.
    pub last: String,
}

/// The sheet with its foot. Nothing that must be answered stands under the button.
pub fn form(frame: &Frame, sheet: &Sheet) -> Markup {
    let typed = &sheet.typed;
    fields::post(
        frame,
        &sheet.action,
        "sheetform",
        html! {
            (hidden(sheet))
            main.wrap #main {
                (typed.summary())
                @if let Some(warning) = &sheet.warning { section.panel.hazard role="alert" { p { b { (warning) } } } }
                div.panel.pick {
                @if let Some(holders) = &sheet.holder { (fields::chips("holder", "Link", "", holders, typed)) }
                    (fields::who(&sheet.people, &sheet.who, typed))
                    (fields::when_chips(typed))
                }
                fieldset.panel.seen { legend.vh { "What you saw" }
                    ul.ticks { @for row in &sheet.rows { (tick(row, typed)) } }
                }
                @if let Some(also) = &sheet.also { fieldset.panel.seen { legend.vh { "Done as well" }
                    ul.ticks { li { label.tick { input type="checkbox" name="also" value=(also.id) checked[typed.or("also", "") == also.id];
                        span.box { svg aria-hidden="true" { use href="#s-tick" {} } }
                        span.what { (also.text) @if !also.detail.is_empty() { small { (also.detail) } } } } } } } }
                @for number in &sheet.numbers {
                    div.panel { (fields::Text { kind: "number", unit: number.unit, value: &number.last, ..fields::Text::new(&number.name, &number.label) }.show(typed)) }
                }
                p.meta { (sheet.effect) }
                (frame::caution())
            }
            footer.sheetfoot {
                button.btn.big.solid name="all" value="1" { (sheet.button) }
                div.row { button.btn.soft.grow name="all" value="0" { "Save only what is ticked" } (frame::emergency_button()) }
            }
        },
    )
}

fn hidden(sheet: &Sheet) -> Markup {
    html! {
        @for (name, value) in &sheet.hidden { input type="hidden" name=(name) value=(value); }
        @if sheet.holder.is_some() { input type="hidden" name="asks_holder" value="1"; }
    }
}

/// A sheet that stands open for the person asked: every row to be read, one tap that says it is so,
/// and the way to the sheet itself where it is not.
pub fn standing(frame: &Frame, title: &str, href: &str, sheet: &Sheet) -> Markup {
    html! {
        section.panel.next data-part="next" aria-labelledby="nh" {
            p.lab { span { "Asked of you" } }
            h2 #nh { (title) }
            (fields::post(frame, &sheet.action, "", html! {
                (hidden(sheet))
                ul.standing { @for row in &sheet.rows { li { input type="hidden" name="row" value=(row.id); (row.text) } } }
                input type="hidden" name="who" value=(sheet.who);
                button.btn.big.solid name="all" value="1" { (sheet.button) }
            }))
            a.btn.soft href=(href) { "Not all of it is so" }
        }
    }
}

fn tick(row: &SheetRow, typed: &Typed) -> Markup {
    let has = |list: &str| {
        typed
            .values
            .get(list)
            .is_some_and(|ids| ids.split(' ').any(|id| id == row.id))
    };
    html! {
        li {
            input type="hidden" name="row" value=(row.id);
            label.tick { input type="checkbox" name="saw" value=(row.id) checked[has("saw")];
                span.box { svg aria-hidden="true" { use href="#s-tick" {} } }
                span.what { (row.text) @if !row.detail.is_empty() { small { (row.detail) } } } }
            @if !row.no_opposite {
                label.notso { input type="checkbox" name="notso" value=(row.id) checked[has("notso")] aria-label=(format!("Not so: {}", row.text));
                    span aria-hidden="true" { "Not so" } }
            }
        }
    }
}
