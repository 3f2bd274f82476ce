//! What the organiser announced, whom it is for, and who has seen it.

use super::ids::{LineId, PersonId, Subject, TeamId};
use super::logbook::hall::Announced;
use super::logbook::{Body, Line, Role};
use super::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use std::sync::Arc;

/// An announcement is shown for this long. **Source** own value.
const SHOWN: TimeDelta = TimeDelta::hours(12);

/// An announcement that was not taken back.
#[derive(Debug, Clone)]
pub struct Announcement {
    /// The line, as it counts.
    line: Arc<Line>,
    /// The id of the line that was entered first.
    pub id: LineId,
}

impl Announcement {
    /// What it says.
    pub fn body(&self) -> Option<&Announced> {
        match &self.line.body {
            Body::Announced(body) => Some(body),
            _ => None,
        }
    }

    /// When it was said.
    pub fn at(&self) -> DateTime<Utc> {
        self.line.at
    }

    /// Whether it is for somebody of a role and a team.
    pub fn is_for(&self, role: Role, team: Option<TeamId>) -> bool {
        self.body().is_some_and(|body| {
            let everyone = body.roles.is_empty() && body.teams.is_empty();
            everyone
                || body.roles.contains(&role)
                || team.is_some_and(|team| body.teams.contains(&team))
        })
    }

    /// When somebody said that they have seen it.
    pub fn seen_by(&self, pit: &Pit, person: PersonId) -> Option<DateTime<Utc>> {
        pit.facts(Subject::Person(person))
            .iter()
            .find(|line| match &line.body {
                Body::AnnouncementSeen(seen) => seen.announcement == self.id,
                _ => false,
            })
            .map(|line| line.at)
    }
}

/// Every announcement that counts and is not old, the newest first.
pub fn announcements(pit: &Pit, now: DateTime<Utc>) -> Vec<Announcement> {
    let Some(file) = pit.files.get(&Subject::Event) else {
        return Vec::new();
    };
    let mut found: Vec<Announcement> = file
        .iter()
        .filter(|(_, entry)| {
            entry.first.corrects.is_none() && matches!(entry.first.body, Body::Announced(_))
        })
        .filter_map(|(id, entry)| {
            let line = entry.effective()?;
            Some(Announcement { line, id: *id })
        })
        .filter(|announced| now - announced.at() < SHOWN)
        .collect();
    found.sort_by_key(|announced| std::cmp::Reverse((announced.at(), announced.id)));
    found
}

/// Announcements for somebody who has not seen them yet, the newest first.
pub fn unseen(
    pit: &Pit,
    (person, role, team): (PersonId, Role, Option<TeamId>),
    now: DateTime<Utc>,
) -> Vec<Announcement> {
    let all = announcements(pit, now).into_iter();
    all.filter(|announced| announced.is_for(role, team) && announced.seen_by(pit, person).is_none())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::testing::hall::{Hall, minute};
    use serde_json::json;
    use uuid::Uuid;

    const ANA: PersonId = PersonId(Uuid::from_u128(0xa));
    const OURS: TeamId = TeamId(Uuid::from_u128(0x301));

    fn texts(hall: &Hall, role: Role, team: Option<TeamId>) -> Vec<String> {
        unseen(&hall.pit, (ANA, role, team), hall.at)
            .iter()
            .map(|one| one.body().unwrap().text.to_string())
            .collect()
    }

    #[test]
    fn whom_it_is_for_sees_it_until_they_have() {
        let mut hall = Hall::with_robots(1);
        hall.at = minute(0);
        let all = hall.say(Subject::Event, "announced", json!({"text": "Lunch"}));
        let body = json!({"text": "Leads to the desk", "roles": ["lead"]});
        hall.say(Subject::Event, "announced", body);
        let body = json!({"text": "Move your van", "teams": [OURS]});
        hall.say(Subject::Event, "announced", body);
        assert_eq!(texts(&hall, Role::Official, None), ["Lunch"]);
        assert_eq!(
            texts(&hall, Role::Lead, Some(OURS)),
            ["Move your van", "Leads to the desk", "Lunch"]
        );
        hall.at = minute(5);
        let seen = json!({"announcement": all});
        hall.say(Subject::Person(ANA), "announcement_seen", seen);
        assert_eq!(texts(&hall, Role::Official, None), [""; 0]);
        assert_eq!(texts(&hall, Role::Crew, Some(OURS)), ["Move your van"]);
        let lunch = announcements(&hall.pit, hall.at).pop().unwrap();
        assert_eq!(lunch.seen_by(&hall.pit, ANA), Some(minute(5)));
        hall.at = minute(12 * 60);
        assert_eq!(announcements(&hall.pit, hall.at).len(), 0);
    }
}
