//! Times as people in the hall read them.

use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use maud::{Markup, html};

/// The moment a page is made, and the time zone of its hall.
#[derive(Debug, Clone, Copy)]
pub struct Clock {
    /// Now.
    pub now: DateTime<Utc>,
    /// The hall's time zone.
    pub zone: Tz,
}

impl Clock {
    /// Hour and minute in the hall.
    pub fn hm(&self, at: DateTime<Utc>) -> String {
        at.with_timezone(&self.zone).format("%H:%M").to_string()
    }

    /// Weekday, day and month in the hall.
    pub fn day(&self, at: DateTime<Utc>) -> String {
        at.with_timezone(&self.zone).format("%a %-d %b").to_string()
    }

    /// How long ago `at` was; the phone keeps it true.
    pub fn age(&self, at: DateTime<Utc>) -> Markup {
        html! { time datetime=(iso(at)) data-age { (span(self.now - at)) } }
    }

    /// How long until `at`, or how long it is past; the phone keeps it true.
    pub fn left(&self, at: DateTime<Utc>) -> Markup {
        html! { time datetime=(iso(at)) data-left { (left(at - self.now)) } }
    }

    /// Hour and minute, marked up.
    pub fn time(&self, at: DateTime<Utc>) -> Markup {
        html! { time datetime=(iso(at)) { (self.hm(at)) } }
    }
}

/// A moment as machines read it.
pub fn iso(at: DateTime<Utc>) -> String {
    at.to_rfc3339_opts(chrono::SecondsFormat::Secs, true)
}

/// A span in whole minutes, hours from 90 min on; "now" below one minute.
pub fn span(length: TimeDelta) -> String {
    match length.num_minutes() {
        ..1 => "now".to_owned(),
        minutes @ 1..90 => format!("{minutes} min"),
        minutes @ 90..1440 => format!("{} h {:02} min", minutes / 60, minutes % 60),
        minutes => format!("{} d", minutes / 1440),
    }
}

fn left(length: TimeDelta) -> String {
    if length > TimeDelta::zero() {
        // A call in 30 s is not "now" yet: rounded up, so that it never seems later than it is
        // by more than it seems earlier.
        let minutes = (length.num_seconds() + 59) / 60;
        format!("in {}", span(TimeDelta::minutes(minutes)))
    } else if length.num_minutes() == 0 {
        "now".to_owned()
    } else {
        format!("{} ago", span(-length))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spans_read_as_people_say_them() {
        for (seconds, words) in [
            (0, "now"),
            (59, "now"),
            (60, "1 min"),
            (89 * 60 + 59, "89 min"),
            (90 * 60, "1 h 30 min"),
            (26 * 3600, "1 d"),
        ] {
            assert_eq!(span(TimeDelta::seconds(seconds)), words);
        }
        assert_eq!(left(TimeDelta::seconds(30)), "in 1 min");
        assert_eq!(left(TimeDelta::seconds(-30)), "now");
        assert_eq!(left(TimeDelta::minutes(-5)), "5 min ago");
    }

    #[test]
    fn the_hall_has_its_own_time() {
        let clock = Clock {
            now: "2026-07-25T13:09:00Z".parse().unwrap(),
            zone: chrono_tz::Europe::London,
        };
        // British Summer Time is one hour ahead of UTC in July (Summer Time Act 1972).
        assert_eq!(clock.hm(clock.now), "14:09");
    }
}
