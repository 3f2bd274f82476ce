//! The fold does not care in which order lines arrive.

use super::*;
use crate::pit::energy::{Verdict, energy};
use crate::pit::logbook::machine::{Bar, Light, LinkState, Power, PowerLight, System, Valve};
use crate::pit::logbook::{Author, How, Role, hall};
use crate::pit::testing::*;
use chrono::TimeDelta;
use proptest::prelude::*;

fn verdict(lines: &[Line], at_s: i64) -> Verdict {
    let pit = Pit::fold(lines);
    let now = start() + TimeDelta::seconds(at_s);
    energy(pit.robot(ROBOT).unwrap(), pit.settings(), now)
        .value
        .verdict
}

#[test]
fn nothing_said_is_unproved() {
    assert_eq!(
        verdict(&[robot(register::Machine::SpinnerHeavyweight)], 0),
        Verdict::Unproved
    );
}

#[test]
fn made_safe_needs_every_source() {
    let lines = made_safe();
    assert_eq!(verdict(&lines, 60), Verdict::MadeSafe);
    // The robot and its place come first, its stand last.
    for missing in 2..lines.len() - 1 {
        let mut fewer = lines.clone();
        fewer.remove(missing);
        assert_eq!(
            verdict(&fewer, 60),
            Verdict::Unproved,
            "without line {missing}"
        );
    }
}

#[test]
fn made_safe_goes_stale_by_time_alone() {
    let pit = Pit::fold(&made_safe());
    let view = energy(pit.robot(ROBOT).unwrap(), pit.settings(), start());
    assert_eq!(view.changes_at, Some(start() + TimeDelta::minutes(30)));
    assert_eq!(verdict(&made_safe(), 30 * 60 - 1), Verdict::MadeSafe);
    assert_eq!(verdict(&made_safe(), 30 * 60), Verdict::Unproved);
}

#[test]
fn a_link_reported_in_is_live_at_once() {
    let mut lines = made_safe();
    lines.push(line(7, 600, BEN, How::Did, link(LinkState::In)));
    assert_eq!(verdict(&lines, 600), Verdict::Live);
}

#[test]
fn a_lit_light_speaks_louder_than_an_earlier_link_out() {
    let mut lines = made_safe();
    let lit = Body::PowerLight(PowerLight {
        state: Light::Lit,
        transmitter: None,
    });
    lines.push(line(7, 300, BEN, How::Saw, lit));
    assert_eq!(verdict(&lines, 300), Verdict::Live);
}

#[test]
fn two_who_disagree_are_a_dispute_until_somebody_else_looks() {
    let mut lines = made_safe();
    lines.push(line(7, 60, BEN, How::Saw, link(LinkState::In)));
    assert_eq!(
        verdict(&lines, 60),
        Verdict::Unproved,
        "within the time in which clocks may differ"
    );
    lines.push(line(8, 90, ANA, How::Saw, link(LinkState::Out)));
    assert_eq!(
        verdict(&lines, 90),
        Verdict::Unproved,
        "her own second look does not settle it"
    );
    lines.push(line(9, 120, CAL, How::Saw, link(LinkState::Out)));
    assert_eq!(
        verdict(&lines, 120),
        Verdict::MadeSafe,
        "somebody else's does"
    );
}

#[test]
fn a_later_undisputed_sight_simply_wins() {
    let mut lines = made_safe();
    lines.push(line(7, 600, BEN, How::Saw, link(LinkState::In)));
    assert_eq!(verdict(&lines, 600), Verdict::Live);
    lines.push(line(8, 900, CAL, How::Saw, link(LinkState::Out)));
    assert_eq!(verdict(&lines, 900), Verdict::MadeSafe);
}

#[test]
fn a_program_never_makes_anything_safe() {
    let mut lines = made_safe();
    for line in &mut lines {
        line.entered_by = Author {
            person: None,
            role: Role::Program,
        };
    }
    assert_eq!(verdict(&lines, 1), Verdict::Unproved);
}

#[test]
fn an_opened_valve_undoes_the_gauge() {
    let mut lines = made_safe();
    lines.push(line(7, 60, ANA, How::Did, gas(Some(Valve::Open), None)));
    assert_eq!(verdict(&lines, 61), Verdict::Live);
    lines.push(line(8, 120, ANA, How::Did, gas(Some(Valve::Shut), None)));
    assert_eq!(
        verdict(&lines, 121),
        Verdict::Unproved,
        "shut, but not read at zero again"
    );
}

#[test]
fn what_was_taken_back_never_happened() {
    let mut lines = made_safe();
    lines.push(line(7, 600, BEN, How::Did, link(LinkState::In)));
    let void = Line {
        corrects: Some(lines[6].id),
        how: None,
        ..line(
            8,
            620,
            BEN,
            How::Did,
            Body::Void(hall::Void { because: None }),
        )
    };
    lines.push(void);
    assert_eq!(verdict(&lines, 630), Verdict::MadeSafe);
}

fn any_fact(n: u128) -> impl Strategy<Value = Line> {
    let body = prop_oneof![
        prop_oneof![Just(LinkState::In), Just(LinkState::Out)].prop_map(link),
        prop_oneof![Just(Bar::On), Just(Bar::Held), Just(Bar::Off)].prop_map(bar),
        prop_oneof![Just(Power::On), Just(Power::Off)].prop_map(transmitter),
        (
            proptest::option::of(prop_oneof![Just(Valve::Open), Just(Valve::Shut)]),
            proptest::option::of(prop_oneof![Just(System::Zero), Just(System::Live)])
        )
            .prop_map(|(valve, system)| gas(valve, system)),
        Just(bench()),
    ];
    let who = prop_oneof![Just(ANA), Just(BEN), Just(CAL)];
    let how = prop_oneof![Just(How::Did), Just(How::Saw)];
    (body, who, how, 0i64..3600).prop_map(move |(body, who, how, at)| line(n, at, who, how, body))
}

fn some_day() -> impl Strategy<Value = Vec<Line>> {
    (2usize..24)
        .prop_flat_map(|count| {
            (0..count)
                .map(|n| any_fact(10 + n as u128))
                .collect::<Vec<_>>()
        })
        .prop_flat_map(|facts| {
            let count = facts.len();
            (
                Just(facts),
                proptest::collection::vec((0..count, any::<bool>()), 0..5),
            )
        })
        .prop_map(|(mut facts, corrections)| {
            for (n, (target, void)) in corrections.into_iter().enumerate() {
                let target = facts[target].clone();
                let mut correction = line(
                    100 + n as u128,
                    1800,
                    CAL,
                    How::Saw,
                    if void {
                        Body::Void(hall::Void { because: None })
                    } else {
                        link(LinkState::Out)
                    },
                );
                correction.corrects = Some(target.id);
                correction.at = target.at;
                facts.push(correction);
            }
            facts
        })
}

/// What a test compares: everything but the numbers that the order of arrival gives.
fn known(lines: &[Line]) -> (RobotState, Vec<LineId>) {
    let pit = Pit::fold(lines);
    let file = pit.robot(ROBOT).unwrap();
    (
        file.state.clone(),
        file.lines.iter().map(|line| line.id).collect(),
    )
}

proptest! {
    #[test]
    fn any_order_of_arrival_gives_the_same_pit(facts in some_day(), seed in any::<u64>()) {
        let register = robot(register::Machine::FlipperHeavyweight);
        let mut ordered = vec![register.clone()];
        ordered.extend(facts.iter().cloned());
        // Corrections come after their targets; everything else in any order.
        let mut keyed: Vec<(u64, Line)> = facts
            .iter()
            .enumerate()
            .map(|(n, fact)| {
                let key = seed.wrapping_mul(6364136223846793005).wrapping_add((n as u64).wrapping_mul(1442695040888963407)) >> 33;
                (if fact.corrects.is_some() { u64::MAX - 64 + key % 64 } else { key }, fact.clone())
            })
            .collect();
        keyed.sort_by_key(|(key, _)| *key);
        let mut shuffled = vec![register];
        shuffled.extend(keyed.into_iter().map(|(_, fact)| fact));
        prop_assert_eq!(known(&ordered), known(&shuffled));
    }

    #[test]
    fn one_at_a_time_or_all_at_once_is_the_same(facts in some_day()) {
        let mut lines = vec![robot(register::Machine::FlipperHeavyweight)];
        lines.extend(facts);
        let whole = Pit::fold(&lines);
        let stepped = lines.iter().fold(Pit::default(), |pit, line| pit.with(line));
        prop_assert_eq!(whole, stepped);
    }

    #[test]
    fn made_safe_is_never_shown_for_what_nobody_saw(facts in some_day(), after_s in 0i64..7200) {
        let mut lines = vec![robot(register::Machine::FlipperHeavyweight)];
        lines.extend(facts);
        let pit = Pit::fold(&lines);
        let now = start() + TimeDelta::seconds(3600 + after_s);
        let energy = energy(pit.robot(ROBOT).unwrap(), pit.settings(), now).value;
        if energy.verdict == Verdict::MadeSafe {
            for source in &energy.sources {
                prop_assert!(source.seen_by.is_some());
                prop_assert!(source.good_until.is_some_and(|until| until > now));
            }
        }
    }
}
