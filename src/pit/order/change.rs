//! Another order of the next bouts: what is wrong with it, and the calls it gives them.

use crate::calc::fault::Fault;
use crate::pit::ids::BoutId;
use crate::pit::logbook::register::{Bout, Slot};
use crate::pit::state::Pit;
use crate::pit::state::running_order::{BoutNow, Progress};

/// The bouts whose calls change when the next bouts take place in this order, as they are then
/// registered. The calls stay where they are; who is called changes.
///
/// # Errors
/// Everything that is wrong with the order, at the place in it, with the bouts' numbers: a bout
/// named twice, unknown, begun or lost, one that keeps its place and would not, one before the bout
/// that decides who is in it.
pub fn changed(pit: &Pit, order: &[BoutId]) -> Result<Vec<(BoutId, Bout)>, Vec<Fault>> {
    let faults = faults(pit, order);
    if !faults.is_empty() {
        return Err(faults);
    }
    let before = between(pit, order);
    let mut changed = Vec::new();
    for (id, place) in order.iter().zip(&before) {
        let (Some(bout), Some(known)) = (pit.bout(*id), pit.bouts.get(id)) else {
            continue;
        };
        if bout.call != place.call {
            let after = Bout {
                call_at: place.call,
                moved_from: Some(bout.call),
                ..known.body.clone()
            };
            changed.push((*id, after));
        }
    }
    Ok(changed)
}

/// The waiting bouts from the first to the last of those named, in running order.
fn between<'a>(pit: &'a Pit, order: &[BoutId]) -> Vec<&'a BoutNow> {
    let all = pit.running_order();
    let named = |bout: &BoutNow| order.contains(&bout.id);
    let Some(first) = all.iter().position(named) else {
        return Vec::new();
    };
    let last = all.iter().rposition(named).unwrap_or(first);
    all[first..=last]
        .iter()
        .filter(|bout| bout.progress == Progress::Waiting)
        .collect()
}

fn faults(pit: &Pit, order: &[BoutId]) -> Vec<Fault> {
    let mut faults = Vec::new();
    if order.len() < 2 {
        faults.push(Fault::new("/bouts", "An order names two bouts at least."));
        return faults;
    }
    let before = between(pit, order);
    for (place, id) in order.iter().enumerate() {
        let at = format!("/bouts/{place}");
        let Some(bout) = pit.bout(*id) else {
            faults.push(Fault::new(at, "No bout of that id is to take place."));
            continue;
        };
        let number = bout.number;
        if order[..place].contains(id) {
            faults.push(Fault::new(at, format!("Bout {number} is named twice.")));
            continue;
        }
        if bout.progress != Progress::Waiting {
            faults.push(Fault::new(at, format!("Bout {number} has begun.")));
            continue;
        }
        let keeps = pit.bouts.get(id).is_some_and(|known| known.body.fixed);
        if keeps && before.get(place).is_none_or(|there| there.id != *id) {
            faults.push(Fault::new(
                &at,
                format!("Bout {number} keeps its place in the order."),
            ));
        }
        for slot in bout.slots {
            let (Slot::Winner(feeder) | Slot::Loser(feeder)) = slot else {
                continue;
            };
            if order[place..].contains(&feeder) {
                let decides = pit.bout(feeder).map_or(0, |feeder| feeder.number);
                faults.push(Fault::new(
                    &at,
                    format!(
                        "Bout {number} would stand before bout {decides}, which decides who is in it."
                    ),
                ));
            }
        }
    }
    let lost: Vec<String> = before
        .iter()
        .filter(|bout| !order.contains(&bout.id))
        .map(|bout| bout.number.to_string())
        .collect();
    if !lost.is_empty() {
        faults.push(Fault::new(
            "/bouts",
            format!("The order lost bout {}.", lost.join(", bout ")),
        ));
    }
    faults
}
