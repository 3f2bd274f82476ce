//! H12 to H16: bottles, what keeps gas in bounds, and the air where it is filled.

use super::things::BottleNow;
use super::{Finding, Scene, Severity};
use crate::pit::gas::BottleLimits;
use crate::pit::ids::Subject;
use crate::pit::logbook::machine::PartOf;
use crate::pit::logbook::register;
use crate::pit::logbook::things::{Looks, ThingPlace};
use crate::pit::logbook::work::{Outcome, ProofOf, TaskState};
use crate::pit::logbook::{Body, Line};
use crate::pit::state::View;
use crate::pit::state::sight::earliest;
use chrono::{DateTime, Months, NaiveDate, TimeDelta, Utc};

fn register<'a>(scene: &Scene<'a>, bottle: &BottleNow) -> Option<&'a register::Bottle> {
    scene.pit.bottles.get(&bottle.id).map(|known| &known.body)
}

/// The last day on which a bottle's test is good; none for one without a date.
fn good_to(bottle: &register::Bottle, years: i32) -> Option<NaiveDate> {
    let months = u32::try_from(years).ok()?.checked_mul(12)?;
    bottle
        .test_due
        .or_else(|| bottle.tested_on?.checked_add_months(Months::new(months)))
}

/// H12: a bottle without a good test date where it is filled or fitted, or any bottle there at an
/// event without gas; or a damaged one anywhere. Days are counted in universal time.
pub fn bottle_unfit(scene: &Scene<'_>) -> View<Option<Finding>> {
    let years = scene.pit.settings().bottle_retest_years.get();
    let allowed = scene.pit.settings().gas_allowed;
    let today = scene.now.date_naive();
    let mut view = View {
        value: None,
        changes_at: None,
    };
    if scene.exposure.in_bout {
        return view;
    }
    for bottle in &scene.bottles {
        let Some(known) = register(scene, bottle) else {
            continue;
        };
        let damaged = bottle
            .looks
            .filter(|(looks, _)| *looks != Looks::Fine && !bottle.is_at(ThingPlace::Returned));
        let used = bottle
            .place
            .filter(|(place, _)| matches!(place, ThingPlace::GasStation | ThingPlace::Machine));
        let dated = good_to(known, years);
        let over = dated
            .and_then(|day| day.succ_opt())
            .and_then(|day| day.and_hms_opt(0, 0, 0))
            .map(|moment| moment.and_utc());
        view.changes_at = earliest(
            view.changes_at,
            over.filter(|moment| used.is_some() && *moment > scene.now),
        );
        let (since, why) = match (damaged, used, dated) {
            (Some((_, at)), _, _) => (at, "damaged"),
            (None, Some((_, at)), _) if !allowed => (at, "in use, and the event allows no gas"),
            (None, Some((_, at)), None) => (at, "without a test date"),
            (None, Some((_, at)), Some(day)) if day < today => (at, "out of test date"),
            _ => continue,
        };
        if view.value.is_none() {
            view.value = Some(hold(since, format!("{} {why}", known.label)));
        }
    }
    view
}

fn hold(since: DateTime<Utc>, why: String) -> Finding {
    Finding {
        severity: Severity::Hold,
        since,
        why,
        people: Vec::new(),
    }
}

/// H13: a bottle over its permitted fill until another person has weighed it within; or one whose
/// charge nobody knows, in the machine.
pub fn charge_unknown(scene: &Scene<'_>) -> Option<Finding> {
    if scene.exposure.in_bout {
        return None;
    }
    let over = scene.bottles.iter().find_map(|bottle| {
        let (since, by) = bottle.over?;
        let known = register(scene, bottle)?;
        Some(Finding {
            severity: Severity::StopNow,
            since,
            why: format!("{} over its permitted fill", known.label),
            people: by.into_iter().collect(),
        })
    });
    over.or_else(|| {
        scene.bottles.iter().find_map(|bottle| {
            let known = register(scene, bottle)?;
            let fitted = bottle.is_at(ThingPlace::Machine) && scene.exposure.to_doubt();
            match bottle.charge {
                Some((None, at)) => Some(hold(
                    at,
                    format!("{} filled, and no mass logged", known.label),
                )),
                Some((Some(_), at))
                    if BottleLimits::permitted(known, scene.now.date_naive()).is_none() =>
                {
                    Some(hold(
                        at,
                        format!("{}: nobody knows how much it may hold", known.label),
                    ))
                }
                None if fitted => Some(hold(
                    bottle.place?.1,
                    format!("{} fitted, and never weighed here", known.label),
                )),
                _ => None,
            }
        })
    })
}

/// H14: the relief or burst device is bad by somebody's word; or nobody looked at it, where gas is
/// filled, fitted or armed. An inspection passed, or a look at the gas path, is such a look.
pub fn relief_unknown(scene: &Scene<'_>) -> Option<Finding> {
    let state = &scene.file.state;
    if !scene.file.register.body.machine.has_gas() || scene.exposure.in_bout {
        return None;
    }
    let filling = scene.bottles.iter().any(BottleNow::at_the_bay);
    let fitted = scene.exposure.to_doubt() && state.bottle_out.value() == Some(false);
    let bad = state.troubles.iter().find(|(part, _)| !part.proves_zero());
    if let Some((part, open)) = bad {
        let low = *part == PartOf::LowRelief;
        let name = if low { "Low-side relief" } else { "Relief" };
        return Some(hold(
            open.since,
            match open.right {
                Some(_) => format!("{name} said to be rated; another person has to look"),
                None => format!("{name} missing or unrated"),
            },
        ));
    }
    if !(filling || fitted) {
        return None;
    }
    let inspected = state
        .proofs
        .get(&ProofOf::Inspection)
        .filter(|proof| proof.value.result != Outcome::Fail)
        .map(|proof| proof.at);
    let looked = scene
        .file
        .lines
        .iter()
        .rev()
        .find(|line| matches!(&line.body, Body::Check(check) if check.what.as_str() == "gas_path"))
        .map(|line| line.at);
    let said = state.sound.get(&PartOf::Relief).map(|sight| sight.at);
    let damaged = scene
        .file
        .lines
        .iter()
        .rev()
        .find(|line| matches!(&line.body, Body::Damage(damage) if damage.kind.as_str() == "relief_bad"))
        .map(|line| line.at);
    let replaced = scene
        .file
        .lines
        .iter()
        .rev()
        .find(|line| replaces_relief(line))
        .map(|line| line.at);
    // A damaged or new one needs the inspector, not the one who mended it.
    if let Some(at) = damaged.max(replaced) {
        return inspected.max(said).is_none_or(|seen| seen < at).then(|| {
            hold(
                at,
                "Relief damaged or replaced, and not inspected since".to_owned(),
            )
        });
    }
    inspected.max(looked).max(said).is_none().then(|| {
        hold(
            scene.place_since().unwrap_or(scene.now),
            "Nobody has looked at the relief".to_owned(),
        )
    })
}

fn replaces_relief(line: &Line) -> bool {
    match &line.body {
        Body::Task(task) => task.state == TaskState::Done && task.task.as_str() == "fl-relief",
        Body::Part(part) => part
            .task
            .as_ref()
            .is_some_and(|task| task.as_str() == "fl-relief"),
        _ => false,
    }
}

/// H15: a dead gauge, a blocked dump, a bottle that does not shut, a pressure that does not fall;
/// until one person says that it works and another has seen it.
pub fn zero_unprovable(scene: &Scene<'_>) -> Option<Finding> {
    if scene.exposure.in_bout {
        return None;
    }
    let (part, open) = scene
        .file
        .state
        .troubles
        .iter()
        .find(|(part, _)| part.proves_zero())?;
    let what = match part {
        PartOf::Gauge => "Gauge dead",
        PartOf::Dump => "Dump blocked",
        PartOf::BottleValve => "Bottle cannot be shut",
        _ => "Pressure does not fall",
    };
    Some(Finding {
        severity: Severity::StopNow,
        since: open.since,
        why: match open.right {
            Some(_) => format!("{what}: said to work again; another person has to look"),
            None => format!("{what}: pressure cannot be proved zero"),
        },
        people: Vec::new(),
    })
}

/// Carbon dioxide that a person may breathe all day. **Units** ppm. **Source** G8: 8 h limit.
const ALL_DAY_PPM: i32 = 5_000;
/// The same for a quarter of an hour. **Units** ppm. **Source** G8: 15 min limit.
const SHORT_PPM: i32 = 15_000;
/// How long a reading of the air counts.
/// **Source** G8: the span of the short limit.
const READING: TimeDelta = TimeDelta::minutes(15);
/// Cubic metres of gas from a kilogram of carbon dioxide at 20 degrees and 1 atm.
/// **Source** own arithmetic: 24.06 l/mol over 44.01 g/mol.
const M3_PER_KG: f64 = 0.55;

/// H16: bad air where this robot's bottle is being filled, or in a closed room nobody measures.
pub fn bad_air(scene: &Scene<'_>) -> View<Option<Finding>> {
    let mut view = View {
        value: None,
        changes_at: None,
    };
    let Some(bottle) = scene.bottles.iter().find(|bottle| bottle.at_the_bay()) else {
        return view;
    };
    let there = bottle.place.map_or(scene.now, |(_, at)| at);
    let air = scene
        .pit
        .facts(Subject::Event)
        .into_iter()
        .rev()
        .find_map(|line| match &line.body {
            Body::Air(air) => Some((air.clone(), line.at)),
            _ => None,
        });
    let fresh = air.as_ref().filter(|(_, at)| *at + READING > scene.now);
    view.changes_at = fresh.map(|(_, at)| *at + READING);
    let ppm = air
        .as_ref()
        .and_then(|(air, at)| Some((air.co2_ppm?.get(), *at)));
    let room = scene.pit.settings().gas_room_m3;
    let finding = |severity, since, why: &str| {
        Some(Finding {
            severity,
            since,
            why: why.to_owned(),
            people: Vec::new(),
        })
    };
    // Bad air stays bad until somebody measures it good: time alone clears nothing.
    view.value = match (&air, ppm, room) {
        (Some((air, at)), _, _) if air.symptoms => finding(
            Severity::StopNow,
            *at,
            "Somebody feels the air at the gas bay",
        ),
        (_, Some((ppm, at)), _) if ppm >= SHORT_PPM => {
            finding(Severity::StopNow, at, "15 000 ppm or more at the gas bay")
        }
        (_, Some((ppm, at)), _) if ppm > ALL_DAY_PPM => {
            finding(Severity::Warn, at, "More than 5 000 ppm at the gas bay")
        }
        (_, _, Some(_)) if fresh.is_none() => finding(
            Severity::Warn,
            there,
            "Gas is filled in a room where nobody has measured the air in the last 15 min",
        ),
        (_, _, Some(room)) => {
            let m3 = f64::from(room.get().max(1));
            let measured = fresh.map_or(scene.now, |(_, at)| *at);
            let share = kg_filled_since(scene, measured) * M3_PER_KG / m3;
            if share * 1e6 > f64::from(ALL_DAY_PPM) {
                finding(
                    Severity::Warn,
                    there,
                    "More was filled since the air was measured than the room takes, if it got out",
                )
            } else {
                None
            }
        }
        _ => None,
    };
    view
}

/// Gas filled since the air was measured, of every team. **Units** kg.
fn kg_filled_since(scene: &Scene<'_>, measured: DateTime<Utc>) -> f64 {
    let grams: i32 = scene
        .pit
        .robots
        .values()
        .flat_map(|file| &file.lines)
        .filter(|line| line.at > measured)
        .filter_map(|line| match &line.body {
            Body::Bottle(bottle) => {
                let known = scene.pit.bottles.get(&bottle.bottle?)?;
                Some((bottle.mass_g?.get() - known.body.tare_g.get()).max(0))
            }
            _ => None,
        })
        .sum();
    f64::from(grams) / 1000.0
}
