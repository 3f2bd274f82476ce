//! The published document: checked in, complete, and true.

use serde_json::Value;
use std::collections::BTreeSet;

fn document() -> Value {
    serde_json::to_value(linkout::http::server::openapi()).unwrap()
}

fn operations(document: &Value) -> Vec<(String, String, Value)> {
    let mut all = Vec::new();
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            if operation.get("responses").is_some() {
                all.push((method.to_uppercase(), path.clone(), operation.clone()));
            }
        }
    }
    all
}

#[test]
fn the_document_is_the_one_checked_in() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/openapi/linkout.json");
    let mut now = serde_json::to_string_pretty(&document()).unwrap();
    now.push('\n');
    if std::env::var_os("UPDATE_OPENAPI").is_some() {
        std::fs::write(path, &now).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(
        kept == now,
        "the API differs from openapi/linkout.json; UPDATE_OPENAPI=1 writes it anew"
    );
}

#[test]
fn every_operation_is_named_summed_up_and_says_how_it_can_fail() {
    let document = document();
    let mut names = BTreeSet::new();
    for (method, path, operation) in operations(&document) {
        let name = operation["operationId"]
            .as_str()
            .unwrap_or_else(|| panic!("{method} {path}"));
        assert!(names.insert(name.to_owned()), "{name} is there twice");
        let summary = operation["summary"].as_str().unwrap_or_default();
        assert!(!summary.is_empty(), "{name} has no summary");
        let responses = operation["responses"].as_object().unwrap();
        assert!(
            responses.keys().any(|status| status.starts_with('2')),
            "{name}"
        );
        assert!(
            responses.contains_key("500") && responses.contains_key("503"),
            "{name}"
        );
        for (status, response) in responses {
            if status.starts_with(['4', '5']) {
                let content = &response["content"];
                assert_eq!(
                    content.as_object().map(serde_json::Map::len),
                    Some(1),
                    "{name} {status}"
                );
                let example = &content["application/problem+json"]["example"];
                assert_eq!(example["status"].to_string(), *status, "{name}");
            }
        }
        if operation.get("security").is_some() {
            assert!(responses.contains_key("401"), "{name}");
        }
    }
    assert!(names.len() > 60, "{}", names.len());
}

#[test]
fn every_body_has_an_example_and_every_reference_leads_somewhere() {
    let document = document();
    for (_, _, operation) in operations(&document) {
        let Some(body) = operation["requestBody"]["content"].get("application/json") else {
            continue;
        };
        let schema = match body["schema"]["$ref"].as_str() {
            Some(name) => document
                .pointer(name.trim_start_matches('#'))
                .unwrap()
                .clone(),
            None => body["schema"].clone(),
        };
        let has_one = [body, &schema]
            .iter()
            .any(|place| place.get("example").is_some() || place.get("examples").is_some());
        assert!(has_one, "{}", operation["operationId"]);
    }
    fn walk(value: &Value, document: &Value) {
        match value {
            Value::Object(members) => {
                if let Some(Value::String(name)) = members.get("$ref") {
                    let found = document.pointer(name.trim_start_matches('#'));
                    assert!(found.is_some(), "{name} leads nowhere");
                }
                members.values().for_each(|member| walk(member, document));
            }
            Value::Array(items) => items.iter().for_each(|item| walk(item, document)),
            _ => {}
        }
    }
    walk(&document, &document);
}

#[test]
fn the_document_is_our_own() {
    let info = &document()["info"];
    assert_eq!(info["title"], "linkout");
    assert_eq!(info["license"]["name"], "MIT");
    assert_eq!(info["version"], env!("CARGO_PKG_VERSION"));
}

/// Two types of one name would overwrite each other in the document without a word.
#[test]
fn no_two_published_types_have_one_name() {
    let mut found: std::collections::BTreeMap<String, String> = std::collections::BTreeMap::new();
    for (file, text) in crate::architecture::sources() {
        let mut published = false;
        let mut other_name: Option<String> = None;
        for line in text.lines() {
            let line = line.trim();
            if line.contains("ToSchema") && !line.starts_with("use ") && !line.starts_with("impl") {
                published = true;
            }
            if let Some((_, rest)) = line.split_once("schema(as = ") {
                other_name = Some(rest.split([',', ')']).next().unwrap().to_owned());
            }
            let declared = ["pub struct ", "pub enum "]
                .iter()
                .find_map(|start| line.strip_prefix(start));
            let Some(declared) = declared else { continue };
            let end = declared
                .find(|c: char| !c.is_alphanumeric())
                .unwrap_or(declared.len());
            let name = other_name
                .take()
                .unwrap_or_else(|| declared[..end].to_owned());
            if std::mem::take(&mut published) && !name.is_empty() {
                let earlier = found.insert(name.clone(), file.clone());
                assert!(earlier.is_none(), "{name} in {file} and {earlier:?}");
            }
        }
    }
    assert!(found.len() > 100, "{}", found.len());
}
