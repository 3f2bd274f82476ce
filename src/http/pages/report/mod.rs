//! Reports: the sheets of one robot, looking, damage, answering a call, putting a line right.

use super::parts::{
    energy::{self, Looked},
    fields::{self, Chip, Typed},
    frame::{self, Frame, Tag},
    sheet::{self, Sheet},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

pub mod routes;
#[cfg(test)]
pub mod samples;
pub mod view;

/// A report about to be entered.
#[derive(Debug)]
pub struct Report {
    /// "Back, made safe".
    pub tag: Tag,
    /// The bench.
    pub back: String,
    /// The sheet.
    pub sheet: Sheet,
}

/// The sheet of a report.
pub fn page(frame: &Frame, report: &Report) -> Markup {
    let title = format!("{}: {}", report.tag.name, report.tag.sub);
    frame::sheet(
        frame,
        &title,
        &report.tag,
        &report.back,
        sheet::form(frame, &report.sheet),
    )
}

/// Every report that can be entered for a robot.
#[derive(Debug)]
pub struct Reports {
    /// The robot.
    pub tag: Tag,
    /// The bench.
    pub back: String,
    /// Those that fit the place, then the others: label and sheet.
    pub fit: Vec<(String, String)>,
    /// The others.
    pub others: Vec<(String, String)>,
}

/// The list of reports.
pub fn list(frame: &Frame, view: &Reports) -> Markup {
    let links = |reports: &[(String, String)]| {
        html! { div.stacked { @for (label, href) in reports { a.btn.soft href=(href) { (label) } } } }
    };
    frame::sheet(
        frame,
        "Other report",
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                @if !view.fit.is_empty() { section.panel { h2 { "Fits where it stands" } (links(&view.fit)) } }
                section.panel { h2 { "All reports" } (links(&view.others)) }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// Looking at every source, one by one.
#[derive(Debug)]
pub struct Look {
    /// The robot.
    pub tag: Tag,
    /// The bench.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// The sources with what can be found, and what stands now.
    pub sources: Vec<LookSource>,
    /// "All as before", if everything stands.
    pub looked: Option<Looked>,
    /// Who holds the link, to choose; nothing chosen at first.
    pub holders: Vec<Chip>,
    /// Who looked.
    pub people: Vec<Chip>,
    /// Who is chosen at first.
    pub who: String,
    /// What came back.
    pub typed: Typed,
}

/// One source to look at.
#[derive(Debug)]
pub struct LookSource {
    /// Its name in the form.
    pub name: &'static str,
    /// What it is called.
    pub label: String,
    /// What can be found; the isolated state first.
    pub found: Vec<Chip>,
    /// What stands now and since when.
    pub now: String,
}

/// The look sheet: nothing is chosen at first, and a source not chosen is not said to be seen.
pub fn look(frame: &Frame, view: &Look) -> Markup {
    frame::sheet(
        frame,
        &format!("Look: {}", view.tag.name),
        &view.tag,
        &view.back,
        html! {
            div.wrap {
                @if let Some(looked) = &view.looked { section.panel { (energy::looked_form(frame, looked)) } }
            }
            (fields::post(frame, &view.action, "sheetform", html! {
                main.wrap #main {
                    (view.typed.summary())
                    section.panel { h2 { "What do you see now?" }
                        p.intro { "Only what you tap is said to be seen." }
                        @for source in &view.sources { div.looksource {
                            (fields::chips(source.name, &source.label, "", &source.found, &view.typed))
                            @if !source.now.is_empty() { p.meta { (source.now) } }
                        } }
                        @if !view.holders.is_empty() { (fields::chips("holder", "Link is in the hand of", "", &view.holders, &view.typed)) }
                    }
                    div.panel.pick {
                        (fields::who(&view.people, &view.who, &view.typed))
                        (fields::when_chips(&view.typed))
                    }
                    (frame::caution())
                }
                footer.sheetfoot {
                    button.btn.big.solid { "I saw what is tapped" }
                    div.row { a.btn.soft.grow href=(view.back) { "Close" } (frame::emergency_button()) }
                }
            }))
        },
    )
}

/// Entering damage: first the area, then the kind.
#[derive(Debug)]
pub struct Damage {
    /// The robot.
    pub tag: Tag,
    /// The bench.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// Where it is photographed.
    pub photos: String,
    /// The areas; those already damaged say so.
    pub areas: Vec<Area>,
    /// The area whose kinds are asked.
    pub chosen: Option<Area>,
    /// Its kinds of damage.
    pub kinds: Vec<Chip>,
    /// What was tapped in since the last bout.
    pub found: Vec<String>,
}

/// An area of the machine.
#[derive(Debug, Clone)]
pub struct Area {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub label: String,
    /// Damage already tapped in.
    pub known: u32,
}

/// The damage pages.
pub fn damage(frame: &Frame, view: &Damage) -> Markup {
    frame::sheet(
        frame,
        &format!("Damage: {}", view.tag.name),
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                @match &view.chosen {
                    Some(area) => {
                        section.panel { h2 { (area.label) } p.intro { "What is it? One tap enters it and brings you back for the next." }
                            (fields::post(frame, &view.action, "stacked", html! {
                                input type="hidden" name="area" value=(area.id);
                                @for kind in &view.kinds { button.btn.soft name="kind" value=(kind.value) { (kind.label) } }
                            }))
                        }
                        a.btn.soft href=(view.action) { "Another area" }
                    }
                    None => {
                        section.panel { h2 { "Where?" } div.areas { @for area in &view.areas {
                            a.btn.soft href=(format!("{}?area={}", view.action, area.id)) { (area.label) @if area.known > 0 { " " (super::parts::robot_row::tally(area.known)) } }
                        } } }
                    }
                }
                @if !view.found.is_empty() { section.panel { h2 { "Found since the last bout" } ul.rows { @for found in &view.found { li { div { (found) } } } } } }
                a.btn.soft href=(view.photos) { "Photograph it" }
            }
            footer.sheetfoot { div.row { a.btn.solid.grow href=(view.back) { "Nothing more" } (frame::emergency_button()) } }
        },
    )
}

/// Answering a call.
#[derive(Debug)]
pub struct CallAnswer {
    /// The robot.
    pub tag: Tag,
    /// The bench.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// The bout.
    pub bout: String,
    /// Its number.
    pub label: String,
    /// When to be there.
    pub at: DateTime<Utc>,
    /// What came back.
    pub typed: Typed,
}

/// The answer to a call: coming, or minutes.
pub fn answer(frame: &Frame, view: &CallAnswer) -> Markup {
    frame::sheet(
        frame,
        &format!("Answer the call: {}", view.tag.name),
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                section.panel.call { div.at { h2.lab { (view.label) } span.t { (frame.clock.time(view.at)) } span.in { (frame.clock.left(view.at)) } }
                    div.fc { p { "Be in the arena queue by then, link out, its holder known." } } }
                (view.typed.summary())
                (fields::post(frame, &view.action, "panel stacked", html! {
                    input type="hidden" name="bout" value=(view.bout);
                    button.btn.big.solid name="answer" value="coming" { "Coming" }
                    p.lab-h { "Need more minutes" }
                    div.fours { @for minutes in [2, 5, 10, 15] { button.btn name="answer" value=(minutes) { (minutes) " min" } } }
                    button.btn.soft name="answer" value="not" { "Will not be there" }
                }))
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}

/// A line to be put right.
#[derive(Debug)]
pub struct PutRight {
    /// The robot, or the event.
    pub tag: Tag,
    /// Where to go back to.
    pub back: String,
    /// Where it posts.
    pub action: String,
    /// The line in words.
    pub line: String,
    /// When and by whom.
    pub by: String,
    /// It can still be withdrawn without trace of a correction.
    pub withdraw_until: Option<DateTime<Utc>>,
    /// States it can be changed to, for lines about one state.
    pub states: Vec<Chip>,
    /// What came back.
    pub typed: Typed,
}

/// Putting a line right: it was not so, or it was otherwise, or at another time.
pub fn put_right(frame: &Frame, view: &PutRight) -> Markup {
    frame::sheet(
        frame,
        "Put right",
        &view.tag,
        &view.back,
        html! {
            main.wrap #main {
                section.panel { h2 { (view.line) } p.intro { (view.by) }
                    @if let Some(until) = view.withdraw_until { p.intro { "Taken back before " (frame.clock.time(until)) " it shows as withdrawn, if nobody has acted on it." } }
                }
                (view.typed.summary())
                (fields::post(frame, &view.action, "panel stacked", html! {
                    button.btn.big.solid name="do" value="void" { "It was not so" small { "takes the line back" } }
                    @if !view.states.is_empty() {
                        p.lab-h { "It was" }
                        @for state in &view.states { button.btn.soft name="do" value=(state.value) { (state.label) } }
                    }
                }))
                (fields::post(frame, &view.action, "panel stacked", html! {
                    p.lab-h { "It was earlier" }
                    div.fours { @for minutes in [2, 5, 10, 20] { button.btn.soft name="do" value=(format!("earlier-{minutes}")) { (minutes) " min" } } }
                }))
                p.meta { "The old line stays in the logbook. The new one says what it puts right." }
            }
            footer.dock { span.fill {} (frame::emergency_button()) }
        },
    )
}
