//! A table of cases for every rule: it speaks, it keeps quiet just outside, it judges doubt, and it
//! ends by its condition, never by time alone.

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

fn live() -> Vec<Case> {
    let t = Told::flipper;
    let link_in = |at| t().did(at, "link", json!({"state": "in"}));
    let off = |at| t().did(at, "weapon_bar", json!({"state": "off"}));
    vec![
        link_in(60).says("H01", "in on the bench", STOP),
        t().at(50, "test_area")
            .did(60, "link", json!({"state": "in"}))
            .says("H01", "in the test area", None),
        link_in(60)
            .did(70, "link", json!({"state": "out"}))
            .says("H01", "out, by one", STOP),
        link_in(60)
            .did(70, "link", json!({"state": "out"}))
            .saw(80, BEN, "power_light", json!({"state": "dark"}))
            .says("H01", "seen dark by another", None),
        link_in(60).says_at(600 * MIN, "H01", "time clears nothing", STOP),
        link_in(60).hands().says("H02", "in, with hands in", STOP),
        link_in(60).says("H02", "in, nobody's hands in", None),
        link_in(60)
            .hands()
            .did(70, "link", json!({"state": "out"}))
            .says("H02", "out again, by one", STOP),
        link_in(60)
            .hands()
            .did(70, "link", json!({"state": "out"}))
            .saw(
                80,
                BEN,
                "check",
                json!({"what": "zero_energy", "found": "nothing"}),
            )
            .says("H02", "zero proved by another", None),
        t().did(60, "gas", json!({"valve": "open"})).hands().says(
            "H03",
            "open, with hands in",
            STOP,
        ),
        t().did(60, "gas", json!({"valve": "open"}))
            .says("H03", "open, nobody's hands in", None),
        t().did(60, "gas", json!({"valve": "open"}))
            .hands()
            .did(
                70,
                "gas",
                json!({"valve": "shut", "system": "zero", "read": 2}),
            )
            .says("H03", "read at zero by one", STOP),
        t().did(60, "gas", json!({"valve": "open"}))
            .hands()
            .did(
                70,
                "gas",
                json!({"valve": "shut", "system": "zero", "read": 2}),
            )
            .saw(90, BEN, "gas", json!({"valve": "shut", "system": "zero"}))
            .says("H03", "read at zero by another", None),
        off(60).says("H04", "off on the bench", STOP),
        off(60)
            .did(70, "weapon_bar", json!({"state": "on"}))
            .says("H04", "on again, by one", STOP),
        off(60)
            .did(70, "weapon_bar", json!({"state": "on"}))
            .saw(80, BEN, "weapon_bar", json!({"state": "on"}))
            .says("H04", "seen on by another", None),
        t().did(60, "weapon_bar", json!({"state": "held", "second": "prop"}))
            .hands()
            .says("H04", "second restraint", None),
        t().at(50, "arena_load")
            .did(60, "weapon_bar", json!({"state": "off"}))
            .says("H04", "while arming", None),
    ]
}

fn arming() -> Vec<Case> {
    let t = || Told::flipper().at(50, "arena_load");
    let armed = || {
        t().did(60, "link", json!({"state": "in"}))
            .did(70, "gas", json!({"valve": "open"}))
            .did(80, "weapon_bar", json!({"state": "off"}))
    };
    let early = || t().did(60, "weapon_bar", json!({"state": "off"}));
    let spinner = || {
        Told::of(Machine::SpinnerHeavyweight)
            .at(50, "arena_load")
            .did(60, "link", json!({"state": "in"}))
            .did(80, "weapon_bar", json!({"state": "off"}))
    };
    let before_gas = |setting: &str| {
        Told::flipper()
            .with_settings(json!({"bar_off": setting}))
            .at(50, "arena_load")
            .did(60, "link", json!({"state": "in"}))
            .did(80, "weapon_bar", json!({"state": "off"}))
    };
    let other = || {
        armed().register(Subject::Robot(OTHER), "register_robot", json!({"team": TEAM, "name": "Slate Otter", "machine": "small_machine", "links": 1}))
        .did(90, "place", json!({"place": "arena_load"})).about(Subject::Robot(OTHER))
        .did(95, "link", json!({"state": "in"})).about(Subject::Robot(OTHER))
    };
    vec![
        early().says("H05", "before the link", STOP),
        armed().says("H05", "in order", None),
        spinner().says("H05", "in order, without gas", None),
        before_gas("after_gas").says("H05", "before the gas", STOP),
        before_gas("before_gas").says("H05", "before the gas, as the event has it", None),
        early()
            .did(90, "link", json!({"state": "in"}))
            .did(95, "gas", json!({"valve": "open"}))
            .says("H05", "the order stays wrong", STOP),
        early()
            .did(90, "weapon_bar", json!({"state": "on"}))
            .says("H05", "back on", None),
        early()
            .did(90, "hazard", json!({"rule": "H05", "said": "cleared"}))
            .says("H05", "a crew's word", STOP),
        early()
            .did(90, "hazard", json!({"rule": "H05", "said": "cleared"}))
            .entered_as(Role::Marshal)
            .says("H05", "a marshal's word", None),
        armed()
            .saw(90, BEN, "inside", json!({"people": 3}))
            .says("H05", "three inside", STOP),
        armed()
            .saw(90, BEN, "inside", json!({"people": 2}))
            .says("H05", "two inside", None),
        t().did(60, "link", json!({"state": "in"}))
            .says("H27", "nobody named to watch", STOP),
        t().did(55, "duty", json!({"duty": "second_person", "who": BEN}))
            .did(60, "link", json!({"state": "in"}))
            .says("H27", "a second person", None),
        t().saw(55, BEN, "inside", json!({"people": 1, "watched": true}))
            .did(60, "link", json!({"state": "in"}))
            .says("H27", "somebody watches", None),
        t().says("H27", "link out", None),
        t().did(60, "link", json!({"state": "in"}))
            .did(70, "hazard", json!({"rule": "H27", "said": "cleared"}))
            .entered_as(Role::Marshal)
            .says("H27", "a marshal's word", None),
        other()
            .did(97, "duty", json!({"duty": "second_person", "who": BEN}))
            .saw(98, BEN, "inside", json!({"people": 1}))
            .says("H27", "inside while another is armed", STOP),
        other()
            .did(97, "duty", json!({"duty": "second_person", "who": BEN}))
            .saw(98, BEN, "inside", json!({"people": 0}))
            .says("H27", "nobody inside", None),
        other()
            .did(97, "duty", json!({"duty": "second_person", "who": BEN}))
            .says("H27", "nobody said who is inside", None),
    ]
}

fn planned() -> Vec<Case> {
    let saved = |seconds: Value| {
        let mut plan = json!({"saved": {"place": "rear", "retention": "strap", "links": 2, "holder": BEN,
            "inserter": BEN, "remover": CAL, "verifier": ANA, "arming": ["a"], "making_safe": ["b"]}});
        if !seconds.is_null() {
            plan["saved"]["reach_upright_s"] = seconds;
        }
        Told::flipper().did(10, "link_plan", plan)
    };
    vec![
        Told::flipper()
            .called()
            .says_at(20, "H06", "called without a plan", HOLD),
        Told::flipper().says_at(20, "H06", "not called", None),
        saved(json!(11))
            .called()
            .says("H06", "written, not read back", HOLD),
        saved(json!(11))
            .called()
            .tell(
                20,
                BEN,
                How::Did,
                "link_plan",
                json!({"read_back": {"version": 1, "read_by": [BEN]}}),
            )
            .tell(
                30,
                CAL,
                How::Did,
                "link_plan",
                json!({"read_back": {"version": 1, "read_by": [CAL]}}),
            )
            .says("H06", "read back", None),
        saved(Value::Null)
            .called()
            .says("H07", "not measured", WARN),
        saved(json!(46)).called().says("H07", "too slow", WARN),
        saved(json!(45)).called().says("H07", "just in time", None),
        saved(json!(46)).says("H07", "not called", None),
        saved(json!(46))
            .with_settings(json!({"reach_is_condition": true}))
            .called()
            .says("H07", "a condition", HOLD),
        saved(json!(46))
            .with_settings(json!({"reach_limit_s": 60}))
            .called()
            .says("H07", "another limit", None),
    ]
}

fn link_and_transmitter() -> Vec<Case> {
    let nobody = || {
        let mut told = Told::flipper();
        told.lines
            .retain(|line| !matches!(line.body, Body::Link(_)));
        told.did(20, "link", json!({"state": "out"}))
    };
    let t = Told::flipper;
    let driven = || t().with_robot(|robot| robot.driver = Some(BEN));
    vec![
        nobody()
            .at(30, "queue")
            .says("H08", "out, with nobody, in the queue", HOLD),
        nobody()
            .hands()
            .says("H08", "out, with nobody, hands in", STOP),
        nobody().says("H08", "out, with nobody, nobody exposed", None),
        nobody()
            .at(30, "queue")
            .saw(
                40,
                BEN,
                "link",
                json!({"state": "out", "holder": {"person": BEN}}),
            )
            .says("H08", "holder named", None),
        t().saw(20, BEN, "count", json!({"what": "links", "missing": 1}))
            .says("H08", "one missing", HOLD),
        t().saw(20, BEN, "count", json!({"what": "links", "missing": 1}))
            .saw(90, BEN, "count", json!({"what": "links", "missing": 0}))
            .says("H08", "found", None),
        t().saw(
            20,
            BEN,
            "count",
            json!({"what": "tools and fasteners", "missing": 1}),
        )
        .says("H08", "a tool missing", None),
        t().did(20, "transmitter", json!({"state": "on"}))
            .says("H09", "on at the bench", HOLD),
        t().did(20, "transmitter", json!({"state": "on"}))
            .did(30, "link", json!({"state": "in"}))
            .says("H09", "on with the link in", STOP),
        t().at(10, "test_area")
            .did(20, "transmitter", json!({"state": "on"}))
            .says("H09", "on in the test area", None),
        t().did(20, "transmitter", json!({"state": "on"}))
            .did(30, "transmitter", json!({"state": "off"}))
            .says("H09", "off again", None),
        driven()
            .did(20, "transmitter", json!({"state": "off", "with": CAL}))
            .hands()
            .says("H09", "with another, hands in", HOLD),
        driven()
            .did(20, "transmitter", json!({"state": "off", "with": CAL}))
            .says("H09", "with another, nobody exposed", None),
        driven()
            .did(
                20,
                "transmitter",
                json!({"state": "off", "with": CAL, "boxed": true}),
            )
            .hands()
            .says("H09", "boxed", None),
        driven()
            .did(20, "transmitter", json!({"state": "off", "with": BEN}))
            .hands()
            .says("H09", "with the driver", None),
        driven()
            .hands()
            .says_at(20, "H09", "nobody said with whom", None),
        t().with_robot(|robot| robot.transmitters = Count::new(2).unwrap())
            .did(20, "transmitter", json!({"state": "on", "second": true}))
            .says("H09", "the second one on", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "lit"}))
            .says("H11", "lit with the link out", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "lit"}))
            .hands()
            .says("H11", "lit with hands in", STOP),
        t().did(20, "link", json!({"state": "in"}))
            .saw(30, BEN, "power_light", json!({"state": "dark"}))
            .says("H11", "dark with the link in", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "dark"}))
            .did(30, "link", json!({"state": "in"}))
            .says("H11", "dark before the link went in", None),
        t().saw(20, BEN, "power_light", json!({"state": "absent"}))
            .says("H11", "none to be seen", HOLD),
        t().saw(20, BEN, "power_light", json!({"state": "absent"}))
            .saw(30, BEN, "power_light", json!({"state": "dark"}))
            .says("H11", "seen to follow", None),
        t().says_at(20, "H11", "nobody looked at it", None),
    ]
}

fn proved() -> Vec<Case> {
    let mut cases = Vec::new();
    for (rule, what, result) in [
        ("H10", "failsafe", "pass"),
        ("H21", "weight", "within"),
        ("H22", "inspection", "pass"),
    ] {
        let pass =
            || Told::flipper().saw(20, BEN, "proof", json!({"what": what, "result": result}));
        cases.extend([
            Told::flipper()
                .at(30, "queue")
                .says(rule, "never proved, in the queue", HOLD),
            Told::flipper().says_at(30, rule, "never proved, on the bench", None),
            pass().at(30, "queue").says(rule, "proved", None),
            pass()
                .changed(25)
                .at(30, "queue")
                .says(rule, "changed since", HOLD),
            pass()
                .changed(25)
                .says(rule, "changed since, on the bench", None),
            pass()
                .changed(15)
                .at(30, "queue")
                .says(rule, "changed before", None),
            pass()
                .saw(25, BEN, "proof", json!({"what": what, "result": "fail"}))
                .at(30, "queue")
                .says(rule, "failed", HOLD),
        ]);
    }
    let weighed = |mass: i32| {
        Told::flipper()
            .with_robot(|robot| robot.limit_g = crate::calc::units::Mass::new(110_000))
            .saw(
                20,
                BEN,
                "proof",
                json!({"what": "weight", "result": "within", "mass_g": mass}),
            )
            .at(30, "queue")
    };
    let unasked = |setting: &str| Told::flipper().with_settings(json!({setting: false}));
    cases.extend([
        weighed(110_001).says("H21", "over by a gram", HOLD),
        weighed(110_000).says("H21", "at the limit", None),
        unasked("reweigh")
            .saw(
                20,
                BEN,
                "proof",
                json!({"what": "weight", "result": "within"}),
            )
            .changed(25)
            .at(30, "queue")
            .says("H21", "the event does not ask", None),
        unasked("reinspect")
            .saw(
                20,
                BEN,
                "proof",
                json!({"what": "inspection", "result": "pass"}),
            )
            .changed(25)
            .at(30, "queue")
            .says("H22", "the event does not ask", None),
    ]);
    cases
}

fn gases() -> Vec<Case> {
    let t = Told::flipper;
    let bottle = |value: Value| {
        let mut with = json!({"bottle": BOTTLE});
        with.as_object_mut()
            .unwrap()
            .extend(value.as_object().unwrap().clone());
        with
    };
    let at_bay = || t().did(20, "bottle", bottle(json!({"place": "gas_station"})));
    let dated = |on: Value| {
        let mut told = t();
        for line in &mut told.lines {
            if let Body::RegisterBottle(known) = &mut line.body {
                known.tested_on = serde_json::from_value(on.clone()).unwrap();
            }
        }
        told.did(20, "bottle", bottle(json!({"place": "gas_station"})))
    };
    let filled = |mass: i32| {
        t().did(
            20,
            "bottle",
            bottle(json!({"state": "filled", "mass_g": mass})),
        )
    };
    let weigh = |told: Told, who, mass: i32| {
        told.saw(
            40,
            who,
            "bottle",
            bottle(json!({"state": "weighed", "mass_g": mass})),
        )
    };
    let room = || {
        t().with_settings(json!({"gas_room_m3": 48})).did(
            20,
            "bottle",
            bottle(json!({"place": "gas_station"})),
        )
    };
    let air = |told: Told, at, value: Value| told.saw(at, CAL, "air", value).about(Subject::Event);
    vec![
        // The day is 15 January 2027; five years before it is the last good day of a test.
        dated(json!("2022-01-14")).says("H12", "a day too old", HOLD),
        dated(json!("2022-01-15")).says("H12", "its last day", None),
        dated(json!("2022-01-15")).says_at(24 * 60 * MIN, "H12", "a day later", HOLD),
        dated(Value::Null).says("H12", "no date", HOLD),
        dated(Value::Null)
            .did(30, "bottle", bottle(json!({"place": "returned"})))
            .says("H12", "handed back", None),
        t().did(
            20,
            "bottle",
            bottle(json!({"place": "bench", "looks": "hit"})),
        )
        .says("H12", "dented", HOLD),
        t().did(
            20,
            "bottle",
            bottle(json!({"place": "bench", "looks": "fine"})),
        )
        .says("H12", "sound", None),
        filled(7_001).says("H13", "over by a gram", STOP),
        filled(7_000).says("H13", "just full", None),
        weigh(filled(7_001), ANA, 6_900).says("H13", "weighed within by the same person", STOP),
        weigh(filled(7_001), BEN, 6_900).says("H13", "weighed within by another", None),
        filled(7_001).says_at(600 * MIN, "H13", "time clears nothing", STOP),
        t().did(20, "bottle", bottle(json!({"state": "filled"})))
            .says("H13", "no mass logged", HOLD),
        t().did(20, "bottle", bottle(json!({"place": "machine"})))
            .hands()
            .says("H13", "fitted, never weighed", HOLD),
        t().did(20, "bottle", bottle(json!({"place": "machine"})))
            .says("H13", "fitted, nobody exposed", None),
        at_bay().says("H14", "nobody looked", HOLD),
        t().saw(
            10,
            BEN,
            "check",
            json!({"what": "gas_path", "found": "all as before"}),
        )
        .did(20, "bottle", bottle(json!({"place": "gas_station"})))
        .says("H14", "looked at", None),
        t().saw(
            10,
            BEN,
            "proof",
            json!({"what": "inspection", "result": "pass"}),
        )
        .did(20, "bottle", bottle(json!({"place": "gas_station"})))
        .says("H14", "inspected", None),
        t().says_at(20, "H14", "nobody fills", None),
        t().saw(10, BEN, "trouble", json!({"what": "relief", "bad": true}))
            .says("H14", "missing", HOLD),
        t().saw(10, BEN, "trouble", json!({"what": "relief", "bad": true}))
            .did(20, "trouble", json!({"what": "relief", "bad": false}))
            .saw(30, CAL, "trouble", json!({"what": "relief", "bad": false}))
            .says("H14", "rated, seen by two", None),
        t().saw(
            5,
            BEN,
            "check",
            json!({"what": "gas_path", "found": "all as before"}),
        )
        .tell(
            10,
            BEN,
            How::Did,
            "damage",
            json!({"area": "ram", "kind": "relief_bad"}),
        )
        .did(20, "bottle", bottle(json!({"place": "gas_station"})))
        .says("H14", "damaged since", HOLD),
        t().saw(10, BEN, "trouble", json!({"what": "gauge", "bad": true}))
            .says("H15", "gauge dead", STOP),
        t().saw(10, BEN, "trouble", json!({"what": "dump", "bad": true}))
            .says("H15", "dump blocked", STOP),
        t().saw(10, BEN, "trouble", json!({"what": "gauge", "bad": true}))
            .did(20, "trouble", json!({"what": "gauge", "bad": false}))
            .says("H15", "works, by one", STOP),
        t().saw(10, BEN, "trouble", json!({"what": "gauge", "bad": true}))
            .did(20, "trouble", json!({"what": "gauge", "bad": false}))
            .saw(30, CAL, "trouble", json!({"what": "gauge", "bad": false}))
            .says("H15", "seen to work by another", None),
        t().says_at(20, "H15", "nobody said", None),
        room().says("H16", "a room nobody measured", WARN),
        at_bay().says("H16", "a hall", None),
        air(room(), 30, json!({"co2_ppm": 5_000})).says("H16", "measured good", None),
        air(room(), 30, json!({"co2_ppm": 5_000})).says_at(
            30 + 15 * MIN,
            "H16",
            "a quarter of an hour later",
            WARN,
        ),
        air(room(), 30, json!({"co2_ppm": 5_001})).says("H16", "too much for a day", WARN),
        air(at_bay(), 30, json!({"co2_ppm": 15_000})).says(
            "H16",
            "too much for a quarter of an hour",
            STOP,
        ),
        air(at_bay(), 30, json!({"symptoms": true})).says("H16", "somebody feels it", STOP),
        air(at_bay(), 30, json!({"symptoms": true})).says_at(
            600 * MIN,
            "H16",
            "time clears nothing",
            STOP,
        ),
        air(
            air(at_bay(), 30, json!({"symptoms": true})),
            90,
            json!({"co2_ppm": 900}),
        )
        .says("H16", "measured good after", None),
        air(room(), 30, json!({"co2_ppm": 900}))
            .did(
                40,
                "bottle",
                bottle(json!({"state": "filled", "mass_g": 5_500})),
            )
            .says("H16", "half a kilogram in a van", WARN),
    ]
}

fn batteries() -> Vec<Case> {
    let t = Told::flipper;
    let set = |value: Value| {
        let mut with = json!({"set": SET});
        with.as_object_mut()
            .unwrap()
            .extend(value.as_object().unwrap().clone());
        with
    };
    let swollen = || {
        t().did(
            20,
            "pack",
            set(json!({"place": "bench", "looks": "swollen"})),
        )
    };
    let aside = || swollen().did(30, "pack", set(json!({"place": "quarantine"})));
    let hot_aside = || {
        t().did(20, "pack", set(json!({"place": "bench", "looks": "hot"})))
            .did(30, "pack", set(json!({"place": "quarantine"})))
    };
    let over = 30 + 30 * MIN;
    let clears = |told: Told, at, who| {
        told.tell(
            at,
            who,
            How::Saw,
            "hazard",
            json!({"rule": "H17", "said": "cleared"}),
        )
    };
    let charge = |value: Value| {
        t().did(20, "charge", set(json!({"state": "started"})))
            .did(21, "charge", set(value))
    };
    let back = |told: Told| {
        let at_s = told.last + 30;
        told.tell(
            at_s,
            BEN,
            How::Did,
            "charge",
            set(json!({"read_back_by": BEN})),
        )
    };
    let interrupted =
        || back(charge(json!({}))).did(60, "charge", set(json!({"state": "interrupted"})));
    let cells = |first: i32, second: i32| {
        let cells: Vec<i32> = std::iter::repeat_n(first, 6)
            .chain(std::iter::repeat_n(second, 6))
            .collect();
        set(json!({"cells_mv": cells}))
    };
    let fitted = |first, second| {
        t().did(20, "pack", cells(first, second))
            .did(30, "pack", set(json!({"place": "machine"})))
    };
    let away = |told: Told| {
        told.register(
            Subject::Person(BEN),
            "register_person",
            json!({"team": TEAM,
        "away": [{"from": "2027-01-15T08:00:00Z", "to": "2027-01-15T09:00:00Z"}]}),
        )
    };
    vec![
        swollen().says("H17", "swollen on the bench", STOP),
        t().did(20, "pack", set(json!({"place": "bench", "looks": "hit"})))
            .says("H17", "hit, on the bench", HOLD),
        t().did(20, "pack", set(json!({"place": "bench", "looks": "fine"})))
            .says("H17", "sound", None),
        t().did(20, "pack", set(json!({"place": "bench", "looks": "hit"})))
            .did(30, "pack", set(json!({"place": "charging_table"})))
            .says("H17", "hit, on the charging table", STOP),
        t().did(10, "pack", set(json!({"place": "machine"})))
            .tell(
                20,
                BEN,
                How::Did,
                "damage",
                json!({"area": "packs", "kind": "pack_hit"}),
            )
            .says("H17", "hit, in the machine", STOP),
        aside().says("H17", "set aside", NOTE),
        aside().says_at(600 * MIN, "H17", "time clears nothing", NOTE),
        clears(hot_aside(), over, BEN).says("H17", "one clears it", NOTE),
        clears(clears(hot_aside(), over, BEN), over + 1, BEN).says("H17", "one, twice", NOTE),
        clears(clears(hot_aside(), over, BEN), over + 1, CAL).says("H17", "two clear it", None),
        clears(clears(aside(), over, BEN), over + 1, CAL).says("H17", "swollen is for good", NOTE),
        clears(clears(hot_aside(), over - 2, BEN), over - 1, CAL).says_at(
            over,
            "H17",
            "two clear it too early",
            NOTE,
        ),
        aside()
            .did(60, "pack", set(json!({"place": "bench", "looks": "fine"})))
            .says("H17", "fetched back early", STOP),
        swollen()
            .did(30, "pack", set(json!({"place": "returned"})))
            .says("H17", "scrapped", None),
        charge(json!({})).says("H18", "nobody named", HOLD),
        charge(json!({})).says_at(20 + 5 * MIN, "H18", "for five minutes", STOP),
        charge(json!({"watcher": BEN})).says("H18", "watched", None),
        charge(json!({}))
            .did(60, "duty", json!({"duty": "pack_watcher", "who": BEN}))
            .says("H18", "a watcher by duty", None),
        charge(json!({}))
            .did(600, "charge", set(json!({"state": "ended"})))
            .says("H18", "over", None),
        away(charge(json!({"watcher": BEN}))).says("H18", "the watcher is away", HOLD),
        t().with_settings(json!({"charging_watch": "staff"}))
            .did(20, "charge", set(json!({"state": "started"})))
            .says("H18", "a staffed table", None),
        charge(json!({"cells": 5})).says("H19", "five cells for six", STOP),
        back(charge(
            json!({"cells": 6, "chemistry": "lipo", "current_ma": 10_000}),
        ))
        .says("H19", "set and read back", None),
        back(charge(json!({"cells": 12}))).says("H19", "both in series", None),
        back(charge(json!({"chemistry": "lfp"}))).says("H19", "another chemistry", STOP),
        back(charge(json!({"current_ma": 10_001}))).says("H19", "more than the pack takes", STOP),
        charge(json!({"read_back_by": ANA})).says("H19", "read back by the same person", WARN),
        charge(json!({"read_back_by": BEN})).says("H19", "somebody named", NOTE),
        interrupted().says("H19", "the mains failed", STOP),
        interrupted()
            .did(90, "charge", set(json!({"read_back_by": ANA})))
            .says("H19", "read back by whoever started it", STOP),
        back(interrupted()).says("H19", "read back by another", None),
        t().did(10, "pack", set(json!({"place": "machine"})))
            .did(
                20,
                "charge",
                set(json!({"state": "started", "read_back_by": BEN})),
            )
            .says("H19", "in the machine", STOP),
        fitted(4_151, 4_100).says("H20", "51 mV apart", HOLD),
        fitted(4_150, 4_100).says("H20", "50 mV apart", None),
        t().did(20, "pack", cells(4_200, 4_000))
            .says("H20", "apart on the bench", None),
        t().did(
            20,
            "pack",
            set(json!({"place": "machine", "matched": false})),
        )
        .says("H20", "said not to match", HOLD),
        t().did(20, "pack", cells(4_200, 4_000))
            .did(25, "charge", set(json!({"state": "started"})))
            .did(28, "charge", set(json!({"state": "ended"})))
            .did(
                30,
                "pack",
                set(json!({"place": "machine", "matched": true})),
            )
            .says("H20", "charged since", None),
        fitted(4_200, 4_000)
            .did(40, "pack", cells(4_100, 4_100))
            .says("H20", "measured again", None),
        fitted(4_090, 4_050)
            .with_settings(json!({"pack_difference_mv": 30}))
            .says("H20", "a narrower limit", HOLD),
    ]
}

fn on_the_bench() -> Vec<Case> {
    let t = Told::flipper;
    let unstood = || {
        let mut told = t();
        told.lines
            .retain(|line| !matches!(line.body, Body::Stand(_)));
        told
    };
    let sprung = || t().with_robot(|robot| robot.stores_energy = true);
    let loaded = || {
        t().saw(
            20,
            BEN,
            "stored",
            json!({"what": "rotor", "state": "loaded"}),
        )
    };
    let out = |told: Told| {
        told.did(30, "pack", json!({"set": SET, "place": "bench"}))
            .did(31, "bottle", json!({"bottle": BOTTLE, "place": "bench"}))
    };
    vec![
        t().did(20, "stand", json!({"clear": false}))
            .says("H23", "on the ground", WARN),
        t().did(20, "stand", json!({"clear": false}))
            .did(30, "link", json!({"state": "in"}))
            .says("H23", "on the ground, link in", HOLD),
        t().did(20, "stand", json!({"clear": true}))
            .says("H23", "clear", None),
        t().did(20, "stand", json!({"clear": false}))
            .at(30, "queue")
            .says("H23", "on its trolley", None),
        unstood().says_at(20, "H23", "nobody said, nobody exposed", None),
        unstood()
            .hands()
            .says_at(20, "H23", "nobody said, hands in", WARN),
        t().running(lift(&[ANA, BEN, CAL], false))
            .says_at(20, "H24", "three of four", WARN),
        t().running(lift(&[ANA, BEN, CAL, PersonId(Uuid::from_u128(14))], false))
            .says_at(20, "H24", "four of four", None),
        t().running(lift(&[ANA], true))
            .says_at(20, "H24", "a lift table", None),
        t().running(grind()).says_at(20, "H24", "no lift", None),
        loaded().says("H25", "turning on the bench", STOP),
        t().at(10, "arena_recovery")
            .saw(
                20,
                BEN,
                "stored",
                json!({"what": "rotor", "state": "loaded"}),
            )
            .says("H25", "turning in the arena, nobody inside", None),
        t().at(10, "arena_recovery")
            .saw(15, BEN, "inside", json!({"people": 1}))
            .saw(
                20,
                BEN,
                "stored",
                json!({"what": "rotor", "state": "loaded"}),
            )
            .says("H25", "turning, somebody inside", STOP),
        loaded()
            .did(30, "stored", json!({"what": "rotor", "state": "released"}))
            .says("H25", "still, by one", STOP),
        loaded()
            .did(30, "stored", json!({"what": "spring", "state": "released"}))
            .saw(
                40,
                CAL,
                "stored",
                json!({"what": "spring", "state": "released"}),
            )
            .says("H25", "something else released", STOP),
        loaded()
            .did(30, "stored", json!({"what": "rotor", "state": "released"}))
            .saw(
                40,
                CAL,
                "stored",
                json!({"what": "rotor", "state": "released"}),
            )
            .says("H25", "seen still by another", None),
        loaded().says_at(600 * MIN, "H25", "time clears nothing", STOP),
        sprung()
            .hands()
            .says_at(20, "H25", "a spring nobody looked at, hands in", STOP),
        sprung().says_at(20, "H25", "a spring nobody looked at", None),
        sprung()
            .saw(
                10,
                BEN,
                "stored",
                json!({"what": "spring", "state": "blocked"}),
            )
            .hands()
            .says("H25", "blocked", None),
        t().running(grind())
            .says_at(40, "H26", "nobody said that anything is out", HOLD),
        out(t())
            .running(grind())
            .says("H26", "packs and bottle out", None),
        t().running(grind())
            .did(30, "pack", json!({"set": SET, "place": "bench"}))
            .says("H26", "bottle in", HOLD),
        out(t())
            .running(lift(&[ANA], true))
            .says("H26", "no hot work", None),
        out(t())
            .did(40, "charge", json!({"set": SET, "state": "started"}))
            .running(grind())
            .says("H26", "a charge, elsewhere", None),
        out(t())
            .with_settings(json!({"hot_work_by_charging": true}))
            .did(40, "charge", json!({"set": SET, "state": "started"}))
            .running(grind())
            .says("H26", "a charge beside it", HOLD),
    ]
}

fn people() -> Vec<Case> {
    let t = Told::flipper;
    let duty = |told: Told| told.did(20, "duty", json!({"duty": "link_remover", "who": BEN}));
    let away = |told: Told| {
        told.register(
            Subject::Person(BEN),
            "register_person",
            json!({"team": TEAM,
        "away": [{"from": "2027-01-15T08:00:00Z", "to": "2027-01-15T09:00:00Z"}]}),
        )
    };
    let other = |told: Told| {
        told.register(
            Subject::Robot(OTHER),
            "register_robot",
            json!({"team": TEAM, "name": "Slate Otter", "machine": "small_machine", "links": 1}),
        )
        .tell(
            25,
            BEN,
            How::Did,
            "task",
            json!({"task": "sma-walk", "state": "started"}),
        )
        .about(Subject::Robot(OTHER))
    };
    vec![
        away(duty(t()))
            .at(30, "queue")
            .says("H29", "away, in the queue", HOLD),
        away(duty(t())).says("H29", "away, on the bench", None),
        away(duty(t()))
            .at(30, "queue")
            .did(40, "duty", json!({"duty": "link_remover", "who": CAL}))
            .says("H29", "handed over", None),
        away(duty(t())).at(30, "queue").says_at(
            3_700,
            "H29",
            "back again, nobody said otherwise",
            HOLD,
        ),
        other(duty(t()))
            .at(30, "queue")
            .says("H29", "on another machine", HOLD),
        other(t()).at(30, "queue").says("H29", "no duty here", None),
        t().called()
            .open("Close up")
            .says_at(60, "H30", "called, time left", None),
        t().called()
            .open("Close up")
            .says_at(15 * MIN, "H30", "past its call", HOLD),
        t().called()
            .open("Close up")
            .at(60, "queue")
            .says("H30", "in the queue", HOLD),
        t().called()
            .at(60, "queue")
            .says("H30", "nothing open", None),
        t().called()
            .open("Close up")
            .did(60, "answered", json!({"answer": "ready"}))
            .says("H30", "said to be ready", HOLD),
        t().called()
            .open("Close up")
            .did(60, "answered", json!({"answer": {"need": 5}}))
            .says("H30", "said to need more", None),
        t().hands().says_at(29 * MIN, "H28", "seen lately", None),
        t().hands().says_at(30 * MIN, "H28", "too old", HOLD),
        t().says_at(30 * MIN, "H28", "too old, nobody exposed", None),
        t().saw(60, BEN, "weapon_bar", json!({"state": "off"}))
            .at(70, "queue")
            .says("H28", "disputed", HOLD),
    ]
}

pub(super) fn every_case() -> Vec<Case> {
    [
        live(),
        arming(),
        planned(),
        link_and_transmitter(),
        proved(),
        gases(),
        batteries(),
        on_the_bench(),
        people(),
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
