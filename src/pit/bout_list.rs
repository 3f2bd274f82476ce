//! A list of bouts as people write it: read whole or not at all, every fault named by its row.

use super::csv;
use super::ids::{BoutId, RobotId};
use super::logbook::register::{Bout, Slot};
use super::state::Pit;
use super::state::running_order::Progress;
use crate::calc::fault::Fault;
use crate::calc::units::Count;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Most rows of a list: what one report may hold.
pub const MOST_ROWS: usize = 100;

/// A bout of the list.
#[derive(Debug, Clone, PartialEq)]
pub struct Listed {
    /// Its id: a new one, or that of the bout with its number.
    pub bout: BoutId,
    /// The revision it is based on; none for a new bout.
    pub revision: Option<i64>,
    /// The bout.
    pub body: Bout,
}

/// Reads a list with the columns number, call, one, other and, if wanted, fixed; a first row that
/// names the columns is left out. A bout whose number is known already is changed. `time` reads a
/// time of the hall, `new` gives the `n`th new bout its id.
///
/// # Errors
/// Everything wrong with it: pointers name rows from 1 as `/rows/3/call`, the sentences name them
/// too.
pub fn read(
    pit: &Pit,
    text: &str,
    time: &dyn Fn(&str) -> Option<DateTime<Utc>>,
    new: &dyn Fn(u16) -> BoutId,
) -> Result<Vec<Listed>, Vec<Fault>> {
    let mut rows = csv::read(text).map_err(|fault| vec![fault])?;
    let named = rows.first().is_some_and(|row| {
        row.cells
            .first()
            .is_some_and(|cell| cell.parse::<i64>().is_err())
    });
    if named && rows.len() > 1 {
        rows.remove(0);
    }
    if rows.is_empty() || rows.len() > MOST_ROWS {
        let detail = format!("From 1 to {MOST_ROWS} bouts at once, not {}.", rows.len());
        return Err(vec![Fault::new("", detail)]);
    }
    let mut list = List {
        pit,
        faults: Vec::new(),
        numbers: pit
            .bouts
            .iter()
            .filter(|(_, bout)| !bout.body.retired)
            .map(|(id, bout)| (bout.body.number.get(), *id))
            .collect(),
        robots: pit
            .robots
            .iter()
            .filter(|(_, file)| !file.register.body.retired)
            .map(|(id, file)| (file.register.body.name.to_string(), *id))
            .collect(),
    };
    let known = list.numbers.clone();
    for (n, row) in (0..).zip(&rows) {
        // Rows may speak of bouts that come later in the list: what is wrong with that is said
        // where the order of calls is looked at.
        if let Some(number) = row.cells.first().and_then(|cell| cell.parse().ok()) {
            list.numbers.entry(number).or_insert_with(|| new(n));
        }
    }
    let mut listed = Vec::with_capacity(rows.len());
    for row in &rows {
        listed.extend(list.row(row, time, &known));
    }
    list.twice(&rows);
    if list.faults.is_empty() {
        Ok(listed)
    } else {
        Err(list.faults)
    }
}

struct List<'a> {
    pit: &'a Pit,
    faults: Vec<Fault>,
    /// Bouts by number, those of the list among them.
    numbers: BTreeMap<i32, BoutId>,
    robots: Vec<(String, RobotId)>,
}

impl List<'_> {
    fn fault(&mut self, row: &csv::Row, column: &str, detail: &str) {
        let line = row.line;
        self.faults.push(Fault::new(
            format!("/rows/{line}/{column}"),
            format!("Line {line}, {column}: {detail}"),
        ));
    }

    fn row(
        &mut self,
        row: &csv::Row,
        time: &dyn Fn(&str) -> Option<DateTime<Utc>>,
        known: &BTreeMap<i32, BoutId>,
    ) -> Option<Listed> {
        let cell = |n: usize| row.cells.get(n).map_or("", String::as_str);
        if row.cells.len() < 4 {
            let detail = format!(
                "{} columns; there are number, call, one, other and, if wanted, fixed.",
                row.cells.len()
            );
            self.fault(row, "number", &detail);
            return None;
        }
        let number = cell(0).parse::<i64>().ok().and_then(Count::new);
        if number.is_none() {
            self.fault(row, "number", "a whole number from 0 to 1000.");
        }
        let call = time(cell(1));
        if call.is_none() {
            let detail = format!(
                "‘{}’ is no time of the hall, such as 14:05.",
                short(cell(1))
            );
            self.fault(row, "call", &detail);
        }
        let one = self.corner(row, "one", cell(2));
        let other = self.corner(row, "other", cell(3));
        let fixed = match cell(4).to_lowercase().as_str() {
            "" | "no" | "0" | "false" => Some(false),
            "yes" | "1" | "true" | "fixed" | "x" => Some(true),
            _ => None,
        };
        if fixed.is_none() {
            self.fault(row, "fixed", "yes or no.");
        }
        if one.is_some() && one == other {
            let detail = format!("{} is in both corners.", short(cell(2)));
            self.fault(row, "other", &detail);
        }
        let (number, call_at) = (number?, call?);
        let id = *self.numbers.get(&number.get())?;
        let before = known.get(&number.get()).and_then(|id| self.pit.bout(*id));
        if before.is_some_and(|bout| bout.progress != Progress::Waiting) {
            self.fault(row, "number", "this bout has begun.");
        }
        let moved_from = before.and_then(|bout| {
            if bout.call == call_at {
                bout.moved_from.map(|(from, _)| from)
            } else {
                Some(bout.call)
            }
        });
        Some(Listed {
            bout: id,
            revision: self.pit.bouts.get(&id).map(|bout| bout.revision),
            body: Bout {
                number,
                slots: [one?, other?],
                call_at,
                fixed: fixed?,
                moved_from,
                retired: false,
            },
        })
    }

    /// A robot by its name, or the winner or loser of a bout by its number.
    fn corner(&mut self, row: &csv::Row, column: &str, text: &str) -> Option<Slot> {
        let words = text.to_lowercase();
        for (start, slot) in [
            ("winner of ", Slot::Winner as fn(BoutId) -> Slot),
            ("loser of ", Slot::Loser),
        ] {
            if let Some(number) = words.strip_prefix(start) {
                let bout = number.trim().trim_start_matches("bout ").parse::<i32>();
                let found = bout.ok().and_then(|number| self.numbers.get(&number));
                if let Some(bout) = found {
                    return Some(slot(*bout));
                }
                self.fault(row, column, &format!("there is no bout {}.", short(number)));
                return None;
            }
        }
        let same = |(name, _): &&(String, RobotId)| name.to_lowercase() == words;
        if let Some((_, robot)) = self.robots.iter().find(same) {
            return Some(Slot::Robot(*robot));
        }
        let near = self.robots.iter().max_by(|(a, _), (b, _)| {
            let likeness = |name: &str| strsim::jaro_winkler(&name.to_lowercase(), &words);
            likeness(a).total_cmp(&likeness(b))
        });
        let nearest = near.map_or_else(String::new, |(name, _)| format!(" The nearest is {name}."));
        let detail = format!("there is no robot ‘{}’.{nearest}", short(text));
        self.fault(row, column, &detail);
        None
    }

    /// Numbers that stand on two rows.
    fn twice(&mut self, rows: &[csv::Row]) {
        for (n, row) in rows.iter().enumerate() {
            let number = |row: &csv::Row| row.cells.first().and_then(|c| c.parse::<i32>().ok());
            let first = rows[..n]
                .iter()
                .find(|r| number(r).is_some() && number(r) == number(row));
            if let Some(first) = first {
                let detail = format!("line {} has this number too.", first.line);
                self.fault(row, "number", &detail);
            }
        }
    }
}

fn short(text: &str) -> String {
    text.chars().take(60).collect()
}

#[cfg(test)]
mod tests;
