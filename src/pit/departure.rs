//! The departure check and the arming check: what a crew looks at before its robot leaves the bench
//! and as it is armed, and what of it nobody said.
//!
//! What is skipped is not forbidden; it stands in plain sight where the robot waits.

use super::library;
use super::library::reports::Row;
use super::logbook::machine::Place;
use super::logbook::{Body, Kind};
use super::state::RobotFile;
use chrono::{DateTime, Utc};
use serde_json::json;

/// The row that closes the departure check.
pub const CLOSES: &str = "left_bench";
/// The report a robot leaves its bench with.
const LEAVING: &str = "off_to_queue";
/// The report it is armed with.
const ARMING: &str = "armed";
/// The row that only says something of a machine with a gas bottle.
const BOTTLE: &str = "departure_bottle";

/// What is looked at before it leaves: the checks of the report it leaves with.
pub fn leaving(file: &RobotFile) -> impl Iterator<Item = &'static Row> {
    checks(LEAVING).filter(move |row| applies(row, file))
}

/// What is looked at as it is armed, beside its sources of energy.
pub fn arming() -> impl Iterator<Item = &'static Row> {
    checks(ARMING)
}

/// Whether a row belongs to the departure check.
pub fn is_of_leaving(row: &Row) -> bool {
    checks(LEAVING).any(|of| of.id == row.id)
}

/// Whether a row belongs to the arming check.
pub fn is_of_arming(row: &Row) -> bool {
    checks(ARMING).any(|of| of.id == row.id)
}

/// Whether a row of these says something of this machine.
pub fn applies(row: &Row, file: &RobotFile) -> bool {
    row.id != BOTTLE || file.register.body.machine.has_gas()
}

fn checks(report: &str) -> impl Iterator<Item = &'static Row> {
    let report = library::data().reports.report(report);
    report
        .into_iter()
        .flat_map(|report| &report.rows)
        .filter(|row| row.kind == Kind::Check)
}

/// What of the departure check nobody said, of a robot that waits in the arena queue or is placed in
/// the arena; nothing of one that is elsewhere. `since` is the beginning of the turnaround in hand.
pub fn skipped(file: &RobotFile, since: Option<DateTime<Utc>>) -> Vec<&'static str> {
    let waits = file
        .state
        .place
        .as_ref()
        .is_some_and(|place| matches!(place.value, Place::Queue | Place::ArenaLoad));
    if !waits {
        return Vec::new();
    }
    let unsaid = unsaid(leaving(file), file, since).into_iter();
    unsaid.map(|row| row.text.as_str()).collect()
}

/// Rows among `rows` that nobody has said since `since`, the beginning of the turnaround in hand.
pub fn unsaid(
    rows: impl Iterator<Item = &'static Row>,
    file: &RobotFile,
    since: Option<DateTime<Utc>>,
) -> Vec<&'static Row> {
    let said = |row: &Row| {
        file.lines.iter().any(|line| {
            since.is_none_or(|since| line.at >= since)
                && matches!(&line.body, Body::Check(check) if row.body.matches(
                    &json!({"what": check.what, "found": check.found}),
                ))
        })
    };
    rows.filter(|row| !said(row)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pit::logbook::How;
    use crate::pit::state::Pit;
    use crate::pit::testing::{ANA, ROBOT, line, made_safe, place};

    #[test]
    fn what_was_skipped_shows_while_it_waits() {
        let mut lines = made_safe();
        let skipped = |lines: &[crate::pit::logbook::Line]| {
            skipped(Pit::fold(lines).robot(ROBOT).unwrap(), None)
        };
        assert!(
            skipped(&lines).is_empty(),
            "on its bench nothing is skipped"
        );
        lines.push(line(20, 60, ANA, How::Did, place(Place::Queue)));
        let all = skipped(&lines);
        assert!(all.contains(&"Bottle strapped in"), "{all:?}");
        let said = Body::read(
            Kind::Check,
            &json!({"what": "departure_bottle", "found": "strapped"}),
            "",
        );
        lines.push(line(21, 70, ANA, How::Did, said.unwrap()));
        let left = skipped(&lines);
        assert_eq!(left.len() + 1, all.len());
        assert!(!left.contains(&"Bottle strapped in"), "{left:?}");
    }
}
