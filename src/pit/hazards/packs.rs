//! H17 to H20: suspect packs, charges, and packs of one string.

use super::duty::{away, elsewhere, said_at};
use super::{Finding, Scene, Severity};
use crate::pit::ids::{PackId, PersonId};
use crate::pit::logbook::register::{Pack, Set};
use crate::pit::logbook::things::ThingPlace;
use crate::pit::logbook::work::DutyOf;
use crate::pit::packs::{Matching, OnCharge, ReadBack, Story, stories};
use crate::pit::settings::ChargingWatch;
use crate::pit::state::View;
use crate::pit::state::sight::earliest;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;

/// The set a pack is charged with.
fn charged_with<'a>(scene: &Scene<'a>, charge: &OnCharge) -> Option<&'a Set> {
    let known = scene.pit.sets.get(&charge.set?)?;
    Some(&known.body)
}

fn on_charge(scene: &Scene<'_>, charge: &OnCharge) -> String {
    charged_with(scene, charge).map_or_else(|| "Set".to_owned(), |set| set.label.to_string())
}

/// What a suspect pack is called: its set, where all of it is suspect.
fn suspect_name(scene: &Scene<'_>, pack: PackId) -> String {
    let suspect = |id: &PackId| {
        scene
            .packs
            .get(id)
            .is_some_and(|story| story.suspect.is_some())
    };
    let sets = &mut scene.pit.sets.values();
    let whole =
        sets.find(|set| set.body.packs.contains(&pack) && set.body.packs.iter().all(suspect));
    let label = match whole {
        Some(set) => Some(&set.body.label),
        None => scene.pit.packs.get(&pack).map(|pack| &pack.body.label),
    };
    label.map_or_else(|| "Pack".to_owned(), ToString::to_string)
}

/// H17: a suspect pack that is not set aside, or that came back before its time was over and two
/// people had cleared it. Set aside, it is a note.
pub fn suspect_pack(scene: &Scene<'_>) -> View<Option<Finding>> {
    let mut view = View {
        value: None,
        changes_at: None,
    };
    for (id, story) in &scene.packs {
        let found = suspect(scene, *id, story);
        view.changes_at = earliest(view.changes_at, found.changes_at);
        if let Some(found) = found.value {
            let worse = view
                .value
                .as_ref()
                .is_none_or(|known: &Finding| known.severity < found.severity);
            if worse {
                view.value = Some(found);
            }
        }
    }
    view
}

fn suspect(scene: &Scene<'_>, id: PackId, story: &Story) -> View<Option<Finding>> {
    let nothing = View {
        value: None,
        changes_at: None,
    };
    let Some(suspect) = &story.suspect else {
        return nothing;
    };
    let name = suspect_name(scene, id);
    let over = suspect.observe_until.filter(|over| *over > scene.now);
    let (severity, why) = match story.place.map(|is| is.place) {
        Some(ThingPlace::Returned) => return nothing,
        Some(ThingPlace::Quarantine) => (
            Severity::Note,
            if over.is_some() {
                format!("{name} under observation")
            } else if suspect.is_for_good() {
                format!("{name} was swollen: it is scrapped")
            } else {
                format!("{name} observed: two people look and clear it, or it is scrapped")
            },
        ),
        _ if story.charge.is_some() => (
            Severity::StopNow,
            format!("{name} is suspect and on charge"),
        ),
        Some(ThingPlace::Machine) => (
            Severity::StopNow,
            format!("{name} is suspect and in the machine"),
        ),
        Some(ThingPlace::ChargingTable) => (
            Severity::StopNow,
            format!("{name} is suspect and on the charging table"),
        ),
        _ if suspect.certain() => (
            Severity::StopNow,
            format!("{name} is swollen, hot or smells, and is not set aside"),
        ),
        _ => (
            Severity::Hold,
            format!("{name} was hit, and is not set aside"),
        ),
    };
    View {
        value: Some(Finding {
            severity,
            since: suspect.since,
            why,
            people: suspect.by.into_iter().collect(),
        }),
        changes_at: over,
    }
}

/// H18: a charge that nobody watches. It has to stop when that lasts.
pub fn unwatched_charge(scene: &Scene<'_>) -> View<Option<Finding>> {
    let settings = scene.pit.settings();
    let mut view = View {
        value: None,
        changes_at: None,
    };
    if settings.charging_watch == ChargingWatch::Staff {
        return view;
    }
    let limit = TimeDelta::minutes(i64::from(settings.unwatched_min.get()));
    for (_, charge) in scene.charges() {
        let unwatched = unwatched(scene, charge);
        view.changes_at = earliest(view.changes_at, unwatched.changes_at);
        let Some((since, why, people)) = unwatched.value else {
            continue;
        };
        let stop_at = since + limit;
        if stop_at > scene.now {
            view.changes_at = earliest(view.changes_at, Some(stop_at));
        }
        let finding = Finding {
            severity: if stop_at <= scene.now {
                Severity::StopNow
            } else {
                Severity::Hold
            },
            since,
            why: format!("{} on charge: {why}", on_charge(scene, charge)),
            people,
        };
        let worse = view
            .value
            .as_ref()
            .is_none_or(|known: &Finding| known.severity < finding.severity);
        if worse {
            view.value = Some(finding);
        }
    }
    view
}

type Unwatched = (DateTime<Utc>, &'static str, Vec<PersonId>);

fn unwatched(scene: &Scene<'_>, charge: &OnCharge) -> View<Option<Unwatched>> {
    let duty = scene.file.state.duties.get(&DutyOf::PackWatcher).copied();
    // Whoever has the duty now stands in for whoever was named when it began.
    let Some(watcher) = duty.or(charge.watcher) else {
        return View {
            value: Some((charge.since, "nobody is named to watch", Vec::new())),
            changes_at: None,
        };
    };
    let named = charge.watched_at.max(said_at(scene, DutyOf::PackWatcher));
    let gone = away(scene, watcher, named.unwrap_or(charge.since));
    let value = match gone.value {
        Some(since) => Some((
            since.max(charge.since),
            "whoever watches is or was away",
            vec![watcher],
        )),
        None => busy(scene, watcher)
            .filter(|_| !scene.pit.settings().watcher_may_work)
            .map(|since| (since, "whoever watches is on a task elsewhere"))
            .or_else(|| {
                let since = one_too_many(scene, charge, watcher)?;
                Some((since, "whoever watches has more charges than one may watch"))
            })
            .map(|(since, why)| (since.max(charge.since), why, vec![watcher])),
    };
    View {
        value,
        changes_at: gone.changes_at,
    }
}

/// Since when a charge is one more than its watcher may watch at once: of all the watcher's charges
/// in the team, those that began first are watched. A set is one charge, whatever its packs.
fn one_too_many(scene: &Scene<'_>, charge: &OnCharge, watcher: PersonId) -> Option<DateTime<Utc>> {
    let most = usize::try_from(scene.pit.settings().charges_per_watcher.get()).unwrap_or(0);
    let team = stories(scene.pit, scene.file.register.body.team);
    let watched: BTreeSet<_> = team
        .values()
        .filter_map(|story| {
            let on = story.charge.as_ref()?;
            let duties = &scene.pit.robot(story.robot?)?.state.duties;
            let by = duties.get(&DutyOf::PackWatcher).copied().or(on.watcher);
            (by == Some(watcher)).then_some((on.since, on.set))
        })
        .collect();
    let mut first = watched.iter().take(most);
    let kept = first.any(|one| *one == (charge.since, charge.set));
    (!kept).then_some(charge.since)
}

/// Since when somebody is on a task of this robot or another of the team.
fn busy(scene: &Scene<'_>, who: PersonId) -> Option<DateTime<Utc>> {
    let here = scene
        .work
        .running
        .iter()
        .find(|task| task.people.contains(&who))
        .map(|task| task.since);
    here.or_else(|| elsewhere(scene, who).map(|(_, since)| since))
}

/// H19: a charger set to something else than the pack, reset since it was read back, or charging in
/// the machine; a warning while nobody else has read the settings back.
pub fn charger_wrong(scene: &Scene<'_>) -> Option<Finding> {
    let wrong = scene.charges().find_map(|(id, charge)| {
        let (since, why) = wrongly(scene, id, charge)?;
        Some(Finding {
            severity: Severity::StopNow,
            since,
            why: format!("{}: {why}", on_charge(scene, charge)),
            people: charge.watcher.or(charge.by).into_iter().collect(),
        })
    });
    wrong.or_else(|| {
        scene.charges().find_map(|(_, charge)| {
            let (severity, why) = match charge.read_back {
                ReadBack::Done(..) => return None,
                ReadBack::Named(_) => (
                    Severity::Note,
                    "settings read back by somebody who was only named",
                ),
                ReadBack::Nobody => (Severity::Warn, "nobody else has read the settings back"),
            };
            Some(Finding {
                severity,
                since: charge.since,
                why: format!("{} on charge: {why}", on_charge(scene, charge)),
                people: charge.by.into_iter().collect(),
            })
        })
    })
}

fn wrongly(
    scene: &Scene<'_>,
    id: PackId,
    charge: &OnCharge,
) -> Option<(DateTime<Utc>, &'static str)> {
    if let Some(at) = charge.interrupted {
        return Some((at, "the mains failed, settings not read back since"));
    }
    if charge.in_machine {
        return Some((charge.since, "charging in the machine"));
    }
    let pack = &scene.pit.packs.get(&id)?.body;
    let set = charged_with(scene, charge).into_iter();
    let together: i32 = set
        .flat_map(|set| &set.packs)
        .filter_map(|id| scene.pit.packs.get(id))
        .map(|pack| pack.body.cells.get())
        .sum();
    let chemistry = charge.chemistry.is_some_and(|is| is != pack.chemistry);
    let cells = charge
        .cells
        .is_some_and(|is| is != pack.cells && is.get() != together);
    let current = charge
        .current
        .zip(pack.max_charge_ma)
        .is_some_and(|(is, most)| is > most);
    let why = if chemistry {
        "charger set to another chemistry"
    } else if cells {
        "charger set to another number of cells"
    } else if current {
        "charger set to more current than the pack takes"
    } else {
        return None;
    };
    Some((charge.since, why))
}

/// H20: packs of one set that differ, in the machine. Voltages count until the next charge or bout.
pub fn packs_differ(scene: &Scene<'_>) -> Option<Finding> {
    if scene.exposure.in_bout {
        return None;
    }
    scene.pit.sets.values().find_map(|set| {
        let fitted: Vec<(&Pack, &Story)> = set
            .body
            .packs
            .iter()
            .filter_map(|id| Some((&scene.pit.packs.get(id)?.body, scene.packs.get(id)?)))
            .filter(|(_, story)| {
                story
                    .place
                    .is_some_and(|is| is.place == ThingPlace::Machine)
            })
            .collect();
        let places = fitted.iter().filter_map(|(_, story)| story.place);
        let fitted_at = places.map(|is| is.since).max()?;
        let (why, since) = differ(scene, &fitted, fitted_at)?;
        Some(Finding {
            severity: Severity::Hold,
            since: since.max(fitted_at),
            why: format!("{}: {why}", set.body.label),
            people: Vec::new(),
        })
    })
}

fn differ(
    scene: &Scene<'_>,
    fitted: &[(&Pack, &Story)],
    fitted_at: DateTime<Utc>,
) -> Option<(String, DateTime<Utc>)> {
    match Matching::of(fitted) {
        Matching::Unlike => Some(("packs of different kinds".to_owned(), fitted_at)),
        Matching::SaidUnlike(at) => Some(("packs said not to match".to_owned(), at)),
        Matching::Read { apart_mv, at } => {
            let most = scene.pit.settings().pack_difference_mv.get();
            (apart_mv > most).then(|| (format!("packs {apart_mv} mV a cell apart"), at))
        }
        Matching::Unread => None,
    }
}
