//! A robot in a list: verdict, name, bench, first hold-up, forecast.

use super::{
    clock::Clock,
    signs::Forecast,
    verdict::{self, Verdict},
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// A robot as boards, rounds and team pages list it.
#[derive(Debug, Clone)]
pub struct RobotRow {
    /// Where its page is; none for a robot the reader may not open.
    pub href: Option<String>,
    /// Its name; or "winner of 12" where that is not known yet.
    pub name: String,
    /// Its bench.
    pub bench: Option<i32>,
    /// Its verdict; none where the slot is open.
    pub verdict: Option<Verdict>,
    /// Its forecast.
    pub forecast: Forecast,
    /// Odds in percent.
    pub odds_percent: Option<u8>,
    /// By when it is ready eight times in ten.
    pub eight_in_ten: Option<DateTime<Utc>>,
    /// The first thing that holds it up.
    pub hold_up: String,
    /// What the forecast rests on.
    pub basis: String,
}

/// A grey tag: only for things that carry a physical one.
pub fn tally(text: impl std::fmt::Display) -> Markup {
    html! { span.tally.q { (text) } }
}

/// Name and bench.
pub fn name(row: &RobotRow) -> Markup {
    html! {
        @match &row.href {
            Some(href) => { a.rname href=(href) { b { (row.name) } } }
            None => { b { (row.name) } }
        }
        @if let Some(bench) = row.bench { " " span.vh { "bench" } (tally(bench)) }
    }
}

/// "8 in 10 by 14:33": by when it is ready eight times in ten.
pub fn by_then(clock: &Clock, row: &RobotRow) -> Markup {
    html! { @if let Some(at) = row.eight_in_ten { span.by8 { "8 in 10 by " (clock.time(at)) } } }
}

/// Five cells of a board row; its forecast leads to `reasons`.
pub fn cells(clock: &Clock, row: &RobotRow, reasons: &str) -> Markup {
    html! {
        td.rc { @if let Some(v) = &row.verdict { (verdict::in_row(v)) } }
        td.rn { (name(row)) @if !row.hold_up.is_empty() { span.hold1 { (row.hold_up) } }
            @if !row.basis.is_empty() { span.hold1.basis { (row.basis) } } }
        td.rf { a.reasons href=(reasons) aria-label=(format!("{}: {}, why", row.name, row.forecast.word())) { (row.forecast.inline()) } (by_then(clock, row)) }
        td.ro { @if let Some(odds) = row.odds_percent { (odds) " %" } }
    }
}
