//! What a crew does next: the report that fits, once its work is done.

use super::{Act, Day, as_what};
use crate::app::door::Enterer;
use crate::calc::units::{Count, Mass, Word};
use crate::pit::energy::{Standing, energy};
use crate::pit::gas;
use crate::pit::hazards::hazards;
use crate::pit::ids::{LineId, RobotId, Subject};
use crate::pit::library::reports::Blank;
use crate::pit::library::tasks::Spot;
use crate::pit::logbook::machine::{LinkState, Looked, Place, PlaceOf};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::things::{Bottle, BottleState};
use crate::pit::logbook::work::{Task, TaskState};
use crate::pit::logbook::{Body, Draft, How, Kind, Role};
use crate::pit::reports::{Form, Mark, MarkedRow, Sheet, SheetRow, card, expand, offered};
use crate::pit::state::Pit;
use crate::pit::tasks::{self, Item, Progress, Today};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Reports in the order in which a crew takes them up when several fit.
const ORDER: [&str; 27] = [
    "back_made_safe",
    "morning_look",
    "arrived",
    "second_look",
    "packs_checked",
    "stripped",
    "packs_out",
    "bottle_to_bay",
    "observe_pack",
    "packs_on_charge",
    "looked_over",
    "filled",
    "restraint_changed",
    "restraint_back",
    "bottle_back",
    "packs_fitted",
    "closed_up",
    "weighed",
    "inspected",
    "plan_read",
    "link_in_test",
    "tested",
    "off_to_queue",
    "home_gas",
    "charge_over",
    "ready_for_road",
    "day_over",
];

/// Reports that officials at a station send.
const OF_OFFICIALS: [&str; 3] = ["filled", "weighed", "inspected"];
/// How long before its call a crew takes its robot to the arena queue.
const TO_THE_QUEUE: TimeDelta = TimeDelta::minutes(7);
/// How often a crew that waits for something looks whether it can go on.
const LOOKS_UP: TimeDelta = TimeDelta::minutes(2);
/// Gas that one shot of a machine of the demo takes, and the first charge of its buffer, g.
const SHOT_G: i64 = 52;
const BUFFER_G: i64 = 48;

impl Day {
    /// What the crew of `robot` enters at `at`, if it has something to enter.
    pub(super) fn crew(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let file = pit.robot(robot)?;
        if file.state.in_bout.is_some() || self.silent.contains(&robot) {
            return None;
        }
        let today = tasks::today(pit, robot)?;
        let entered = self
            .look_again(pit, robot, &today, at)
            .or_else(|| self.back_to_bench(pit, robot, &today, at))
            .or_else(|| self.first_plan(pit, robot, at))
            .or_else(|| self.read_own(pit, robot, at))
            .or_else(|| self.begin_repair(robot, &today, at))
            .or_else(|| self.end_repair(pit, robot, &today, at));
        if entered.is_some() {
            self.push(at + TimeDelta::seconds(30), Act::Crew(robot));
            return entered;
        }
        let Some((due, sheet)) = self.next_sheet(pit, robot, &today, at) else {
            // Nothing can be done until a repair ends, a bout is decided or an official comes.
            if !today.all_done() {
                self.push(at + LOOKS_UP, Act::Crew(robot));
            }
            return None;
        };
        if due > at {
            self.push(due.min(at + LOOKS_UP), Act::Crew(robot));
            return None;
        }
        self.push(at + TimeDelta::seconds(30), Act::Crew(robot));
        let who = self.sender(robot, &sheet)?;
        let sheet = offered(pit, &today, who.author.person)
            .into_iter()
            .find(|offered| offered.report.id == sheet.report.id)?;
        let found = if sheet.report.id == "looked_over" {
            self.damage.remove(&robot)
        } else {
            None
        };
        let weighed = (sheet.report.id == "filled")
            .then(|| self.weighed_after_bout(pit, robot, at))
            .flatten();
        let (who, drafts) = self.send(robot, at, who, &sheet.rows, &found.unwrap_or_default())?;
        Some((who, weighed.into_iter().chain(drafts).collect()))
    }

    /// Before it is filled again, the bay weighs the bottle that was in a bout, with its shots.
    fn weighed_after_bout(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        at: DateTime<Utc>,
    ) -> Option<Draft> {
        let bottle = pit.robot(robot)?.state.fitted_bottle?;
        let now = gas::bottle_as_weighed(pit, bottle, at.date_naive())?;
        let last = now.weighed?;
        now.used_since?;
        let shots = 6 + i64::try_from(robot.0.as_u128() % 5).unwrap_or(0);
        let mass = i64::from(last.gross_g) - BUFFER_G - shots * SHOT_G;
        let body = Bottle {
            bottle: Some(bottle),
            state: Some(BottleState::Weighed),
            mass_g: Mass::new(mass),
            shots: Count::new(shots),
            ..Bottle::default()
        };
        Some(self.draft(
            at,
            Subject::Robot(robot),
            Some(How::Saw),
            Body::Bottle(body),
        ))
    }

    /// The robot is placed and armed for its bout.
    pub(super) fn arm(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let today = tasks::today(pit, robot)?;
        let driver = pit.robot(robot)?.register.body.driver;
        let place = self
            .team(robot)?
            .people
            .iter()
            .position(|person| Some(*person) == driver);
        let who = self.member(robot, place.unwrap_or(0))?;
        let sheet = offered(pit, &today, driver)
            .into_iter()
            .find(|sheet| sheet.report.id == "armed")?;
        self.send(robot, at, who, &sheet.rows, &[])
    }

    /// The sheet a crew takes up next, and when its work is done.
    fn next_sheet(
        &self,
        pit: &Pit,
        robot: RobotId,
        today: &Today,
        now: DateTime<Utc>,
    ) -> Option<(DateTime<Utc>, Sheet)> {
        let ends = self.ends(today, now);
        let due = |sheet: &Sheet| {
            let work = sheet.closes.iter().map(|index| ends[*index]).max();
            match sheet.report.id.as_str() {
                // A robot that may still have to wait for another bout stays on its bench.
                "off_to_queue" => {
                    let next = pit
                        .next_bout(robot)
                        .filter(|next| next.if_first.is_none())?;
                    work.max(Some(next.bout.call - TO_THE_QUEUE))
                }
                "plan_read" if self.unread.contains(&robot) => None,
                // One live machine at a time; on the morning of arrival there is no end of tests.
                "link_in_test" if today.hand.turnaround > 0 && tested_now(pit, robot) => None,
                _ => Some(work.unwrap_or(now)),
            }
        };
        let rank = |sheet: &Sheet| ORDER.iter().position(|id| *id == sheet.report.id);
        offered(pit, today, None)
            .into_iter()
            .filter_map(|sheet| Some((due(&sheet)?, rank(&sheet)?, sheet)))
            .min_by_key(|(due, rank, _)| (*due, *rank))
            .map(|(due, _, sheet)| (due, sheet))
    }

    /// When each task would be done if it took its likely time after what comes before it.
    fn ends(&self, today: &Today, now: DateTime<Utc>) -> Vec<DateTime<Utc>> {
        let arrived = self.arrived_at.get(&today.robot).copied().unwrap_or(now);
        let begin = today.hand.began.unwrap_or(arrived);
        let percent = 105 + i32::try_from(today.robot.0.as_u128() % 30).unwrap_or(0);
        let mut ends: Vec<DateTime<Utc>> = Vec::with_capacity(today.items.len());
        for (index, item) in today.items.iter().enumerate() {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "a task of a few hours at most"
            )]
            let seconds = (item.def.minutes.likely * 60.0).ceil() as i64;
            let takes = TimeDelta::seconds(seconds) * percent / 100;
            let before = today
                .after(index)
                .into_iter()
                .filter_map(|n| ends.get(n).copied())
                .max();
            ends.push(match &item.progress {
                Progress::Done { at, .. } => *at,
                Progress::Running { since, .. } => *since + takes,
                Progress::Open | Progress::Waiting(_) => before.unwrap_or(begin).max(begin) + takes,
            });
        }
        ends
    }

    fn sender(&self, robot: RobotId, sheet: &Sheet) -> Option<Enterer> {
        if let Some(n) = OF_OFFICIALS.iter().position(|id| *id == sheet.report.id) {
            let official = *self.kit.officials.get(n)?;
            return Some(as_what(official, Role::Official, None));
        }
        let people = self.team(robot)?.people.len();
        let turn = usize::try_from(robot.0.as_u128() % 5).unwrap_or(0) + sheet.rows.len();
        (0..people)
            .filter_map(|n| self.member(robot, turn + n))
            .find(|who| {
                who.author
                    .person
                    .is_none_or(|person| !sheet.not_for.contains(&person))
            })
    }

    /// The lines of a sheet on which everything is so.
    fn send(
        &mut self,
        robot: RobotId,
        at: DateTime<Utc>,
        who: Enterer,
        rows: &[SheetRow],
        damage: &[(&str, &str)],
    ) -> Option<(Enterer, Vec<Draft>)> {
        let team = self.team(robot)?;
        let second = team
            .people
            .iter()
            .find(|person| Some(**person) != who.author.person)
            .copied();
        let kit = self.kit.robots.iter().find(|kit| kit.id == robot)?;
        let small = kit.machine == Machine::SmallMachine;
        let bottle = kit.bottles.first().copied();
        let channels: Vec<_> = team.channels.iter().take(2).copied().collect();
        let asked = |row: &SheetRow, blank: Blank| match blank {
            Blank::Second => second.map(|person| json!(person)),
            Blank::Channels => Some(json!(channels)),
            Blank::Reading if row.row.id == "bay_filled" => Some(json!(7_420)),
            Blank::Reading => Some(json!(if small { 1_480 } else { 108_600 })),
            Blank::SecondRestraint => Some(json!("clamp")),
            Blank::Next | Blank::AtTheBay if row.row.kind == Kind::Bottle => {
                bottle.map(|bottle| json!(bottle))
            }
            _ => None,
        };
        let filled = |row: &SheetRow| -> BTreeMap<String, Value> {
            let known = row
                .filled
                .iter()
                .map(|(blank, value)| ((*blank).to_owned(), value.clone()));
            let asked = row
                .empty
                .iter()
                .filter_map(|blank| Some((blank.as_str().to_owned(), asked(row, *blank)?)));
            let mut filled: BTreeMap<String, Value> = known.chain(asked).collect();
            // Crews of the day keep to the first two channels of their team.
            if let Some(on) = filled.get_mut(Blank::Channels.as_str()) {
                *on = json!(channels);
            }
            filled
        };
        let form = Form {
            key: LineId(self.id(at)),
            robot,
            at,
            seen_by: who.author.person,
            rows: rows
                .iter()
                .map(|row| MarkedRow {
                    row: row.row.id.clone(),
                    mark: Mark::So,
                    filled: filled(row),
                })
                .collect(),
            damage: damage
                .iter()
                .map(|(area, kind)| ((*area).to_owned(), (*kind).to_owned()))
                .collect(),
        };
        Some((who, expand(&form).ok()?))
    }

    /// Somebody begins a repair that can be begun.
    fn begin_repair(
        &mut self,
        robot: RobotId,
        today: &Today,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let busy = today
            .open()
            .filter(|(_, item)| own_card(item) && matches!(item.progress, Progress::Running { .. }))
            .count();
        if busy >= self.team(robot)?.people.len().min(2) {
            return None;
        }
        let (index, item) = today.ready().find(|(_, item)| own_card(item))?;
        let task = Task {
            task: Word::new(&item.key.task).ok()?,
            state: TaskState::Started,
            instance: item
                .key
                .instance
                .as_deref()
                .and_then(|area| Word::new(area).ok()),
            turnaround: Some(item.key.turnaround),
            with: Vec::new(),
            aid: false,
            because: None,
        };
        let draft = self.draft(at, Subject::Robot(robot), Some(How::Did), Body::Task(task));
        Some((self.member(robot, index)?, vec![draft]))
    }

    /// Somebody has ended a repair.
    fn end_repair(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        today: &Today,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let ends = self.ends(today, at);
        let (index, _) = today.open().find(|(index, item)| {
            own_card(item)
                && matches!(item.progress, Progress::Running { .. })
                && ends[*index] <= at
        })?;
        let who = self.member(robot, index)?;
        let row = card(pit, today, index, who.author.person)?;
        self.send(robot, at, who, &[row], &[])
    }

    /// Somebody says that the robot is on its bench again, once its tests are done.
    fn back_to_bench(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        today: &Today,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let state = &pit.robot(robot)?.state;
        let tested = today
            .open()
            .all(|(_, item)| item.def.place != Spot::TestArea);
        let there = state
            .place
            .as_ref()
            .is_some_and(|place| place.value == Place::TestArea);
        if !there || !tested || state.link.value() != Some(LinkState::Out) {
            return None;
        }
        let bench = PlaceOf {
            place: Place::PitBench,
            strapped: None,
        };
        let draft = self.draft(
            at,
            Subject::Robot(robot),
            Some(How::Did),
            Body::Place(bench),
        );
        Some((self.member(robot, 1)?, vec![draft]))
    }

    /// One person looks at everything again when an account has grown old and somebody relies on it.
    fn look_again(
        &mut self,
        pit: &Pit,
        robot: RobotId,
        today: &Today,
        at: DateTime<Utc>,
    ) -> Option<(Enterer, Vec<Draft>)> {
        let work = tasks::work(pit, today);
        let doubt = hazards(pit, robot, &work, at)
            .value
            .iter()
            .any(|hazard| hazard.rule == "H28");
        if !doubt || self.nobody_looks.contains(&robot) {
            return None;
        }
        let file = pit.robot(robot)?;
        let accounts = energy(file, pit.settings(), at).value.sources;
        if accounts
            .iter()
            .any(|s| !matches!(s.standing, Standing::Isolated | Standing::Stale))
        {
            return None;
        }
        let state = &file.state;
        let looked = Looked {
            link: state.link.value(),
            holder: state.holder.as_ref().map(|holder| holder.value),
            valve: state.valve.value(),
            system: state.system.value(),
            weapon_bar: state.weapon_bar.value(),
            transmitter: state.transmitter.value(),
            second_transmitter: state.second_transmitter.value(),
            stored: None,
            power_light: state.power_light.value(),
            packs_out: state.packs_out.value(),
            bottle_out: state.bottle_out.value(),
        };
        let who = self.member(robot, 1)?;
        let look = self.draft(
            at,
            Subject::Robot(robot),
            Some(How::Saw),
            Body::Looked(looked),
        );
        Some((who, vec![look]))
    }
}

/// Whether a task is closed from its own card rather than by a sheet.
fn own_card(item: &Item) -> bool {
    matches!(item.def.closes_with.as_str(), "part_swapped" | "task_done")
}

/// Whether another machine is live in the test area.
fn tested_now(pit: &Pit, robot: RobotId) -> bool {
    pit.robots.iter().any(|(id, file)| {
        let place = file.state.place.as_ref().map(|place| place.value);
        let power = file.state.link.value() == Some(LinkState::In);
        *id != robot && place == Some(Place::TestArea) && power
    })
}
