//! What is the same everywhere in the API: walks every path and every form of the published
//! document, so that whatever is added keeps to it.

use crate::harness::client::Client;
use crate::harness::hall::Hall;
use serde_json::Value;
use std::collections::BTreeSet;

fn document() -> Value {
    serde_json::to_value(linkout::http::server::openapi()).unwrap()
}

/// An address of a path: ids of the hall's own things, and one that nothing has for nouns that the
/// hall knows nothing of.
pub fn filled(hall: &Hall, path: &str) -> String {
    let own = hall.own;
    let mut filled = path.replace("{event}", &hall.event);
    while let Some((before, rest)) = filled.split_once('{') {
        let (noun, after) = rest.split_once('}').unwrap();
        let id = match noun {
            "team" => own.team,
            "person" => own.person,
            "robot" => own.robot,
            "pack" => own.pack,
            "set" => own.set,
            "channel" => own.channel,
            "bottle" => own.bottle,
            "charger" => own.charger,
            "circuit" => own.circuit,
            "supply" => own.supply,
            "part_type" => own.part_type,
            "bout" => hall.bout,
            _ => uuid::Uuid::from_u128(7 << 76 | 2 << 62),
        };
        filled = format!("{before}{id}{after}");
    }
    filled
}

#[tokio::test(flavor = "multi_thread")]
async fn every_path_says_which_methods_it_takes() {
    let hall = Hall::open().await;
    let account = hall.who("account");
    for (path, item) in document()["paths"].as_object().unwrap() {
        let mut expected: BTreeSet<String> = item
            .as_object()
            .unwrap()
            .iter()
            .filter(|(_, operation)| operation.get("responses").is_some())
            .map(|(method, _)| method.to_uppercase())
            .collect();
        if expected.contains("GET") {
            expected.insert("HEAD".to_owned());
        }
        expected.insert("OPTIONS".to_owned());
        let address = filled(&hall, path);
        let allow =
            |header: &str| -> BTreeSet<String> { header.split(", ").map(str::to_owned).collect() };
        // Nobody has to be signed in to be told.
        let options = hall
            .who("nobody")
            .ask("OPTIONS", &address)
            .await
            .expect(204);
        assert_eq!(allow(options.header("allow")), expected, "{path}");
        for method in ["DELETE", "GET", "PATCH", "POST", "PUT", "TRACE", "PROPFIND"] {
            if expected.contains(method) {
                continue;
            }
            let refused = account.ask(method, &address).await;
            assert_eq!(refused.status, 405, "{method} {path}: {}", refused.text);
            assert_eq!(allow(refused.header("allow")), expected, "{method} {path}");
            refused.problem("wrong-method");
        }
        if expected.contains("GET") && !path.ends_with("/stream") {
            same_but_for_the_body(account, &address).await;
        }
    }
}

/// RFC 9110 section 9.3.2: HEAD sends the header fields that GET would, and no body.
async fn same_but_for_the_body(client: &Client, address: &str) {
    let get = client.get(address).await;
    let head = client.ask("HEAD", address).await;
    assert_eq!(head.status, get.status, "{address}");
    assert_eq!(head.text, "", "{address}");
    for name in ["content-type", "content-length", "etag", "cache-control"] {
        assert_eq!(head.header(name), get.header(name), "{name} of {address}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_tells_browsers_what_they_may_do() {
    let hall = Hall::open().await;
    for (path, item) in document()["paths"].as_object().unwrap() {
        if item.get("get").is_none() || path.ends_with("/stream") {
            continue;
        }
        let got = hall.who("crew").get(&filled(&hall, path)).await;
        let policy = got.header("content-security-policy");
        assert!(policy.contains("default-src 'self'"), "{path}: {policy}");
        assert!(!policy.contains("unsafe"), "{path}: {policy}");
        assert_eq!(got.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(got.header("referrer-policy"), "same-origin", "{path}");
        assert!(!got.header("cache-control").is_empty(), "{path}");
        assert!(!got.header("x-request-id").is_empty(), "{path}");
    }
}

/// What can be changed with a PUT and has no revision, with the reason.
const WITHOUT_REVISION: &[(&str, &str)] = &[
    (
        "become_person",
        "says who holds the phone; there is nothing to lose",
    ),
    (
        "send_photo",
        "the picture of a line never changes: another one is refused",
    ),
    (
        "put_person_pin",
        "nobody can read it, so nobody's change is based on what it was",
    ),
    (
        "put_person_name",
        "a name is one field, outside the logbook so that it can be erased",
    ),
];

#[test]
fn every_change_of_a_thing_is_based_on_a_revision() {
    let document = document();
    let mut seen = 0;
    for (path, item) in document["paths"].as_object().unwrap() {
        for method in ["put", "patch"] {
            let operation = &item[method];
            let id = operation["operationId"].as_str().unwrap_or_default();
            if operation.is_null() || WITHOUT_REVISION.iter().any(|(known, _)| *known == id) {
                continue;
            }
            seen += 1;
            let takes = |name: &str| {
                operation["parameters"].as_array().is_some_and(|all| {
                    all.iter()
                        .any(|one| one["in"] == "header" && one["name"] == name)
                })
            };
            assert!(takes("If-Match"), "{id} takes no If-Match");
            for status in ["412", "428"] {
                assert!(
                    operation["responses"].get(status).is_some(),
                    "{id} {status}"
                );
            }
            assert!(
                !item["get"].is_null(),
                "{path} cannot be read before it is changed"
            );
        }
    }
    assert!(seen >= 9, "{seen}");
}

/// Lists that cannot grow, with the reason.
const BOUNDED: &[(&str, &str)] = &[
    ("list_hazards", "one for each rule at most"),
    ("list_rules", "thirty of them"),
    ("list_durations", "one for each task of the library"),
    (
        "list_calendars",
        "those that count, of which the store reads 500 at most",
    ),
    ("list_proofs", "the last of each thing that is proved"),
    ("list_stations", "the stations there are"),
    ("list_tasks", "the library's list of one turnaround"),
];

#[test]
fn every_list_that_can_grow_is_read_page_by_page() {
    let document = document();
    for item in document["paths"].as_object().unwrap().values() {
        let operation = &item["get"];
        let id = operation["operationId"].as_str().unwrap_or_default();
        if !id.starts_with("list_") || BOUNDED.iter().any(|(known, _)| *known == id) {
            continue;
        }
        let has = |name: &str| {
            operation["parameters"]
                .as_array()
                .is_some_and(|all| all.iter().any(|one| one["name"] == name))
        };
        assert!(
            has("limit") && has("cursor"),
            "{id} is not read page by page"
        );
        let form = operation["responses"]["200"]["content"]["application/json"]["schema"]["$ref"]
            .as_str()
            .unwrap_or_else(|| panic!("{id} has no form of a page"));
        let form = document.pointer(form.trim_start_matches('#')).unwrap();
        for name in ["items", "next_cursor"] {
            assert!(form["properties"].get(name).is_some(), "{id} has no {name}");
        }
    }
}
