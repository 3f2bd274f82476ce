//! A clearance in words, with the names of those who said something.

use super::{Clearance, Point};
use crate::http::pages::reader::Reader;
use crate::http::pages::robot_now::RobotNow;
use crate::http::pages::{link_plan, words};
use crate::pit::clearance::{self, Against, Answer, Ground, GroundOf, Standing};
use crate::pit::energy::SourceNow;
use crate::pit::logbook::Role;
use crate::pit::logbook::hall::ArmedAt;
use crate::pit::logbook::machine::Place;
use crate::pit::state::Sight;
use crate::pit::state::robot::ChangedGround;

/// The clearance that matters where the robot is; none on its bench while nobody asked.
pub fn here(reader: &Reader, now: &RobotNow<'_>) -> Option<Clearance> {
    let place = clearance::place_asked(&reader.pit, now.id)?;
    of(reader, now, place)
}

/// The clearance of a robot for arming it at `place`.
pub fn of(reader: &Reader, now: &RobotNow<'_>, place: ArmedAt) -> Option<Clearance> {
    let at = reader.clock.now;
    let answer =
        clearance::answer(&reader.pit, &now.today, &now.work, &now.hazards, place, at)?.value;
    let standing = clearance::standing(now.file.state.clearance.as_ref(), &answer);
    let role = reader.signed.role;
    let asked = matches!(standing, Standing::Asked(_) | Standing::Confirmed(_));
    let (said, since) = said(reader, &standing, &answer);
    Some(Clearance {
        place,
        title: format!("Arming {}", words::armed_at(place)),
        action: format!("{}/clearance", reader.bench(now.id)),
        said,
        since,
        against: answer
            .against
            .iter()
            .map(|point| against(reader, now, point))
            .collect(),
        grounds: answer
            .grounds
            .iter()
            .map(|point| ground(reader, now, point))
            .collect(),
        may_ask: matches!(role, Role::Crew | Role::Lead) && !asked && !answer.arming,
        may_answer: matches!(role, Role::Marshal | Role::Organiser)
            && !matches!(standing, Standing::Confirmed(_))
            && !answer.arming,
        arming: answer.arming,
        inside: inside(reader, now),
    })
}

fn inside(reader: &Reader, now: &RobotNow<'_>) -> Option<(String, Option<i32>)> {
    let state = &now.file.state;
    let place = state.place.as_ref()?.value;
    let people = state
        .inside
        .as_ref()
        .map(|inside| inside.value.people.get());
    matches!(
        place,
        Place::TestArea | Place::ArenaLoad | Place::ArenaRecovery
    )
    .then(|| (format!("{}/inside", reader.bench(now.id)), people))
}

fn said(
    reader: &Reader,
    standing: &Standing,
    answer: &Answer,
) -> (String, Option<chrono::DateTime<chrono::Utc>>) {
    let who = |sight: Option<crate::pit::ids::PersonId>| reader.name(sight);
    match standing {
        Standing::NotAsked if answer.arming => (
            "Being armed; no marshal said that they looked".to_owned(),
            None,
        ),
        Standing::NotAsked => ("The marshal was not asked".to_owned(), None),
        Standing::Asked(asked) => (
            format!("{} asked; no marshal has answered", who(asked.seen_by)),
            Some(asked.at),
        ),
        Standing::Confirmed(word) => (
            format!("{} looked: nothing speaks against it", who(word.seen_by)),
            Some(word.at),
        ),
        Standing::Refused(word) => {
            let why = match &word.value {
                Some(because) => format!(": {because}"),
                None => String::new(),
            };
            (
                format!("Not yet, says {}{why}", who(word.seen_by)),
                Some(word.at),
            )
        }
        Standing::Changed(changed) => (
            format!(
                "The marshal’s word no longer stands: {}, {}",
                changed_ground(changed),
                who(changed.seen_by)
            ),
            Some(changed.at),
        ),
        Standing::Against(word) => (
            format!(
                "The word of {} no longer stands: something speaks against it",
                who(word.seen_by)
            ),
            Some(word.at),
        ),
    }
}

fn changed_ground(changed: &Sight<ChangedGround>) -> &'static str {
    match changed.value {
        ChangedGround::Moved => "it was moved elsewhere",
        ChangedGround::Live => "something was live before its place",
        ChangedGround::Damage => "damage was found",
        ChangedGround::Machine => "something on it was changed",
        ChangedGround::LinkPlan => "the link plan was written anew",
        ChangedGround::Duty => "somebody else has a part in arming",
        ChangedGround::Trouble => "a part does not work",
    }
}

fn against(reader: &Reader, now: &RobotNow<'_>, point: &Against) -> Point {
    let plain = |title: String| Point {
        title,
        detail: String::new(),
        at: None,
    };
    match point {
        Against::NotThere => plain("It is not in the arena queue".to_owned()),
        Against::NoBout => plain("No bout waits for it".to_owned()),
        Against::NotIsolated(of, _) => match now.energy.value.source(*of) {
            Some(source) => not_isolated(reader, now, source),
            None => plain(format!("{} unproved", words::source_name(now.file, *of))),
        },
        Against::LinkInNoHand => plain("The link is in nobody’s hand".to_owned()),
        Against::Gap(gap) => {
            let gap = link_plan::view::words_of(reader, gap);
            Point {
                title: format!("Link plan: {}", gap.title),
                detail: gap.why,
                at: None,
            }
        }
        Against::NoDriver => plain("Nobody is named who drives".to_owned()),
        Against::NotChecked(row) => Point {
            title: format!("Nobody said: {row}"),
            detail: "Departure check".to_owned(),
            at: None,
        },
        Against::Hazard { title, why, .. } => Point {
            title: (*title).to_owned(),
            detail: why.clone(),
            at: None,
        },
        Against::AnotherLive(robot) => plain(format!(
            "{} is in the test area, its link not seen out",
            reader.robot(*robot)
        )),
        Against::PeopleInside(people) => plain(format!("{people} inside the test area")),
    }
}

fn not_isolated(reader: &Reader, now: &RobotNow<'_>, source: &SourceNow) -> Point {
    use crate::pit::energy::Standing;
    let detail = match source.standing {
        Standing::Live => String::new(),
        _ => words::doubt(reader, now.file, source, reader.clock.now),
    };
    Point {
        title: words::source(now.file, source),
        detail,
        at: source.seen_at.filter(|_| source.standing == Standing::Live),
    }
}

fn ground(reader: &Reader, now: &RobotNow<'_>, ground: &Ground) -> Point {
    let title = match ground.what {
        GroundOf::Stands(place) => format!("It is in the {}", words::place(place)),
        GroundOf::Called(bout) => match reader.pit.bouts.get(&bout) {
            Some(bout) => format!("Bout {} waits for it", bout.body.number.get()),
            None => "A bout waits for it".to_owned(),
        },
        GroundOf::Isolated(of) => now
            .energy
            .value
            .source(of)
            .map_or_else(String::new, |source| words::source(now.file, source)),
        GroundOf::LinkInHand => "Link in a hand that is known".to_owned(),
        GroundOf::PlanReadBack(version) => format!("Link plan {version} whole and read back"),
        GroundOf::Driver => "Driver named".to_owned(),
        GroundOf::DepartureChecked => "Departure check whole".to_owned(),
        GroundOf::NothingHolds => "No hazard stops or holds it".to_owned(),
        GroundOf::AreaClear => {
            "No other machine is live in the area, nobody said to be inside".to_owned()
        }
    };
    Point {
        title,
        detail: ground
            .by
            .map_or_else(String::new, |who| reader.name(Some(who))),
        at: ground.at,
    }
}
