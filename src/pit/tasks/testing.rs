//! A day for tests: a robot with its crew, sets, bottle and two bouts.

use super::{Today, today};
use crate::pit::ids::{BottleId, BoutId, LineId, PackId, PersonId, SetId, Subject};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::{Author, Body, Draft, How, Kind, Line, Role};
use crate::pit::state::Pit;
use crate::pit::testing::{ANA, BEN, CAL, ROBOT, TEAM, line, start};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

pub const DAN: PersonId = PersonId(Uuid::from_u128(14));
pub const FIRST: BoutId = BoutId(Uuid::from_u128(21));
pub const SECOND: BoutId = BoutId(Uuid::from_u128(22));
pub const SET_A: SetId = SetId(Uuid::from_u128(31));
pub const SET_B: SetId = SetId(Uuid::from_u128(32));
pub const BOTTLE: BottleId = BottleId(Uuid::from_u128(41));

/// What is known, and the time of day in seconds.
#[derive(Clone)]
pub struct Day {
    pub pit: Pit,
    pub lines: Vec<Line>,
    pub at_s: i64,
}

impl Day {
    /// On arrival: a crew of four, two sets, a bottle, two bouts.
    pub fn arrives(machine: Machine) -> Self {
        let mut day = Self {
            pit: Pit::default(),
            lines: Vec::new(),
            at_s: 0,
        };
        day.register(
            Subject::Robot(ROBOT),
            "register_robot",
            json!({"team": TEAM, "name": "Pewter Finch", "machine": machine, "driver": ANA, "links": 1}),
        );
        for (who, skills) in [
            (ANA, json!(["driver", "electrics"])),
            (BEN, json!(["mechanic"])),
            (CAL, json!(["pneumatics", "mechanic"])),
            (DAN, json!(["electrics", "fabricator"])),
        ] {
            day.register(
                Subject::Person(who),
                "register_person",
                json!({"team": TEAM, "skills": skills}),
            );
        }
        for (set, pack) in [(SET_A, 51), (SET_B, 52)] {
            let label = format!("pack {pack}");
            let pack = PackId(Uuid::from_u128(pack));
            day.register(
                Subject::Pack(pack),
                "register_pack",
                json!({"team": TEAM, "label": label, "chemistry": "lipo", "cells": 4,
                    "capacity_mah": 5000}),
            );
            day.register(
                Subject::Set(set),
                "register_set",
                json!({"team": TEAM, "label": format!("set {set}"), "packs": [pack]}),
            );
        }
        if machine.has_gas() {
            day.register(
                Subject::Bottle(BOTTLE),
                "register_bottle",
                json!({"team": TEAM, "label": "B1", "gas": "co2", "volume_ml": 1000, "tare_g": 1500}),
            );
        }
        day.say(
            ANA,
            How::Did,
            "link_plan",
            json!({"saved": {"inserter": ANA, "remover": BEN, "verifier": CAL}}),
        );
        day.bout(FIRST, 1, 3_600);
        day.bout(SECOND, 2, 3 * 3_600);
        day
    }

    /// Just back from the first bout, of which nothing but start and end is known.
    pub fn fought(machine: Machine) -> Self {
        Self::fought_and(machine, json!({}))
    }

    /// The same after a bout that ended as `ended` says.
    pub fn fought_and(machine: Machine, ended: Value) -> Self {
        let mut day = Self::arrives(machine);
        day.at_s = 3_700;
        day.fact(Subject::Bout(FIRST), "bout_started", None, json!({}), ANA);
        day.at_s = 3_900;
        day.fact(Subject::Bout(FIRST), "bout_ended", None, ended, ANA);
        day.at_s = 3_960;
        day
    }

    pub fn bout(&mut self, bout: BoutId, number: i32, call_s: i64) {
        let call = start() + TimeDelta::seconds(call_s);
        let other = Uuid::from_u128(99);
        self.register(
            Subject::Bout(bout),
            "register_bout",
            json!({"number": number, "slots": [{"robot": ROBOT}, {"robot": other}], "call_at": call}),
        );
    }

    pub fn now(&self) -> DateTime<Utc> {
        start() + TimeDelta::seconds(self.at_s)
    }

    pub fn register(&mut self, subject: Subject, kind: &str, body: Value) {
        self.fact(subject, kind, None, body, ANA);
    }

    /// A line about anything.
    pub fn fact(
        &mut self,
        subject: Subject,
        kind: &str,
        how: Option<How>,
        body: Value,
        who: PersonId,
    ) -> LineId {
        let body = Body::read(Kind::named(kind).unwrap(), &body, "").unwrap();
        let n = u128::try_from(self.lines.len()).unwrap() + 1;
        let role = match subject {
            Subject::Bout(_) | Subject::Event => Role::Organiser,
            _ => Role::Crew,
        };
        let new = Line {
            subject,
            how,
            entered_by: Author {
                person: Some(who),
                role,
            },
            ..line(n, self.at_s, who, How::Did, body)
        };
        self.take(new)
    }

    /// A line about the robot.
    pub fn say(&mut self, who: PersonId, how: How, kind: &str, body: Value) -> LineId {
        let how = Kind::named(kind).unwrap().about_a_state().then_some(how);
        self.fact(Subject::Robot(ROBOT), kind, how, body, who)
    }

    /// A task started, done, left out or chosen.
    pub fn task(&mut self, who: PersonId, id: &str, state: &str) -> LineId {
        self.say(who, How::Did, "task", json!({"task": id, "state": state}))
    }

    pub fn damage(&mut self, area: &str, kind: &str) -> LineId {
        self.say(BEN, How::Saw, "damage", json!({"area": area, "kind": kind}))
    }

    /// Lines as somebody hands them in.
    pub fn send(&mut self, drafts: Vec<Draft>, who: PersonId, role: Role) {
        for draft in drafts {
            let n = u128::try_from(self.lines.len()).unwrap() + 1;
            let new = Line {
                id: draft.id,
                at: draft.at,
                subject: draft.subject,
                how: draft.how,
                entered_by: Author {
                    person: Some(who),
                    role,
                },
                ..line(
                    n,
                    self.at_s,
                    draft.seen_by.unwrap_or(who),
                    How::Did,
                    draft.body,
                )
            };
            self.take(new);
        }
    }

    fn take(&mut self, line: Line) -> LineId {
        let id = line.id;
        self.pit = self.pit.with(&line);
        self.lines.push(line);
        id
    }

    pub fn today(&self) -> Today {
        today(&self.pit, ROBOT).unwrap()
    }

    /// Does every open task up to the one called `id`, that one included, by saying so.
    pub fn work_up_to(&mut self, id: &str) {
        while let Some(index) = self.today().find(id, None) {
            let today = self.today();
            if today.items[index].progress.is_done() {
                return;
            }
            let next = today
                .items
                .iter()
                .find(|item| !item.progress.is_done() && !item.def.passive)
                .unwrap();
            let body = json!({
                "task": next.key.task, "state": "done", "instance": next.key.instance
            });
            self.at_s += 30;
            self.say(BEN, How::Did, "task", body);
        }
    }
}

/// Names of the library's machine types, for messages.
pub fn prefix(machine: Machine) -> &'static str {
    match machine {
        Machine::FlipperHeavyweight => "fl",
        Machine::SpinnerHeavyweight => "sp",
        Machine::SmallMachine => "sm",
    }
}
