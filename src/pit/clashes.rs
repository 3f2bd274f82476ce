//! Who is needed at two places at once, and who could go instead.

use super::ids::{PersonId, RobotId, TeamId};
use super::logbook::Body;
use super::logbook::work::DutyOf;
use super::state::Pit;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;

/// Why somebody is needed at a robot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NeededFor {
    /// Drives it, from its call to the end of the bout.
    Driving,
    /// A task of the plan.
    Task(String),
}

/// Somebody needed at a robot for a while.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Need {
    /// At which.
    pub robot: RobotId,
    /// For what.
    pub what: NeededFor,
    /// From.
    pub from: DateTime<Utc>,
    /// To.
    pub to: DateTime<Utc>,
}

/// What stands against a need.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Against {
    /// Needed at another robot.
    Need(Need),
    /// Away until then.
    Away(DateTime<Utc>),
}

/// Somebody who cannot be where they are needed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clash {
    /// Who.
    pub person: PersonId,
    /// From when.
    pub at: DateTime<Utc>,
    /// Where they are needed.
    pub need: Need,
    /// What stands against it.
    pub against: Against,
    /// Who of the team is free then; those with the skill to drive where that is needed.
    pub instead: Vec<PersonId>,
}

/// Who is to drive a robot: whoever was asked last or took it over, else whoever is registered.
pub fn driver(pit: &Pit, robot: RobotId) -> Option<PersonId> {
    let file = pit.robot(robot)?;
    let taken = file
        .state
        .duty_offers
        .get(&DutyOf::Driver)
        .map(|offer| offer.value)
        .or(file.state.duties.get(&DutyOf::Driver).copied());
    taken.or(file.register.body.driver)
}

/// Everything a team's people are needed for from `now` on.
fn needs(pit: &Pit, team: TeamId, now: DateTime<Utc>) -> Vec<(PersonId, Need)> {
    let mut needs = Vec::new();
    let bout = TimeDelta::minutes(i64::from(pit.settings().bout_min.get()));
    for (robot, _) in pit.robots_of(team) {
        if let (Some(person), Some(next)) = (driver(pit, robot), pit.next_bout(robot)) {
            let from = next.bout.call;
            let (what, to) = (NeededFor::Driving, from + bout);
            needs.push((
                person,
                Need {
                    robot,
                    what,
                    from,
                    to,
                },
            ));
        }
    }
    if let Some(Body::Planned(plan)) = pit.plans.get(&team).map(|line| &line.body) {
        for task in &plan.tasks {
            for person in &task.people {
                let need = Need {
                    robot: task.robot,
                    what: NeededFor::Task(task.task.clone()),
                    from: task.start,
                    to: task.end,
                };
                needs.push((*person, need));
            }
        }
    }
    needs.retain(|(_, need)| need.to > now);
    needs.sort_by_key(|(person, need)| (need.from, need.robot, *person));
    needs
}

/// Whoever of a team is needed at two robots at once, or while they are away; the first first.
pub fn clashes(pit: &Pit, team: TeamId, now: DateTime<Utc>) -> Vec<Clash> {
    let needs = needs(pit, team, now);
    let mut found = Vec::new();
    let mut told = BTreeSet::new();
    for (n, (person, need)) in needs.iter().enumerate() {
        let other = needs[n + 1..].iter().find(|(other, at)| {
            other == person && at.robot != need.robot && at.from < need.to && need.from < at.to
        });
        let away = pit.people.get(person).and_then(|known| {
            let mut spans = known.body.away.iter();
            spans.find(|span| span.from < need.to && need.from < span.to)
        });
        let (at, need, against) = match (other, away) {
            // Whoever drives cannot be spared so easily, so the other place is asked first.
            (Some((_, at)), _) if need.what == NeededFor::Driving => {
                (at.from.max(need.from), at, Against::Need(need.clone()))
            }
            (Some((_, at)), _) => (at.from.max(need.from), need, Against::Need(at.clone())),
            (None, Some(span)) => (span.from.max(need.from), need, Against::Away(span.to)),
            (None, None) => continue,
        };
        if told.insert((*person, need.robot)) {
            found.push(Clash {
                person: *person,
                at,
                need: need.clone(),
                against,
                instead: free(pit, team, &needs, need, *person),
            });
        }
    }
    found
}

fn free(
    pit: &Pit,
    team: TeamId,
    needs: &[(PersonId, Need)],
    need: &Need,
    not: PersonId,
) -> Vec<PersonId> {
    let mates = pit.people_of(team).filter(|(id, person)| {
        let drives = person.skills.iter().any(|skill| skill.as_str() == "driver");
        let busy = needs
            .iter()
            .any(|(other, at)| other == id && at.from < need.to && need.from < at.to);
        let away = person
            .away
            .iter()
            .any(|span| span.from < need.to && need.from < span.to);
        *id != not && !busy && !away && (drives || need.what != NeededFor::Driving)
    });
    mates.map(|(id, _)| id).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::ids::{BoutId, EventId, LineId, Subject};
    use crate::pit::logbook::{Author, Kind, Line, Role};
    use serde_json::{Value, json};
    use uuid::Uuid;

    const TEAM: Uuid = Uuid::from_u128(1);
    const ANA: Uuid = Uuid::from_u128(2);
    const BEN: Uuid = Uuid::from_u128(3);
    const DEE: Uuid = Uuid::from_u128(4);

    fn at(minute: i64) -> DateTime<Utc> {
        DateTime::from_timestamp(1_800_000_000 + minute * 60, 0).unwrap()
    }

    fn line(seq: i64, kind: &str, subject: Subject, body: &Value) -> Line {
        Line {
            event: EventId(Uuid::nil()),
            seq,
            id: LineId(Uuid::from_u128(100 + u128::try_from(seq).unwrap())),
            at: at(0),
            claimed_at: at(0),
            clock_doubtful: false,
            recorded_at: at(0),
            seen_by: None,
            entered_by: Author {
                person: None,
                role: Role::Organiser,
            },
            subject,
            how: None,
            corrects: None,
            body: Body::read(Kind::named(kind).unwrap(), body, "").unwrap(),
        }
    }

    /// Two robots that Ana drives, called at minutes 10 and `second`; Dee drives too, Ben does not.
    fn pit(second: i64, away: Value) -> Pit {
        let robot = |n: u128| Uuid::from_u128(10 + n);
        let person = |id| Subject::Person(PersonId(id));
        let machine = |name: &str| json!({"team": TEAM, "name": name, "machine": "spinner_heavyweight", "links": 1, "driver": ANA});
        let bout = |n, one, call| json!({"number": n, "slots": [{"robot": robot(one)}, {"robot": robot(9)}], "call_at": at(call)});
        let lines = [
            line(
                1,
                "register_team",
                Subject::Team(TeamId(TEAM)),
                &json!({"name": "Millrace"}),
            ),
            line(
                2,
                "register_person",
                person(ANA),
                &json!({"team": TEAM, "skills": ["driver"], "away": away}),
            ),
            line(
                3,
                "register_person",
                person(BEN),
                &json!({"team": TEAM, "skills": ["mechanic"]}),
            ),
            line(
                4,
                "register_person",
                person(DEE),
                &json!({"team": TEAM, "skills": ["driver"]}),
            ),
            line(
                5,
                "register_robot",
                Subject::Robot(RobotId(robot(1))),
                &machine("Pewter Finch"),
            ),
            line(
                6,
                "register_robot",
                Subject::Robot(RobotId(robot(2))),
                &machine("Brass Heron"),
            ),
            line(
                7,
                "register_bout",
                Subject::Bout(BoutId(Uuid::from_u128(21))),
                &bout(1, 1, 10),
            ),
            line(
                8,
                "register_bout",
                Subject::Bout(BoutId(Uuid::from_u128(22))),
                &bout(2, 2, second),
            ),
        ];
        Pit::fold(&lines)
    }

    #[test]
    fn a_driver_of_two_robots_called_together_is_named_with_who_could_go() {
        let found = clashes(&pit(12, json!([])), TeamId(TEAM), at(0));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].person, PersonId(ANA));
        assert_eq!(found[0].at, at(12));
        // Ben is free and does not drive.
        assert_eq!(found[0].instead, [PersonId(DEE)]);
    }

    #[test]
    fn one_after_the_other_is_no_clash() {
        // A bout is taken to last four minutes unless the event says otherwise.
        assert_eq!(clashes(&pit(14, json!([])), TeamId(TEAM), at(0)), []);
        assert_eq!(clashes(&pit(12, json!([])), TeamId(TEAM), at(20)), []);
    }

    #[test]
    fn somebody_away_when_needed_is_named() {
        let away = json!([{"from": at(28), "to": at(31)}]);
        let found = clashes(&pit(30, away), TeamId(TEAM), at(0));
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].against, Against::Away(at(31)));
        assert_eq!(found[0].at, at(30));
    }
}
