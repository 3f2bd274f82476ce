//! A table of cases for every rule: it speaks, it keeps quiet just outside, it judges doubt, and it
//! ends by its condition, never by time alone.

mod arming;
mod bench;
mod duty;
mod gas;
mod link;
mod live;
mod packs;
mod plan;
mod prove;

use super::*;
use crate::pit::exposure::{Running, ToProve};
use crate::pit::ids::{BottleId, PackId, SetId};
use crate::pit::logbook::Kind;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

const OTHER: RobotId = RobotId(Uuid::from_u128(3));
const SET: SetId = SetId(Uuid::from_u128(60));
const PACKS: [PackId; 2] = [PackId(Uuid::from_u128(61)), PackId(Uuid::from_u128(62))];
const BOTTLE: BottleId = BottleId(Uuid::from_u128(63));
const MIN: i64 = 60;

/// What a rule is expected to say of a day.
pub(super) struct Case {
    pub rule: &'static str,
    pub what: &'static str,
    pub lines: Vec<Line>,
    pub work: WorkNow,
    pub at_s: i64,
    pub expect: Option<Severity>,
}

/// Lines told after a machine was made safe on its bench, and what is registered.
struct Told {
    lines: Vec<Line>,
    work: WorkNow,
    n: u128,
    last: i64,
}

fn body(kind: &str, body: Value) -> Body {
    Body::read(Kind::named(kind).unwrap(), &body, "").unwrap()
}

fn at_role(line: Line, role: Role) -> Line {
    Line {
        entered_by: Author {
            role,
            ..line.entered_by
        },
        ..line
    }
}

impl Told {
    fn of(machine: Machine) -> Self {
        let mut lines = made_safe();
        lines[0] = robot(machine);
        if !machine.has_gas() {
            lines.retain(|line| !matches!(line.body, Body::Gas(_)));
        }
        let mut told = Self {
            lines,
            work: idle(),
            n: 200,
            last: 0,
        };
        let cell = json!({"team": TEAM, "label": "A", "chemistry": "lipo", "cells": 6,
            "capacity_mah": 5000, "max_charge_ma": 10_000});
        for (pack, label) in PACKS.into_iter().zip(["A1", "A2"]) {
            let mut pack_body = cell.clone();
            pack_body["label"] = json!(label);
            told = told.register(Subject::Pack(pack), "register_pack", pack_body);
        }
        told.register(Subject::Set(SET), "register_set", json!({"team": TEAM, "label": "Set A", "packs": PACKS}))
            .register(Subject::Bottle(BOTTLE), "register_bottle", json!({"team": TEAM, "label": "B1", "gas": "co2",
                "volume_ml": 3000, "tare_g": 5000, "permitted_fill_g": 2000, "tested_on": "2026-01-10"}))
    }

    fn flipper() -> Self {
        Self::of(Machine::FlipperHeavyweight)
    }

    fn register(mut self, subject: Subject, kind: &str, value: Value) -> Self {
        self.n += 1;
        self.lines.push(Line {
            how: None,
            subject,
            ..line(self.n, 0, ANA, How::Did, body(kind, value))
        });
        self
    }

    /// Ben is away for the first hour.
    fn ben_away(self) -> Self {
        self.register(
            Subject::Person(BEN),
            "register_person",
            json!({"team": TEAM,
        "away": [{"from": "2027-01-15T08:00:00Z", "to": "2027-01-15T09:00:00Z"}]}),
        )
    }

    fn with_settings(self, settings: Value) -> Self {
        self.register(
            Subject::Event,
            "register_event",
            json!({"name": "Harbour", "time_zone": "UTC",
            "first_day": "2027-01-15", "last_day": "2027-01-15", "settings": settings}),
        )
    }

    fn with_robot(mut self, change: impl Fn(&mut register::Robot)) -> Self {
        let Body::RegisterRobot(robot) = &mut self.lines[0].body else {
            panic!("the first line registers the robot")
        };
        change(robot);
        self
    }

    fn tell(mut self, at_s: i64, who: PersonId, how: How, kind: &str, value: Value) -> Self {
        self.n += 1;
        self.last = at_s;
        self.lines
            .push(line(self.n, at_s, who, how, body(kind, value)));
        self
    }

    fn did(self, at_s: i64, kind: &str, value: Value) -> Self {
        self.tell(at_s, ANA, How::Did, kind, value)
    }

    /// Somebody takes a duty.
    fn takes(self, at_s: i64, who: PersonId, duty: &str) -> Self {
        self.tell(
            at_s,
            who,
            How::Did,
            "duty",
            json!({"duty": duty, "who": who}),
        )
    }

    fn saw(self, at_s: i64, who: PersonId, kind: &str, value: Value) -> Self {
        self.tell(at_s, who, How::Saw, kind, value)
    }

    /// The last line, entered by somebody in that role.
    fn entered_as(mut self, role: Role) -> Self {
        let last = self.lines.pop().unwrap();
        self.lines.push(at_role(last, role));
        self
    }

    /// The last line, about something else than the robot.
    fn about(mut self, subject: Subject) -> Self {
        self.lines.last_mut().unwrap().subject = subject;
        self
    }

    fn at(self, at_s: i64, place: &str) -> Self {
        self.did(at_s, "place", json!({"place": place}))
    }

    fn called(mut self) -> Self {
        self.lines.push(bout_at(15 * MIN));
        self
    }

    fn hands(mut self) -> Self {
        self.work.hands_on = hands_in().hands_on;
        self
    }

    fn running(mut self, task: Running) -> Self {
        self.work.running.push(task);
        self
    }

    fn changed(mut self, at_s: i64) -> Self {
        self.work.to_prove.push(ToProve {
            what: "Speed controller".to_owned(),
            at: start() + TimeDelta::seconds(at_s),
            weigh: true,
            failsafe: true,
            inspection: true,
        });
        self
    }

    fn open(mut self, task: &str) -> Self {
        self.work.safety_open.push(task.to_owned());
        self
    }

    /// Judged a moment after the last line.
    fn says(self, rule: &'static str, what: &'static str, expect: Option<Severity>) -> Case {
        let at_s = self.last;
        self.says_at(at_s, rule, what, expect)
    }

    fn says_at(
        self,
        at_s: i64,
        rule: &'static str,
        what: &'static str,
        expect: Option<Severity>,
    ) -> Case {
        Case {
            rule,
            what,
            lines: self.lines,
            work: self.work,
            at_s,
            expect,
        }
    }
}

const NOTE: Option<Severity> = Some(Severity::Note);
const WARN: Option<Severity> = Some(Severity::Warn);
const HOLD: Option<Severity> = Some(Severity::Hold);
const STOP: Option<Severity> = Some(Severity::StopNow);

fn lift(people: &[PersonId], aid: bool) -> Running {
    Running {
        task: "Lift it into the arena".to_owned(),
        since: start(),
        people: people.to_vec(),
        hands: 4,
        lift: true,
        aid,
        hot: false,
    }
}

fn grind() -> Running {
    Running {
        task: "Straighten the lid".to_owned(),
        hands: 2,
        lift: false,
        hot: true,
        ..lift(&[ANA, BEN], false)
    }
}

pub(super) fn every_case() -> Vec<Case> {
    [
        live::cases(),
        arming::cases(),
        plan::cases(),
        link::cases(),
        prove::cases(),
        gas::cases(),
        packs::cases(),
        bench::cases(),
        duty::cases(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[test]
fn every_rule_speaks_and_is_quiet_as_its_cases_say() {
    let mut wrong = Vec::new();
    for case in every_case() {
        let found = found(&case.lines, &case.work, case.at_s);
        let said = found
            .iter()
            .find(|(rule, _)| *rule == case.rule)
            .map(|(_, severity)| *severity);
        if said != case.expect {
            wrong.push(format!(
                "{}, {}: expected {:?}, said {said:?}",
                case.rule, case.what, case.expect
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn every_rule_has_cases_that_speak_and_cases_that_do_not() {
    let mut said: BTreeMap<&str, BTreeSet<bool>> = BTreeMap::new();
    for case in every_case() {
        said.entry(case.rule)
            .or_default()
            .insert(case.expect.is_some());
    }
    for watched in &WATCHED {
        assert_eq!(
            said.get(watched.rule).map(BTreeSet::len),
            Some(2),
            "{}",
            watched.rule
        );
    }
}

/// Whatever time passes, what needs a person's word to end does not end without one.
#[test]
fn nothing_that_stops_is_cleared_by_time_alone() {
    for case in every_case().into_iter().filter(|case| case.expect == STOP) {
        let later = found(&case.lines, &case.work, case.at_s + 600 * MIN);
        assert!(
            later.contains(&(case.rule, Severity::StopNow)),
            "{}, {}",
            case.rule,
            case.what
        );
    }
}
