//! The bench in its states, for looking at and for the test that renders every screen.

use super::*;
use crate::http::pages::{
    parts::{
        banner::{Banner, Loudness},
        call::Answer,
        energy::{Looked, SeenBy, SourceRow},
        fields::Typed,
        lanes::{Bar, Lane, Link, News, Progress},
        next::Finish,
        sheet::SheetRow,
        signs::{Forecast, Sign},
    },
    samples::{at, frame as sample_frame},
    stations::samples::waiting,
};

/// Every state of the page.
pub fn samples() -> Vec<(&'static str, Markup)> {
    vec![
        ("bench", page(&sample_frame(), &made_safe())),
        ("bench-unproved", unproved()),
        ("bench-standing", standing()),
        ("bench-live", live()),
        ("bench-arena", arena()),
        ("bench-quiet", quiet()),
    ]
}

fn source(state: &str, detail: &str, who: &str, minutes_ago: i64) -> SourceRow {
    SourceRow {
        sign: Sign::MadeSafe,
        state: state.into(),
        detail: detail.into(),
        by: Some(SeenBy {
            saw: who != "Ana",
            name: who.into(),
            at: at(-minutes_ago),
        }),
        until: Some(at(30 - minutes_ago)),
    }
}

fn bar(
    name: &str,
    who: &str,
    lanes: &[usize],
    from: i64,
    to: i64,
    progress: Progress,
    decides: bool,
) -> Bar {
    Bar {
        name: name.into(),
        who: who.into(),
        lanes: lanes.to_vec(),
        start: at(from),
        end: at(to),
        eight_in_ten: Some(at(to + 3)),
        progress,
        decides,
        mine: who == "Ana",
    }
}

fn plan() -> Plan {
    let lane = |name: &str, note: &str| Lane {
        name: name.into(),
        note: note.into(),
    };
    Plan {
        chain: vec![
            Link {
                number: Some(1),
                name: "Gas-bay <queue>".into(),
                waits: "begins at once".into(),
            },
            Link {
                number: None,
                name: "Fill bottle of Brass Heron".into(),
                waits: "once the gas bay is free".into(),
            },
        ],
        moved: Some(News {
            at: at(-2),
            what: vec!["Likely ready 14:30, was 14:26".into()],
            because: "Ben saw drive noise.".into(),
        }),
        from: at(-9),
        likely: Some(at(21)),
        call: Some(at(31)),
        lanes: vec![
            lane("Ana", "electrics, you"),
            lane("Ben", "mechanic, link holder"),
            lane("Cal", "pneumatics"),
            lane("Dee", "driver"),
            lane("Charging table", "set B"),
            lane("Gas bay", "two bottles ahead"),
        ],
        tasks: vec![
            bar("Packs out", "Ana", &[0], -9, -5, Progress::Done, false),
            bar(
                "Fit set A, strap, check volts",
                "Ana",
                &[0],
                -1,
                3,
                Progress::Running,
                false,
            ),
            bar(
                "Swap wheel, left rear",
                "Ben",
                &[1],
                -5,
                4,
                Progress::Running,
                false,
            ),
            bar(
                "Pneumatic inspection",
                "Cal",
                &[2],
                -6,
                1,
                Progress::Running,
                false,
            ),
            bar(
                "Gas-bay queue",
                "Dee",
                &[3, 5],
                -5,
                3,
                Progress::Running,
                true,
            ),
            bar(
                "Fill bottle 3 by weight",
                "Cal",
                &[2, 5],
                3,
                7,
                Progress::Planned,
                true,
            ),
            bar(
                "Close up, count tools",
                "Ben",
                &[1],
                11,
                15,
                Progress::Planned,
                true,
            ),
            bar(
                "To the arena queue",
                "Ben, Cal, Dee",
                &[1, 2, 3],
                17,
                21,
                Progress::Planned,
                true,
            ),
            bar("Charge set B", "Fay", &[4], 7, 40, Progress::Planned, false),
        ],
    }
}

/// All well, half-way through a turnaround.
pub fn made_safe() -> Bench {
    let base = "/e/1/robots/1";
    Bench {
        tag: Tag {
            name: "Pewter Finch".into(),
            sub: "v Copper Newt, bout 17".into(),
            bench: Some(14),
            href: Some("/e/1/team".into()),
        },
        verdict: Verdict {
            sign: Sign::MadeSafe,
            reason: "All five sources seen isolated, by Ben and Ana. Oldest 12 min.".into(),
            oldest: Some(at(-12)),
            until: Some(at(18)),
            note: String::new(),
            look: Some(format!("{base}/look")),
        },
        call: Call {
            label: "Call, bout 17".into(),
            at: Some(at(31)),
            forecast: Forecast::OnCourse,
            odds_percent: Some(96),
            likely: Some(at(21)),
            eight_in_ten: Some(at(24)),
            facts: vec![],
            basis: "Reported 1 min ago".into(),
            answer: Answer::NotAsked,
        },
        next: Some(NextTask {
            name: "Fit set A, strap, check volts".into(),
            task: "fl-packs_in".into(),
            instance: None,
            since: Some(at(-1)),
            minutes: Some(4),
            needs: "Needs link out, gas zero, bar on".into(),
            then: "count tools with Ben".into(),
            starts: None,
            how: Finish::Tap(format!("{base}/tasks")),
        }),
        standing: None,
        first: None,
        report: Some(Offer {
            label: "Bottle back in".into(),
            href: format!("{base}/report/bottle_back"),
        }),
        reports: format!("{base}/report"),
        energy: Energy {
            limit: "limit 30 min on the bench".into(),
            rows: vec![
                source("Link out", "in Ben’s hand", "Ben", 4),
                source("Gas at zero", "bottle 3 out", "Ben", 4),
                source("Weapon bar on", "pinned", "Ben", 4),
                source("Transmitter off", "with Dee", "Ben", 4),
                source("Power light dark", "", "Ana", 12),
            ],
            looked: Some(Looked {
                action: format!("{base}/looked"),
                asserts: "link out in Ben’s hand, gas at zero, weapon bar on, transmitter off with Dee, power light dark".into(),
                fields: vec![("link", "out".into()), ("system", "zero".into())],
            }),
        },
        plan: Some(plan()),
        gas: vec![crate::http::pages::gas::at_bench::AtBench {
            label: "B<1>".into(),
            href: "/e/1/gas/1".into(),
            shots: "14 to 22 shots".into(),
            detail: "Enough for the bout; in the machine".into(),
            keypad: "/e/1/bottles/1/mass".into(),
        }],
        stations: vec![
            AtBench {
                name: "Gas bay",
                href: "/e/1/stations/gas_bay".into(),
                robot: "1".into(),
                waits: Some(waiting(2, "Pewter <Finch>", true)),
                free_at: at(12),
            },
            AtBench {
                name: "Scale",
                href: "/e/1/stations/scale".into(),
                robot: "1".into(),
                waits: None,
                free_at: at(4),
            },
        ],
        duties: Duties {
            action: "/e/1/robots/14/duty".into(),
            duties: Vec::new(),
            people: Vec::new(),
        },
        clearance: None,
        hazards: (
            "/e/1/robots/1/hazards".into(),
            vec![crate::http::pages::hazards::samples::warn()],
        ),
        before_arming: vec![OpenPoint {
            title: "Link plan not read back by Ana".into(),
            why: "version 4, changed after bout 9".into(),
            href: Some(format!("{base}/plan")),
        }],
        helps_not: None,
        help: vec![Gain {
            title: "Gas bay free now".into(),
            detail: "Ask the steward to take bottle 3 next".into(),
            gain: "4 min sooner".into(),
            odds: "99 % by the call".into(),
        }],
        leave_out: vec![Optional {
            task: "fl-tyre".into(),
            instance: Some("wheel_fr".into()),
            name: "Turn the worn tyre, right front".into(),
            detail: "Ben, 3 min".into(),
        }],
        tasks: format!("{base}/tasks"),
        log: vec![
            LogLine { at: at(-2), who: "Dee".into(), how: Some("saw"), what: "two ahead, gas bay".into(), fate: None, put_right: Some("/e/1/lines/1".into()) },
            LogLine { at: at(-4), who: "Ben".into(), how: Some("saw"), what: "link, gas, bar, transmitter".into(), fate: None, put_right: Some("/e/1/lines/2".into()) },
            LogLine { at: at(-5), who: "Ana".into(), how: Some("did"), what: "packs B1, B2 out; <41 °C>".into(), fate: Some("withdrawn"), put_right: None },
        ],
        more: vec![
            ("Damage", format!("{base}/damage")),
            ("Link plan", format!("{base}/plan")),
            ("Logbook", "/e/1/logbook?robot=1".into()),
        ],
    }
}

/// Somebody is asked to look as the second person.
fn standing() -> Markup {
    let mut bench = made_safe();
    let row = |id: &str, text: &str| SheetRow {
        id: id.into(),
        text: text.into(),
        detail: String::new(),
        no_opposite: false,
    };
    let sheet = Sheet {
        also: None,
        action: "/e/1/robots/1/report/second_look".into(),
        people: vec![],
        who: "1".into(),
        rows: vec![
            row("second_bar", "Weapon bar on"),
            row("second_link", "Link out, in the holder’s hand"),
            row("second_gas", "Gauge at zero, bottle shut"),
        ],
        holder: None,
        hidden: vec![("fill.second_link.{standing}".into(), "\"box\"".into())],
        warning: None,
        numbers: vec![],
        button: "I saw all of these".into(),
        effect: String::new(),
        typed: Typed::default(),
    };
    bench.standing = Some((
        "Second look".into(),
        "/e/1/robots/1/report/second_look".into(),
        sheet,
    ));
    page(&sample_frame(), &bench)
}

fn unproved() -> Markup {
    let mut bench = made_safe();
    let mut frame = sample_frame();
    frame.banners = vec![
        Banner {
            loudness: Loudness::Hold,
            title: "Hold. Hands out, one goes and looks.".into(),
            text: String::new(),
            href: "#main".into(),
            actions: vec![],
            joins_verdict: true,
        },
        Banner {
            loudness: Loudness::Must,
            title: "Answer the call".into(),
            text: "Bout 17 in 9 min: coming, or need more".into(),
            href: "/e/1/robots/1/call".into(),
            actions: vec![],
            joins_verdict: false,
        },
        Banner {
            loudness: Loudness::Note,
            title: "A third".into(),
            text: String::new(),
            href: "#main".into(),
            actions: vec![],
            joins_verdict: false,
        },
    ];
    bench.verdict = Verdict {
        sign: Sign::Unproved,
        reason: "Gas last seen 31 min ago, by Ben. Treat as live.".into(),
        oldest: Some(at(-31)),
        until: None,
        note: "four others seen, 9 min ago".into(),
        look: Some("/e/1/robots/1/look".into()),
    };
    bench.call = Call {
        at: Some(at(9)),
        forecast: Forecast::Tight,
        odds_percent: Some(71),
        likely: Some(at(6)),
        eight_in_ten: Some(at(10)),
        basis: "Held by 11 Refit bottle, Cal. Reported 2 min ago".into(),
        answer: Answer::Asked("/e/1/robots/1/call".into()),
        ..bench.call
    };
    bench.energy.rows[1].sign = Sign::Unproved;
    bench.energy.rows[1].detail = "too old".into();
    bench.leave_out.clear();
    page(&frame, &bench)
}

fn live() -> Markup {
    let mut bench = made_safe();
    let mut frame = sample_frame();
    frame.banners = vec![Banner {
        loudness: Loudness::StopNow,
        title: "Stop now. Hands out.".into(),
        text: "Link in while Ana and Ben have hands in the machine.".into(),
        href: "#main".into(),
        actions: vec![],
        joins_verdict: true,
    }];
    bench.verdict = Verdict {
        sign: Sign::Live,
        reason: "Link in. Ruth, marshal, saw it just now. Stay out of the arm’s arc.".into(),
        oldest: None,
        until: None,
        note: "till two people have seen it made safe".into(),
        look: Some("/e/1/robots/1/look".into()),
    };
    bench.first = Some(FirstSteps {
        steps: vec![
            "Hands out, all back from the weapon".into(),
            "Link out, into Ben’s hand".into(),
            "Prove zero again: meter, gauge, bar".into(),
        ],
        action: "/e/1/robots/1/hazards".into(),
        rule: "H01".into(),
        tells: "Ruth, Ben, Cal and Dee".into(),
    });
    bench.call.forecast = Forecast::OnHold;
    bench.call.likely = None;
    bench.call.odds_percent = None;
    bench.call.eight_in_ten = None;
    bench.call.facts = vec![
        ("Until", "made safe again".into()),
        ("Then", "14:38, 84 %".into()),
    ];
    bench.energy.rows[0].sign = Sign::Live;
    bench.energy.rows[0].state = "Link in".into();
    bench.energy.looked = None;
    page(&frame, &bench)
}

fn arena() -> Markup {
    let mut bench = made_safe();
    bench.verdict = Verdict {
        sign: Sign::InArena,
        reason: "Bout 17 since 14:53. Armed by Ben at 14:51. Nothing goes stale.".into(),
        oldest: None,
        until: None,
        note: "door shut, nobody inside, said by Ruth".into(),
        look: None,
    };
    bench.call.label = "Next call, bout 24".into();
    bench.call.facts = vec![
        ("If won", "15:10, 99 %".into()),
        ("If lost", "14:40, 93 %".into()),
    ];
    for row in &mut bench.energy.rows {
        row.sign = Sign::InArena;
        row.until = None;
    }
    bench.energy.looked = None;
    bench.plan = None;
    page(&sample_frame(), &bench)
}

/// A robot of which nothing is known yet.
fn quiet() -> Markup {
    let mut bench = made_safe();
    bench.verdict = Verdict {
        sign: Sign::Unproved,
        reason: "Nobody has looked yet. Treat as live.".into(),
        oldest: None,
        until: None,
        note: String::new(),
        look: Some("/e/1/robots/1/look".into()),
    };
    bench.call.at = None;
    bench.call.likely = None;
    bench.call.eight_in_ten = None;
    bench.call.odds_percent = None;
    bench.call.forecast = Forecast::NoWord;
    bench.next = None;
    bench.report = None;
    bench.plan = Some(Plan {
        tasks: vec![],
        ..plan()
    });
    bench.log.clear();
    bench.energy.rows.iter_mut().for_each(|row| {
        row.sign = Sign::Unproved;
        row.by = None;
        row.until = None;
    });
    bench.energy.looked = None;
    page(&sample_frame(), &bench)
}
