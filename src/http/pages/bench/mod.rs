//! The bench: one robot, its verdict, its call, the next task, and everything behind them.

use super::clearance::{self, Clearance};
use super::duties::{self, Duties};
use super::gas::at_bench as gas;
use super::hazards::{self, Shown};
use super::parts::{
    call::{self, Call},
    clock::Clock,
    energy::{self, Energy},
    fields,
    frame::{self, Frame, Tag},
    lanes::{self, Plan},
    next::{self, NextTask},
    sheet::{self, Sheet},
    verdict::{self, Verdict},
};
use super::stations::bench::{self as stations, AtBench};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

pub mod routes;
#[cfg(test)]
pub mod samples;
pub mod view;

/// The bench page of a robot.
#[derive(Debug)]
pub struct Bench {
    /// Name, bench and next opponent.
    pub tag: Tag,
    /// 1: may I put my hands in?
    pub verdict: Verdict,
    /// 2: when is our call, shall we make it?
    pub call: Call,
    /// 3: what do I do now?
    pub next: Option<NextTask>,
    /// A report that stands open for this person, in the place of the next task: title, address, sheet.
    pub standing: Option<(String, String, Sheet)>,
    /// First steps, while a stop now stands.
    pub first: Option<FirstSteps>,
    /// 4: the report that fits the place.
    pub report: Option<Offer>,
    /// Every report, for the page behind "Other report".
    pub reports: String,
    /// The sources of energy.
    pub energy: Energy,
    /// The plan.
    pub plan: Option<Plan>,
    /// Its bottles.
    pub gas: Vec<gas::AtBench>,
    /// Stations where it waits, or that it still needs.
    pub stations: Vec<AtBench>,
    /// Its duties, for what is offered to the reader.
    pub duties: Duties,
    /// Whether it may be armed, where that is the question.
    pub clearance: Option<Clearance>,
    /// Hazards, and their page.
    pub hazards: (String, Vec<Shown>),
    /// What is open before the machine may be armed for the first time.
    pub before_arming: Vec<OpenPoint>,
    /// What would help, with what it gains.
    pub help: Vec<Gain>,
    /// What is said where nothing would help, or nothing is known yet.
    pub helps_not: Option<String>,
    /// What could be left out, and where that is posted.
    pub leave_out: Vec<Optional>,
    /// Where leaving out and other words on tasks are posted.
    pub tasks: String,
    /// The last five lines.
    pub log: Vec<LogLine>,
    /// Further pages of this robot.
    pub more: Vec<(&'static str, String)>,
}

/// What to do before anything else.
#[derive(Debug, Clone)]
pub struct FirstSteps {
    /// The steps.
    pub steps: Vec<String>,
    /// Where "My hands are out" posts.
    pub action: String,
    /// The hazard's rule.
    pub rule: String,
    /// Who is told.
    pub tells: String,
}

/// A report that fits.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Its label.
    pub label: String,
    /// Its sheet.
    pub href: String,
}

/// A point still open.
#[derive(Debug, Clone)]
pub struct OpenPoint {
    /// What.
    pub title: String,
    /// Why it is asked for.
    pub why: String,
    /// Where it is dealt with.
    pub href: Option<String>,
}

/// A measure with what it gains.
#[derive(Debug, Clone)]
pub struct Gain {
    /// The measure.
    pub title: String,
    /// A line below.
    pub detail: String,
    /// "4 min sooner".
    pub gain: String,
    /// "99 % by the call".
    pub odds: String,
}

/// An optional task.
#[derive(Debug, Clone)]
pub struct Optional {
    /// Its id.
    pub task: String,
    /// The area, for tasks done per area.
    pub instance: Option<String>,
    /// Its name.
    pub name: String,
    /// Who, how long, what it frees.
    pub detail: String,
}

/// A line of the logbook as the bench shows it.
#[derive(Debug, Clone)]
pub struct LogLine {
    /// When it was seen.
    pub at: DateTime<Utc>,
    /// Who.
    pub who: String,
    /// `did`, `saw`, or nothing.
    pub how: Option<&'static str>,
    /// What.
    pub what: String,
    /// It was taken back or put right.
    pub fate: Option<&'static str>,
    /// Where it is put right; none for lines that cannot be.
    pub put_right: Option<String>,
}

/// The page.
pub fn page(frame: &Frame, bench: &Bench) -> Markup {
    frame::phone(
        frame,
        &title(bench),
        &bench.tag,
        html! {
            (verdict::panel(&frame.clock, &bench.verdict))
            @if let Some(first) = &bench.first { (first_steps(frame, first)) }
            (call::panel(&frame.clock, &bench.call))
            @match (&bench.first, &bench.standing) {
                (Some(_), _) => {}
                (None, Some((title, href, sheet))) => { (sheet::standing(frame, title, href, sheet)) }
                (None, None) => { (next::panel(frame, bench.next.as_ref())) }
            }
            div.row data-part="offer" {
                @if let Some(offer) = &bench.report { a.btn.grow href=(offer.href) { (offer.label) } }
                a.btn.soft.grow[bench.report.is_none()] href=(bench.reports) { "Other report" }
            }
            (duties::offered_to_me(frame, &bench.duties))
            div.below {
                (clearance::panel(frame, bench.clearance.as_ref()))
                (hazards::panel(&bench.hazards.0, &bench.hazards.1))
                (energy::panel(frame, &bench.energy))
                @if let Some(plan) = &bench.plan { (lanes::panel(&frame.clock, plan)) }
                (gas::panel(&bench.gas))
                (stations::panel(frame, &bench.stations))
                (before_arming(&bench.before_arming))
                (help(bench))
                (leave_out(frame, bench))
                (last_lines(&frame.clock, &bench.log))
                nav.panel aria-label=(format!("More of {}", bench.tag.name)) { h2 { "More" } div.chips {
                    @for (label, href) in &bench.more { a.btn.soft.grow href=(href) { (label) } }
                } }
            }
        },
    )
}

/// The verdict comes first where it is not good, so that a tab or a screen reader says it first.
fn title(bench: &Bench) -> String {
    use super::parts::signs::Sign;
    let name = match bench.tag.bench {
        Some(n) => format!("{}, bench {n}", bench.tag.name),
        None => bench.tag.name.clone(),
    };
    match bench.verdict.sign {
        Sign::Unproved | Sign::Live => format!("{}: {name}", bench.verdict.sign.word()),
        _ => name,
    }
}

fn first_steps(frame: &Frame, first: &FirstSteps) -> Markup {
    html! {
        section.panel.next data-part="next" aria-labelledby="nh" {
            p.lab { span #nh { "Before anything else" } }
            ol.steps { @for step in &first.steps { li { (step) } } }
            (fields::post(frame, &first.action, "", html! {
                input type="hidden" name="rule" value=(first.rule);
                input type="hidden" name="said" value="seen";
                button.btn.big.solid { "My hands are out" @if !first.tells.is_empty() { small { "tells " (first.tells) } } }
            }))
        }
    }
}

fn before_arming(points: &[OpenPoint]) -> Markup {
    html! {
        @if !points.is_empty() {
            section.panel data-part="before-arming" { h2 { "Before first arming " span.meta { (points.len()) " open" } }
                ul.rows { @for point in points { li {
                    div { b { (point.title) } @if !point.why.is_empty() { br; span.meta { (point.why) } } }
                    @if let Some(href) = &point.href { a.btn.small.soft href=(href) aria-label=(format!("Open: {}", point.title)) { "Open" } }
                } } }
            }
        }
    }
}

fn help(bench: &Bench) -> Markup {
    let gains = &bench.help;
    html! {
        @if !gains.is_empty() || bench.helps_not.is_some() {
            section.panel data-part="help" { h2 { "What would help" }
                @if let Some(nothing) = &bench.helps_not { p.intro { (nothing) } }
                ul.rows { @for gain in gains { li {
                    div { b { (gain.title) } br; span.meta { (gain.detail) } }
                    div.gain { span.num { (gain.gain) } span.meta { (gain.odds) } }
                } } }
            }
        }
    }
}

fn leave_out(frame: &Frame, bench: &Bench) -> Markup {
    html! {
        section.panel data-part="leave-out" { h2 { "What could be left out" }
            @if bench.leave_out.is_empty() {
                p.intro { "Nothing. Safety tasks are never on this list." }
            } @else {
                p.intro { "Nothing has to be. Safety tasks are never on this list." }
                ul.rows { @for task in &bench.leave_out { li {
                    div { b { (task.name) } br; span.meta { (task.detail) } }
                    (fields::post(frame, &bench.tasks, "", html! {
                        input type="hidden" name="task" value=(task.task);
                        @if let Some(instance) = &task.instance { input type="hidden" name="instance" value=(instance); }
                        input type="hidden" name="state" value="left_out";
                        button.btn.small.soft aria-label=(format!("Leave out: {}", task.name)) { "Leave out" }
                    }))
                } } }
            }
        }
    }
}

/// Lines, the newest first, each with "put right".
pub fn last_lines(clock: &Clock, lines: &[LogLine]) -> Markup {
    html! {
        section.panel data-part="log" { h2 { "Last five lines" }
            @if lines.is_empty() { p.intro { "Nothing entered yet." } }
            ul.rows.log { @for line in lines { (log_line(clock, line)) } }
        }
    }
}

/// One line of the logbook.
pub fn log_line(clock: &Clock, line: &LogLine) -> Markup {
    html! {
        li {
            span.num { (clock.time(line.at)) }
            div.gone[line.fate.is_some()] {
                (line.who) " " @if let Some(how) = line.how { span.how.(how) { (how) } " " } (line.what)
                @if let Some(fate) = line.fate { " " span.meta { (fate) } }
            }
            @if let Some(href) = &line.put_right {
                a.btn.small.soft href=(href) aria-label=(format!("Put right the line of {}", clock.hm(line.at))) { "Put right" }
            }
        }
    }
}
