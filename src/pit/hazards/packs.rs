//! H17 to H20: suspect packs, charges, and packs of one string.

use super::duty::{away, elsewhere, said_at};
use super::things::{ChargeNow, ReadBack, SetNow};
use super::{Finding, Scene, Severity};
use crate::pit::ids::PersonId;
use crate::pit::logbook::hall::Said;
use crate::pit::logbook::register::Pack;
use crate::pit::logbook::things::ThingPlace;
use crate::pit::logbook::work::DutyOf;
use crate::pit::settings::ChargingWatch;
use crate::pit::state::View;
use crate::pit::state::sight::earliest;
use chrono::{DateTime, TimeDelta, Utc};
use std::collections::BTreeSet;

fn label(scene: &Scene<'_>, set: &SetNow) -> String {
    scene
        .pit
        .sets
        .get(&set.id)
        .map_or_else(|| "Set".to_owned(), |set| set.body.label.to_string())
}

fn packs<'a>(scene: &Scene<'a>, set: &SetNow) -> Vec<&'a Pack> {
    scene
        .pit
        .sets
        .get(&set.id)
        .into_iter()
        .flat_map(|set| &set.body.packs)
        .filter_map(|id| scene.pit.packs.get(id))
        .map(|pack| &pack.body)
        .collect()
}

/// H17: a suspect set that is not set aside, or that came back before its time was over and two
/// people had cleared it. Set aside, it is a note.
pub fn suspect_pack(scene: &Scene<'_>) -> View<Option<Finding>> {
    let mut view = View {
        value: None,
        changes_at: None,
    };
    for set in &scene.sets {
        let found = suspect_set(scene, set);
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

fn suspect_set(scene: &Scene<'_>, set: &SetNow) -> View<Option<Finding>> {
    let nothing = View {
        value: None,
        changes_at: None,
    };
    let Some(suspect) = &set.suspect else {
        return nothing;
    };
    let name = label(scene, set);
    let watch = TimeDelta::minutes(i64::from(scene.pit.settings().observation_min.get()));
    let over = set.aside.map(|aside| aside + watch);
    if let Some(over) = over.filter(|over| *over <= scene.now)
        && cleared_by(scene, over).len() >= 2
    {
        return nothing;
    }
    let place = set.place.map(|(place, _)| place);
    let (severity, why) = match place {
        Some(ThingPlace::Returned) => return nothing,
        Some(ThingPlace::Quarantine) => (
            Severity::Note,
            match over.filter(|over| *over > scene.now) {
                Some(_) => format!("{name} under observation"),
                None => format!("{name} observed: two people look and clear it, or it is scrapped"),
            },
        ),
        _ if set.charge.is_some() => (
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
        _ if suspect.certain => (
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
        changes_at: over.filter(|over| *over > scene.now),
    }
}

/// People who said that it is over, once the observation was.
fn cleared_by(scene: &Scene<'_>, after: DateTime<Utc>) -> BTreeSet<PersonId> {
    scene
        .words("H17")
        .filter(|word| word.at >= after && word.value.said == Said::Cleared)
        .filter_map(|word| word.seen_by)
        .collect()
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
    for set in &scene.sets {
        let Some(charge) = &set.charge else { continue };
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
            why: format!("{} on charge: {why}", label(scene, set)),
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

fn unwatched(scene: &Scene<'_>, charge: &ChargeNow) -> View<Option<Unwatched>> {
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
        None if scene.pit.settings().watcher_may_work => None,
        None => busy(scene, watcher).map(|since| {
            (
                since.max(charge.since),
                "whoever watches is on a task elsewhere",
                vec![watcher],
            )
        }),
    };
    View {
        value,
        changes_at: gone.changes_at,
    }
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
    let wrong = scene.sets.iter().find_map(|set| {
        let charge = set.charge.as_ref()?;
        let (since, why) = wrongly(scene, set, charge)?;
        Some(Finding {
            severity: Severity::StopNow,
            since,
            why: format!("{}: {why}", label(scene, set)),
            people: charge.watcher.or(charge.by).into_iter().collect(),
        })
    });
    wrong.or_else(|| {
        scene.sets.iter().find_map(|set| {
            let charge = set.charge.as_ref()?;
            let (severity, why) = match charge.read_back {
                ReadBack::Done => return None,
                ReadBack::Named => (
                    Severity::Note,
                    "settings read back by somebody who was only named",
                ),
                ReadBack::Nobody => (Severity::Warn, "nobody else has read the settings back"),
            };
            Some(Finding {
                severity,
                since: charge.since,
                why: format!("{} on charge: {why}", label(scene, set)),
                people: charge.by.into_iter().collect(),
            })
        })
    })
}

fn wrongly(
    scene: &Scene<'_>,
    set: &SetNow,
    charge: &ChargeNow,
) -> Option<(DateTime<Utc>, &'static str)> {
    if let Some(at) = charge.reset {
        return Some((at, "the mains failed, settings not read back since"));
    }
    let in_machine = set
        .place
        .is_some_and(|(place, at)| place == ThingPlace::Machine && at <= charge.since);
    if in_machine {
        return Some((charge.since, "charging in the machine"));
    }
    let packs = packs(scene, set);
    let together: i32 = packs.iter().map(|pack| pack.cells.get()).sum();
    let why = packs.iter().find_map(|pack| {
        let chemistry = charge.chemistry.is_some_and(|is| is != pack.chemistry);
        let cells = charge
            .cells
            .is_some_and(|is| is != pack.cells && is.get() != together);
        let current = charge
            .current
            .zip(pack.max_charge_ma)
            .is_some_and(|(is, most)| is > most);
        if chemistry {
            Some("charger set to another chemistry")
        } else if cells {
            Some("charger set to another number of cells")
        } else if current {
            Some("charger set to more current than the pack takes")
        } else {
            None
        }
    })?;
    Some((charge.since, why))
}

/// H20: packs of one string that differ, in the machine. Voltages count until the next charge or
/// bout.
pub fn packs_differ(scene: &Scene<'_>) -> Option<Finding> {
    if scene.exposure.in_bout {
        return None;
    }
    scene.sets.iter().find_map(|set| {
        let (place, at) = set.place?;
        if place != ThingPlace::Machine {
            return None;
        }
        let (why, since) = differ(scene, set, at)?;
        Some(Finding {
            severity: Severity::Hold,
            since: since.max(at),
            why: format!("{}: {why}", label(scene, set)),
            people: Vec::new(),
        })
    })
}

fn differ(
    scene: &Scene<'_>,
    set: &SetNow,
    fitted_at: DateTime<Utc>,
) -> Option<(String, DateTime<Utc>)> {
    let packs = packs(scene, set);
    let unlike = packs.windows(2).any(|two| {
        two[0].chemistry != two[1].chemistry
            || two[0].cells != two[1].cells
            || two[0].capacity_mah != two[1].capacity_mah
    });
    if unlike {
        return Some(("packs of different kinds".to_owned(), fitted_at));
    }
    if let Some((false, at)) = set.matched {
        return Some(("packs said not to match".to_owned(), at));
    }
    let (cells, at) = set.cells.as_ref()?;
    let mut rest = cells.as_slice();
    let mut means: Vec<i32> = Vec::new();
    for pack in &packs {
        let count = usize::try_from(pack.cells.get()).ok()?;
        if count == 0 || rest.len() < count {
            return None;
        }
        let (mine, others) = rest.split_at(count);
        rest = others;
        let sum: i32 = mine.iter().map(|cell| cell.get()).sum();
        means.push(sum / pack.cells.get());
    }
    let apart = means.iter().max()? - means.iter().min()?;
    let most = scene.pit.settings().pack_difference_mv.get();
    (apart > most).then(|| (format!("packs {apart} mV a cell apart"), *at))
}
