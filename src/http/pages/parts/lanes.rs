//! The plan as lanes of people and things, with the chain that decides the finish.

use super::clock::Clock;
use chrono::{DateTime, TimeDelta, Utc};
use maud::{Markup, html};

/// A plan.
#[derive(Debug, Clone)]
pub struct Plan {
    /// From when it is drawn.
    pub from: DateTime<Utc>,
    /// Likely finish.
    pub likely: Option<DateTime<Utc>>,
    /// The call.
    pub call: Option<DateTime<Utc>>,
    /// Lanes, in order.
    pub lanes: Vec<Lane>,
    /// The chain of tasks that decides the finish, with what each waits for.
    pub chain: Vec<Link>,
    /// What this plan moved, while it is news.
    pub moved: Option<News>,
    /// Tasks, in order of their start; numbered by their place here.
    pub tasks: Vec<Bar>,
}

/// A task of the chain that decides the finish.
#[derive(Debug, Clone)]
pub struct Link {
    /// Its number in the list; none if it is done for another robot.
    pub number: Option<usize>,
    /// What.
    pub name: String,
    /// What it waits for, in words.
    pub waits: String,
}

/// What a new plan moved.
#[derive(Debug, Clone)]
pub struct News {
    /// Since when.
    pub at: DateTime<Utc>,
    /// What moved.
    pub what: Vec<String>,
    /// Why.
    pub because: String,
}

/// A person or a thing.
#[derive(Debug, Clone)]
pub struct Lane {
    /// Its name.
    pub name: String,
    /// What is said about it.
    pub note: String,
}

/// A task of the plan.
#[derive(Debug, Clone)]
pub struct Bar {
    /// What.
    pub name: String,
    /// By whom, in words.
    pub who: String,
    /// Which lanes it lies on.
    pub lanes: Vec<usize>,
    /// From.
    pub start: DateTime<Utc>,
    /// To.
    pub end: DateTime<Utc>,
    /// By when it has ended eight times in ten.
    pub eight_in_ten: Option<DateTime<Utc>>,
    /// How far it is.
    pub progress: Progress,
    /// It is on the chain that decides the finish.
    pub decides: bool,
    /// It is for whoever looks.
    pub mine: bool,
}

/// How far a task is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// Not begun.
    Planned,
    /// Begun.
    Running,
    /// Over.
    Done,
}

const LANE: usize = 51;
const TOP: usize = 44;

/// The panel with lanes and the numbered list.
pub fn panel(clock: &Clock, plan: &Plan) -> Markup {
    html! {
        section.panel data-part="plan" aria-labelledby="plh" {
            h2 #plh { "Plan " @if let Some(likely) = plan.likely { span.meta { "likely " (clock.time(likely)) } } }
            @if plan.tasks.is_empty() {
                p.intro { "Nothing is left to do." }
            } @else {
                @if let Some(news) = &plan.moved { (moved(clock, news)) }
                (chain(plan))
                @if !plan.lanes.is_empty() { (drawing(clock, plan)) }
                (list(clock, plan))
            }
        }
    }
}

/// The lanes and the numbered list alone, for a panel of another page.
pub fn only(clock: &Clock, plan: &Plan) -> Markup {
    html! { (drawing(clock, plan)) (list(clock, plan)) }
}

fn chain(plan: &Plan) -> Markup {
    let chain: Vec<usize> = numbers(plan, |bar| bar.decides && bar.progress != Progress::Done);
    html! {
        @if !chain.is_empty() { p.chainline { span { "Decides it" } " "
            @for (i, n) in chain.iter().enumerate() { @if i > 0 { span aria-hidden="true" { "›" } } b { (n) } }
        } }
        @if !plan.chain.is_empty() { details.why { summary.btn.small.soft { "Why it takes that long" }
            ol { @for link in &plan.chain { li {
                @if let Some(n) = link.number { b { (n) } } div { (link.name) span { (link.waits) } }
            } } }
        } }
    }
}

fn moved(clock: &Clock, news: &News) -> Markup {
    html! {
        div.moved {
            p { b { "Moved " (clock.time(news.at)) } }
            ul { @for what in &news.what { li { (what) } } }
            p.meta { "Why: " (news.because) }
        }
    }
}

fn numbers(plan: &Plan, want: impl Fn(&Bar) -> bool) -> Vec<usize> {
    (1..)
        .zip(&plan.tasks)
        .filter(|(_, bar)| want(bar))
        .map(|(n, _)| n)
        .collect()
}

struct Scale {
    from: DateTime<Utc>,
    seconds: f64,
}

impl Scale {
    fn of(clock: &Clock, plan: &Plan) -> Self {
        let last = plan
            .tasks
            .iter()
            .map(|bar| bar.end)
            .max()
            .unwrap_or(clock.now);
        let end = last.max(clock.now).max(plan.call.unwrap_or(last)) + TimeDelta::minutes(3);
        // Very long plans would make every bar a hair: the drawing stops at four hours.
        let whole = (end - plan.from).num_seconds().clamp(600, 4 * 3600);
        Self {
            from: plan.from,
            seconds: whole as f64,
        }
    }

    fn share(&self, at: DateTime<Utc>) -> f64 {
        ((at - self.from).num_seconds() as f64 / self.seconds * 100.0).clamp(0.0, 100.0)
    }

    fn x(&self, at: DateTime<Utc>) -> String {
        format!("{:.2}%", self.share(at))
    }
}

fn drawing(clock: &Clock, plan: &Plan) -> Markup {
    let scale = Scale::of(clock, plan);
    let bottom = TOP + plan.lanes.len() * LANE;
    let words = format!(
        "Plan from {}. The same tasks are listed below with people and times.",
        clock.hm(plan.from)
    );
    html! {
        svg.lanes width="100%" height=(bottom + 14) role="img" aria-label=(words) {
            (grid(clock, plan, &scale, bottom))
            @for (i, _) in plan.lanes.iter().enumerate().skip(1) {
                @let y = TOP + i * LANE - 22;
                line.lrule x1="0" x2="100%" y1=(y) y2=(y) {}
            }
            @for (n, bar) in (1..).zip(&plan.tasks) { @for lane in &bar.lanes { (one(clock, &scale, n, bar, *lane)) } }
            (now_and_call(clock, plan, &scale, bottom))
            @for (i, lane) in plan.lanes.iter().enumerate() {
                text.halo y=(TOP + i * LANE - 7) { tspan.lname { (lane.name) } " " tspan.axis { (lane.note) } }
            }
        }
    }
}

fn grid(clock: &Clock, plan: &Plan, scale: &Scale, bottom: usize) -> Markup {
    let step = match scale.seconds as i64 {
        ..=3600 => 10,
        3601..=7200 => 20,
        _ => 60,
    };
    let first = plan.from
        + TimeDelta::seconds(
            (step * 60 - plan.from.timestamp().rem_euclid(step * 60)) % (step * 60),
        );
    let ticks: Vec<_> = (0..12)
        .map(|i| first + TimeDelta::minutes(step * i))
        .filter(|at| (*at - plan.from).num_seconds() as f64 <= scale.seconds)
        .collect();
    html! {
        @for at in ticks {
            @let share = scale.share(at);
            line.grid x1=(scale.x(at)) x2=(scale.x(at)) y1="18" y2=(bottom - 6) {}
            text.axis x=(scale.x(at)) y="12" text-anchor=(anchor(share)) { (clock.hm(at)) }
        }
    }
}

fn now_and_call(clock: &Clock, plan: &Plan, scale: &Scale, bottom: usize) -> Markup {
    let near = plan
        .call
        .is_some_and(|call| (scale.share(call) - scale.share(clock.now)).abs() < 34.0);
    html! {
        line.now x1=(scale.x(clock.now)) x2=(scale.x(clock.now)) y1="18" y2=(bottom - 4) {}
        @if !near || plan.call.is_none() {
            text.foot x=(scale.x(clock.now)) y=(bottom + 11) text-anchor=(anchor(scale.share(clock.now))) { "now " (clock.hm(clock.now)) }
        }
        @if let Some(call) = plan.call {
            line.callpost x1=(scale.x(call)) x2=(scale.x(call)) y1="18" y2=(bottom - 4) {}
            text.foot.thr x=(scale.x(call)) y=(bottom + 11) text-anchor=(anchor(scale.share(call))) { "call " (clock.hm(call)) }
        }
    }
}

fn anchor(share: f64) -> &'static str {
    match share {
        ..12.0 => "start",
        88.0.. => "end",
        _ => "middle",
    }
}

fn one(clock: &Clock, scale: &Scale, number: usize, bar: &Bar, lane: usize) -> Markup {
    let y = TOP + lane * LANE;
    let (from, to) = (scale.share(bar.start), scale.share(bar.end));
    let width = (to - from - 0.3).max(0.6);
    let class = match bar.progress {
        Progress::Done => "done",
        Progress::Running => "run",
        Progress::Planned => "plan",
    };
    let chain = bar.decides && bar.progress != Progress::Done;
    let passed = (scale.share(clock.now) - from).clamp(0.0, width);
    html! {
        rect.b.(class).chain[chain] x=(format!("{from:.2}%")) y=(y) width=(format!("{width:.2}%")) height="25" rx="2" {}
        @if bar.mine { rect.b.mine x=(format!("{from:.2}%")) y=(y) width=(format!("{width:.2}%")) height="25" rx="2" {} }
        @if bar.progress == Progress::Running {
            rect.prog.chain[chain] x=(format!("{from:.2}%")) y=(y + 20) width=(format!("{passed:.2}%")) height="5" {}
        }
        // A number in a bar too narrow for it would say nothing; the list has it.
        @if width > 4.5 { text.bt.(class).chain[chain] x=(format!("{:.2}%", from + width / 2.0)) y=(y + 17) { (number) } }
    }
}

fn list(clock: &Clock, plan: &Plan) -> Markup {
    let open: Vec<_> = (1..)
        .zip(&plan.tasks)
        .filter(|(_, bar)| bar.progress != Progress::Done)
        .collect();
    html! {
        ol.keylist { @for (n, bar) in open {
            li.chain[bar.decides] {
                span.n { (n) }
                div.what { (bar.name) @if bar.mine { b { " (you)" } } span { (bar.who)
                    @if bar.progress == Progress::Running { ", running since " (clock.hm(bar.start)) } } }
                span.t { "till " (clock.time(bar.end))
                    @if let Some(by) = bar.eight_in_ten.filter(|by| *by > bar.end) { small { "8 in 10 by " (clock.hm(by)) } } }
            }
        } }
    }
}
