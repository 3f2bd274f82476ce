//! A clearance stands on all of its grounds, and falls with any of them.

use super::*;
use crate::pit::hazards::hazards;
use crate::pit::ids::Subject;
use crate::pit::logbook::machine::{Bar, System, Valve};
use crate::pit::logbook::register::Machine;
use crate::pit::logbook::{Author, Body, How, Kind, Line, Role};
use crate::pit::tasks;
use crate::pit::testing::*;
use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

/// When it is judged: soon after everything was said.
const NOW: i64 = 600;

/// What is told of a robot, one line after the other.
#[derive(Clone)]
struct Story {
    lines: Vec<Line>,
}

impl Story {
    fn told(mut self, at_s: i64, who: PersonId, kind: &str, body: Value) -> Self {
        self.lines.push(self.line(at_s, who, kind, body));
        self
    }

    /// A number no line has yet.
    fn next(&self) -> u128 {
        let last = self.lines.iter().map(|line| line.seq).max();
        u128::from(last.map_or(0, i64::unsigned_abs)) + 1
    }

    fn line(&self, at_s: i64, who: PersonId, kind: &str, body: Value) -> Line {
        let kind = Kind::named(kind).unwrap();
        let body = Body::read(kind, &body, "").unwrap();
        let how = if kind == Kind::Check {
            How::Did
        } else {
            How::Saw
        };
        line(self.next(), at_s, who, how, body)
    }

    fn marshal(mut self, at_s: i64, said: &str) -> Self {
        let body = json!({"place": "arena", "said": said});
        let mut line = self.line(at_s, CAL, "clearance", body);
        line.entered_by = Author {
            person: Some(CAL),
            role: Role::Marshal,
        };
        self.lines.push(line);
        self
    }

    /// Without the lines of one kind that say `part`.
    fn without(mut self, kind: Kind, part: &str) -> Self {
        let before = self.lines.len();
        self.lines
            .retain(|line| line.kind() != kind || !line.body.to_value().to_string().contains(part));
        assert!(self.lines.len() < before, "{kind:?} {part}");
        self
    }

    fn judged(&self, at_s: i64) -> (Answer, Standing) {
        self.judged_at(ArmedAt::Arena, at_s)
    }

    fn judged_at(&self, place: ArmedAt, at_s: i64) -> (Answer, Standing) {
        let pit = Pit::fold(&self.lines);
        let now = start() + TimeDelta::seconds(at_s);
        let today = tasks::today(&pit, ROBOT).unwrap();
        let work = WorkNow::default();
        let hazards = hazards(&pit, ROBOT, &work, now).value;
        let answer = answer(&pit, &today, &work, &hazards, place, now)
            .unwrap()
            .value;
        let asked = pit.robot(ROBOT).unwrap().state.clearance.clone();
        let standing = standing(asked.as_ref(), &answer);
        (answer, standing)
    }
}

/// A flipper in the arena queue of which everything is said that there is to say.
fn whole() -> Story {
    let mut lines = vec![robot(Machine::FlipperHeavyweight)];
    let bout = json!({"number": 16, "slots": [{"robot": ROBOT}, {"robot": Uuid::from_u128(99)}],
        "call_at": start() + TimeDelta::seconds(NOW + 300)});
    let body = Body::read(Kind::RegisterBout, &bout, "").unwrap();
    lines.push(Line {
        how: None,
        subject: Subject::Bout(BoutId(Uuid::from_u128(50))),
        ..line(99, 0, CAL, How::Did, body)
    });
    let mut story = Story { lines };
    let plan = serde_json::to_value(whole_plan()).unwrap();
    story = story.told(10, ANA, "link_plan", json!({"saved": plan}));
    for who in [ANA, BEN, CAL] {
        let read = json!({"read_back": {"version": 1, "read_by": [who]}});
        story = story.told(20, who, "link_plan", read);
    }
    story = story.told(30, ANA, "duty", json!({"duty": "driver", "who": ANA}));
    for (what, found) in [
        ("departure_link", "both here"),
        ("departure_retention", "holds"),
        ("departure_hatch", "shut"),
        ("departure_bottle", "strapped"),
        ("departure_transmitter", "right and charged"),
        ("departure", "nothing missing"),
    ] {
        story = story.told(
            NOW - 70,
            BEN,
            "check",
            json!({"what": what, "found": found}),
        );
    }
    for (what, result) in [
        ("failsafe", "pass"),
        ("inspection", "pass"),
        ("weight", "within"),
    ] {
        let body = json!({"what": what, "result": result});
        story = story.told(40, BEN, "proof", body);
    }
    story
        .told(
            NOW - 60,
            BEN,
            "link",
            json!({"state": "out", "holder": {"person": BEN}}),
        )
        .told(
            NOW - 60,
            BEN,
            "gas",
            json!({"valve": "shut", "system": "zero"}),
        )
        .told(NOW - 60, BEN, "weapon_bar", json!({"state": "on"}))
        .told(
            NOW - 60,
            BEN,
            "transmitter",
            json!({"state": "off", "with": ANA}),
        )
        .told(NOW - 30, BEN, "place", json!({"place": "queue"}))
}

#[test]
fn a_robot_of_which_everything_is_said_has_nothing_against_it() {
    let (answer, standing) = whole().judged(NOW);
    assert_eq!(answer.against, []);
    assert!(answer.grounds.len() >= 9, "{:#?}", answer.grounds);
    assert!(
        matches!(standing, Standing::Asked(_)),
        "coming to the queue asks"
    );
    let (_, standing) = whole().marshal(NOW - 10, "confirmed").judged(NOW);
    assert!(matches!(standing, Standing::Confirmed(_)), "{standing:?}");
}

#[test]
fn whatever_is_missing_is_named_and_no_word_of_a_marshal_makes_up_for_it() {
    type Named = fn(&Against) -> bool;
    let cases: [(Story, Named); 9] = [
        (whole().without(Kind::Place, "queue"), |a| {
            *a == Against::NotThere
        }),
        (whole().without(Kind::RegisterBout, "16"), |a| {
            *a == Against::NoBout
        }),
        (whole().without(Kind::Gas, "zero"), |a| {
            *a == Against::NotIsolated(SourceOf::Gas, SourceStanding::Unknown)
        }),
        (whole().without(Kind::WeaponBar, "on"), |a| {
            *a == Against::NotIsolated(SourceOf::WeaponBar, SourceStanding::Unknown)
        }),
        (
            whole().told(
                NOW - 40,
                BEN,
                "link",
                json!({"state": "out", "holder": "box"}),
            ),
            |a| *a == Against::LinkInNoHand,
        ),
        (whole().without(Kind::LinkPlan, "saved"), |a| {
            *a == Against::Gap(Gap::NoPlan)
        }),
        (
            whole().without(Kind::LinkPlan, &format!("[\"{BEN}\"]")),
            |a| matches!(a, Against::Gap(Gap::NotReadBack(_, who)) if *who == BEN),
        ),
        (
            whole().without(Kind::Check, "departure_hatch"),
            |a| matches!(a, Against::NotChecked(row) if row.contains("Hatch")),
        ),
        (
            whole().told(NOW - 20, CAL, "danger", json!({"what": "fire"})),
            |a| matches!(a, Against::Hazard { rule: "danger", .. }),
        ),
    ];
    for (n, (story, against)) in cases.into_iter().enumerate() {
        let (answer, standing) = story.clone().marshal(NOW - 10, "confirmed").judged(NOW);
        assert!(
            answer.against.iter().any(against),
            "{n}: {:#?}",
            answer.against
        );
        assert!(
            matches!(standing, Standing::Against(_)),
            "{n}: {standing:?}"
        );
    }
}

#[test]
fn a_confirmed_clearance_falls_with_what_changes_and_does_not_rise_again() {
    let confirmed = || whole().marshal(NOW - 25, "confirmed");
    let out = || json!({"state": "out", "holder": {"person": BEN}});
    for (story, what) in [
        (
            confirmed()
                .told(NOW - 20, BEN, "place", json!({"place": "pit_bench"}))
                .told(NOW - 10, BEN, "place", json!({"place": "queue"})),
            ChangedGround::Moved,
        ),
        (
            confirmed()
                .told(NOW - 20, BEN, "link", json!({"state": "in"}))
                .told(NOW - 15, BEN, "link", out())
                .told(NOW - 10, ANA, "link", out()),
            ChangedGround::Live,
        ),
        (
            confirmed().told(
                NOW - 20,
                BEN,
                "damage",
                json!({"area": "hatch", "kind": "hatch_bent"}),
            ),
            ChangedGround::Damage,
        ),
        (
            confirmed().told(NOW - 20, BEN, "changed", json!({"change": "armour"})),
            ChangedGround::Machine,
        ),
        (
            confirmed().told(NOW - 20, BEN, "duty", json!({"duty": "driver", "who": BEN})),
            ChangedGround::Duty,
        ),
        (
            confirmed().told(
                NOW - 20,
                ANA,
                "link_plan",
                json!({"saved": serde_json::to_value(whole_plan()).unwrap()}),
            ),
            ChangedGround::LinkPlan,
        ),
    ] {
        let (_, standing) = story.judged(NOW);
        let Standing::Changed(changed) = standing else {
            panic!("{what:?}: {standing:?}");
        };
        assert_eq!(changed.value, what);
        let (_, again) = story.marshal(NOW - 1, "confirmed").judged(NOW);
        assert!(
            !matches!(again, Standing::Changed(_)),
            "a new word counts anew"
        );
    }
}

#[test]
fn it_falls_when_an_account_grows_old() {
    let story = whole().marshal(NOW - 10, "confirmed");
    let stale = NOW - 60 + 10 * 60;
    assert!(matches!(story.judged(stale - 1).1, Standing::Confirmed(_)));
    let (answer, standing) = story.judged(stale + 1);
    assert!(matches!(standing, Standing::Against(_)), "{standing:?}");
    assert!(answer.against.iter().any(|point| matches!(
        point,
        Against::NotIsolated(SourceOf::Link, SourceStanding::Stale)
    )));
}

#[test]
fn arming_where_it_was_cleared_leaves_it_standing() {
    let story = whole()
        .marshal(NOW - 25, "confirmed")
        .told(NOW - 20, BEN, "place", json!({"place": "arena_load"}))
        .told(NOW - 10, BEN, "link", json!({"state": "in"}));
    let (answer, standing) = story.judged(NOW);
    assert!(answer.arming);
    assert!(!matches!(standing, Standing::Changed(_)), "{standing:?}");
}

#[test]
fn a_refusal_stands_until_the_crew_asks_again() {
    let refused = whole().marshal(NOW - 20, "refused");
    assert!(matches!(refused.judged(NOW).1, Standing::Refused(_)));
    let asked = json!({"place": "arena", "said": "asked"});
    let again = refused.told(NOW - 10, BEN, "clearance", asked);
    assert!(matches!(again.judged(NOW).1, Standing::Asked(_)));
}

#[test]
fn another_live_machine_in_the_test_area_speaks_against_it() {
    let mut story = whole().told(NOW - 20, BEN, "place", json!({"place": "test_area"}));
    assert!(
        story
            .judged_at(ArmedAt::TestArea, NOW)
            .0
            .grounds
            .iter()
            .any(|ground| ground.what == GroundOf::AreaClear)
    );
    let other = RobotId(Uuid::from_u128(99));
    let mut there: Vec<Line> = story
        .lines
        .iter()
        .filter(|line| matches!(line.kind(), Kind::RegisterRobot | Kind::Place))
        .cloned()
        .collect();
    for (n, line) in there.iter_mut().enumerate() {
        line.subject = Subject::Robot(other);
        line.id = crate::pit::ids::LineId(Uuid::from_u128(900 + n as u128));
        line.seq += 900;
    }
    story.lines.extend(there);
    let (answer, _) = story.judged_at(ArmedAt::TestArea, NOW);
    assert!(
        answer.against.contains(&Against::AnotherLive(other)),
        "{:#?}",
        answer.against
    );
}

/// Every state of the sources, of the plan, of the check and of the place: a clearance stands only
/// where all of them are as they should be.
#[test]
fn no_state_with_anything_open_is_cleared() {
    let base = whole()
        .without(Kind::Link, "out")
        .without(Kind::Gas, "zero")
        .without(Kind::WeaponBar, "on")
        .without(Kind::Transmitter, "off");
    let (mut states, mut cleared) = (0, 0);
    let known = [0u8, 1, 2, 3];
    // 0 unknown, 1 isolated, 2 isolated too long ago, 3 live.
    let at = |known: u8| if known == 2 { 0 } else { NOW - 60 };
    for link in known {
        for gas_is in known {
            for bar_is in known {
                for tx in known {
                    for open in ["", "read back", "departure", "place"] {
                        let mut story = base.clone();
                        if link > 0 {
                            let body = match link {
                                3 => json!({"state": "in"}),
                                _ => json!({"state": "out", "holder": {"person": BEN}}),
                            };
                            story = story.told(at(link), BEN, "link", body);
                        }
                        let mut say = |known: u8, isolated: Body, live: Body| {
                            if known > 0 {
                                let body = if known == 3 { live } else { isolated };
                                let n = story.next();
                                story.lines.push(line(n, at(known), BEN, How::Saw, body));
                            }
                        };
                        say(
                            gas_is,
                            gas(Some(Valve::Shut), Some(System::Zero)),
                            gas(Some(Valve::Open), Some(System::Live)),
                        );
                        say(bar_is, bar(Bar::On), bar(Bar::Off));
                        let transmitter = |state: &str| {
                            let body = json!({"state": state, "with": ANA});
                            Body::read(Kind::Transmitter, &body, "").unwrap()
                        };
                        say(tx, transmitter("off"), transmitter("on"));
                        let story = match open {
                            "read back" => story.without(Kind::LinkPlan, "read_back"),
                            "departure" => story.without(Kind::Check, "departure_link"),
                            "place" => story.without(Kind::Place, "queue"),
                            _ => story,
                        };
                        let (_, standing) = story.marshal(NOW - 5, "confirmed").judged(NOW);
                        let whole = open.is_empty()
                            && [link, gas_is, bar_is, tx].iter().all(|known| *known == 1);
                        let confirmed = matches!(standing, Standing::Confirmed(_));
                        assert_eq!(
                            confirmed, whole,
                            "{link} {gas_is} {bar_is} {tx} {open}: {standing:?}"
                        );
                        states += 1;
                        cleared += u32::from(confirmed);
                    }
                }
            }
        }
    }
    println!("{states} states, {cleared} cleared");
    assert_eq!((states, cleared), (1024, 1));
}
