//! Register pages, for looking at and for the test that renders every screen.

use super::card::{JoinCard, draw_qr, join_card};
use super::*;
use crate::http::pages::samples::frame;

fn tag(name: &str) -> Tag {
    Tag {
        name: name.into(),
        sub: "Ropewalk <Hall>".into(),
        bench: None,
        href: None,
    }
}

fn typed() -> Typed {
    let mut typed = Typed::default();
    typed.values.insert("bench".into(), "\"><script>".into());
    typed
        .faults
        .insert("bench".into(), "A whole number from 0 to 1000.".into());
    typed
}

fn fields() -> Vec<Field> {
    vec![
        Field::line("name", "Name", String::new()),
        Field::Line {
            name: "bench",
            label: "Bench",
            kind: "number",
            value: String::new(),
            hint: "As painted on the floor.".into(),
            unit: "",
            required: false,
        },
        Field::Chips {
            name: "machine",
            label: "Type of machine",
            value: "flipper_heavyweight".into(),
            hint: String::new(),
            options: vec![
                Chip::new("flipper_heavyweight", "Flipper"),
                Chip::new("spinner_heavyweight", "Spinner"),
            ],
        },
        Field::Choice {
            name: "driver",
            label: "Driver",
            value: String::new(),
            none: "nobody yet",
            hint: String::new(),
            options: vec![Chip::new("1", "Dee")],
        },
        Field::Lines {
            name: "emergency_text",
            label: "Emergency text",
            value: "First aid: by the stage".into(),
            hint: String::new(),
        },
    ]
}

/// The lists, a form that met another change, several at once, task lists and a card.
pub fn samples() -> Vec<(&'static str, Markup)> {
    vec![
        ("register", page(&frame(), &register())),
        (
            "register-form",
            form(
                &frame(),
                &Form {
                    tag: tag("Robot"),
                    back: "/e/1/register".into(),
                    action: "/e/1/register/robots/1".into(),
                    sections: vec![
                        Section {
                            title: "",
                            folded: false,
                            fields: fields(),
                        },
                        Section {
                            title: "More",
                            folded: true,
                            fields: vec![Field::line("code", "Its code reads", String::new())],
                        },
                    ],
                    revision: Some(7),
                    was: Some("{\"name\": \"<b>\"}".into()),
                    button: "Save",
                    note: "",
                    changed: vec!["Bench: 12, was 14".into()],
                    copies: vec![(
                        "Copy Heron".into(),
                        "/e/1/register/robots/new?from=1".into(),
                    )],
                    sources: &[("R4", "construction specifications")],
                    typed: typed(),
                },
            ),
        ),
        (
            "register-several",
            bulk::page(
                &frame(),
                &bulk::Several {
                    tag: tag("Several at once"),
                    back: "/e/1/register".into(),
                    action: "/e/1/register/several/packs".into(),
                    fields: fields(),
                    made: vec![("P1 <i>".into(), "4S, 5Ah".into())],
                    typed: Typed::default(),
                },
            ),
        ),
        (
            "register-tasks",
            library::page(
                &frame(),
                &library::Lists {
                    tag: tag("Tasks of flippers"),
                    versions: vec!["Version 1: Ana <b>, 14:02".into()],
                    lists: vec![(
                        "Turnaround",
                        vec![library::Task {
                            name: "Link out".into(),
                            minutes: "0.5, 1, 2 min".into(),
                            marks: vec!["safety"],
                            href: "/e/1/register/library/1/flipper_heavyweight/link_out".into(),
                        }],
                    )],
                },
            ),
        ),
        (
            "register-task",
            library::task_page(
                &frame(),
                &library::OneTask {
                    tag: tag("Link out"),
                    back: "/e/1/register".into(),
                    action: "/e/1/register/library/1/flipper_heavyweight/link_out".into(),
                    fields: fields(),
                    revision: Some(3),
                    safety: true,
                    typed: typed(),
                },
            ),
        ),
        (
            "join-card",
            join_card(
                &frame(),
                &JoinCard {
                    event: "Ropewalk Hall".into(),
                    of: "Quayside Shed".into(),
                    code: "K7Q-4F2".into(),
                    url: "https://192.168.1.20:8443/join".into(),
                    qr: draw_qr("https://192.168.1.20:8443/join/K7Q4F2").unwrap(),
                    back: "/e/1/register".into(),
                },
            ),
        ),
    ]
}

fn register() -> Register {
    Register {
        tag: tag("Register"),
        codes: "/e/1/register/codes".into(),
        lists: vec![List {
            title: "Teams",
            things: vec![(
                "Quayside Shed".into(),
                "2 robots".into(),
                "/e/1/register/teams/1".into(),
            )],
            retired: vec![("Old <Shed>".into(), "/e/1/register/teams/2".into())],
            more: vec![("Enter a team".into(), "/e/1/register/teams/new".into())],
            cards: vec![("Crew card, Quayside Shed".into(), "crew".into(), "1".into())],
        }],
    }
}
