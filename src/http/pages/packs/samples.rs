//! Packs as the pages may have to show them.

use super::label::{self, Label, Labels};
use super::pack::{self, Cells, PackPage, SayForm};
use super::set::{self, SetPage};
use super::{Aside, PackRow, PacksPage, SetRow, page};
use crate::http::pages::parts::fields::{Chip, Typed};
use crate::http::pages::register::card::draw_qr;
use crate::http::pages::samples::frame;
use maud::Markup;

fn team(teams: Vec<(String, String)>) -> PacksPage {
    PacksPage {
        sub: "Quayside <Shed>".into(),
        back: Some("/e/1/team".into()),
        aside: vec![],
        sets: vec![],
        packs: vec![],
        night: vec![],
        charging: None,
        labels: None,
        teams,
        burning: Some("Shout, then <out> of door 3".into()),
    }
}

fn full() -> PacksPage {
    PacksPage {
        aside: vec![Aside {
            label: "E2<i>".into(),
            href: "/e/1/packs/2".into(),
            found: "hit or dented, Ana <A>, 13:05".into(),
            place: "set aside, Pewter Finch, Fay, 13:06; watched by Fay".into(),
            still: "It is watched till 14:15.".into(),
        }],
        sets: vec![SetRow {
            label: "<A>".into(),
            href: "/e/1/sets/1".into(),
            of: "for Pewter <Finch>: A1, A2".into(),
            detail: "holds 93 to 100 %; serves the next bout".into(),
            ready: "14:44".into(),
            keypad: Some("/e/1/sets/1/volts".into()),
        }],
        packs: vec![PackRow {
            label: "A1".into(),
            href: "/e/1/packs/1".into(),
            state: "on charge since 14:02, channel <1>".into(),
            notes: vec!["ready by 14:44, with a margin".into()],
            holds: "20 to 48 %".into(),
            basis: "by its cells at rest, 13:51".into(),
            low: "3.71 V low".into(),
        }],
        night: vec![("A1<i>".into(), "take 1.2 Ah out".into())],
        charging: Some("/e/1/charging?team=1".into()),
        labels: Some("/e/1/packs/labels?team=1".into()),
        ..team(vec![])
    }
}

fn one(typed: Typed, suspect: bool) -> Markup {
    let view = PackPage {
        label: "A1<i>".into(),
        kind: "6 cells, 5000 mAh, lithium polymer".into(),
        back: "/e/1/packs".into(),
        suspect: suspect.then(|| {
            (
                "Hit or dented, Ana <A>, 13:05".to_owned(),
                "Put it into the observation box.".to_owned(),
            )
        }),
        doubtful: suspect.then(|| "No such pack shows these cells: read them again.".to_owned()),
        facts: vec![(
            "Holds",
            "62 to 74 %, likely 68".into(),
            "by its cells at rest, 13:51".into(),
        )],
        cells: Some(Cells {
            read: "Ben <A>, 13:51, at rest, 24 mV apart".into(),
            volts: vec![("3.812".into(), false), ("3.788".into(), true)],
        }),
        health: "Use it, look again soon",
        reasons: vec!["The cells differ by 24 mV at rest (10 to 30).".into()],
        measures: vec![("Full cycles", "18.4".into(), String::new())],
        sets: vec![("<A>".into(), "/e/1/sets/1".into())],
        print: "/e/1/packs/labels?pack=1".into(),
        log: vec![],
        form: Some(SayForm {
            action: "/e/1/packs/1".into(),
            people: vec![Chip::new("1", "Ana <A>"), Chip::new("2", "Ben")],
            who: "1".into(),
            to_set_aside: true,
            should_be_aside: suspect,
            typed,
        }),
        burning: None,
    };
    pack::page(&frame(), &view)
}

fn set(together: Result<Vec<pack::Fact>, Vec<String>>, unmatched: bool) -> Markup {
    let view = SetPage {
        label: "<A>".into(),
        sub: "for Pewter <Finch>".into(),
        back: "/e/1/packs".into(),
        serves: "Not proved for the next bout".into(),
        reasons: vec!["A1: what it holds is <out> of date.".into()],
        facts: vec![("Holds", "62 to 74 %".into(), String::new())],
        matching: "64 mV a cell apart, 13:51; at most 50 mV".into(),
        unmatched,
        strings: vec![
            vec![("A1".into(), "/e/1/packs/1".into())],
            vec![("A2<i>".into(), "/e/1/packs/2".into())],
        ],
        parts: if together.is_ok() {
            vec![(
                "drive <Adder>".into(),
                "accepts it",
                "33.6 V when full leaves 16.4 V to its limit.".into(),
            )]
        } else {
            vec![]
        },
        together,
        keypad: Some("/e/1/sets/1/volts".into()),
        log: vec![],
        burning: None,
    };
    set::page(&frame(), &view)
}

fn labels() -> Markup {
    let view = Labels {
        back: "/e/1/packs".into(),
        labels: vec![Label {
            name: "A1<i>".into(),
            team: "Quayside <Shed>".into(),
            kind: "6 cells, 5000 mAh, lithium polymer".into(),
            charge: "charge with at most 10.0 A".into(),
            qr: draw_qr("https://hall.example/e/1/packs/1").unwrap(),
        }],
    };
    label::page(&frame(), &view)
}

/// A team's packs, none, which team; a pack, sound and suspect; a set that can be reckoned and one
/// that cannot; labels.
pub fn samples() -> Vec<(&'static str, Markup)> {
    let mut typed = Typed::default();
    typed
        .faults
        .insert("looks".into(), "Say what you see.".into());
    let given = vec![("Nominal", "28.8 V".into(), "33.6 V full".into())];
    let others = vec![("Tin <Shed>".into(), "/e/1/packs?team=2".into())];
    vec![
        ("packs", page(&frame(), &full())),
        ("packs-empty", page(&frame(), &team(vec![]))),
        ("packs-teams", page(&frame(), &team(others))),
        ("pack", one(Typed::default(), false)),
        ("pack-suspect", one(typed, true)),
        ("set", set(Ok(given), true)),
        (
            "set-unlike",
            set(
                Err(vec![
                    "Packs of different <chemistries> do not make a set.".into(),
                ]),
                false,
            ),
        ),
        ("pack-labels", labels()),
    ]
}
