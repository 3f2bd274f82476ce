//! The database as the last line: every rule of a table is known to the code, which refuses the
//! same in words of its own or keeps to it by itself.

use crate::harness::database::TestDatabase;
use linkout::app::{AppError, KEPT};
use linkout::calc::units::{Name, Word};
use linkout::pit::logbook::Kind;
use linkout::store::{StoreError, photos};
use serde_json::Value;
use std::collections::BTreeSet;

/// A rule of a table, with the database's own words for it.
struct Rule {
    name: String,
    is_check: bool,
    text: String,
}

/// Every constraint of our own tables, and every unique index that is none.
async fn rules() -> Vec<Rule> {
    let database = TestDatabase::new().await;
    let rows = database
        .client()
        .await
        .query(
            "SELECT conname::text, contype = 'c', pg_get_constraintdef(oid)
             FROM pg_constraint
             WHERE connamespace = 'public'::regnamespace AND contype IN ('c', 'f', 'p', 'u', 'x')
               AND conrelid::regclass::text <> '__diesel_schema_migrations'
             UNION ALL
             SELECT i.indexrelid::regclass::text, false, pg_get_indexdef(i.indexrelid)
             FROM pg_index i JOIN pg_class c ON c.oid = i.indexrelid
             WHERE i.indisunique AND c.relnamespace = 'public'::regnamespace
               AND NOT EXISTS (SELECT FROM pg_constraint k WHERE k.conindid = i.indexrelid)
             ORDER BY 1",
            &[],
        )
        .await
        .unwrap();
    assert!(rows.len() > 180, "{}", rows.len());
    rows.iter()
        .map(|row| Rule {
            name: row.get(0),
            is_check: row.get(1),
            text: row.get(2),
        })
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_table_refuses_is_told_in_words_or_never_tried() {
    let rules = rules().await;
    for rule in &rules {
        let name = &rule.name;
        // A row always stands under the event whose logbook is written.
        let is_kept = name.ends_with("_event_fk") || KEPT.iter().any(|(kept, _)| kept == name);
        let refusal = AppError::from(StoreError::Refused {
            constraint: name.clone(),
            cause: diesel::result::Error::NotFound,
        });
        match refusal {
            AppError::Bug(_) => assert!(
                is_kept,
                "{name} has no words in src/app/refusals.rs, and stands in no list with a reason"
            ),
            AppError::Refused(_) | AppError::Conflict { .. } => assert!(!is_kept, "{name}"),
            other => panic!("{name}: {other:?}"),
        }
    }
    for (kept, reason) in KEPT {
        assert!(
            rules.iter().any(|rule| rule.name == *kept),
            "{kept} is no longer a rule: {reason}"
        );
    }
}

/// Shortest and longest text, by the end of the rule's name, as the code has them.
fn lengths() -> Vec<(&'static str, usize, usize)> {
    let login = &form("SignInForm")["properties"]["login"]["maxLength"];
    let login = usize::try_from(login.as_u64().unwrap()).unwrap();
    let names = ["name", "label", "hall", "configuration", "place"];
    let mut lengths: Vec<_> = names
        .into_iter()
        .map(|text| (text, Name::MIN, Name::MAX))
        .collect();
    lengths.extend([
        ("packs_code", Word::MIN, Word::MAX),
        ("part_types_repair", Word::MIN, Word::MAX),
        ("accounts_login", 1, login),
        // SHA-256.
        ("_hash", 32, 32),
        // What the service takes is of a list, whose names are short enough: below.
        ("event_details_time_zone", 1, 60),
        ("lines_kind", 1, 40),
        ("photos_jpeg", 1, photos::MOST_BYTES),
    ]);
    lengths
}

/// Words that a column takes, by the end of the rule's name, and the form that names the same.
const WORDS: &[(&str, &str)] = &[
    ("_machine", "Machine"),
    ("_gas", "GasOf"),
    ("_wall", "GasWall"),
    ("_chemistry", "Chemistry"),
    ("circuits_kind", "SupplyKind"),
    ("_role", "Role"),
    ("_as", "Role"),
    ("_how", "How"),
];

/// Rules that compare columns or look into one, and what in the code says the same.
const OTHERS: &[(&str, &str)] = &[
    ("accounts_login_lower", "lowered before it is kept"),
    ("bouts_first_one", "a slot is one of three in its form"),
    (
        "bouts_not_after_itself",
        "refused by the door, with its pointer",
    ),
    ("bouts_second_one", "a slot is one of three in its form"),
    ("bouts_two_robots", "refused by the door, with its pointer"),
    ("calendars_of_one", "a feed is made for one thing"),
    (
        "circuits_not_fed_by_itself",
        "refused by the door, with its pointer",
    ),
    ("event_details_currency_form", "three letters, made capital"),
    (
        "event_details_days_in_order",
        "refused by the door, with its pointer",
    ),
    ("events_last_seq_from", "counted by the writer"),
    (
        "join_codes_uses_left_from",
        "counted down while some are left",
    ),
    (
        "lines_at_not_ahead",
        "a time is put right before it is kept",
    ),
    ("lines_body_object", "a body is read as an object"),
    ("lines_seq_from", "counted by the writer"),
    ("lines_subject_form", "a subject is read and written anew"),
    ("lines_version_from", "the version of a kind of line"),
    ("sessions_belong", "opened for an event or an account"),
];

fn form(name: &str) -> Value {
    let document = serde_json::to_value(linkout::http::server::openapi()).unwrap();
    document["components"]["schemas"][name].clone()
}

fn quoted(text: &str) -> BTreeSet<String> {
    text.split('\'')
        .skip(1)
        .step_by(2)
        .map(str::to_owned)
        .collect()
}

fn numbers(text: &str) -> Vec<usize> {
    text.split(|c: char| !c.is_ascii_digit())
        .filter_map(|digits| digits.parse().ok())
        .collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_column_takes_is_what_the_code_takes() {
    let lengths = lengths();
    let mut others: BTreeSet<&str> = OTHERS.iter().map(|(name, _)| *name).collect();
    for rule in rules().await.iter().filter(|rule| rule.is_check) {
        let (name, text) = (&rule.name, &rule.text);
        // Bounds of quantities are compared in the tests of the tables.
        if name.ends_with("_between") || others.remove(name.as_str()) {
            continue;
        }
        if let Some(about) = name.strip_suffix("_known") {
            let known = WORDS.iter().find(|(end, _)| about.ends_with(end));
            let (_, form_name) = known.unwrap_or_else(|| panic!("{name} stands for no words"));
            let words = form(form_name)["enum"].clone();
            let words: BTreeSet<String> = serde_json::from_value(words).unwrap();
            assert_eq!(quoted(text), words, "{name}");
            continue;
        }
        let about = name
            .strip_suffix("_length")
            .or_else(|| name.strip_suffix("_size"))
            .unwrap_or_else(|| panic!("{name} is compared with nothing: {text}"));
        let known = lengths.iter().find(|(end, _, _)| about.ends_with(end));
        let (_, least, most) = known.unwrap_or_else(|| panic!("{name} stands for no length"));
        let mut ends = numbers(text);
        ends.dedup();
        let mut expected = vec![*least, *most];
        expected.dedup();
        assert_eq!(ends, expected, "{name}: {text}");
    }
    assert!(others.is_empty(), "no longer rules: {others:?}");
}

#[test]
fn names_from_lists_fit_their_columns() {
    for zone in chrono_tz::TZ_VARIANTS {
        assert!((1..=60).contains(&zone.name().len()), "{zone}");
    }
    for kind in Kind::ALL {
        assert!((1..=40).contains(&kind.name().len()), "{}", kind.name());
    }
}
