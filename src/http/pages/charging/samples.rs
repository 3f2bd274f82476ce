//! The charging table as the page may have to show it.

use super::{Charging, Curve, ForBout, OnCharge, Start, page};
use crate::http::pages::parts::{
    fields::{Chip, Typed},
    lanes::{Bar, Lane, Plan, Progress},
};
use crate::http::pages::samples::{at, frame};
use maud::Markup;

fn empty(teams: Vec<(String, String)>) -> Charging {
    Charging {
        sub: "Quayside <Shed>, 0 of 2 channels in use".into(),
        back: Some("/e/1/packs".into()),
        action: Some("/e/1/charging".into()),
        team: "1".into(),
        rules: "Charging is in the area set apart for it; somebody of the team watches.".into(),
        running: vec![],
        bouts: vec![],
        lanes: None,
        curves: vec![],
        faults: vec!["The calculator <out> of words.".into()],
        people: vec![Chip::new("1", "Ana <A>"), Chip::new("2", "Ben")],
        who: "1".into(),
        teams,
        typed: Typed::default(),
        burning: None,
    }
}

fn running(set: &str, interrupted: bool) -> OnCharge {
    OnCharge {
        set: set.into(),
        label: format!("C<i>{set}"),
        href: "/e/1/sets/1".into(),
        on: "Channel <1>, since 14:02".into(),
        ready: "ready by 14:44, with a margin".into(),
        watch: "by Fay <A>, said 14:02".into(),
        must: "LiPo, 6 cells, at most 10.0 A a pack".into(),
        settings: "settings not read back by a second person".into(),
        to_read_back: true,
        interrupted,
    }
}

fn bar(name: &str, progress: Progress, from: i64, to: i64) -> Bar {
    Bar {
        name: name.into(),
        who: "for bout 19 <Heron>".into(),
        lanes: vec![0],
        start: at(from),
        end: at(to),
        eight_in_ten: None,
        progress,
        decides: false,
        mine: false,
    }
}

fn full() -> Charging {
    let mut typed = Typed::default();
    typed.values.insert("set".into(), "1".into());
    typed.values.insert("mah".into(), "3.2".into());
    typed
        .faults
        .insert("mah".into(), "3.2 mAh is next to nothing.".into());
    let late = ForBout {
        title: "Bout 24, Pewter <Finch>".into(),
        set: None,
        detail: "call 15:40; no set of this robot can serve".into(),
        ready: "none".into(),
        start: None,
    };
    let next = ForBout {
        title: "Bout 19, Brass <Heron>".into(),
        set: Some(("B<i>".into(), "/e/1/sets/2".into())),
        detail: "call 15:20; 6 min before it is to be fitted".into(),
        ready: "15:06".into(),
        start: Some(Start {
            set: "2".into(),
            channels: vec!["1".into(), "2".into()],
            on: "Channel 1 and <A>".into(),
            current_ma: 8_000,
        }),
    };
    Charging {
        running: vec![running("1", false), running("3", true)],
        bouts: vec![next, late],
        lanes: Some(Plan {
            from: at(-7),
            likely: None,
            call: None,
            lanes: vec![Lane {
                name: "Channel <1>".into(),
                note: "10 A, 300 W".into(),
            }],
            chain: vec![],
            moved: None,
            tasks: vec![
                bar("C1", Progress::Running, -7, 35),
                bar("B1 <Adder>", Progress::Planned, 36, 57),
            ],
        }),
        curves: vec![Curve {
            name: "Lead <1>".into(),
            rating: "13 A".into(),
            verdict: "Highest 11.2 A at 14:16: above what is planned with.".into(),
            over: true,
            limits: Some((13.0, 10.4)),
            all: vec![(at(0), 4.0), (at(36), 11.2), (at(57), 0.0)],
            running: vec![(at(0), 4.0), (at(35), 0.0)],
        }],
        faults: vec![],
        typed,
        ..empty(vec![])
    }
}

/// Charges under way, none, and which team.
pub fn samples() -> Vec<(&'static str, Markup)> {
    let others = vec![("Tin <Shed>".into(), "/e/1/charging?team=2".into())];
    vec![
        ("charging", page(&frame(), &full())),
        ("charging-empty", page(&frame(), &empty(vec![]))),
        ("charging-teams", page(&frame(), &empty(others))),
    ]
}
