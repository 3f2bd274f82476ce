//! One-tap reports: which fit a robot now, with which rows, and the lines they write.
//!
//! A report is offered while its own rows would close a task of the list in hand. Its rows stand
//! unticked; rows that say nothing about this machine, or were said already, are absent.

mod expand;
mod fill;

#[cfg(test)]
mod tests;

pub use expand::{Form, Mark, MarkedRow, expand};

use crate::pit::departure;
use crate::pit::ids::PersonId;
use crate::pit::library;
use crate::pit::library::reports::{Blank, Opens, Report, Row};
use crate::pit::library::tasks::Spot;
use crate::pit::logbook::machine::{LinkState, Place};
use crate::pit::logbook::{Body, How, Kind, Line, Role};
use crate::pit::state::{Pit, RobotFile};
use crate::pit::tasks::Today;
use fill::Filler;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// The report after a bout.
const BACK: &str = "back_made_safe";
/// The look of another person after a machine was made safe.
const SECOND_LOOK: &str = "second_look";
/// The row that says the robot is on its bench.
const ON_STAND: &str = "on_stand";
/// The row that says packs are out, and the one that says they are on charge.
const PACKS_OUT: &str = "packs_out";
const ON_CHARGE: &str = "on_charge";
/// Rows that name a single task are posted from its card, never by a sheet.
const OF_ONE_TASK: [&str; 2] = ["part_swapped", "task_done"];

/// A row of a sheet, ready to be shown.
#[derive(Debug, Clone)]
pub struct SheetRow {
    /// The row.
    pub row: &'static Row,
    /// What it asserts, in words of this machine.
    pub text: String,
    /// What is filled into its blanks, by the blank as written in the data; the rest is asked.
    pub filled: BTreeMap<&'static str, Value>,
    /// Blanks that nothing is known for.
    pub empty: Vec<Blank>,
    /// It stands on an earlier report that nobody sent.
    pub carried: bool,
}

/// A report as it is offered now.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// The report.
    pub report: &'static Report,
    /// Its rows, carried ones first.
    pub rows: Vec<SheetRow>,
    /// Indices of the tasks it closes if every row is ticked.
    pub closes: Vec<usize>,
    /// People who do not send it: nobody proves their own work.
    pub not_for: Vec<PersonId>,
}

impl Sheet {
    /// Whether it stands open for the person asked, so that one tap sends it.
    pub fn stands_open(&self) -> bool {
        self.report.opens == Opens::Standing
    }
}

/// Reports that fit `robot` now, for `me`; the one that comes first in the list of tasks first.
pub fn offered(pit: &Pit, today: &Today, me: Option<PersonId>) -> Vec<Sheet> {
    let Some(file) = pit.robot(today.robot) else {
        return Vec::new();
    };
    let scene = Scene {
        pit,
        file,
        today,
        me,
        looked_for: looked_for(file, today),
    };
    let mut sheets: Vec<Sheet> = library::data()
        .reports
        .reports
        .iter()
        .filter_map(|report| scene.sheet(report))
        .filter(|sheet| me.is_none_or(|me| !sheet.not_for.contains(&me)))
        .collect();
    sheets.sort_by_key(|sheet| {
        let first = sheet.closes.first().copied();
        (first.unwrap_or(0), std::cmp::Reverse(sheet.closes.len()))
    });
    sheets
}

/// Every row of a report that says something about this machine, whether or not it fits now: for
/// whoever reports what no task asks for.
pub fn every_row(pit: &Pit, today: &Today, report: &str, me: Option<PersonId>) -> Vec<SheetRow> {
    let (Some(file), Some(report)) = (
        pit.robot(today.robot),
        library::data().reports.report(report),
    ) else {
        return Vec::new();
    };
    let filler = Filler::new(pit, file, today, me);
    let has_gas = file.register.body.machine.has_gas();
    report
        .rows
        .iter()
        .filter(|row| has_gas || !matches!(row.kind, Kind::Gas | Kind::Bottle))
        .filter(|row| !OF_ONE_TASK.contains(&&*row.id))
        .filter_map(|row| filler.row(row, None, false))
        .collect()
}

/// The row that puts packs on charge, filled in, for a sheet that takes them out: the two are often one
/// walk. None where no channel is free, or nobody registered one.
pub fn on_charge_too(
    pit: &Pit,
    today: &Today,
    rows: &[SheetRow],
    me: Option<PersonId>,
) -> Option<SheetRow> {
    let out = rows.iter().any(|row| row.row.id == PACKS_OUT);
    let already = rows.iter().any(|row| row.row.id == ON_CHARGE);
    let file = pit.robot(today.robot).filter(|_| out && !already)?;
    let row = library::data().reports.row(ON_CHARGE)?;
    let row = Filler::new(pit, file, today, me).row(row, None, false)?;
    row.filled
        .contains_key(Blank::Channels.as_str())
        .then_some(row)
}

/// The row that a task's card posts when it is done, filled in.
pub fn card(pit: &Pit, today: &Today, index: usize, me: Option<PersonId>) -> Option<SheetRow> {
    let file = pit.robot(today.robot)?;
    let item = today.items.get(index)?;
    let reports = &library::data().reports;
    let own = reports.row(&item.def.closes_with)?;
    let row = if own.kind == Kind::Part {
        own
    } else {
        reports.row("task_done")?
    };
    Filler::new(pit, file, today, me).row(row, Some(index), false)
}

/// Who made the machine safe, if nobody else has looked since.
fn looked_for(file: &RobotFile, today: &Today) -> Option<Vec<PersonId>> {
    let acted = |line: &Line| {
        line.how == Some(How::Did)
            && matches!(&line.body, Body::Link(link) if link.state == LinkState::Out)
    };
    let mine = |line: &Line| today.hand.facts_from.is_none_or(|from| line.at >= from);
    let at = file
        .lines
        .iter()
        .rposition(|line| acted(line) && mine(line))?;
    let act = &file.lines[at];
    // Everything of that sheet was done by whoever made it safe.
    let mut by: BTreeSet<PersonId> = BTreeSet::new();
    for line in file.lines.iter().filter(|line| line.at == act.at) {
        by.extend(line.seen_by);
        by.extend(line.entered_by.person);
    }
    // Somebody who is only named does not stand in for a second person.
    let another = |who: Option<PersonId>| who.is_some_and(|who| !by.contains(&who));
    let still_out = file.state.link.value() == Some(LinkState::Out);
    let seen = file.lines[at..].iter().any(|line| {
        line.how == Some(How::Saw)
            && line.at > act.at
            && (another(line.seen_by) && another(line.entered_by.person)
                || line.entered_by.role == Role::Marshal)
            && match &line.body {
                Body::Link(link) => link.state == LinkState::Out,
                Body::Looked(looked) => looked.link == Some(LinkState::Out),
                _ => false,
            }
    });
    (still_out && !seen).then(|| by.into_iter().collect())
}

struct Scene<'a> {
    pit: &'a Pit,
    file: &'a RobotFile,
    today: &'a Today,
    me: Option<PersonId>,
    looked_for: Option<Vec<PersonId>>,
}

impl Scene<'_> {
    fn place(&self) -> Option<Place> {
        self.file.state.place.as_ref().map(|sight| sight.value)
    }

    /// After a bout the crew makes safe before anybody taps that the bout is over.
    fn comes_out_of_the_arena(&self) -> bool {
        let live = self.file.state.link.value() != Some(LinkState::Out);
        live && (self.file.state.in_bout.is_some() || self.place() == Some(Place::Arena))
    }

    fn sheet(&self, report: &'static Report) -> Option<Sheet> {
        if report
            .rows
            .iter()
            .all(|row| OF_ONE_TASK.contains(&&*row.id))
        {
            return None;
        }
        let rows = self.rows(report);
        let own: BTreeSet<&str> = rows
            .iter()
            .filter(|(_, carried)| !carried)
            .map(|(row, _)| &*row.id)
            .collect();
        let closes = self.closes(&rows.iter().map(|(row, _)| &*row.id).collect());
        let fits = closes.iter().any(|&index| {
            let def = &self.today.items[index].def;
            let offered = report.offered_at.iter();
            own.contains(&*def.closes_with)
                && offered.clone().any(|offer| near(offer.place, def.place))
        });
        let asked = report.id == SECOND_LOOK && self.looked_for.is_some();
        let recovers = report.id == BACK && self.comes_out_of_the_arena();
        if !fits && !asked && !recovers {
            return None;
        }
        let filler = Filler::new(self.pit, self.file, self.today, self.me);
        let rows: Vec<SheetRow> = rows
            .into_iter()
            .filter_map(|(row, carried)| {
                let task = closes
                    .iter()
                    .copied()
                    .find(|&index| self.today.items[index].def.closes_with == row.id);
                filler.row(row, task, carried)
            })
            .collect();
        if rows.is_empty() {
            return None;
        }
        let not_for = match (&self.looked_for, report.id.as_str()) {
            (Some(who), SECOND_LOOK) => who.clone(),
            _ => Vec::new(),
        };
        Some(Sheet {
            report,
            rows,
            closes,
            not_for,
        })
    }

    /// The rows that apply now, carried ones first.
    fn rows(&self, report: &'static Report) -> Vec<(&'static Row, bool)> {
        let reports = &library::data().reports;
        let mut rows: Vec<(&Row, bool)> = Vec::new();
        // The robot comes to its bench between being made safe and being looked at.
        if report.id == SECOND_LOOK
            && let Some(row) = reports.row(ON_STAND)
            && self.to_come(row)
        {
            rows.push((row, true));
        }
        for carried in report.carries.iter().filter_map(|id| reports.report(id)) {
            let to_come = carried.rows.iter().filter(|row| self.to_come(row));
            rows.extend(to_come.map(|row| (row, true)));
        }
        for row in &report.rows {
            if self.applies(report, row) && !rows.iter().any(|(known, _)| known.id == row.id) {
                rows.push((row, false));
            }
        }
        rows
    }

    /// Whether a task still to be done closes with the row.
    fn to_come(&self, row: &Row) -> bool {
        self.to_come_by(&row.id)
    }

    fn to_come_by(&self, row: &str) -> bool {
        self.today
            .open()
            .any(|(_, item)| item.def.closes_with == row)
    }

    fn applies(&self, report: &Report, row: &Row) -> bool {
        let machine = self.file.register.body.machine;
        let gas_row = matches!(row.kind, Kind::Gas | Kind::Bottle);
        if gas_row && !machine.has_gas() {
            return false;
        }
        match row.id.as_str() {
            // In the arena the robot is not on its stand yet.
            ON_STAND => {
                self.to_come(row)
                    && self.place() != Some(Place::ArenaRecovery)
                    && !self.comes_out_of_the_arena()
            }
            "bottle_sent" => report
                .rows
                .iter()
                .any(|other| other.id == "bottle_out" && self.to_come(other)),
            // The departure check goes with its last row; what is looked at at arming always.
            _ if departure::is_of_leaving(row) => {
                self.to_come_by(departure::CLOSES) && departure::applies(row, self.file)
            }
            _ if departure::is_of_arming(row) => true,
            // Energy states are said again whenever the sheet is sent.
            _ => {
                matches!(
                    row.kind,
                    Kind::Link | Kind::Gas | Kind::WeaponBar | Kind::Transmitter | Kind::PowerLight
                ) || self.to_come(row)
            }
        }
    }

    /// The tasks that these rows close together.
    fn closes(&self, rows: &BTreeSet<&str>) -> Vec<usize> {
        let items = &self.today.items;
        let mut done: Vec<bool> = items.iter().map(|i| i.progress.is_done()).collect();
        let mut closes = Vec::new();
        for (index, item) in items.iter().enumerate() {
            if !done[index]
                && rows.contains(&*item.def.closes_with)
                && !OF_ONE_TASK.contains(&&*item.def.closes_with)
                && item.after.iter().all(|&other| done[other])
            {
                done[index] = true;
                closes.push(index);
            }
        }
        closes
    }
}

/// A robot on a trolley is on its way to the bench.
fn near(offered: Spot, task: Spot) -> bool {
    offered == task || (offered == Spot::PitBench && task == Spot::Transport)
}
