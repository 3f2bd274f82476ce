//! What a circuit carries over time, drawn.

use crate::http::pages::parts::clock::Clock;
use chrono::{DateTime, TimeDelta, Utc};
use maud::{Markup, html};

/// From when so many amperes flow, until the next step.
pub type Step = (DateTime<Utc>, f64);

/// A circuit over time.
#[derive(Debug, Clone)]
pub struct Curve {
    /// What is written on it.
    pub name: String,
    /// "16 A, planned with 80 %".
    pub rating: String,
    /// Whether it carries all of it, in words.
    pub verdict: String,
    /// That is a warning.
    pub over: bool,
    /// Rating and what is planned with, in A.
    pub limits: Option<(f64, f64)>,
    /// Everything that runs and is to come.
    pub all: Vec<Step>,
    /// What runs now.
    pub running: Vec<Step>,
}

const TOP: f64 = 22.0;
const BOTTOM: f64 = 150.0;
/// The drawing spans at least and at most so many minutes.
const SPAN_MIN: (i64, i64) = (60, 360);

struct Scale {
    from: DateTime<Utc>,
    seconds: f64,
    most: f64,
}

impl Scale {
    fn x(&self, at: DateTime<Utc>) -> f64 {
        ((at - self.from).num_seconds() as f64 / self.seconds * 100.0).clamp(0.0, 100.0)
    }

    fn y(&self, amps: f64) -> f64 {
        BOTTOM - (amps / self.most).clamp(0.0, 1.0) * (BOTTOM - TOP)
    }
}

impl Curve {
    fn scale(&self, now: DateTime<Utc>) -> Scale {
        // What draws all day makes no drawing longer: the last change before it ends does.
        let changes = self.all.iter().chain(&self.running).map(|step| step.0);
        let within = now + TimeDelta::minutes(SPAN_MIN.1);
        let last = changes.filter(|at| *at <= within).max().unwrap_or(now);
        let minutes = (last - now).num_minutes().clamp(SPAN_MIN.0, SPAN_MIN.1);
        let peak = self.all.iter().map(|step| step.1).fold(0.0, f64::max);
        let rating = self.limits.map_or(0.0, |limits| limits.0);
        Scale {
            from: now,
            seconds: (minutes * 60) as f64,
            most: (peak.max(rating) * 1.12).max(1.0),
        }
    }

    /// The panel with the drawing.
    pub fn show(&self, clock: &Clock) -> Markup {
        let scale = self.scale(clock.now);
        let words = format!(
            "Load of {} from {}. {}",
            self.name,
            clock.hm(clock.now),
            self.verdict
        );
        let quarter = |n: i64| {
            let seconds = TimeDelta::seconds((scale.seconds as i64) * n / 4);
            clock.hm(clock.now + seconds)
        };
        html! {
            section.panel data-part=(format!("load-{}", self.name)) { h2 { (self.name) span.meta { (self.rating) } }
                @if let Some((rating, planned)) = self.limits {
                    svg.load width="100%" height="174" role="img" aria-label=(words) {
                        (rects(&scale, &self.all, "seg4"))
                        (rects(&scale, &self.running, "seg2"))
                        line.lim x1="0" x2="100%" y1=(pixel(scale.y(planned))) y2=(pixel(scale.y(planned))) {}
                        text.limt.halo x="100%" y=(pixel(scale.y(planned) - 5.0)) text-anchor="end" { "plan with " (amps(planned)) }
                        @if rating > planned * 1.05 {
                            line.base x1="0" x2="100%" y1=(pixel(scale.y(rating))) y2=(pixel(scale.y(rating))) {}
                            text.halo x="0" y=(pixel(scale.y(rating) - 4.0)) { (amps(rating)) }
                        }
                        line.base x1="0" x2="100%" y1=(BOTTOM) y2=(BOTTOM) {}
                        text x="0" y="168" { "now " (clock.hm(clock.now)) }
                        text x="50%" y="168" text-anchor="middle" { (quarter(2)) }
                        text x="100%" y="168" text-anchor="end" { (quarter(4)) }
                    }
                    p.legend { span { svg aria-hidden="true" { rect width="16" height="16" class="seg2" {} } "runs now" }
                        span { svg aria-hidden="true" { rect width="16" height="16" class="seg4" {} } "to come" } }
                }
                @if self.over { p.fault { (self.verdict) } } @else { p.meta { (self.verdict) } }
            }
        }
    }
}

/// "12.8 A".
pub fn amps(amps: f64) -> String {
    format!("{amps:.1} A")
}

fn pixel(y: f64) -> String {
    format!("{y:.1}")
}

fn rects(scale: &Scale, steps: &[Step], class: &str) -> Markup {
    let end = scale.from + TimeDelta::seconds(scale.seconds as i64);
    let ends = steps.iter().skip(1).map(|step| step.0).chain([end]);
    html! {
        @for (step, to) in steps.iter().zip(ends) {
            @let (from, to) = (scale.x(step.0), scale.x(to));
            @if to > from && step.1 > 0.0 {
                rect class=(class) x=(format!("{from:.2}%")) width=(format!("{:.2}%", to - from)) y=(pixel(scale.y(step.1))) height=(pixel(BOTTOM - scale.y(step.1))) {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::http::pages::samples::{at, frame};

    fn curve(all: Vec<Step>) -> Curve {
        Curve {
            name: "Lead 1".into(),
            rating: "13 A".into(),
            verdict: "Within what is planned with.".into(),
            over: false,
            limits: Some((13.0, 10.4)),
            all,
            running: vec![],
        }
    }

    #[test]
    fn the_drawing_ends_with_the_last_change_and_more_amperes_stand_higher() {
        let drawn = curve(vec![(at(0), 4.0), (at(90), 0.0), (at(800), 0.0)]);
        let scale = drawn.scale(frame().clock.now);
        assert_eq!(scale.x(at(90)), 100.0);
        assert_eq!(scale.x(at(45)), 50.0);
        assert!(scale.y(13.0) < scale.y(10.4) && scale.y(10.4) < scale.y(4.0));
        assert!(scale.y(13.0) > TOP && scale.y(0.0) == BOTTOM);
        let html = drawn.show(&frame().clock).into_string();
        assert_eq!(html.matches("<rect class=\"seg4\"").count(), 1);
    }

    #[test]
    fn an_unrated_lead_has_no_drawing_but_says_so() {
        let mut unknown = curve(vec![]);
        unknown.limits = None;
        unknown.verdict = "Its rating is not entered.".into();
        let html = unknown.show(&frame().clock).into_string();
        assert!(!html.contains("<svg class=\"load\"") && html.contains("not entered"));
    }
}
