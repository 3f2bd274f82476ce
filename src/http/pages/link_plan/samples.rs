//! Link plans, for looking at and for the test that renders every screen.

use super::*;
use crate::http::pages::samples::{at, frame};

/// The plan, its form and its card.
pub fn samples() -> Vec<(&'static str, Markup)> {
    let plan = || LinkPlan {
        tag: Tag {
            name: "Pewter Finch".into(),
            sub: "link plan 4, lid B".into(),
            bench: Some(14),
            href: Some("/e/1/robots/1".into()),
        },
        robot: "/e/1/robots/1".into(),
        about: "Quayside <Shed>, flipper".into(),
        version: Some(Version {
            number: 4,
            at: at(-240),
            by: "Ana".into(),
        }),
        gaps: vec![Gap {
            title: "Reach time inverted is missing".into(),
            why: "Time it with gloves on. Event limit 45 s".into(),
        }],
        facts: vec![
            ("Link", "5 o’clock, inverted 7 o’clock".into()),
            ("Hatch", "quarter turn by hand".into()),
            ("Held by", "pin and sprung clip, pull up and back".into()),
            ("Dead when", "light dark, then 10 s".into()),
            ("Spare", "locked box".into()),
        ],
        making_safe: [
            "Hold at the edge",
            "Weapon bar on, from the side",
            "Link out",
            "Bottle shut",
            "Dump, read the gauge, wait, read again",
            "Transmitter off, light dark, look",
        ]
        .map(str::to_owned)
        .to_vec(),
        arming: [
            "Covers off",
            "Transmitter on",
            "Bottle open",
            "Link in, hatch shut",
            "Bar off, one pull, last",
            "Out, door shut",
        ]
        .map(str::to_owned)
        .to_vec(),
        duties: vec![
            Duty {
                duty: "Holder",
                who: "Ben".into(),
                read: Some(at(-245)),
                named_by: None,
            },
            Duty {
                duty: "Remover",
                who: "Cal".into(),
                read: None,
                named_by: Some("Ana".into()),
            },
        ],
        reach: vec![
            ("Upright", "11 s".into()),
            ("Inverted", "not measured".into()),
        ],
        limit: "45 s".into(),
        can_read: true,
        others: vec![Chip::new("3", "Cal")],
        people: vec![Chip::new("1", "Ana"), Chip::new("3", "Cal")],
        who: "1".into(),
        typed: Typed::default(),
        to_confirm: vec!["wheel changed".into()],
        may_edit: true,
    };
    let mut typed = Typed::default();
    typed.values.insert("place".into(), "5 o’clock".into());
    typed.values.insert("reach_upright_s".into(), "soon".into());
    typed.faults.insert(
        "reach_upright_s".into(),
        "A whole number of seconds, from 0 to 3600.".into(),
    );
    vec![
        ("link-plan", page(&frame(), &plan())),
        (
            "link-plan-none",
            page(
                &frame(),
                &LinkPlan {
                    version: None,
                    facts: vec![],
                    ..plan()
                },
            ),
        ),
        (
            "link-plan-edit",
            edit(
                &frame(),
                &Edit {
                    tag: plan().tag,
                    robot: "/e/1/robots/1".into(),
                    plan: typed,
                    people: vec![Chip::new("1", "Ana"), Chip::new("2", "Ben")],
                },
            ),
        ),
        ("link-card", card(&frame(), &plan())),
    ]
}
