//! May I put my hands in? The verdict on a robot's energy.

use super::{
    clock::{Clock, iso},
    signs::Sign,
};
use chrono::{DateTime, Utc};
use maud::{Markup, html};

/// A robot's verdict.
#[derive(Debug, Clone)]
pub struct Verdict {
    /// The verdict.
    pub sign: Sign,
    /// Why, and who saw it.
    pub reason: String,
    /// The oldest sight it rests on.
    pub oldest: Option<DateTime<Utc>>,
    /// Until when it stands by itself: a made-safe verdict turns to unproved then.
    pub until: Option<DateTime<Utc>>,
    /// A line in the place of "stands till".
    pub note: String,
    /// Where "Look now" leads; none where looking is somebody else's work.
    pub look: Option<String>,
}

/// The panel at the top of the bench. Past `until`, and whenever the server cannot be asked, the
/// phone turns it to unproved by itself.
pub fn panel(clock: &Clock, verdict: &Verdict) -> Markup {
    let claims = verdict.sign == Sign::MadeSafe;
    html! {
        section.verdict.(verdict.sign.class()) data-part="verdict" aria-labelledby="vh"
            data-till=[verdict.until.filter(|_| claims).map(iso)] data-claims[claims] {
            div.flag { (verdict.sign.on_flag()) }
            div.say {
                h2 #vh data-word { (verdict.sign.word()) }
                p data-reason { (verdict.reason) }
            }
            div.act {
                p.till {
                    @match verdict.until {
                        Some(until) if claims => { "stands till " (clock.time(until)) (used(clock, verdict)) }
                        _ => { (verdict.note) }
                    }
                }
                @if let Some(look) = &verdict.look { a.btn.soft[claims] href=(look) { "Look now" } }
            }
        }
    }
}

/// A bar of the limit used.
fn used(clock: &Clock, verdict: &Verdict) -> Markup {
    let (Some(oldest), Some(until)) = (verdict.oldest, verdict.until) else {
        return html! {};
    };
    limit_bar(clock, oldest, until, 88)
}

/// How much of the time between a sight and its limit is used, as a bar `width` px wide.
pub fn limit_bar(clock: &Clock, seen: DateTime<Utc>, until: DateTime<Utc>, width: u32) -> Markup {
    let whole = (until - seen).num_seconds().max(1);
    let part = (clock.now - seen).num_seconds().clamp(0, whole);
    let percent = part * 100 / whole;
    html! {
        svg width=(width) height="5" aria-hidden="true" {
            rect width="100%" height="5" rx="2.5" fill="var(--bar)" {}
            rect width=(format!("{percent}%")) height="5" rx="2.5" fill="currentColor"
                data-from=(iso(seen)) data-until=(iso(until)) {}
        }
    }
}

/// Sign and word in a list; the phone keeps it honest like the panel.
pub fn in_row(verdict: &Verdict) -> Markup {
    let claims = verdict.sign == Sign::MadeSafe;
    html! {
        span.claim data-till=[verdict.until.filter(|_| claims).map(iso)] data-claims[claims] {
            (verdict.sign.beside_word()) b data-word { (verdict.sign.word()) }
        }
    }
}
