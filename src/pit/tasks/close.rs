//! Which fact closes which task.

use super::hand::Hand;
use super::today::{Item, Progress};
use crate::pit::ids::PersonId;
use crate::pit::library::reports::Row;
use crate::pit::library::{self};
use crate::pit::logbook::things::ChargeState;
use crate::pit::logbook::work::{Task, TaskState};
use crate::pit::logbook::{Body, Kind, Line, Role};
use serde_json::Value;
use std::sync::Arc;

/// Marks the items as far as the facts bring them. Items stand in an order in which nothing comes
/// before what it waits for.
pub(super) fn close(items: &mut [Item], lines: &[Arc<Line>], hand: &Hand) {
    let rows: Vec<Option<&Row>> = items
        .iter()
        .map(|item| library::data().reports.row(&item.def.closes_with))
        .collect();
    // Lines of one moment are one sheet: its rows may close a task and the next one together.
    let mut rest = lines;
    while let Some(first) = rest.first() {
        let count = rest.iter().take_while(|line| line.at == first.at).count();
        let (sheet, later) = rest.split_at(count);
        rest = later;
        for line in sheet {
            if let Body::Task(task) = &line.body {
                take_word(items, line, task, hand);
            }
        }
        if hand.facts_from.is_none_or(|from| first.at >= from) {
            close_by_rows(items, &rows, sheet);
        }
    }
    for index in 0..items.len() {
        if matches!(items[index].progress, Progress::Open) {
            let waits: Vec<usize> = items[index]
                .after
                .iter()
                .copied()
                .filter(|&other| !items[other].progress.is_done())
                .collect();
            if !waits.is_empty() {
                items[index].progress = Progress::Waiting(waits);
            }
        }
    }
}

/// What somebody said about a task itself counts always.
fn take_word(items: &mut [Item], line: &Arc<Line>, task: &Task, hand: &Hand) {
    let in_hand = match task.turnaround {
        Some(turnaround) => turnaround == hand.turnaround,
        None => hand.facts_from.is_none_or(|from| line.at >= from),
    };
    if !in_hand {
        return;
    }
    let instance = task.instance.as_ref().map(|area| area.as_str());
    for item in items
        .iter_mut()
        .filter(|item| item.is(task.task.as_str(), instance))
    {
        match task.state {
            TaskState::Started => {
                let mut by: Vec<PersonId> = line.seen_by.into_iter().collect();
                by.extend(task.with.iter().filter(|who| Some(**who) != line.seen_by));
                item.progress = Progress::Running {
                    since: line.at,
                    by,
                    line: line.id,
                };
            }
            TaskState::Done if item.called_at.is_none_or(|called| line.at >= called) => {
                item.progress = done(item, line);
            }
            TaskState::Done | TaskState::LeftOut | TaskState::Chosen => {}
        }
    }
}

fn done(item: &Item, line: &Line) -> Progress {
    let since = match &item.progress {
        Progress::Running { since, .. } => Some(*since),
        _ => None,
    };
    Progress::Done {
        since,
        at: line.at,
        by: line.seen_by,
        line: line.id,
    }
}

fn close_by_rows(items: &mut [Item], rows: &[Option<&Row>], sheet: &[Arc<Line>]) {
    // A program never counts as somebody who did or saw it.
    let sheet: Vec<(&Arc<Line>, Value)> = sheet
        .iter()
        .filter(|line| line.entered_by.role != Role::Program && line.kind() != Kind::Task)
        .filter(|line| line.how.is_some())
        .map(|line| (line, line.body.to_value()))
        .collect();
    if sheet.is_empty() {
        return;
    }
    for index in 0..items.len() {
        let Some(row) = rows[index] else { continue };
        let item = &items[index];
        if item.progress.is_done()
            || !item
                .after
                .iter()
                .all(|&other| items[other].progress.is_done())
        {
            continue;
        }
        let closing = sheet.iter().find(|(line, body)| {
            item.called_at.is_none_or(|called| line.at >= called)
                && says(row, line, body)
                && is_about(item, line)
        });
        if let Some((line, _)) = closing {
            items[index].progress = done(item, line);
        } else if let Some((line, _)) = sheet.iter().find(|(line, _)| starts(item, line)) {
            items[index].progress = Progress::Running {
                since: line.at,
                by: line.seen_by.into_iter().collect(),
                line: line.id,
            };
        }
    }
}

/// Whether a line says what a row says: same kind, same how, every literal equal.
pub(in crate::pit) fn says(row: &Row, line: &Line, body: &Value) -> bool {
    row.kind == line.kind() && Some(row.how) == line.how && row.body.matches(body)
}

/// A swapped part says for which task it was, or where.
fn is_about(item: &Item, line: &Line) -> bool {
    let Body::Part(part) = &line.body else {
        return true;
    };
    let area = part.area.as_ref().map(|area| area.as_str());
    match &part.task {
        Some(task) => item.is(task.as_str(), area.filter(|_| item.key.instance.is_some())),
        None => item.key.instance.is_some() && item.key.instance.as_deref() == area,
    }
}

/// A charge that was started is the charge task under way.
fn starts(item: &Item, line: &Line) -> bool {
    item.def.closes_with == "charge_ended"
        && matches!(&line.body, Body::Charge(charge) if charge.state == Some(ChargeState::Started))
        && !matches!(item.progress, Progress::Running { .. })
}
