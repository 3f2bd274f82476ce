//! H29 and H30: a key person in two places, and a call with safety tasks open.

use super::{Finding, Scene, Severity};
use crate::pit::ids::{PersonId, RobotId};
use crate::pit::logbook::bout::Answer;
use crate::pit::logbook::machine::{LinkState, Place};
use crate::pit::logbook::work::DutyOf;
use crate::pit::logbook::{Body, Role};
use crate::pit::state::View;
use crate::pit::state::sight::earliest;
use crate::pit::tasks::{Progress, today};
use chrono::{DateTime, Utc};

fn word(duty: DutyOf) -> &'static str {
    match duty {
        DutyOf::LinkHolder => "Link holder",
        DutyOf::LinkInserter => "Whoever puts the link in",
        DutyOf::LinkRemover => "Whoever takes the link out",
        DutyOf::SecondPerson => "Second person",
        DutyOf::PackWatcher => "Pack watcher",
        DutyOf::WeaponOperator => "Weapon operator",
        DutyOf::GasPerson => "Gas person",
        DutyOf::Driver => "Driver",
    }
}

/// Since when somebody is, or was, away at some moment since `since`. Coming back does not end it:
/// somebody has to say who has the duty now.
pub(super) fn away(
    scene: &Scene<'_>,
    who: PersonId,
    since: DateTime<Utc>,
) -> View<Option<DateTime<Utc>>> {
    let spans = scene
        .pit
        .people
        .get(&who)
        .map(|person| person.body.away.as_slice())
        .unwrap_or_default();
    let value = spans
        .iter()
        .find(|away| away.from <= scene.now && since < away.to)
        .map(|away| away.from.max(since));
    let changes_at = spans
        .iter()
        .map(|away| away.from)
        .filter(|moment| *moment > scene.now)
        .min();
    View { value, changes_at }
}

/// When somebody last said who has a duty.
pub(super) fn said_at(scene: &Scene<'_>, duty: DutyOf) -> Option<DateTime<Utc>> {
    let mut lines = scene.file.lines.iter().rev();
    lines
        .find(|line| matches!(&line.body, Body::Duty(said) if said.duty == duty))
        .map(|line| line.at)
}

/// A task of another robot of the team that somebody is on, and since when.
pub(super) fn elsewhere(scene: &Scene<'_>, who: PersonId) -> Option<(String, DateTime<Utc>)> {
    let team = scene.file.register.body.team;
    scene
        .pit
        .robots_of(team)
        .filter(|(id, _)| *id != scene.robot)
        .filter_map(|(id, _)| today(scene.pit, id))
        .flat_map(|today| today.items)
        .find_map(|item| match &item.progress {
            Progress::Running { since, by, .. } if by.contains(&who) => {
                Some((item.def.name.clone(), *since))
            }
            _ => None,
        })
}

/// Another robot at which somebody has a duty while it is being armed or in its bout, and since when
/// it is where it is.
fn at_another(scene: &Scene<'_>, who: PersonId) -> Option<(RobotId, DateTime<Utc>)> {
    scene.pit.robots.iter().find_map(|(id, file)| {
        let state = &file.state;
        let place = state.place.as_ref()?;
        let power = state.link.value() == Some(LinkState::In);
        let counts = match place.value {
            Place::ArenaLoad | Place::Arena => true,
            Place::TestArea => power,
            _ => false,
        };
        let has = state.duties.iter().any(|(duty, has)| {
            *has == who && !matches!(duty, DutyOf::PackWatcher | DutyOf::GasPerson)
        });
        (*id != scene.robot && counts && has).then_some((*id, place.at))
    })
}

/// H29: whoever has a duty of this robot is away, on a task of another robot, or at another robot
/// that is being armed, when the duty counts.
pub fn in_two_places(scene: &Scene<'_>) -> View<Option<Finding>> {
    let state = &scene.file.state;
    let charging_since = scene.charges().map(|(_, charge)| charge.since).min();
    let at_the_bay = scene.bottles.iter().any(|bottle| bottle.at_the_bay());
    let to_arm = scene.exposure.in_queue
        || scene.exposure.arming
        || scene.exposure.in_test_area && !scene.exposure.in_bout;
    let counts = |duty: DutyOf| match duty {
        DutyOf::PackWatcher => charging_since.is_some(),
        DutyOf::GasPerson => at_the_bay || to_arm,
        _ => to_arm,
    };
    let in_sight = scene.pit.settings().watcher_may_work;
    let mut view = View {
        value: None,
        changes_at: None,
    };
    for (duty, who) in state.duties.iter().filter(|(duty, _)| counts(**duty)) {
        let from = match duty {
            DutyOf::PackWatcher => charging_since,
            _ => scene.place_since(),
        };
        let since = from.max(said_at(scene, *duty)).unwrap_or(scene.now);
        let gone = away(scene, *who, since);
        view.changes_at = earliest(view.changes_at, gone.changes_at);
        let busy = || {
            let seen = *duty == DutyOf::PackWatcher && in_sight;
            elsewhere(scene, *who).filter(|_| !seen)
        };
        let arming = scene.exposure.arming
            || scene.exposure.in_test_area && state.link.value() == Some(LinkState::In);
        let at_two = || at_another(scene, *who).filter(|_| arming && *duty != DutyOf::PackWatcher);
        let why = match gone.value {
            Some(since) => Some((format!("{} is or was away", word(*duty)), since)),
            None => busy()
                .map(|(task, since)| {
                    let why = format!("{} is on another machine: {task}", word(*duty));
                    (why, since)
                })
                .or_else(|| {
                    let (other, since) = at_two()?;
                    let name = &scene.pit.robot(other)?.register.body.name;
                    Some((
                        format!("{} has a duty at {name} as well", word(*duty)),
                        since,
                    ))
                }),
        };
        if let Some((why, since)) = why.filter(|_| view.value.is_none()) {
            view.value = Some(Finding {
                severity: Severity::Hold,
                since,
                why,
                people: vec![*who],
            });
        }
    }
    view
}

/// H30: called, and making safe, closing up or proving is not done, when somebody relies on it: in
/// the queue, being armed, past the call, or said to be ready. Before that the call's card asks.
pub fn safety_task_open(scene: &Scene<'_>) -> Option<Finding> {
    let exposure = &scene.exposure;
    let open = scene.work.safety_open.first()?;
    // An official's word for a silent team is no crew that relies on it.
    let ready = scene.file.state.answer.as_ref().is_some_and(|(_, said)| {
        let began = scene.file.state.turnaround_began;
        said.value == Answer::Ready
            && matches!(said.entered_by.role, Role::Crew | Role::Lead)
            && began.is_none_or(|began| said.at >= began)
    });
    let relied_on =
        exposure.in_queue || exposure.arming || exposure.overdue || exposure.called && ready;
    if exposure.in_bout || !relied_on || scene.at(Place::TestArea) {
        return None;
    }
    let more = match scene.work.safety_open.len() {
        1 => String::new(),
        n => format!(", and {} more", n - 1),
    };
    Some(Finding {
        severity: Severity::Hold,
        since: scene.place_since().unwrap_or(scene.now),
        why: format!("Not done: {open}{more}"),
        people: Vec::new(),
    })
}
