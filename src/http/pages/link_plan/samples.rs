//! Link plans, for looking at and for the test that renders every screen.

use super::card::card;
use super::edit::{Edit, edit};
use super::*;
use crate::http::pages::samples::{at, frame};

fn fact(label: &'static str, value: &str, small: &str) -> Fact {
    Fact {
        label,
        value: value.into(),
        small: small.into(),
    }
}

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
        photos: "/e/1/photos/robot:1".into(),
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
        not_said: vec!["which way to pull".into()],
        diagram: Some(Diagram {
            link: 5,
            inverted: Some(7),
            valve: Some(7),
            gauge: Some(9),
            stand: Some(4),
            second: Some(6),
            keep_out: Some((11, 1)),
        }),
        facts: vec![
            fact("Link", "Rear right", "5 o’clock. On its back 7 o’clock"),
            fact("Hatch", "Quarter turn by hand", ""),
            fact("Held by", "Strap", "Pull up and back. 60 N"),
            fact("Dead when", "Light dark", "Then wait 10 s"),
        ],
        if_wrong: vec![fact("Link jammed", "Bar on, arena shut, cut loop", "")],
        links: vec![(
            "L1".into(),
            "breaks drive and weapon, 300 A fuse".into(),
            "Ben’s hand".into(),
        )],
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
                deputy: "Dee".into(),
                read: Some(at(-245)),
                named_by: None,
            },
            Duty {
                duty: "Remover",
                who: "Cal".into(),
                deputy: String::new(),
                read: None,
                named_by: Some("Ana".into()),
            },
        ],
        reach: vec![
            ("Upright", "11 s".into(), "Cal".into()),
            ("Inverted", "not measured".into(), String::new()),
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
                    gas: true,
                },
            ),
        ),
        (
            "link-card",
            card(&frame(), &plan(), &html! { svg aria-hidden="true" {} }),
        ),
    ]
}
