//! From a sheet as sent to the lines it writes.

use crate::calc::fault::{Fault, Faults};
use crate::pit::ids::{LineId, PersonId, RobotId, Subject};
use crate::pit::library;
use crate::pit::library::reports::Blank;
use crate::pit::logbook::{Body, Draft, How, Kind};
use chrono::{DateTime, Utc};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Lines about damage come after those of the rows, of which there are fewer than this.
const DAMAGE_FROM: u16 = 1_000;

/// What the person says of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// So it is.
    So,
    /// It is not so.
    NotSo,
}

/// A row as sent.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkedRow {
    /// The row.
    pub row: String,
    /// What the person says of it.
    pub mark: Mark,
    /// What is in its blanks, by the blank as written in the data.
    pub filled: BTreeMap<String, Value>,
}

/// A sheet as sent. It holds everything its lines say, so that the same form sent twice writes the
/// same lines whatever was recorded in between.
#[derive(Debug, Clone, PartialEq)]
pub struct Form {
    /// The id its lines' ids are made from.
    pub key: LineId,
    /// The robot.
    pub robot: RobotId,
    /// When it was seen: minutes ago already taken off.
    pub at: DateTime<Utc>,
    /// Who saw or did it.
    pub seen_by: Option<PersonId>,
    /// Its rows.
    pub rows: Vec<MarkedRow>,
    /// Damage tapped in on the sheet: area and kind.
    pub damage: Vec<(String, String)>,
}

/// The lines a sheet writes.
///
/// A row that is so becomes its line. One that is not so writes nothing, except that the opposite
/// of an isolated state is a sight of it being live: that errs to the safe side.
///
/// # Errors
/// Every row that is unknown or whose line cannot be read, with pointers into the form.
pub fn expand(form: &Form) -> Result<Vec<Draft>, Vec<Fault>> {
    let mut faults = Faults::none();
    let mut drafts = Vec::new();
    let reports = &library::data().reports;
    let draft = |n: u16, how: Option<How>, body: Body| Draft {
        id: form.key.nth(n),
        at: form.at,
        seen_by: form.seen_by,
        subject: Subject::Robot(form.robot),
        how,
        corrects: None,
        if_revision: None,
        body,
    };
    for (index, marked) in form.rows.iter().enumerate() {
        let at = format!("/rows/{index}");
        let (Some(row), Some(number)) = (reports.row(&marked.row), reports.number(&marked.row))
        else {
            faults.add(
                format!("{at}/row"),
                format!("There is no row '{}'.", short(&marked.row)),
            );
            continue;
        };
        for blank in marked.filled.keys() {
            if Blank::named(blank).is_none() {
                faults.add(
                    format!("{at}/filled"),
                    format!("There is no blank '{}'.", short(blank)),
                );
            }
        }
        let body = row.body.filled(|blank| match blank {
            Blank::AsBefore if !form.damage.is_empty() => Some(json!("nothing else")),
            Blank::DamageFound if !form.damage.is_empty() => {
                Some(json!(format!("{} tapped in", form.damage.len())))
            }
            blank => marked.filled.get(blank.as_str()).cloned(),
        });
        let (how, body) = match marked.mark {
            Mark::So => (row.how, body),
            Mark::NotSo => match contrary(row.kind, &body) {
                Some(body) => (How::Saw, body),
                None => continue,
            },
        };
        match Body::read(row.kind, &body, &format!("{at}/filled")) {
            Ok(body) => drafts.push(draft(number, Some(how), body)),
            Err(more) => {
                for fault in more {
                    faults.add(fault.pointer, fault.detail);
                }
            }
        }
    }
    for (index, (area, kind)) in form.damage.iter().enumerate() {
        let body = json!({"area": area, "kind": kind});
        let number = u16::try_from(index).unwrap_or(u16::MAX - DAMAGE_FROM) + DAMAGE_FROM;
        match Body::read(Kind::Damage, &body, &format!("/damage/{index}")) {
            Ok(body) => drafts.push(draft(number, None, body)),
            Err(more) => {
                for fault in more {
                    faults.add(fault.pointer, fault.detail);
                }
            }
        }
    }
    faults.or(drafts)
}

/// What somebody saw who says that an isolated state is not so.
fn contrary(kind: Kind, body: &Value) -> Option<Value> {
    let is = |name: &str, value: &str| body.get(name).and_then(Value::as_str) == Some(value);
    match kind {
        Kind::Link if is("state", "out") => Some(json!({"state": "in"})),
        Kind::WeaponBar if is("state", "on") => Some(json!({"state": "off"})),
        Kind::Transmitter if is("state", "off") => Some(json!({"state": "on"})),
        Kind::PowerLight if is("state", "dark") => Some(json!({"state": "lit"})),
        Kind::Gas if is("system", "zero") => Some(json!({"system": "live"})),
        Kind::Gas if is("valve", "shut") => Some(json!({"valve": "open"})),
        _ => None,
    }
}

fn short(text: &str) -> String {
    text.chars().take(60).collect()
}
