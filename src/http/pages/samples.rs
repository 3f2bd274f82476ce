//! Every screen rendered with sample values, and what must hold for each of them.

use super::parts::{
    clock::Clock,
    frame::{Emergency, Frame, Keys, Me, Stream, Tab},
};
use crate::pit::ids::LineId;
use chrono::{DateTime, TimeDelta, Utc};
use maud::Markup;
use uuid::Uuid;

/// The moment of all samples plus `minutes`.
pub fn at(minutes: i64) -> DateTime<Utc> {
    "2026-11-28T14:09:00Z".parse::<DateTime<Utc>>().unwrap() + TimeDelta::minutes(minutes)
}

/// A crew member's frame.
pub fn frame() -> Frame {
    Frame {
        clock: Clock {
            now: at(0),
            zone: chrono_tz::Europe::London,
        },
        base: "/e/1".into(),
        me: Some(Me {
            id: "1".into(),
            name: "Ana".into(),
        }),
        stream: Some(Stream {
            url: "/stream".into(),
            seq: 41,
        }),
        emergency: Emergency {
            action: Some("/e/1/robots/1/danger".into()),
            about: "Pewter Finch, bench 14, from Ana".into(),
            text: vec![
                "Fire lead: door 3".into(),
                "First aid: by the stage".into(),
                "112 or 999: Ropewalk Hall, gate B".into(),
            ],
            answer: None,
        },
        banners: vec![],
        tabs: vec![
            Tab {
                label: "Bench",
                href: "/e/1/robots/1".into(),
                current: true,
            },
            Tab {
                label: "Team",
                href: "/e/1/team".into(),
                current: false,
            },
            Tab {
                label: "Logbook",
                href: "/e/1/logbook".into(),
                current: false,
            },
        ],
        keys: Keys::new(LineId(Uuid::from_u128(
            0x0197_0000_0000_7000_8000_0000_0000_0000,
        ))),
    }
}

/// The frame before joining.
pub fn outside_frame() -> Frame {
    Frame {
        base: String::new(),
        me: None,
        stream: None,
        emergency: Emergency::default(),
        tabs: vec![],
        ..frame()
    }
}

/// An organiser's frame.
pub fn desk_frame() -> Frame {
    frame()
}

fn all() -> Vec<(&'static str, Markup)> {
    [
        super::bench::samples::samples(),
        super::announcements::samples(),
        super::board::samples(),
        super::spares::samples(),
        super::spares::part::samples(),
        super::spares::packing::samples(),
        super::spares::lists::samples(),
        super::spares::csv::samples(),
        super::bout::samples(),
        super::bout_list::samples(),
        super::calendars::samples(),
        super::charging::samples::samples(),
        super::clearance::samples(),
        super::danger::samples(),
        super::durations::samples(),
        super::duties::samples(),
        super::gas::samples(),
        super::hazards::samples::samples(),
        super::join::samples(),
        super::keypad::samples(),
        super::link_plan::samples::samples(),
        super::logbook::samples(),
        super::marshal::samples(),
        super::packs::samples::samples(),
        super::photos::samples(),
        super::postpone::samples(),
        super::problem::samples(),
        super::register::samples::samples(),
        super::report::samples::samples(),
        super::stations::samples::samples(),
        super::team::samples(),
        super::wall::samples(),
    ]
    .concat()
}

mod tests {
    use super::*;

    /// The tags of `html` named `name`, each with its attributes.
    fn tags<'a>(html: &'a str, name: &str) -> Vec<&'a str> {
        let open = format!("<{name}");
        html.match_indices(&open)
            .map(|(from, _)| &html[from..])
            .filter(|rest| rest[open.len()..].starts_with([' ', '>']))
            .map(|rest| &rest[..=rest.find('>').unwrap()])
            .collect()
    }

    fn attribute<'a>(tag: &'a str, name: &str) -> Option<&'a str> {
        let from = tag.find(&format!(" {name}=\""))? + name.len() + 3;
        tag[from..].split('"').next()
    }

    fn has_class(tag: &str, wanted: &[&str]) -> bool {
        attribute(tag, "class")
            .is_some_and(|class| class.split(' ').any(|one| wanted.contains(&one)))
    }

    #[test]
    fn what_people_typed_is_never_markup() {
        for (name, page) in all() {
            let html = page.into_string();
            // Samples carry angle brackets in names, reasons and typed values.
            for typed in [
                "<41 °C>",
                "<i>",
                "<Adder>",
                "<Heron>",
                "<Shed>",
                "<Finch>",
                "<out>",
                "<robot>",
                "<A>",
                "<Hall>",
                "\"><script>",
            ] {
                assert!(!html.contains(typed), "{name} lets {typed} through");
            }
        }
    }

    #[test]
    fn nothing_is_styled_or_scripted_in_the_markup() {
        for (name, page) in all() {
            let html = page.into_string();
            assert!(!html.contains(" style="), "{name} has a style attribute");
            assert!(!html.contains("<style"), "{name} has a style element");
            assert!(!html.contains("javascript:"), "{name} has a script address");
            for tag in tags(&html, "script") {
                assert!(
                    attribute(tag, "src").is_some(),
                    "{name} has an inline script"
                );
            }
            for event in [
                " onclick=",
                " onload=",
                " onsubmit=",
                " onerror=",
                " onchange=",
            ] {
                assert!(!html.contains(event), "{name} has{event}");
            }
        }
    }

    #[test]
    fn every_form_that_writes_carries_its_line_ids() {
        let mut forms = 0;
        for (name, page) in all() {
            let html = page.into_string();
            for (from, _) in html.match_indices("<form") {
                let form = &html[from..from + html[from..].find("</form>").unwrap()];
                if !form.contains("method=\"post\"") {
                    continue;
                }
                forms += 1;
                assert!(form.contains("name=\"key\""), "{name}: {form}");
                assert!(form.contains("<button"), "{name}: a form without a button");
            }
            let mut keys: Vec<_> = html
                .split("name=\"key\" value=\"")
                .skip(1)
                .map(|rest| &rest[..36])
                .collect();
            let given = keys.len();
            keys.sort_unstable();
            keys.dedup();
            assert_eq!(keys.len(), given, "{name}: two forms share their line ids");
        }
        assert!(forms > 50, "only {forms} forms were looked at");
    }

    #[test]
    fn every_button_and_link_is_large_enough_to_tap() {
        // Classes whose least height is 48 px or more in the style sheets.
        let large = [
            "btn",
            "emergency",
            "tag",
            "me",
            "banner",
            "skip",
            "rname",
            "reasons",
        ];
        for (name, page) in all() {
            let html = page.into_string();
            for tag in tags(&html, "button")
                .into_iter()
                .chain(tags(&html, "summary"))
            {
                assert!(has_class(tag, &large), "{name}: {tag}");
            }
            for tag in tags(&html, "a") {
                // Tabs and headings that are links take their height from where they stand.
                let by_place = html.contains(&format!("<h2>{tag}"))
                    || attribute(tag, "class").is_none() && html.contains("class=\"dock\"");
                assert!(has_class(tag, &large) || by_place, "{name}: {tag}");
            }
        }
    }

    #[test]
    fn every_field_has_a_label_and_every_drawing_a_word() {
        for (name, page) in all() {
            let html = page.into_string();
            for kind in ["input", "select", "textarea"] {
                for tag in tags(&html, kind) {
                    if matches!(
                        attribute(tag, "type"),
                        Some("hidden" | "radio" | "checkbox")
                    ) {
                        continue;
                    }
                    let id =
                        attribute(tag, "id").unwrap_or_else(|| panic!("{name}: {tag} has no id"));
                    assert!(
                        html.contains(&format!("<label for=\"{id}\"")),
                        "{name}: nothing labels {id}"
                    );
                }
            }
            for tag in tags(&html, "svg") {
                let named = tag.contains("aria-label=\"") || tag.contains("aria-hidden=\"true\"");
                let qr = tag.contains("shape-rendering");
                assert!(named || qr, "{name}: {tag}");
            }
            assert!(html.contains("<html lang="), "{name}");
            assert_eq!(
                html.matches("<h1").count(),
                1,
                "{name} has one first heading"
            );
        }
    }

    #[test]
    fn every_page_leads_to_the_emergency_panel() {
        for (name, page) in all() {
            let html = page.into_string();
            assert!(
                html.contains("id=\"emergency\"") && html.contains("Shout. Get away."),
                "{name}"
            );
            let shown_not_used = ["wall", "wall-stop", "link-card", "join-card"];
            assert!(
                html.contains("href=\"#emergency\"") || shown_not_used.contains(&name),
                "{name}"
            );
        }
    }

    #[test]
    fn ids_within_a_page_are_its_own() {
        for (name, page) in all() {
            let html = page.into_string();
            let mut ids: Vec<_> = html
                .split(" id=\"")
                .skip(1)
                .map(|rest| rest.split('"').next().unwrap())
                .collect();
            let all = ids.len();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), all, "{name} uses an id twice: {ids:?}");
        }
    }

    /// With `LINKOUT_SAMPLES` naming a folder, the pages are written there to be looked at.
    #[test]
    fn samples_have_names_of_their_own() {
        let pages = all();
        let mut names: Vec<_> = pages.iter().map(|(name, _)| *name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), pages.len());
        if let Ok(folder) = std::env::var("LINKOUT_SAMPLES") {
            let assets = crate::http::assets::url("");
            for (name, page) in pages {
                let html = page.into_string().replace(&assets, "assets/");
                std::fs::write(format!("{folder}/{name}.html"), html).unwrap();
            }
        }
    }
}
