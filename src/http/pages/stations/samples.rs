//! The stations with sample values.

use super::gas_bay::{Air, Bottle, Filling};
use super::work::{Gate, Scale, Work};
use super::{InHand, Inside, Join, Overview, Short, StationPage, Waiting, overview, page};
use crate::http::pages::bench::LogLine;
use crate::http::pages::parts::{fields::Chip, fields::Typed, signs::Sign, verdict::Verdict};
use crate::http::pages::samples::{at, frame};
use maud::Markup;

/// A robot in a queue.
pub fn waiting(place: usize, name: &str, own: bool) -> Waiting {
    Waiting {
        place,
        robot: place.to_string(),
        name: name.into(),
        bench: Some(7),
        state: "its bottle is there since 14:02".into(),
        starts: at(4),
        served: place == 1,
        next: false,
        own,
    }
}

fn station(name: &'static str, work: Work) -> StationPage {
    StationPage {
        name,
        sub: "2 there".into(),
        address: "/e/1/stations/gas_bay".into(),
        in_hand: vec![InHand {
            robot: "1".into(),
            name: "Pewter <Finch>".into(),
            bench: Some(14),
            state: "being served since 14:05".into(),
            served: true,
            work,
        }],
        queue: vec![
            waiting(1, "Pewter <Finch>", false),
            waiting(2, "Slate Otter", false),
        ],
        join: vec![],
        add: vec![Chip::new("9", "Brass <Heron>, bench 15")],
        serves: true,
        air: None,
        inside: vec![],
        results: vec![LogLine {
            at: at(-3),
            who: "Gil".into(),
            how: Some("did"),
            what: "Flint Magpie: bottle B2, 3900 g".into(),
            fate: None,
            put_right: Some("/e/1/lines/1".into()),
        }],
        typed: Typed::default(),
    }
}

/// Every keypad, the crew's side, and the list.
pub fn samples() -> Vec<(&'static str, Markup)> {
    let bottle = Bottle {
        id: "1".into(),
        label: "B1".into(),
        stop_at_g: Some(3950),
        detail: "empty 2950 g, tested 2024-05-01".into(),
        not_to_fill: vec!["The periodic <test> was due on 2026-03-14.".into()],
        shots_count: true,
    };
    let filling = || {
        Work::Bottle(Filling {
            bottles: vec![bottle.clone()],
            supplies: vec![Chip::new("1", "Cylinder <1>"), Chip::new("2", "Cylinder 2")],
        })
    };
    let air = Air {
        last: "700 ppm, Gil <A>, 14:02".into(),
        if_let_go: Some("The largest bottle would make it 12 000 ppm.".into()),
        action: Some("/e/1/stations/gas_bay/air".into()),
    };
    let mut bay = station("Gas bay", filling());
    bay.air = Some(air.clone());
    let gate = Gate {
        verdict: Verdict {
            sign: Sign::MadeSafe,
            reason: "oldest 3 min".into(),
            oldest: None,
            until: Some(at(5)),
            note: String::new(),
            look: None,
        },
        holder: "in Ben’s hand".into(),
        armed: false,
    };
    let mut scale = station(
        "Scale",
        Work::Scale(Scale {
            limit_g: 110_000,
            counts: "Made safe on the scale. Link counts, weapon bar does not.",
        }),
    );
    scale.typed.values.insert("robot".into(), "1".into());
    scale.typed.values.insert("mass".into(), "<41 °C>".into());
    scale.typed.faults.insert(
        "mass".into(),
        "Kilograms from 0 to 500, such as 109.4.".into(),
    );
    let mut test = station("Test area", Work::Test);
    test.inside = ["Pewter <Finch>", "Slate Otter"]
        .map(|name| Inside {
            name: name.into(),
            state: "link in, in since 14:05".into(),
            may_be_live: true,
        })
        .into();
    let mut crew = station("Gas bay", filling());
    crew.air = Some(air);
    crew.serves = false;
    crew.in_hand.clear();
    crew.add.clear();
    crew.results.clear();
    crew.queue.push(waiting(3, "Brass <Heron>", true));
    crew.join = vec![Join {
        robot: "9".into(),
        name: "Nickel <out>".into(),
        starts: at(12),
    }];
    let list = Overview {
        stations: vec![Short {
            name: "Gas bay",
            href: "/e/1/stations/gas_bay".into(),
            queue: "2 there".into(),
            own: vec!["Pewter <Finch>: place 2, about 14:20".into()],
        }],
    };
    vec![
        ("stations", overview(&frame(), &list)),
        ("gas-bay", page(&frame(), &bay)),
        ("scale", page(&frame(), &scale)),
        (
            "inspection",
            page(&frame(), &station("Inspection", Work::Inspection)),
        ),
        (
            "charging-table",
            page(
                &frame(),
                &station(
                    "Charging table",
                    Work::Charging(vec![Chip::new("1", "set <A>"), Chip::new("2", "set B")]),
                ),
            ),
        ),
        (
            "arena-gate",
            page(&frame(), &station("Arena gate", Work::Gate(Box::new(gate)))),
        ),
        ("test-area", page(&frame(), &test)),
        ("gas-bay-crew", page(&frame(), &crew)),
    ]
}
