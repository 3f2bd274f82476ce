//! The event, its teams and its people.

use crate::calc::units::{Currency, Name, Note, Word};
use crate::pit::ids::TeamId;
use crate::pit::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// The event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Event {
    /// Its name.
    pub name: Name,
    /// The hall.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hall: Option<Name>,
    /// IANA time zone of the hall.
    #[schema(example = "Europe/London")]
    pub time_zone: String,
    /// First day.
    pub first_day: NaiveDate,
    /// Last day.
    pub last_day: NaiveDate,
    /// Three letters of the currency that prices are in, as ISO 4217 has them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub currency: Option<Currency>,
    /// Rules and limits of this event.
    #[serde(default)]
    pub settings: Settings,
    /// Whom to call and where to go, line by line, as the organiser wrote it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 8)]
    pub emergency: Vec<Note>,
}

/// A team.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Team {
    /// Its name.
    pub name: Name,
    /// No longer at the event.
    #[serde(default)]
    pub retired: bool,
}

/// A span in which a person is away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Away {
    /// From.
    pub from: DateTime<Utc>,
    /// To.
    pub to: DateTime<Utc>,
}

/// A person, without the name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// The team; none for people of the event.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub team: Option<TeamId>,
    /// What they can do: mechanic, electrics, pneumatics, fabricator, driver.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 12)]
    pub skills: Vec<Word>,
    /// When they are away.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(max_items = 24)]
    pub away: Vec<Away>,
    /// No longer at the event.
    #[serde(default)]
    pub retired: bool,
}
