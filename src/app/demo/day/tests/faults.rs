//! A day on which forty things go wrong: each is heard, in its time.

use super::*;
use crate::pit::logbook::Kind;
use serde_json::{Value, json};

/// Something that goes wrong, and what has to be heard of it.
struct Wrong {
    /// What, in words.
    what: &'static str,
    /// Only at a machine with gas.
    gas: bool,
    /// The lines that tell it, about a robot with its first set and bottle.
    lines: fn(&RobotKit) -> Vec<(&'static str, Value)>,
    /// The rule that speaks.
    rule: &'static str,
    /// How bad it says that it is, at least.
    severity: Severity,
    /// Within so many minutes.
    within_min: i64,
}

const WRONG: [Wrong; 13] = [
    Wrong {
        what: "link in on the bench",
        gas: false,
        lines: |_| vec![("link", json!({"state": "in"}))],
        rule: "H01",
        severity: Severity::StopNow,
        within_min: 0,
    },
    Wrong {
        what: "weapon free on the bench",
        gas: false,
        lines: |_| vec![("weapon_bar", json!({"state": "off"}))],
        rule: "H04",
        severity: Severity::StopNow,
        within_min: 0,
    },
    Wrong {
        what: "a link missing",
        gas: false,
        lines: |_| vec![("count", json!({"what": "links", "missing": 1}))],
        rule: "H08",
        severity: Severity::Hold,
        within_min: 0,
    },
    Wrong {
        what: "transmitter on at the bench",
        gas: false,
        lines: |_| vec![("transmitter", json!({"state": "on"}))],
        rule: "H09",
        severity: Severity::Hold,
        within_min: 0,
    },
    Wrong {
        what: "radio changed, and off to the queue",
        gas: false,
        lines: |_| {
            vec![
                ("changed", json!({"change": "radio"})),
                ("place", json!({"place": "queue"})),
            ]
        },
        rule: "H10",
        severity: Severity::Hold,
        within_min: 0,
    },
    Wrong {
        what: "power light lit with the link out",
        gas: false,
        lines: |_| vec![("power_light", json!({"state": "lit"}))],
        rule: "H11",
        severity: Severity::Hold,
        within_min: 0,
    },
    Wrong {
        what: "a gram over the permitted fill",
        gas: true,
        lines: |kit| {
            let bottle = kit.bottles[0];
            vec![(
                "bottle",
                json!({"bottle": bottle, "state": "filled", "mass_g": 5_100 + 2_661}),
            )]
        },
        rule: "H13",
        severity: Severity::StopNow,
        within_min: 0,
    },
    Wrong {
        what: "gauge dead",
        gas: true,
        lines: |_| vec![("trouble", json!({"what": "gauge", "bad": true}))],
        rule: "H15",
        severity: Severity::StopNow,
        within_min: 0,
    },
    Wrong {
        what: "a swollen pack on the bench",
        gas: false,
        lines: |kit| {
            let set = kit.sets[0].0;
            vec![(
                "pack",
                json!({"set": set, "place": "bench", "looks": "swollen"}),
            )]
        },
        rule: "H17",
        severity: Severity::StopNow,
        within_min: 0,
    },
    Wrong {
        what: "a charge that nobody watches",
        gas: false,
        lines: |kit| vec![("charge", json!({"set": kit.sets[1].0, "state": "started"}))],
        rule: "H18",
        severity: Severity::StopNow,
        within_min: 6,
    },
    Wrong {
        what: "the charger counts three cells",
        gas: false,
        lines: |kit| {
            let set = kit.sets[1].0;
            vec![
                ("charge", json!({"set": set, "state": "started"})),
                ("charge", json!({"set": set, "cells": 3})),
            ]
        },
        rule: "H19",
        severity: Severity::StopNow,
        within_min: 0,
    },
    Wrong {
        what: "a rotor that turns on the bench",
        gas: false,
        lines: |_| vec![("stored", json!({"what": "rotor", "state": "loaded"}))],
        rule: "H25",
        severity: Severity::StopNow,
        within_min: 0,
    },
    Wrong {
        what: "smoke",
        gas: false,
        lines: |_| vec![("danger", json!({"what": "fire"}))],
        rule: "danger",
        severity: Severity::StopNow,
        within_min: 0,
    },
];

/// How many robots each of these happens to.
const EACH: usize = 3;
/// Robots whose plan is written anew and read back by nobody: their first bouts are early.
const UNREAD: [usize; 4] = [1, 2, 4, 5];
/// When the plans are written anew.
const WRITTEN: i64 = 200;
/// When the other faults happen: all robots are on their benches.
const PLANTED: i64 = 190;

#[test]
fn forty_planted_faults_are_each_heard_in_their_time() {
    let entered = crowd(20);
    let at = |minute: i64| morning() + TimeDelta::minutes(minute);
    let kits = &entered.kit.robots;
    let mut free: Vec<usize> = (6..kits.len()).rev().collect();
    let mut planted: Vec<(&Wrong, RobotId, Planted)> = Vec::new();
    // Those with gas choose first: fewer robots have it.
    let mut wrong: Vec<&Wrong> = WRONG.iter().collect();
    wrong.sort_by_key(|wrong| !wrong.gas);
    for wrong in wrong {
        for _ in 0..EACH {
            let fits = |n: &usize| !wrong.gas || kits[*n].machine.has_gas();
            let place = free.iter().rposition(fits).unwrap();
            let kit = &kits[free.remove(place)];
            let who = entered.kit.teams[kit.team].people[1];
            let lines = (wrong.lines)(kit);
            planted.push((
                wrong,
                kit.id,
                Planted {
                    at: at(PLANTED),
                    who: as_what(who, Role::Crew, entered.kit.teams.get(kit.team)),
                    robot: kit.id,
                    lines,
                },
            ));
        }
    }
    let turns: Vec<Turn> = UNREAD
        .iter()
        .map(|n| Turn {
            at: at(WRITTEN),
            robot: kits[*n].id,
            twist: Twist::UnreadPlan,
        })
        .collect();
    let unread: Vec<RobotId> = turns.iter().map(|turn| turn.robot).collect();
    let calls: BTreeMap<RobotId, DateTime<Utc>> = entered
        .kit
        .bouts
        .iter()
        .rev()
        .flat_map(|(_, bout)| {
            bout.slots.iter().filter_map(|slot| match slot {
                crate::pit::logbook::register::Slot::Robot(robot) => Some((*robot, bout.call_at)),
                _ => None,
            })
        })
        .collect();
    let plants: Vec<Planted> = planted.iter().map(|(_, _, plant)| plant.clone()).collect();
    let (_, raised) = play_until(entered, turns, plants, at(262));

    let mut heard = 0;
    for (wrong, robot, plant) in &planted {
        let in_time = raised.iter().any(|one| {
            one.robot == *robot
                && one.rule == wrong.rule
                && one.severity >= wrong.severity
                && one.at >= plant.at
                && one.at <= plant.at + TimeDelta::minutes(wrong.within_min)
        });
        let of_it: Vec<_> = raised.iter().filter(|one| one.robot == *robot).collect();
        assert!(in_time, "{}: {of_it:#?}", wrong.what);
        heard += 1;
    }
    for robot in unread {
        let called = calls[&robot] - TimeDelta::minutes(20);
        let in_time = raised.iter().any(|one| {
            one.robot == robot
                && one.rule == "H06"
                && one.severity >= Severity::Hold
                && one.at <= called
                && one.at >= at(WRITTEN)
        });
        assert!(in_time, "nobody read the plan back: {robot:?}");
        heard += 1;
    }
    println!("{heard} of {heard} planted faults heard in their time");
    assert!(heard >= 40);
}

/// Lines that tell of a fault.
#[derive(Debug, Clone)]
pub(super) struct Planted {
    pub(super) at: DateTime<Utc>,
    who: Enterer,
    robot: RobotId,
    lines: Vec<(&'static str, Value)>,
}

impl Planted {
    /// Whose machine it is.
    pub(super) fn robot(&self) -> RobotId {
        self.robot
    }

    /// Writes it into the logbook.
    pub(super) fn enter(&self, n: u128, book: &mut Logbook) {
        for (line, (kind, body)) in (0u128..).zip(&self.lines) {
            let kind = Kind::named(kind).unwrap();
            let how = kind.about_a_state().then_some(How::Did);
            let draft = Draft {
                id: LineId(Uuid::from_u128(0xfau128 << 96 | n << 8 | line)),
                at: self.at,
                seen_by: None,
                subject: Subject::Robot(self.robot),
                how,
                corrects: None,
                if_revision: None,
                body: Body::read(kind, body, "").unwrap(),
            };
            book.enter(self.who, vec![draft], self.at);
        }
    }
}
