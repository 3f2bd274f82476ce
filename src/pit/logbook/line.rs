//! The line: one thing that was seen, done or changed, by whom, when.

use super::kinds::{Body, Family, Kind};
use crate::calc::{
    fault::{Fault, Faults},
    strict,
};
use crate::pit::ids::{EventId, LineId, PersonId, Subject};
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::ToSchema;

/// What somebody is at an event, and so what they may see and write.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Works on their team's robots.
    Crew,
    /// Leads a team.
    Lead,
    /// Runs a station, such as the scale.
    Official,
    /// Answers for safety in the pits and the arena.
    Marshal,
    /// Runs the event.
    Organiser,
    /// A screen that only shows.
    Wall,
    /// Another program.
    Program,
}

impl Role {
    /// Every role.
    pub const ALL: [Self; 7] = [
        Self::Crew,
        Self::Lead,
        Self::Official,
        Self::Marshal,
        Self::Organiser,
        Self::Wall,
        Self::Program,
    ];

    /// The role as written in JSON and the database.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Crew => "crew",
            Self::Lead => "lead",
            Self::Official => "official",
            Self::Marshal => "marshal",
            Self::Organiser => "organiser",
            Self::Wall => "wall",
            Self::Program => "program",
        }
    }

    /// The role written `text`.
    pub fn named(text: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.as_str() == text)
    }

    /// Whether a result they enter is the event's own; anybody else's is "team says".
    pub fn speaks_for_the_event(self) -> bool {
        matches!(self, Self::Official | Self::Marshal | Self::Organiser)
    }
}

/// Whether somebody made a state so, or looked and found it so.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum How {
    /// "I pulled it": an act changes the state.
    Did,
    /// "I looked": a sight says what the state is.
    Saw,
}

impl How {
    /// The word as written in JSON and the database.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Did => "did",
            Self::Saw => "saw",
        }
    }

    /// The word written `text`.
    pub fn named(text: &str) -> Option<Self> {
        match text {
            "did" => Some(Self::Did),
            "saw" => Some(Self::Saw),
            _ => None,
        }
    }
}

/// Who entered a line, and as what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Author {
    /// The person who entered it; none for a program or linkout itself.
    pub person: Option<PersonId>,
    /// Their role at that moment. `Program` never counts as a sight.
    pub role: Role,
}

/// A line of the logbook.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The event it belongs to.
    pub event: EventId,
    /// Place in the logbook: gapless within the event, in commit order, from 1.
    pub seq: i64,
    /// Made by whoever entered it; unique within the event.
    pub id: LineId,
    /// When it was seen, by the server's clock; never later than `recorded_at`.
    pub at: DateTime<Utc>,
    /// When it was seen, as the phone's clock said.
    pub claimed_at: DateTime<Utc>,
    /// The phone's clock was off by more than 30 s.
    pub clock_doubtful: bool,
    /// When the server had it.
    pub recorded_at: DateTime<Utc>,
    /// Who saw or did it, if it was a person.
    pub seen_by: Option<PersonId>,
    /// Who entered it.
    pub entered_by: Author,
    /// What it is about.
    pub subject: Subject,
    /// Whether it was done or seen; only for kinds about a state.
    pub how: Option<How>,
    /// The line it puts right.
    pub corrects: Option<LineId>,
    /// What it says.
    pub body: Body,
}

impl Line {
    /// The kind of the line.
    pub fn kind(&self) -> Kind {
        self.body.kind()
    }
}

/// A line as somebody hands it in: everything but what the server adds.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// Made by whoever enters it.
    pub id: LineId,
    /// When it was seen, as the phone's clock said.
    pub at: DateTime<Utc>,
    /// Who saw or did it; the person who enters it if not said.
    pub seen_by: Option<PersonId>,
    /// What it is about.
    pub subject: Subject,
    /// Whether it was done or seen.
    pub how: Option<How>,
    /// The line it puts right.
    pub corrects: Option<LineId>,
    /// For register lines: the revision they are based on, none for a new thing.
    pub if_revision: Option<i64>,
    /// What it says.
    pub body: Body,
}

/// The published form of a [`Draft`].
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DraftForm {
    /// UUIDv7 made by whoever enters the line; the same line sent twice is recorded once.
    pub id: LineId,
    /// One of the kinds of line.
    #[schema(example = "link")]
    pub kind: String,
    /// Version of the kind's body; 1 if not given.
    #[serde(default = "first")]
    #[schema(minimum = 1, maximum = 1)]
    pub version: i16,
    /// When it was seen, with offset, by the phone's clock.
    pub at: DateTime<Utc>,
    /// Who saw or did it; the person who enters it if not given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seen_by: Option<PersonId>,
    /// What it is about: `event`, or noun, colon and id.
    pub subject: Subject,
    /// Needed for kinds about a state, refused for others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub how: Option<How>,
    /// The line it puts right.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub corrects: Option<LineId>,
    /// For register lines: the revision they are based on, none for a new thing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_revision: Option<i64>,
    /// The kind's body.
    #[schema(value_type = Object)]
    pub body: Value,
}

fn first() -> i16 {
    1
}

impl Draft {
    /// Reads a line as handed in; `base` is the pointer of the line in its document.
    ///
    /// # Errors
    /// Every fault of envelope and body, each with its pointer.
    pub fn read(value: &Value, base: &str) -> Result<Self, Vec<Fault>> {
        let mut faults = Faults::none();
        let form: DraftForm = match strict::read(value, base) {
            Ok(form) => form,
            Err(mut envelope) => {
                // The body can still be judged if the kind and the body are there.
                if let (Some(kind), Some(body)) = (
                    value
                        .get("kind")
                        .and_then(Value::as_str)
                        .and_then(Kind::named),
                    value.get("body"),
                ) && let Err(more) = Body::read(kind, body, &format!("{base}/body"))
                {
                    envelope.extend(more);
                }
                return Err(envelope);
            }
        };
        let Some(kind) = Kind::named(&form.kind) else {
            faults.add(format!("{base}/kind"), Kind::unknown(&form.kind));
            return faults.or(()).map(|()| unreachable!("a fault was added"));
        };
        if form.version != 1 {
            faults.add(
                format!("{base}/version"),
                format!("'{}' has no version {}, only 1.", kind.name(), form.version),
            );
        }
        match (kind.about_a_state(), form.how) {
            (true, None) => faults.add(
                format!("{base}/how"),
                format!("'{}' says how it is known: did or saw.", kind.name()),
            ),
            (false, Some(_)) => faults.add(
                format!("{base}/how"),
                format!("'{}' is not about a state, so it has no how.", kind.name()),
            ),
            _ => {}
        }
        if kind.subject() != "any" && form.subject.noun() != kind.subject() {
            faults.add(
                format!("{base}/subject"),
                format!(
                    "'{}' is about a {}, not a {}.",
                    kind.name(),
                    kind.subject(),
                    form.subject.noun()
                ),
            );
        }
        if kind == Kind::Void && form.corrects.is_none() {
            faults.add(
                format!("{base}/corrects"),
                "A void line names the line it takes back.",
            );
        }
        if form.if_revision.is_some() && kind.family() != Family::Register {
            faults.add(
                format!("{base}/if_revision"),
                "Only register lines have a revision.",
            );
        }
        let body = match Body::read(kind, &form.body, &format!("{base}/body")) {
            Ok(body) => Some(body),
            Err(more) => {
                for fault in more {
                    faults.add(fault.pointer, fault.detail);
                }
                None
            }
        };
        faults.check()?;
        let Some(body) = body else {
            return Err(vec![Fault::new(base, "This line could not be read.")]);
        };
        Ok(Self {
            id: form.id,
            at: form.at,
            seen_by: form.seen_by,
            subject: form.subject,
            how: form.how,
            corrects: form.corrects,
            if_revision: form.if_revision,
            body,
        })
    }
}
