//! Reports and their sheets, for looking at and for the test that renders every screen.

use super::*;
use crate::http::pages::{
    parts::sheet::SheetRow,
    samples::{at, frame},
};

fn tag(name: &str) -> Tag {
    Tag {
        name: name.into(),
        sub: "Pewter Finch, after bout 17".into(),
        bench: Some(14),
        href: None,
    }
}

fn people() -> Vec<Chip> {
    ["Ana", "Ben", "Cal", "Dee"]
        .map(|name| Chip::new(name.to_lowercase(), name))
        .to_vec()
}

/// Every state of these pages.
pub fn samples() -> Vec<(&'static str, Markup)> {
    let back = "/e/1/robots/1".to_owned();
    let row = |id: &str, text: &str, detail: &str| SheetRow {
        id: id.into(),
        text: text.into(),
        detail: detail.into(),
        no_opposite: false,
    };
    let mut holders = people();
    holders.push(Chip::new("box", "box"));
    let mut refused = Typed::default();
    refused
        .faults
        .insert("holder".into(), "Say who has the link.".into());
    refused.values.insert("ago".into(), "5".into());
    refused
        .values
        .insert("saw".into(), "link_out gauge_zero".into());
    let report = |typed: Typed| Report {
        tag: tag("Back, made safe"),
        back: back.clone(),
        sheet: Sheet {
            also: Some(row("on_charge", "Set <A> on charge", "on Channel 1")),
            action: format!("{back}/report/back_made_safe"),
            people: people(),
            who: "ana".into(),
            rows: vec![
                row("bar_on", "Weapon bar on", "pinned, will not lift"),
                row("link_out", "Link out", "its holder below"),
                row("bottle_shut", "Bottle shut", "with the reach tool"),
                row("gauge_zero", "Dumped, gauge at zero twice", ""),
                row("tx_off", "Transmitter off", "with Dee"),
                row("light_dark", "Power light dark", "after the 10 s wait"),
                row("on_stand", "On its stand", "wheels clear"),
            ],
            holder: Some(holders.clone()),
            hidden: vec![],
            warning: None,
            numbers: vec![],
            button: "I saw all of these".into(),
            effect: "Writes seven lines and closes “Prove zero at the bench”.".into(),
            typed,
        },
    };
    let found = |first: &str, second: &str| vec![Chip::new("out", first), Chip::new("in", second)];
    vec![
        ("report", page(&frame(), &report(Typed::default()))),
        ("report-refused", page(&frame(), &report(refused))),
        (
            "reports",
            list(
                &frame(),
                &Reports {
                    tag: tag("Other report"),
                    back: back.clone(),
                    fit: vec![("Packs out".into(), format!("{back}/report/packs_out"))],
                    others: vec![(
                        "Off to the arena queue".into(),
                        format!("{back}/report/off_to_queue"),
                    )],
                },
            ),
        ),
        (
            "look",
            look(
                &frame(),
                &Look {
                    tag: tag("Look now"),
                    back: back.clone(),
                    action: format!("{back}/look"),
                    sources: vec![
                        LookSource {
                            name: "link",
                            label: "Link".into(),
                            found: found("out", "in"),
                            now: "out, seen by Ben 4 min ago".into(),
                        },
                        LookSource {
                            name: "system",
                            label: "Gas".into(),
                            found: found("at zero", "under pressure"),
                            now: "nobody has looked".into(),
                        },
                    ],
                    looked: None,
                    holders,
                    people: people(),
                    who: "ana".into(),
                    typed: Typed::default(),
                },
            ),
        ),
        (
            "damage",
            damage(
                &frame(),
                &Damage {
                    tag: tag("Damage"),
                    back: back.clone(),
                    action: format!("{back}/damage"),
                    photos: "/e/1/photos/robot:1".into(),
                    areas: vec![
                        Area {
                            id: "wheel_fl".into(),
                            label: "front left wheel".into(),
                            known: 1,
                        },
                        Area {
                            id: "arm".into(),
                            label: "arm and hinge".into(),
                            known: 0,
                        },
                        Area {
                            id: "ram".into(),
                            label: "ram, valves and hoses".into(),
                            known: 0,
                        },
                    ],
                    chosen: None,
                    kinds: vec![],
                    found: vec!["front left wheel: cut, bent or off".into()],
                },
            ),
        ),
        (
            "damage-area",
            damage(
                &frame(),
                &Damage {
                    tag: tag("Damage"),
                    back: back.clone(),
                    action: format!("{back}/damage"),
                    photos: "/e/1/photos/robot:1".into(),
                    areas: vec![],
                    chosen: Some(Area {
                        id: "wheel_fl".into(),
                        label: "front left wheel".into(),
                        known: 1,
                    }),
                    kinds: vec![
                        Chip::new("wheel_cut", "cut, bent or off"),
                        Chip::new("drive_noise", "grinds or hot"),
                    ],
                    found: vec![],
                },
            ),
        ),
        (
            "answer",
            answer(
                &frame(),
                &CallAnswer {
                    tag: tag("Answer the call"),
                    back: back.clone(),
                    action: format!("{back}/call"),
                    bout: "17".into(),
                    label: "Call, bout 17".into(),
                    at: at(9),
                    typed: Typed::default(),
                },
            ),
        ),
        (
            "put-right",
            put_right(
                &frame(),
                &PutRight {
                    tag: tag("Put right"),
                    back,
                    action: "/e/1/lines/1".into(),
                    line: "Ben saw link out".into(),
                    by: "14:05, entered by Ana".into(),
                    withdraw_until: Some(at(1)),
                    states: vec![Chip::new("in", "Link in")],
                    typed: Typed::default(),
                },
            ),
        ),
    ]
}
