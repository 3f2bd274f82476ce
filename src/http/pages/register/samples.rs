//! Register pages, for looking at and for the test that renders every screen.

use super::*;
use crate::http::pages::samples::frame;

/// The list, a form and a card.
pub fn samples() -> Vec<(&'static str, Markup)> {
    let tag = |name: &str| Tag {
        name: name.into(),
        sub: "Ropewalk <Hall>".into(),
        bench: None,
        href: None,
    };
    let mut typed = Typed::default();
    typed.values.insert("bench".into(), "\"><script>".into());
    typed
        .faults
        .insert("bench".into(), "A whole number from 0 to 1000.".into());
    vec![
        (
            "register",
            page(
                &frame(),
                &Register {
                    tag: tag("Register"),
                    codes: "/e/1/register/codes".into(),
                    lists: vec![List {
                        title: "Teams",
                        things: vec![(
                            "Quayside Shed".into(),
                            "2 robots".into(),
                            "/e/1/register/teams/1".into(),
                        )],
                        more: ("Enter a team", "/e/1/register/teams/new".into()),
                        cards: vec![("Crew card, Quayside Shed".into(), "crew".into(), "1".into())],
                    }],
                },
            ),
        ),
        (
            "register-form",
            form(
                &frame(),
                &Form {
                    tag: tag("Robot"),
                    back: "/e/1/register".into(),
                    action: "/e/1/register/robots/new".into(),
                    fields: vec![
                        Field::Line {
                            name: "name",
                            label: "Name",
                            kind: "text",
                            value: String::new(),
                            hint: "",
                            required: true,
                        },
                        Field::Line {
                            name: "bench",
                            label: "Bench",
                            kind: "number",
                            value: String::new(),
                            hint: "",
                            required: false,
                        },
                        Field::Chips {
                            name: "machine",
                            label: "Type of machine",
                            value: "flipper_heavyweight".into(),
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
                            options: vec![Chip::new("1", "Dee")],
                        },
                        Field::Lines {
                            name: "emergency_text",
                            label: "Emergency text",
                            value: "First aid: by the stage".into(),
                        },
                    ],
                    revision: Some(7),
                    button: "Enter it",
                    note: "",
                    typed,
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
