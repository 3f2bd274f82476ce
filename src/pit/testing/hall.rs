//! A hall for tests: robots of one team each, bouts with calls, and what happens to them.

use super::start;
use crate::pit::ids::{BoutId, EventId, LineId, PersonId, RobotId, Subject};
use crate::pit::logbook::{Author, Body, Kind, Line, Role};
use crate::pit::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

/// The `n`th robot.
pub fn robot(n: u128) -> RobotId {
    RobotId(Uuid::from_u128(0x100 + n))
}

/// The bout with a number.
pub fn bout(number: u128) -> BoutId {
    BoutId(Uuid::from_u128(0x200 + number))
}

/// So many minutes into the day.
pub fn minute(minutes: i64) -> DateTime<Utc> {
    start() + TimeDelta::minutes(minutes)
}

/// A hall at a moment.
#[derive(Clone)]
pub struct Hall {
    pub pit: Pit,
    pub lines: Vec<Line>,
    pub at: DateTime<Utc>,
}

impl Hall {
    /// Small machines, each of a team of its own, an hour before the first minute of the day.
    pub fn with_robots(count: u128) -> Self {
        let mut hall = Self {
            pit: Pit::default(),
            lines: Vec::new(),
            at: minute(-60),
        };
        for n in 1..=count {
            let team = Uuid::from_u128(0x300 + n);
            let body = json!({"team": team, "name": format!("Robot {n}"), "machine": "small_machine", "links": 1});
            hall.say(Subject::Robot(robot(n)), "register_robot", body);
        }
        hall
    }

    /// Changes the settings of the event.
    pub fn settings(&mut self, settings: Value) {
        let body = json!({"name": "Meet", "time_zone": "Europe/London",
            "first_day": "2027-01-15", "last_day": "2027-01-16", "settings": settings});
        self.say(Subject::Event, "register_event", body);
    }

    /// A line about anything, at this moment.
    pub fn say(&mut self, subject: Subject, kind: &str, body: Value) -> LineId {
        let n = u128::try_from(self.lines.len()).unwrap() + 1;
        let line = Line {
            event: EventId(Uuid::nil()),
            seq: i64::try_from(n).unwrap(),
            id: LineId(Uuid::from_u128(0x1000 + n)),
            at: self.at,
            claimed_at: self.at,
            clock_doubtful: false,
            recorded_at: self.at,
            seen_by: None,
            entered_by: Author {
                person: Some(PersonId(Uuid::from_u128(0x11))),
                role: Role::Organiser,
            },
            subject,
            how: None,
            corrects: None,
            body: Body::read(Kind::named(kind).unwrap(), &body, "").unwrap(),
        };
        self.pit = self.pit.with(&line);
        self.lines.push(line);
        self.lines.last().unwrap().id
    }

    /// Takes a line back.
    pub fn take_back(&mut self, id: LineId) {
        let subject = self
            .lines
            .iter()
            .find(|line| line.id == id)
            .unwrap()
            .subject;
        self.say(subject, "void", json!({}));
        let mut line = self.lines.pop().unwrap();
        line.corrects = Some(id);
        self.pit = Pit::fold(&self.lines).with(&line);
        self.lines.push(line);
    }

    /// A bout of two corners called at a minute of the day.
    pub fn bout(&mut self, number: u128, corners: [Value; 2], call_min: i64) {
        let body = json!({"number": number, "slots": corners, "call_at": minute(call_min)});
        self.say(Subject::Bout(bout(number)), "register_bout", body);
    }

    /// A bout of two robots.
    pub fn meet(&mut self, number: u128, one: u128, other: u128, call_min: i64) {
        let corner = |n| json!({"robot": robot(n)});
        self.bout(number, [corner(one), corner(other)], call_min);
    }

    /// An official's word for a robot: `"ready"`, `{"need": 12}`, `"not"`.
    pub fn word(&mut self, n: u128, answer: Value) {
        let body = json!({"answer": answer});
        self.say(Subject::Robot(robot(n)), "answered", body);
    }

    /// A bout begins, or is over.
    pub fn happens(&mut self, number: u128, kind: &str, body: Value) {
        self.say(Subject::Bout(bout(number)), kind, body);
    }
}
