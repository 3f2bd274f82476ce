//! The one door: every line that anybody hands in passes here before it is recorded.
//!
//! A line is refused only if it is malformed, from someone who may not write it, or about something
//! unknown. Never because what it reports is unsafe.

mod bounds;
mod mentions;
mod order;
mod registered;

use super::receive::receive;
use super::stale::explain;
use super::{AppError, Event, Recorded};
use crate::auth::rights::{Reach, may_correct, may_write, who_may_write};
use crate::calc::fault::{Fault, Faults};
use crate::pit::ids::{Subject, TeamId};
use crate::pit::logbook::{Author, Body, Draft, Family, Kind, Line, Role};
use crate::pit::state::Pit;
use chrono::{DateTime, Utc};
use std::collections::BTreeSet;

/// More lines than this are not one report.
pub const MOST_LINES: usize = 100;

/// Whoever hands lines in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Enterer {
    /// The person and what they are.
    pub author: Author,
    /// Their team, if they are of one.
    pub team: Option<TeamId>,
}

/// Records the lines of one report, all or none. `pointer` names the list of lines in the document
/// they came in.
///
/// # Errors
/// [`AppError::Refused`] naming every fault, [`AppError::Unknown`] for another team's things,
/// [`AppError::Forbidden`], and whatever [`Event::record`] says.
pub async fn hand_in(
    event: &Event,
    who: Enterer,
    drafts: Vec<Draft>,
    sent_at: Option<DateTime<Utc>>,
    now: DateTime<Utc>,
    pointer: &str,
) -> Result<Vec<Recorded>, AppError> {
    let pit = event.pit();
    admit(&pit, who, &drafts, pointer)?;
    let report = drafts
        .iter()
        .map(|draft| receive(draft.clone(), sent_at, now, who.author, pit.settings()))
        .collect();
    match event.record(report).await {
        Ok(recorded) => Ok(recorded),
        Err(error) => Err(explain(event, &drafts, error).await),
    }
}

/// Lets a report in, or says everything that is wrong with it.
///
/// # Errors
/// As [`hand_in`].
pub fn admit(pit: &Pit, who: Enterer, drafts: &[Draft], pointer: &str) -> Result<(), AppError> {
    if drafts.is_empty() || drafts.len() > MOST_LINES {
        return Err(AppError::refused(
            pointer,
            format!(
                "A report has from 1 to {MOST_LINES} lines, not {}.",
                drafts.len()
            ),
        ));
    }
    let mut faults = Vec::new();
    let mut ids = BTreeSet::new();
    // Things that an earlier line of the same report registers are known to the later ones.
    let mut registered: Vec<(Subject, Option<TeamId>)> = Vec::new();
    for (n, draft) in drafts.iter().enumerate() {
        let base = format!("{pointer}/{n}");
        if !ids.insert(draft.id) {
            faults.push(Fault::new(
                format!("{base}/id"),
                "Another line of this report has this id.",
            ));
        }
        let mut beyond = Faults::none();
        bounds::check(draft, &base, &mut beyond);
        faults.extend(beyond.check().err().unwrap_or_default());
        let known =
            |subject| pit.knows(subject) || registered.iter().any(|(new, _)| *new == subject);
        let is_new = draft.body.kind().family() == Family::Register
            && draft.body.kind() != Kind::RegisterLibrary
            && !pit.knows(draft.subject);
        if !is_new && !known(draft.subject) {
            faults.push(Fault::new(
                format!("{base}/subject"),
                "Nothing of that id is at this event.",
            ));
            continue;
        }
        let team = if is_new {
            team_named(&draft.body, draft.subject)
        } else {
            None
        };
        let team = team.or_else(|| pit.team_of(draft.subject)).or_else(|| {
            registered
                .iter()
                .find(|(new, _)| *new == draft.subject)
                .and_then(|(_, team)| *team)
        });
        may_enter(pit, who, draft, team)?;
        if reach(who, &draft.body) == Reach::OwnTeam {
            stays_in_the_team(who, draft)?;
        }
        correction(pit, who, draft, &base, &mut faults)?;
        for (field, subject) in mentions::of(draft) {
            if !known(subject) {
                faults.push(Fault::new(
                    format!("{base}{field}"),
                    "Nothing of that id is at this event.",
                ));
            }
        }
        faults.extend(mentions::words(pit, draft, &base));
        if is_new {
            registered.push((draft.subject, team));
        }
    }
    faults.extend(order::faults(pit, drafts, pointer));
    if faults.is_empty() {
        Ok(())
    } else {
        Err(AppError::Refused(faults))
    }
}

/// How far somebody's right to write reaches. A program bound to a team reaches no further than its
/// people.
fn reach(who: Enterer, body: &Body) -> Reach {
    match (may_write(who.author.role, body), who.author.role) {
        (Reach::Everything, Role::Program) if who.team.is_some() => Reach::OwnTeam,
        (reach, _) => reach,
    }
}

/// The right to write this line about something of `team`. Another team's own things are unknown to
/// whoever may only write for their own.
fn may_enter(pit: &Pit, who: Enterer, draft: &Draft, team: Option<TeamId>) -> Result<(), AppError> {
    match reach(who, &draft.body) {
        Reach::Everything => Ok(()),
        Reach::OwnTeam if team.is_some() && team == who.team => Ok(()),
        Reach::OwnTeam if pit.knows(draft.subject) || team.is_some() => Err(AppError::Unknown),
        Reach::OwnTeam | Reach::Nothing => Err(AppError::forbidden(who_may_write(&draft.body))),
    }
}

/// A thing may not be moved to a team that one may not write for, nor be given to the event.
fn stays_in_the_team(who: Enterer, draft: &Draft) -> Result<(), AppError> {
    match team_named(&draft.body, draft.subject) {
        Some(to) if who.team != Some(to) => Err(AppError::Unknown),
        None if matches!(
            draft.body,
            Body::RegisterPerson(_) | Body::RegisterCircuit(_) | Body::RegisterSupply(_)
        ) =>
        {
            Err(AppError::forbidden(
                "What belongs to the event and to no team is the organiser's to register.",
            ))
        }
        _ => Ok(()),
    }
}

/// A correction names a fact about the same thing, and says something of the same kind or takes it
/// back.
fn correction(
    pit: &Pit,
    who: Enterer,
    draft: &Draft,
    base: &str,
    faults: &mut Vec<Fault>,
) -> Result<(), AppError> {
    let Some(target) = draft.corrects else {
        return Ok(());
    };
    let entry = pit
        .files
        .get(&draft.subject)
        .and_then(|file| file.get(&target));
    let Some(entry) = entry else {
        faults.push(Fault::new(
            format!("{base}/corrects"),
            "A line puts right a fact about the same thing; there is no such fact.",
        ));
        return Ok(());
    };
    let first = &entry.first;
    if draft.body.kind() != Kind::Void && draft.body.kind() != first.kind() {
        faults.push(Fault::new(
            format!("{base}/kind"),
            format!(
                "It puts a '{}' right, so it is one, or 'void'.",
                first.kind().name()
            ),
        ));
    }
    if may_put_right(pit, who, first) {
        Ok(())
    } else {
        Err(AppError::forbidden(
            "A line is put right by whoever entered it, or by those who answer for it.",
        ))
    }
}

/// Whether somebody may put a line right or take it back.
pub fn may_put_right(pit: &Pit, who: Enterer, first: &Line) -> bool {
    let own = first.entered_by.person.is_some() && first.entered_by.person == who.author.person;
    let within = match reach(who, &first.body) {
        Reach::Everything => true,
        Reach::OwnTeam => pit.team_of(first.subject) == who.team,
        Reach::Nothing => false,
    };
    own || (within && may_correct(who.author.role, first.entered_by.role, own))
}

/// The team a register line says a thing belongs to.
fn team_named(body: &Body, subject: Subject) -> Option<TeamId> {
    match (body, subject) {
        (Body::RegisterTeam(_), Subject::Team(team)) => Some(team),
        (Body::RegisterPerson(person), _) => person.team,
        (Body::RegisterRobot(robot), _) => Some(robot.team),
        (Body::RegisterPack(pack), _) => Some(pack.team),
        (Body::RegisterSet(set), _) => Some(set.team),
        (Body::RegisterChannel(channel), _) => Some(channel.team),
        (Body::RegisterCharger(charger), _) => Some(charger.team),
        (Body::RegisterCircuit(circuit), _) => circuit.team,
        (Body::RegisterBottle(bottle), _) => Some(bottle.team),
        (Body::RegisterSupply(supply), _) => supply.team,
        (Body::RegisterPartType(part), _) => Some(part.team),
        _ => None,
    }
}

#[cfg(test)]
mod tests;
