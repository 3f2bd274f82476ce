//! Sample pages of hazards, of what is not right, of a task begun too early, and of rules.

use super::rules::{RulePage, list, matrices, one};
use super::{Found, Hazards, Shown, Start, found, page, start, view};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    frame::Tag,
};
use crate::http::pages::samples::{at, frame};
use crate::pit::hazards::matrix;
use maud::Markup;

fn tag(name: &str) -> Tag {
    Tag {
        name: name.into(),
        sub: "Pewter <Finch>".into(),
        bench: Some(14),
        href: None,
    }
}

fn shown(severity: &'static str, title: &str, why: &str) -> Shown {
    Shown {
        rule: Some("H23".into()),
        severity,
        title: title.into(),
        why: why.into(),
        since: at(-6),
        advise: "Lift it back onto the stand with the right number of people.".into(),
        clears: "stand recorded".into(),
        said: vec!["Open with Ben.".into()],
        act: Some(("Report", "/e/1/robots/1/report".into())),
        may_accept: true,
        may_clear: None,
    }
}

/// A warning as the bench lists it.
pub fn warn() -> Shown {
    shown("Warn", "Machine not on its stand", "Wheels on the ground")
}

fn rule() -> RulePage {
    RulePage {
        id: "H07".into(),
        title: "Link reach time not measured, or over the event's limit".into(),
        severity: "Warn",
        rises: Some("Hold where the event's settings make it a condition".into()),
        exposure: "called, in the arena queue".into(),
        when: "plan.reach_time>event.limit_s".into(),
        advise: "Time it with gloves on.".into(),
        clears: "timed within limit".into(),
        clears_by: "one named person says what is so now",
        tell: "lead, inspector".into(),
        false_alarm: "Event limit not entered.".into(),
        mark: "published",
        sources: vec![("R4".into(), "a club’s construction rules".into())],
        settings: vec![("Time to reach the link".into(), "45".into())],
        note: String::new(),
    }
}

/// Every state.
pub fn samples() -> Vec<(&'static str, Markup)> {
    let hazards = |shown| Hazards {
        tag: tag("Hazards"),
        back: "/e/1/robots/1".into(),
        action: "/e/1/robots/1/hazards".into(),
        found: "/e/1/robots/1/found".into(),
        shown,
        typed: Typed::default(),
    };
    let not_right = |gas, typed| Found {
        tag: tag("Not right"),
        back: "/e/1/robots/1".into(),
        action: "/e/1/robots/1/found".into(),
        parts: vec![
            ("gauge", "Gauge dead", "Gauge works", true),
            ("dump", "Dump blocked", "Dump works", false),
        ],
        stored: vec![("rotor", ["still", "blocked", "Rotor turning"])],
        inside: Some("2 inside, Ben 3 min ago".into()),
        air: Some("air at the gas bay: 900 ppm, 4 min ago".into()),
        gas,
        typed,
    };
    let begin = |missing, lift| Start {
        tag: tag("Before you begin"),
        back: "/e/1/robots/1".into(),
        action: "/e/1/robots/1/tasks".into(),
        task: "fl-wheel".into(),
        instance: Some("wheel_fl".into()),
        name: "Swap the wheel, front left".into(),
        missing,
        look: "/e/1/robots/1/look".into(),
        people: vec![Chip::new("2", "Ben <i>")],
        hands: 4,
        lift,
    };
    let mut wrong = Typed::default();
    wrong.values.insert("co2_ppm".into(), "a lot".into());
    wrong
        .faults
        .insert("co2_ppm".into(), "A whole number of ppm.".into());
    vec![
        ("hazards-none", page(&frame(), &hazards(Vec::new()))),
        (
            "hazards",
            page(
                &frame(),
                &hazards(vec![
                    Shown {
                        rule: Some("H05".into()),
                        may_accept: false,
                        may_clear: Some("I have settled it"),
                        ..shown(
                            "Stop now",
                            "Restraint off out of order",
                            "Weapon bar off before its step",
                        )
                    },
                    warn(),
                ]),
            ),
        ),
        ("found", found(&frame(), &not_right(true, Typed::default()))),
        ("found-wrong", found(&frame(), &not_right(true, wrong))),
        (
            "found-without-gas",
            found(&frame(), &not_right(false, Typed::default())),
        ),
        (
            "start-missing",
            start(
                &frame(),
                &begin(
                    vec![(
                        "Link out".into(),
                        "somebody reported that it is not so".into(),
                    )],
                    false,
                ),
            ),
        ),
        ("start-lift", start(&frame(), &begin(Vec::new(), true))),
        ("rules", list(&frame(), "/e/1/robots/1", &[rule()])),
        ("rule", one(&frame(), &rule())),
        (
            "matrices",
            matrices(&frame(), matrix::places(), matrix::works(), |row| {
                view::site(row.place)
            }),
        ),
    ]
}
