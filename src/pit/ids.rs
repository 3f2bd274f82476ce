//! Ids of everything that exists at an event, and what a line can be about.

use serde::{Deserialize, Serialize};
use std::{fmt, str::FromStr};
use utoipa::ToSchema;
use uuid::Uuid;

macro_rules! define_id {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::from_str(text).map(Self)
            }
        }
    )*};
}

define_id!(
    /// An event.
    EventId,
    /// A team.
    TeamId,
    /// A person at the event.
    PersonId,
    /// A robot.
    RobotId,
    /// A pack.
    PackId,
    /// A set: packs used together.
    SetId,
    /// A charger channel.
    ChannelId,
    /// A charger.
    ChargerId,
    /// A generator, mains circuit or lead.
    CircuitId,
    /// A gas bottle.
    BottleId,
    /// A supply cylinder.
    SupplyId,
    /// A type of part.
    PartTypeId,
    /// A bout.
    BoutId,
    /// A line of the logbook, made by whoever entered it (UUIDv7).
    LineId,
);

impl LineId {
    /// The id of the `n`th line of a report whose form carried `self`: the same form sent twice
    /// makes the same lines.
    #[must_use]
    pub fn nth(self, n: u16) -> Self {
        let (high, low) = self.0.as_u64_pair();
        let tail = (low & 0xffff).wrapping_add(u64::from(n)) & 0xffff;
        Self(Uuid::from_u64_pair(high, (low & !0xffff) | tail))
    }
}

/// What a line is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// The event as a whole.
    Event,
    /// A team.
    Team(TeamId),
    /// A person.
    Person(PersonId),
    /// A robot.
    Robot(RobotId),
    /// A pack.
    Pack(PackId),
    /// A set.
    Set(SetId),
    /// A charger channel.
    Channel(ChannelId),
    /// A charger.
    Charger(ChargerId),
    /// A generator, mains circuit or lead.
    Circuit(CircuitId),
    /// A bottle.
    Bottle(BottleId),
    /// A supply cylinder.
    Supply(SupplyId),
    /// A type of part.
    Part(PartTypeId),
    /// A bout.
    Bout(BoutId),
}

impl Subject {
    /// The noun before the id: `robot`, `bout` and so on.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Event => "event",
            Self::Team(_) => "team",
            Self::Person(_) => "person",
            Self::Robot(_) => "robot",
            Self::Pack(_) => "pack",
            Self::Set(_) => "set",
            Self::Channel(_) => "channel",
            Self::Charger(_) => "charger",
            Self::Circuit(_) => "circuit",
            Self::Bottle(_) => "bottle",
            Self::Supply(_) => "supply",
            Self::Part(_) => "part",
            Self::Bout(_) => "bout",
        }
    }

    /// The id, except of the event, which is the logbook's own.
    pub fn id(self) -> Option<Uuid> {
        match self {
            Self::Event => None,
            Self::Team(id) => Some(id.0),
            Self::Person(id) => Some(id.0),
            Self::Robot(id) => Some(id.0),
            Self::Pack(id) => Some(id.0),
            Self::Set(id) => Some(id.0),
            Self::Channel(id) => Some(id.0),
            Self::Charger(id) => Some(id.0),
            Self::Circuit(id) => Some(id.0),
            Self::Bottle(id) => Some(id.0),
            Self::Supply(id) => Some(id.0),
            Self::Part(id) => Some(id.0),
            Self::Bout(id) => Some(id.0),
        }
    }
}

impl fmt::Display for Subject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.id() {
            None => f.write_str(self.noun()),
            Some(id) => write!(f, "{}:{id}", self.noun()),
        }
    }
}

/// A subject that cannot be read.
#[derive(Debug, thiserror::Error)]
#[error(
    "'{0}' is not 'event' or one of team, person, robot, pack, set, channel, charger, circuit, bottle, supply, part, bout with ':' and an id"
)]
pub struct UnknownSubject(String);

impl FromStr for Subject {
    type Err = UnknownSubject;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let wrong = || UnknownSubject(text.chars().take(80).collect());
        if text == "event" {
            return Ok(Self::Event);
        }
        let (noun, id) = text.split_once(':').ok_or_else(wrong)?;
        let id = Uuid::from_str(id).map_err(|_| wrong())?;
        Ok(match noun {
            "team" => Self::Team(TeamId(id)),
            "person" => Self::Person(PersonId(id)),
            "robot" => Self::Robot(RobotId(id)),
            "pack" => Self::Pack(PackId(id)),
            "set" => Self::Set(SetId(id)),
            "channel" => Self::Channel(ChannelId(id)),
            "charger" => Self::Charger(ChargerId(id)),
            "circuit" => Self::Circuit(CircuitId(id)),
            "bottle" => Self::Bottle(BottleId(id)),
            "supply" => Self::Supply(SupplyId(id)),
            "part" => Self::Part(PartTypeId(id)),
            "bout" => Self::Bout(BoutId(id)),
            _ => return Err(wrong()),
        })
    }
}

impl Serialize for Subject {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Subject {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?
            .parse()
            .map_err(serde::de::Error::custom)
    }
}

impl utoipa::PartialSchema for Subject {
    fn schema() -> utoipa::openapi::RefOr<utoipa::openapi::schema::Schema> {
        utoipa::openapi::ObjectBuilder::new()
            .schema_type(utoipa::openapi::schema::Type::String)
            .pattern(Some(
                "^(event|(team|person|robot|pack|set|channel|charger|circuit|bottle|supply|part|bout):[0-9a-fA-F]{8}-([0-9a-fA-F]{4}-){3}[0-9a-fA-F]{12})$",
            ))
            .into()
    }
}

impl ToSchema for Subject {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_subject_reads_back_as_written() {
        let id = Uuid::from_u128(7);
        for subject in [
            Subject::Event,
            Subject::Robot(RobotId(id)),
            Subject::Bout(BoutId(id)),
        ] {
            assert_eq!(subject.to_string().parse::<Subject>().unwrap(), subject);
        }
        assert!("robot".parse::<Subject>().is_err());
        assert!(
            "ship:00000000-0000-0000-0000-000000000007"
                .parse::<Subject>()
                .is_err()
        );
    }

    #[test]
    fn lines_of_one_form_have_ids_of_their_own_and_the_same_again() {
        let key = LineId(Uuid::from_u128(u128::MAX - 2));
        assert_ne!(key.nth(1), key.nth(2));
        assert_ne!(key.nth(3), key.nth(4));
        assert_eq!(key.nth(3), key.nth(3));
    }
}
