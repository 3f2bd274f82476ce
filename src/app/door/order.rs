//! Whether the running order still makes sense after a report: nobody meets themselves, and no bout
//! stands before one that decides who is in it.

use crate::calc::fault::Fault;
use crate::pit::ids::{BoutId, RobotId, Subject};
use crate::pit::logbook::register::{Bout, Slot};
use crate::pit::logbook::{Body, Draft};
use crate::pit::state::Pit;
use crate::pit::state::running_order::Progress;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// A bout after the report.
struct After<'a> {
    body: &'a Bout,
    call: DateTime<Utc>,
    /// The line of the report that registers it.
    line: Option<usize>,
    waits: bool,
}

/// What the bouts of a report would make wrong, with their numbers.
pub fn faults(pit: &Pit, drafts: &[Draft], pointer: &str) -> Vec<Fault> {
    let after = after(pit, drafts);
    let mut faults = Vec::new();
    for bout in after
        .values()
        .filter(|bout| bout.waits && !bout.body.retired)
    {
        let number = bout.body.number.get();
        for (n, slot) in bout.body.slots.iter().enumerate() {
            let (Slot::Winner(id) | Slot::Loser(id)) = slot else {
                continue;
            };
            let Some(feeder) = after.get(id) else {
                continue;
            };
            // Of two lines that do not fit together the one that is new is at fault.
            let Some(line) = bout.line.or(feeder.line) else {
                continue;
            };
            let decides = feeder.body.number.get();
            if feeder.body.retired {
                faults.push(Fault::new(
                    format!("{pointer}/{line}/body/slots/{n}"),
                    format!("Bout {number} waits for bout {decides}, which does not take place."),
                ));
            } else if feeder.waits && (feeder.call, decides) >= (bout.call, number) {
                faults.push(Fault::new(
                    format!("{pointer}/{line}/body/call_at"),
                    format!(
                        "Bout {number} would stand before bout {decides}, which decides who is in it."
                    ),
                ));
            }
        }
        if let Some(line) = bout.line
            && let Some(robot) = may_meet_itself(&after, bout.body)
        {
            let name = pit.robot(robot).map_or_else(
                || "A robot".to_owned(),
                |file| file.register.body.name.to_string(),
            );
            faults.push(Fault::new(
                format!("{pointer}/{line}/body/slots"),
                format!("{name} is, or may come to be, in both corners of bout {number}."),
            ));
        }
    }
    faults
}

fn after<'a>(pit: &'a Pit, drafts: &'a [Draft]) -> BTreeMap<BoutId, After<'a>> {
    let registers = |draft: &&Draft| matches!(draft.body, Body::RegisterBout(_));
    if !drafts.iter().any(|draft| registers(&draft)) {
        return BTreeMap::new();
    }
    let mut after: BTreeMap<BoutId, After<'a>> = pit
        .bouts
        .iter()
        .map(|(id, known)| {
            let now = pit.bout(*id);
            let bout = After {
                body: &known.body,
                call: now.map_or(known.body.call_at, |bout| bout.call),
                line: None,
                waits: now.is_none_or(|bout| bout.progress == Progress::Waiting),
            };
            (*id, bout)
        })
        .collect();
    for (line, draft) in drafts.iter().enumerate() {
        if let (Body::RegisterBout(body), Subject::Bout(id)) = (&draft.body, draft.subject) {
            let waits = after.get(&id).is_none_or(|known| known.waits);
            let bout = After {
                body,
                call: body.call_at,
                line: Some(line),
                waits,
            };
            after.insert(id, bout);
        }
    }
    after
}

/// A robot that may be in both corners: named in one, and in the bout the other draws from.
fn may_meet_itself(after: &BTreeMap<BoutId, After<'_>>, bout: &Bout) -> Option<RobotId> {
    let [one, other] = bout.slots;
    [(one, other), (other, one)].into_iter().find_map(|pair| {
        let (Slot::Robot(robot), Slot::Winner(feeder) | Slot::Loser(feeder)) = pair else {
            return None;
        };
        let drawn = after.get(&feeder)?.body.slots;
        drawn.contains(&Slot::Robot(robot)).then_some(robot)
    })
}
