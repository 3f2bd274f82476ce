//! When is our call, and shall we make it? Call, forecast and the slack gauge.

use super::{clock::Clock, signs::Forecast};
use chrono::{DateTime, TimeDelta, Utc};
use maud::{Markup, html};

/// The next call and its forecast.
#[derive(Debug, Clone)]
pub struct Call {
    /// "Call, bout 17".
    pub label: String,
    /// When; none if no bout is known.
    pub at: Option<DateTime<Utc>>,
    /// The forecast.
    pub forecast: Forecast,
    /// Chance of being ready by the call, in percent.
    pub odds_percent: Option<u8>,
    /// Likely finish.
    pub likely: Option<DateTime<Utc>>,
    /// Finish by which eight in ten would be ready.
    pub eight_in_ten: Option<DateTime<Utc>>,
    /// Further facts: "If lost", "Until".
    pub facts: Vec<(&'static str, String)>,
    /// What the forecast rests on: reported, or assumed from the library.
    pub basis: String,
    /// The crew's answer, or where to give it.
    pub answer: Answer,
}

/// Whether the crew has answered its call.
#[derive(Debug, Clone)]
pub enum Answer {
    /// Not called yet.
    NotAsked,
    /// Called: answer here.
    Asked(String),
    /// Answered so.
    Given(String),
}

/// The call panel.
pub fn panel(clock: &Clock, call: &Call) -> Markup {
    html! {
        section.panel.call data-part="call" aria-labelledby="callh" {
            div.at { h2.lab #callh { (call.label) }
                @match call.at {
                    Some(at) => { span.t { (clock.time(at)) } span.in { (clock.left(at)) } }
                    None => { span.t { "none" } span.in { "no bout known" } }
                }
            }
            div.fc {
                p.word.(call.forecast.class()) { (call.forecast.mark()) " " (call.forecast.word()) }
                dl {
                    @if let Some(odds) = call.odds_percent { dt { "Odds" } dd { (percent_by_call(odds)) } }
                    @if let Some(by) = call.eight_in_ten { dt { "8 in 10" } dd { "by " (clock.time(by)) } }
                    @if let (Some(at), Some(likely)) = (call.at, call.likely) { dt { "Spare" } dd { (spare(at - likely)) } }
                    @for (name, value) in &call.facts { dt { (name) } dd { (value) } }
                }
            }
            @if let (Some(at), Some(likely)) = (call.at, call.likely) {
                (gauge(clock, call.forecast, at, likely, call.eight_in_ten.unwrap_or(likely)))
            }
            p.meta.basis { (call.basis) @match &call.answer {
                Answer::NotAsked => {}
                Answer::Given(answer) => { ". You answered: " (answer) }
                Answer::Asked(_) => {}
            } }
            @if let Answer::Asked(href) = &call.answer { a.btn.callanswer href=(href) { "Answer the call" } }
        }
    }
}

/// "74 % by the call".
pub fn percent_by_call(percent: u8) -> String {
    format!("{percent} % by the call")
}

fn spare(length: TimeDelta) -> String {
    let minutes = length.num_minutes();
    if minutes < 0 {
        format!("{} min short", -minutes)
    } else {
        format!("{minutes} min")
    }
}

/// From now to a little past the call or the slow finish, whichever is later: a solid bar to the
/// likely finish, hatched to eight in ten, the thread at the call.
fn gauge(
    clock: &Clock,
    forecast: Forecast,
    call: DateTime<Utc>,
    likely: DateTime<Utc>,
    eight: DateTime<Utc>,
) -> Markup {
    let now = clock.now;
    let end = call.max(eight).max(now + TimeDelta::minutes(1));
    let whole = (end - now).num_seconds() as f64 * 1.13;
    let share =
        |at: DateTime<Utc>| ((at - now).num_seconds() as f64 / whole * 100.0).clamp(0.0, 100.0);
    let (done, slow, post) = (share(likely), share(eight.max(likely)), share(call));
    let width = |from: f64, to: f64| format!("{:.1}%", (to - from).max(0.0));
    let x = |at: f64| format!("{at:.1}%");
    let words = format!(
        "{}: likely ready {}, 8 in 10 by {}, call {}",
        forecast.word(),
        clock.hm(likely),
        clock.hm(eight),
        clock.hm(call)
    );
    // The words under the gauge must not run into each other: the nearer they are, the further
    // they are pushed apart, to the ends where there is room.
    let (likely_anchor, likely_x) = if done < 30.0 {
        ("start", 0.0)
    } else {
        ("end", done)
    };
    html! {
        figure.gauge {
            svg width="100%" height="47" role="img" aria-label=(words) {
                line.g-track x1="0" x2="100%" y1="20" y2="20" stroke-width="1.5" {}
                rect.g-ink x="0" y="5" width=(width(0.0, done)) height="12" {}
                rect x=(x(done)) y="5" width=(width(done, slow)) height="12" fill="url(#p-hatch)" {}
                rect.g-inkline x=(x(done)) y="5" width=(width(done, slow)) height="12" stroke-width="1.5" {}
                line.g-thread x1=(x(post)) x2=(x(post)) y1="0" y2="29" stroke-width="4" {}
                @if (post - done).abs() > 18.0 || done < 30.0 && post > 48.0 {
                    text x=(x(likely_x)) y="38" text-anchor=(likely_anchor) { "likely " (clock.hm(likely)) }
                }
                text.thr x=(x(post.clamp(4.0, 96.0))) y="43" text-anchor="middle" { "call" }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_thread_stands_behind_the_bar_when_there_is_time_and_in_it_when_late() {
        let clock = Clock {
            now: "2026-11-28T14:09:00Z".parse().unwrap(),
            zone: chrono_tz::UTC,
        };
        let at = |minutes: i64| clock.now + TimeDelta::minutes(minutes);
        let place = |text: &str, after: &str| -> f64 {
            let from = text.find(after).unwrap() + after.len();
            text[from..].split('%').next().unwrap().parse().unwrap()
        };
        let early = gauge(&clock, Forecast::OnCourse, at(31), at(21), at(24)).into_string();
        let late = gauge(&clock, Forecast::Late, at(10), at(24), at(30)).into_string();
        let bar = "y=\"5\" width=\"";
        let post = "g-thread\" x1=\"";
        assert!(place(&early, bar) < place(&early, post));
        assert!(place(&late, bar) > place(&late, post));
    }
}
