//! What of a link plan is a gap, and what is none.

use super::order::{Act, Before};
use super::*;
use crate::calc::units::{Count, Name, Note, Seconds};
use crate::pit::logbook::link_plan::{LinkPlan, OneLink, ReadBack, Timed};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::work::Duty;
use crate::pit::logbook::{Body, How, Line};
use crate::pit::settings::{BarOff, TransmitterOn};
use crate::pit::state::Pit;
use crate::pit::testing::{ANA, BEN, CAL, ROBOT, line, made_safe, whole_plan};

fn note(text: &str) -> Option<Note> {
    Some(Note::new(text).unwrap())
}

fn saved(n: u128, at_s: i64, plan: Plan) -> Line {
    let body = Body::LinkPlan(LinkPlan::Saved(Box::new(plan)));
    line(n, at_s, ANA, How::Did, body)
}

/// Everybody enters it under their own name: nobody reads a plan back for somebody else.
fn read(n: u128, at_s: i64, version: u32, read_by: &[PersonId]) -> Vec<Line> {
    let one = |(index, person): (usize, &PersonId)| {
        let read_by = vec![*person];
        let body = Body::LinkPlan(LinkPlan::ReadBack(ReadBack { version, read_by }));
        line(n * 100 + index as u128, at_s, *person, How::Did, body)
    };
    read_by.iter().enumerate().map(one).collect()
}

/// Two lots of lines after each other.
fn both(first: Line, then: Vec<Line>) -> Vec<Line> {
    [vec![first], then].concat()
}

fn against(lines: impl IntoIterator<Item = Line>, settings: &Settings) -> Vec<Gap> {
    let lines: Vec<Line> = made_safe().into_iter().chain(lines).collect();
    let pit = Pit::fold(&lines);
    gaps(pit.robot(ROBOT).unwrap(), settings, &[])
        .into_iter()
        .filter(Gap::speaks_against_arming)
        .collect()
}

fn with(change: impl Fn(&mut Plan)) -> Vec<Gap> {
    let mut plan = whole_plan();
    change(&mut plan);
    let lines = both(saved(10, 10, plan), read(11, 20, 1, &[ANA, BEN, CAL]));
    against(lines, &Settings::default())
}

#[test]
fn a_whole_plan_read_back_by_all_has_nothing_against_it() {
    assert_eq!(with(|_| {}), []);
}

#[test]
fn a_field_without_which_nobody_can_act_forbids_arming() {
    let gaps = with(|plan| plan.place = None);
    assert_eq!(gaps, [Gap::Empty("place")]);
    assert!(gaps[0].forbids_arming());
}

#[test]
fn a_new_version_asks_everybody_again() {
    let mut lines = both(
        saved(10, 10, whole_plan()),
        read(11, 20, 1, &[ANA, BEN, CAL]),
    );
    lines.push(saved(12, 30, whole_plan()));
    let gaps = against(lines, &Settings::default());
    let who: Vec<_> = gaps.iter().filter_map(Gap::person).collect();
    assert_eq!(who, [BEN, CAL, ANA]);
}

#[test]
fn a_duty_handed_to_somebody_who_has_not_read_it_voids_the_read_back() {
    let hand = |who| {
        Body::Duty(Duty {
            duty: DutyOf::LinkRemover,
            who: Some(who),
        })
    };
    let lines = |readers: &[PersonId], to| {
        let mut lines = both(saved(10, 10, whole_plan()), read(11, 20, 1, readers));
        lines.push(line(12, 30, to, How::Did, hand(to)));
        lines
    };
    let dee = PersonId(uuid::Uuid::from_u128(14));
    let gaps = against(lines(&[ANA, BEN, CAL], dee), &Settings::default());
    let handed = Gap::HandedOver {
        reader: Reader::Remover,
        to: dee,
    };
    assert_eq!(gaps, [handed]);
    assert!(gaps[0].forbids_arming());
    assert_eq!(
        against(lines(&[ANA, BEN, CAL, dee], dee), &Settings::default()),
        []
    );
    assert_eq!(
        against(lines(&[ANA, BEN, CAL], CAL), &Settings::default()),
        []
    );
}

#[test]
fn nobody_proves_their_own_work() {
    assert_eq!(
        with(|plan| plan.verifier = Some(BEN)),
        [Gap::ProvesOwnWork(BEN)]
    );
}

#[test]
fn links_are_counted_and_listed() {
    let counted = Gap::LinksDoNotAddUp {
        counted: 0,
        fitted: 1,
    };
    assert_eq!(with(|plan| plan.links = Count::new(0)), [counted]);
    let one = OneLink {
        mark: Name::new("L1").unwrap(),
        breaks: None,
        kept: None,
    };
    let listed = Gap::LinksNotListed {
        counted: 2,
        listed: 1,
    };
    assert_eq!(with(|plan| plan.each = vec![one.clone()]), [listed]);
    assert_eq!(with(|plan| plan.each = vec![one.clone(), one.clone()]), []);
}

#[test]
fn an_order_other_than_the_events_is_a_gap() {
    let steps = |steps: &[&str]| steps.iter().filter_map(|s| note(s)).collect::<Vec<_>>();
    let another = |arming, first, then| Gap::AnotherOrder {
        arming,
        asked: Before { first, then },
    };
    assert_eq!(
        with(|plan| plan.arming = steps(&["Weapon bar off", "Link in", "Bottle open"])),
        [
            another(true, Act::Link, Act::Bar),
            another(true, Act::Gas, Act::Bar)
        ]
    );
    assert_eq!(
        with(|plan| plan.making_safe = steps(&["Transmitter off", "Bar on", "Link out"])),
        [another(false, Act::Link, Act::Transmitter)]
    );
    // Which of link and gas comes first is for the machine.
    let own = ["Transmitter on", "Link in", "Bottle open", "Bar off"];
    assert_eq!(with(|plan| plan.arming = steps(&own)), []);
}

#[test]
fn the_reach_time_measured_last_counts() {
    let timed = |n, at_s, reach, seconds| {
        let timed = Timed {
            reach,
            seconds: Seconds::new(seconds).unwrap(),
        };
        line(
            n,
            at_s,
            CAL,
            How::Did,
            Body::LinkPlan(LinkPlan::Timed(timed)),
        )
    };
    let settings = Settings {
        reach_inverted: true,
        ..Settings::default()
    };
    let plan = || {
        both(
            saved(10, 10, whole_plan()),
            read(11, 20, 1, &[ANA, BEN, CAL]),
        )
    };
    assert_eq!(
        against(plan(), &settings),
        [Gap::ReachNotMeasured { inverted: true }]
    );
    let slow = timed(12, 30, Reach::Inverted, 46);
    let over = Gap::ReachOverLimit {
        inverted: true,
        seconds: 46,
        limit: 45,
    };
    assert_eq!(
        against(plan().into_iter().chain([slow.clone()]), &settings),
        [over]
    );
    let quick = timed(13, 40, Reach::Inverted, 20);
    assert_eq!(
        against(plan().into_iter().chain([slow, quick]), &settings),
        []
    );
    // A time measured before the plan was written anew is a time for another plan.
    let before = timed(14, 5, Reach::Inverted, 20);
    assert_eq!(
        against(plan().into_iter().chain([before]), &settings),
        [Gap::ReachNotMeasured { inverted: true }]
    );
}

#[test]
fn the_draft_of_every_machine_keeps_the_order_of_every_event() {
    for machine in Machine::ALL {
        for bar_off in [BarOff::AfterGas, BarOff::BeforeGas] {
            for transmitter_on in [TransmitterOn::BeforePower, TransmitterOn::AfterPeopleAreOut] {
                let settings = Settings {
                    bar_off,
                    transmitter_on,
                    ..Settings::default()
                };
                let plan = draft(machine, &settings);
                let acts = if machine.has_gas() { 4 } else { 3 };
                for (steps, order) in [
                    (&plan.arming, order::of_arming(&settings)),
                    (&plan.making_safe, order::of_making_safe(&settings)),
                ] {
                    assert_eq!(order::acts(steps).len(), acts, "{machine:?}");
                    assert_eq!(
                        order::not_kept(steps, order),
                        [],
                        "{machine:?} {settings:?}"
                    );
                }
            }
        }
    }
}
