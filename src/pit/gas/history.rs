//! What was reported of a bottle, in order of time.

use super::limits::fittings;
use crate::pit::ids::{BottleId, LineId, PersonId, RobotId, SupplyId, TeamId};
use crate::pit::logbook::things::{BottleState, ThingPlace};
use crate::pit::logbook::{Body, Line};
use crate::pit::state::Pit;
use chrono::{DateTime, Utc};
use serde::Serialize;
use std::sync::Arc;
use utoipa::ToSchema;

/// Where a bottle is, as somebody reported.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct BottlePlace {
    /// Where.
    pub place: ThingPlace,
    /// Who says so.
    pub seen_by: Option<PersonId>,
    /// When.
    pub at: DateTime<Utc>,
}

/// A bottle on the scale.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub struct BottleWeighing {
    /// What the scale showed.
    pub gross_g: i32,
    /// Who read it.
    pub seen_by: Option<PersonId>,
    /// When.
    pub at: DateTime<Utc>,
}

/// One report about a bottle.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct BottleStep {
    /// The line.
    pub line: LineId,
    /// When.
    pub at: DateTime<Utc>,
    /// Who says so.
    pub seen_by: Option<PersonId>,
    /// The robot it was reported for.
    pub robot: RobotId,
    /// Where it is since.
    pub place: Option<ThingPlace>,
    /// What was done with it.
    pub state: Option<BottleState>,
    /// Gross mass on the scale.
    pub gross_g: Option<i32>,
    /// Shots fired since it was weighed before, as somebody counted them.
    pub shots: Option<u32>,
    /// The supply cylinder it was filled from.
    pub supply: Option<SupplyId>,
}

/// Shots between two weighings, with nothing filled or let off between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct BottleRun {
    /// When the second was.
    pub at: DateTime<Utc>,
    /// The robot that fired.
    pub robot: RobotId,
    /// What the bottle lost.
    pub drawn_g: i32,
    /// Shots as counted.
    pub shots: u32,
    /// Bouts begun between them with it in the machine.
    pub bouts: u32,
}

/// A filling.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Filling {
    /// The line, which may name no bottle and then stands in every history of its team.
    pub line: LineId,
    /// When.
    pub at: DateTime<Utc>,
    /// From which cylinder, if somebody said.
    pub supply: Option<SupplyId>,
    /// The most gas it put in: as if the bottle had been empty, where nobody knows; nothing without
    /// a mass.
    pub at_most_g: Option<i32>,
}

/// What the reports about a bottle add up to.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct History {
    pub steps: Vec<BottleStep>,
    pub place: Option<BottlePlace>,
    pub weighed: Option<BottleWeighing>,
    /// The last weighing stands for what is in it: nothing was filled or let off since.
    pub mass_stands: bool,
    /// It was emptied, and nobody weighed it since.
    pub emptied: bool,
    /// The first bout since the last weighing in which it was in the machine.
    pub used_since: Option<DateTime<Utc>>,
    /// The robot it was last in, or reported for.
    pub robot: Option<RobotId>,
    /// Shots with a weighing before and after.
    pub runs: Vec<BottleRun>,
    /// Its fillings.
    pub fillings: Vec<Filling>,
    /// Bouts begun since the last weighing with it in the machine.
    bouts: u32,
}

impl History {
    /// The history of `bottle` of `team`.
    pub fn of(pit: &Pit, team: TeamId, bottle: BottleId) -> Self {
        let mut lines: Vec<(RobotId, &Arc<Line>)> = pit
            .robots
            .iter()
            .filter(|(_, file)| file.register.body.team == team)
            .flat_map(|(id, file)| file.lines.iter().map(move |line| (*id, line)))
            .filter(|(_, line)| {
                matches!(
                    line.body,
                    Body::Bottle(_) | Body::BoutStarted(_) | Body::BoutEnded(_)
                )
            })
            .collect();
        lines.sort_by_key(|(_, line)| (line.at, line.id));
        let empty_g = pit
            .bottles
            .get(&bottle)
            .map_or(0, |known| known.body.tare_g.get() + fittings(&known.body));
        let mut history = Self::default();
        for (robot, line) in lines {
            history.take(bottle, empty_g, robot, line);
        }
        history
    }

    fn take(&mut self, bottle: BottleId, empty_g: i32, robot: RobotId, line: &Line) {
        let Body::Bottle(report) = &line.body else {
            // A bout: only the robot that has it uses it.
            let inside = self.place.is_some_and(|p| p.place == ThingPlace::Machine);
            if inside && self.robot == Some(robot) {
                self.used_since.get_or_insert(line.at);
                self.bouts += u32::from(matches!(line.body, Body::BoutStarted(_)));
            }
            return;
        };
        if report.bottle.is_some_and(|id| id != bottle) {
            return;
        }
        if let Some(place) = report.place {
            self.place = Some(BottlePlace {
                place,
                seen_by: line.seen_by,
                at: line.at,
            });
        }
        if report.bottle.is_some() {
            self.robot = Some(robot);
        }
        let counted = report.shots.map(|shots| shots.get().unsigned_abs());
        if report.state == Some(BottleState::Filled) {
            self.fillings.push(Filling {
                line: line.id,
                at: line.at,
                supply: report.supply,
                at_most_g: report.mass_g.map(|mass| {
                    let before = self.certain_gross().unwrap_or(empty_g);
                    (mass.get() - before).max(0)
                }),
            });
        } else if let (Some(mass), Some(shots), Some(before)) = (
            report.mass_g,
            counted.filter(|shots| *shots > 0),
            self.standing_gross(),
        ) {
            let drawn_g = before - mass.get();
            if drawn_g > 0 {
                self.runs.push(BottleRun {
                    at: line.at,
                    robot: self.robot.unwrap_or(robot),
                    drawn_g,
                    shots,
                    bouts: self.bouts,
                });
            }
        }
        match (report.mass_g, report.state) {
            (Some(mass), _) => {
                self.weighed = Some(BottleWeighing {
                    gross_g: mass.get(),
                    seen_by: line.seen_by,
                    at: line.at,
                });
                (self.mass_stands, self.emptied, self.used_since) = (true, false, None);
                self.bouts = 0;
            }
            (None, Some(BottleState::Filled)) => (self.mass_stands, self.emptied) = (false, false),
            (None, Some(BottleState::Dumped)) => (self.mass_stands, self.emptied) = (false, true),
            (None, Some(BottleState::Weighed) | None) => {}
        }
        self.steps.push(BottleStep {
            line: line.id,
            at: line.at,
            seen_by: line.seen_by,
            robot,
            place: report.place,
            state: report.state,
            gross_g: report.mass_g.map(|mass| mass.get()),
            shots: counted,
            supply: report.supply,
        });
    }

    /// The last weighing, if nothing was filled or let off since.
    fn standing_gross(&self) -> Option<i32> {
        self.weighed
            .filter(|_| self.mass_stands)
            .map(|weighed| weighed.gross_g)
    }

    /// The same, if nothing was fired since either.
    fn certain_gross(&self) -> Option<i32> {
        self.standing_gross().filter(|_| self.used_since.is_none())
    }
}
