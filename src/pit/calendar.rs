//! Bouts as a calendar that other programs subscribe to.
//!
//! **Source** RFC 5545: content lines (3.1), text (3.3.11), UTC times (3.3.5), event component
//! (3.6.1), UID (3.8.4.7), SEQUENCE (3.8.7.4), DTSTAMP (3.8.7.2); RFC 7986: NAME (5.1),
//! REFRESH-INTERVAL (5.7).

use super::ids::{BoutId, RobotId, Subject, TeamId};
use super::logbook::Body;
use super::logbook::register::Slot;
use super::state::Pit;
use super::state::running_order::{BoutNow, Progress};
use chrono::{DateTime, TimeDelta, Utc};

/// What a calendar is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// Every bout.
    Event,
    /// Bouts a team's robots are in.
    Team(TeamId),
    /// Bouts a robot is in.
    Robot(RobotId),
}

/// Octets of a content line, its end not counted.
const LINE: usize = 75;

/// The calendar as text. Every bout keeps its UID; its SEQUENCE is the place of the last line that
/// changed it, so that it only grows.
pub fn calendar(pit: &Pit, about: About) -> String {
    let mut text = String::new();
    let event = pit.event.as_ref();
    let name = event.map_or_else(String::new, |event| event.body.name.to_string());
    let of = match about {
        About::Event => None,
        About::Team(id) => pit.teams.get(&id).map(|team| team.body.name.to_string()),
        About::Robot(id) => Some(robot_name(pit, id)),
    };
    let name = match of {
        Some(of) => format!("{of}, {name}"),
        None => name,
    };
    line(&mut text, "BEGIN", "VCALENDAR");
    line(&mut text, "VERSION", "2.0");
    line(&mut text, "PRODID", "-//linkout//running order//EN");
    line(&mut text, "CALSCALE", "GREGORIAN");
    line(&mut text, "METHOD", "PUBLISH");
    line(&mut text, "NAME", &escaped(&name));
    line(&mut text, "X-WR-CALNAME", &escaped(&name));
    line(&mut text, "REFRESH-INTERVAL;VALUE=DURATION", "PT5M");
    for bout in pit.running_order() {
        if concerns(pit, bout, about) {
            entry(&mut text, pit, bout);
        }
    }
    for (id, known) in &pit.bouts {
        let slots = known.body.slots;
        let named = |robot: RobotId| slots.contains(&Slot::Robot(robot));
        let concerned = match about {
            About::Event => true,
            About::Robot(robot) => named(robot),
            About::Team(team) => pit.robots_of(team).any(|(robot, _)| named(robot)),
        };
        if known.body.retired && concerned {
            cancelled(&mut text, pit, *id);
        }
    }
    line(&mut text, "END", "VCALENDAR");
    text
}

/// Whether one of the robots a calendar is about is in a bout, or may come to be.
fn concerns(pit: &Pit, bout: &BoutNow, about: About) -> bool {
    let of = |robot: RobotId| match about {
        About::Event => true,
        About::Robot(wanted) => robot == wanted,
        About::Team(team) => pit
            .robot(robot)
            .is_some_and(|file| file.register.body.team == team),
    };
    about == About::Event
        || bout
            .slots
            .into_iter()
            .zip(bout.robots)
            .any(|(slot, robot)| {
                let Some(robot) = robot else {
                    let (Slot::Winner(feeder) | Slot::Loser(feeder)) = slot else {
                        return false;
                    };
                    let feeder = pit.bout(feeder);
                    let may = feeder.map(|feeder| feeder.robots.into_iter().flatten());
                    return may.into_iter().flatten().any(of);
                };
                of(robot)
            })
}

fn entry(text: &mut String, pit: &Pit, bout: &BoutNow) {
    let settings = pit.settings();
    let minutes = i64::from(settings.staging_min.get()) + i64::from(settings.bout_min.get());
    let (start, end) = match bout.progress {
        Progress::Ended(over) => (bout.call.min(over), over),
        _ => (bout.call, bout.call + TimeDelta::minutes(minutes.max(1))),
    };
    let open = bout.robots.iter().any(Option::is_none);
    let corners = bout.slots.into_iter().zip(bout.robots);
    let names: Vec<String> = corners
        .map(|(slot, robot)| corner(pit, slot, robot))
        .collect();
    let summary = format!("Bout {}: {}", bout.number, names.join(" v "));
    let (sequence, stamp) = last_change(pit, bout.id, Some(bout));
    begin(text, bout.id, sequence, stamp);
    line(text, "DTSTART", &utc(start));
    line(text, "DTEND", &utc(end));
    line(text, "SUMMARY", &escaped(&summary));
    line(
        text,
        "DESCRIPTION",
        &escaped(
            "Be in the arena queue at the time this begins. Calls move: the hall’s own pages are the last word.",
        ),
    );
    let hall = pit
        .event
        .as_ref()
        .and_then(|event| event.body.hall.as_ref());
    if let Some(hall) = hall {
        line(text, "LOCATION", &escaped(hall.as_str()));
    }
    line(text, "STATUS", if open { "TENTATIVE" } else { "CONFIRMED" });
    line(text, "END", "VEVENT");
}

fn cancelled(text: &mut String, pit: &Pit, id: BoutId) {
    let Some(known) = pit.bouts.get(&id) else {
        return;
    };
    let (sequence, stamp) = last_change(pit, id, None);
    begin(text, id, sequence, stamp);
    line(text, "DTSTART", &utc(known.body.call_at));
    let summary = format!("Bout {} does not take place", known.body.number.get());
    line(text, "SUMMARY", &escaped(&summary));
    line(text, "STATUS", "CANCELLED");
    line(text, "END", "VEVENT");
}

fn begin(text: &mut String, id: BoutId, sequence: i64, stamp: DateTime<Utc>) {
    line(text, "BEGIN", "VEVENT");
    line(text, "UID", &format!("bout-{id}@linkout.invalid"));
    line(text, "SEQUENCE", &sequence.to_string());
    line(text, "DTSTAMP", &utc(stamp));
    line(text, "LAST-MODIFIED", &utc(stamp));
}

/// The place and time of the last line that changed a bout: its register line, a move of calls, or
/// what happened in it and in those that decide who is in it.
fn last_change(pit: &Pit, id: BoutId, bout: Option<&BoutNow>) -> (i64, DateTime<Utc>) {
    let mut last = pit
        .bouts
        .get(&id)
        .map_or((0, DateTime::<Utc>::MIN_UTC), |known| {
            (known.revision, known.recorded_at)
        });
    let mut hear = |subject: Subject, all: bool| {
        for line in pit.facts(subject) {
            let changes = all || matches!(line.body, Body::CallsMoved(_));
            if changes {
                last = last.max((line.seq, line.recorded_at));
            }
        }
    };
    hear(Subject::Event, false);
    hear(Subject::Bout(id), true);
    for slot in bout.into_iter().flat_map(|bout| bout.slots) {
        if let Slot::Winner(feeder) | Slot::Loser(feeder) = slot {
            hear(Subject::Bout(feeder), true);
        }
    }
    last
}

fn robot_name(pit: &Pit, robot: RobotId) -> String {
    pit.robot(robot)
        .map_or_else(String::new, |file| file.register.body.name.to_string())
}

fn corner(pit: &Pit, slot: Slot, robot: Option<RobotId>) -> String {
    let number = |bout| {
        pit.bouts
            .get(&bout)
            .map_or(0, |bout| bout.body.number.get())
    };
    match (robot, slot) {
        (Some(robot), _) | (None, Slot::Robot(robot)) => robot_name(pit, robot),
        (None, Slot::Winner(of)) => format!("winner of {}", number(of)),
        (None, Slot::Loser(of)) => format!("loser of {}", number(of)),
    }
}

fn utc(at: DateTime<Utc>) -> String {
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

/// Text with what has a meaning of its own escaped, and other control characters left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\\' | ';' | ',' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            c if c.is_control() => {}
            c => out.push(c),
        }
    }
    out
}

/// A content line, folded between characters after 75 octets.
fn line(text: &mut String, name: &str, value: &str) {
    let mut octets = 0;
    for c in name.chars().chain([':']).chain(value.chars()) {
        if octets + c.len_utf8() > LINE {
            text.push_str("\r\n ");
            octets = 1;
        }
        text.push(c);
        octets += c.len_utf8();
    }
    text.push_str("\r\n");
}

#[cfg(test)]
mod tests;
