//! Each rule fires, stays quiet, rises and clears.

mod cases;
mod exhaustive;
mod life;
mod order;

use super::*;
use crate::calc::units::{Count, Minutes, Note};
use crate::pit::exposure::HandsOn;
use crate::pit::ids::BoutId;
use crate::pit::logbook::hall::{AllowedHere, Danger};
use crate::pit::logbook::link_plan::{LinkPlan, ReadBack};
use crate::pit::logbook::machine::{Bar, Light, LinkState, Place, PowerLight, System, Valve};
use crate::pit::logbook::register::{self, Bout, Machine, Slot};
use crate::pit::logbook::{Author, How, Line, Role, bout};
use crate::pit::testing::*;
use chrono::TimeDelta;
use uuid::Uuid;

const BOUT: BoutId = BoutId(Uuid::from_u128(50));

fn found(lines: &[Line], work: &WorkNow, at_s: i64) -> Vec<(&'static str, Severity)> {
    let pit = Pit::fold(lines);
    hazards(&pit, ROBOT, work, start() + TimeDelta::seconds(at_s))
        .value
        .iter()
        .map(|hazard| (hazard.rule, hazard.severity()))
        .collect()
}

fn hands_in() -> WorkNow {
    WorkNow {
        hands_on: vec![HandsOn {
            task: "Swap the wheel".to_owned(),
            since: start(),
            people: vec![ANA],
            needs_gas_zero: true,
            needs_restraint: true,
        }],
        ..WorkNow::default()
    }
}

fn idle() -> WorkNow {
    WorkNow::default()
}

/// A bout called at `call_s`, numbered from 40 so that its lines come after the others.
fn bout_at(call_s: i64) -> Line {
    let body = Body::RegisterBout(Bout {
        number: Count::new(1).unwrap(),
        slots: [
            Slot::Robot(ROBOT),
            Slot::Robot(RobotId(Uuid::from_u128(99))),
        ],
        call_at: start() + TimeDelta::seconds(call_s),
        fixed: false,
        moved_from: None,
        retired: false,
    });
    Line {
        how: None,
        subject: Subject::Bout(BOUT),
        ..line(40, 0, CAL, How::Did, body)
    }
}

fn plan(at_s: i64) -> Line {
    line(
        20,
        at_s,
        ANA,
        How::Did,
        Body::LinkPlan(LinkPlan::Saved(Box::new(whole_plan()))),
    )
}

fn read_back(n: u128, at_s: i64, people: &[PersonId]) -> Line {
    let read = LinkPlan::ReadBack(ReadBack {
        version: 1,
        read_by: people.to_vec(),
    });
    line(n, at_s, people[0], How::Did, Body::LinkPlan(read))
}

#[test]
fn every_watched_rule_has_its_text() {
    let watched: Vec<&str> = WATCHED.iter().map(|watched| watched.rule).collect();
    let written: Vec<&str> = Rule::all().map(Rule::id).collect();
    assert_eq!(watched, written);
    assert_eq!(written.len(), 30);
}

#[test]
fn a_machine_made_safe_on_its_bench_is_quiet() {
    let mut lines = made_safe();
    lines.push(plan(0));
    assert_eq!(found(&lines, &hands_in(), 60), []);
}

#[test]
fn nobody_exposed_nobody_told() {
    let lines = [robot(Machine::FlipperHeavyweight)];
    assert_eq!(
        found(&lines, &idle(), 7200),
        [],
        "unproved in the morning is no alarm"
    );
    assert_eq!(
        found(&made_safe(), &idle(), 7200),
        [],
        "nor is an old account"
    );
}

#[test]
fn h01_fires_at_once_and_needs_a_second_person_to_clear() {
    let mut lines = made_safe();
    lines.push(line(10, 300, BEN, How::Did, link(LinkState::In)));
    assert!(found(&lines, &idle(), 300).contains(&("H01", Severity::StopNow)));
    lines.push(line(11, 360, BEN, How::Did, link(LinkState::Out)));
    assert!(found(&lines, &idle(), 360).contains(&("H01", Severity::StopNow)));
    let dark = |n, at_s, who| {
        let dark = PowerLight {
            state: Light::Dark,
            transmitter: None,
        };
        line(n, at_s, who, How::Saw, Body::PowerLight(dark))
    };
    lines.push(dark(12, 370, BEN));
    assert!(
        found(&lines, &idle(), 370).contains(&("H01", Severity::StopNow)),
        "not by the same person"
    );
    lines.push(dark(13, 380, CAL));
    assert_eq!(found(&lines, &idle(), 380), []);
}

#[test]
fn h01_stays_quiet_where_a_machine_may_be_live() {
    for allowed in [Place::TestArea, Place::ArenaLoad, Place::ArenaRecovery] {
        let mut lines = made_safe();
        lines.push(line(10, 290, BEN, How::Did, place(allowed)));
        lines.push(line(11, 300, BEN, How::Did, link(LinkState::In)));
        assert!(
            !found(&lines, &idle(), 300)
                .iter()
                .any(|(rule, _)| *rule == "H01"),
            "{allowed:?}"
        );
    }
}

#[test]
fn h01_is_held_off_by_a_marshal_for_exactly_the_time_allowed() {
    let mut lines = made_safe();
    let allowed = AllowedHere {
        place: Place::PitBench,
        for_min: Minutes::new(5).unwrap(),
        because: None,
    };
    lines.push(Line {
        how: None,
        entered_by: Author {
            person: Some(CAL),
            role: Role::Marshal,
        },
        ..line(10, 200, CAL, How::Did, Body::AllowedHere(allowed))
    });
    lines.push(line(11, 300, BEN, How::Did, link(LinkState::In)));
    assert!(
        !found(&lines, &idle(), 301)
            .iter()
            .any(|(rule, _)| *rule == "H01")
    );
    assert!(found(&lines, &idle(), 500).contains(&("H01", Severity::StopNow)));
}

#[test]
fn h06_holds_a_called_robot_without_a_plan_and_clears_when_it_is_read_back() {
    let mut lines = made_safe();
    lines.push(bout_at(600));
    assert!(found(&lines, &idle(), 60).contains(&("H06", Severity::Hold)));
    lines.push(plan(70));
    assert!(
        found(&lines, &idle(), 71).contains(&("H06", Severity::Hold)),
        "written, not read back"
    );
    lines.push(read_back(21, 80, &[BEN]));
    assert!(
        found(&lines, &idle(), 81).contains(&("H06", Severity::Hold)),
        "the remover has not read it"
    );
    lines.push(read_back(22, 90, &[ANA, CAL]));
    assert!(
        found(&lines, &idle(), 91).contains(&("H06", Severity::Hold)),
        "the remover is only named"
    );
    lines.push(read_back(23, 100, &[CAL]));
    assert_eq!(found(&lines, &idle(), 101), []);
}

#[test]
fn h06_rises_to_stop_now_when_arming_begins() {
    let mut lines = made_safe();
    lines.push(bout_at(600));
    lines.push(line(10, 500, BEN, How::Did, place(Place::ArenaLoad)));
    lines.push(line(11, 510, BEN, How::Did, link(LinkState::In)));
    assert!(found(&lines, &idle(), 511).contains(&("H06", Severity::StopNow)));
    let started = Line {
        how: None,
        subject: Subject::Bout(BOUT),
        ..line(41, 520, CAL, How::Did, Body::BoutStarted(bout::Started {}))
    };
    lines.push(started);
    assert_eq!(
        found(&lines, &idle(), 521),
        [],
        "during the bout nobody is exposed"
    );
}

#[test]
fn h28_holds_on_an_old_account_only_when_somebody_is_exposed() {
    let lines = made_safe();
    assert_eq!(found(&lines, &hands_in(), 29 * 60), []);
    assert!(found(&lines, &hands_in(), 31 * 60).contains(&("H28", Severity::Hold)));
    assert_eq!(found(&lines, &idle(), 31 * 60), []);
    let mut looked = lines.clone();
    looked.push(line(10, 30 * 60, BEN, How::Saw, link(LinkState::Out)));
    looked.push(line(
        11,
        30 * 60,
        BEN,
        How::Saw,
        gas(Some(Valve::Shut), Some(System::Zero)),
    ));
    looked.push(line(12, 30 * 60, BEN, How::Saw, bar(Bar::On)));
    assert!(
        found(&looked, &hands_in(), 31 * 60).contains(&("H28", Severity::Hold)),
        "transmitter not looked at"
    );
    let off = crate::pit::logbook::machine::Power::Off;
    looked.push(line(13, 30 * 60, BEN, How::Saw, transmitter(off)));
    assert_eq!(found(&looked, &hands_in(), 31 * 60), []);
}

#[test]
fn danger_stands_until_one_who_answers_for_safety_says_it_is_over() {
    let said = |n, at_s, role, what| Line {
        how: None,
        entered_by: Author {
            person: Some(ANA),
            role,
        },
        ..line(
            n,
            at_s,
            ANA,
            How::Saw,
            Body::Danger(Danger { what, note: None }),
        )
    };
    let mut lines = made_safe();
    lines.push(said(10, 10, Role::Crew, DangerOf::Fire));
    assert_eq!(found(&lines, &idle(), 11), [("danger", Severity::StopNow)]);
    lines.push(said(11, 20, Role::Crew, DangerOf::Over));
    assert_eq!(found(&lines, &idle(), 21), [("danger", Severity::StopNow)]);
    lines.push(said(12, 30, Role::Marshal, DangerOf::Over));
    assert_eq!(found(&lines, &idle(), 31), []);
}

#[test]
fn a_hazard_changes_by_time_when_the_view_says_so() {
    let pit = Pit::fold(&made_safe());
    let view = hazards(&pit, ROBOT, &hands_in(), start());
    let changes_at = view.changes_at.expect("an account grows old");
    assert!(
        hazards(
            &pit,
            ROBOT,
            &hands_in(),
            changes_at - TimeDelta::milliseconds(1)
        )
        .value
        .is_empty()
    );
    assert!(
        !hazards(&pit, ROBOT, &hands_in(), changes_at)
            .value
            .is_empty()
    );
}

#[test]
fn the_rules_on_machines_know_every_type() {
    for machine in register::Machine::ALL {
        assert!(
            !found(&[robot(machine)], &hands_in(), 60).is_empty(),
            "{machine:?} with hands in and nothing said"
        );
    }
}
