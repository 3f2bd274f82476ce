//! The viewer of the document: whole without anything from elsewhere.

use crate::harness::app::TestApp;
use crate::pages::browser::{driver, until};
use serde_json::Value;
use std::collections::BTreeSet;

/// What a page names in attributes that are loaded.
fn named(page: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for attribute in ["src=\"", "href=\""] {
        for rest in page.split(attribute).skip(1) {
            found.insert(rest.split('"').next().unwrap().to_owned());
        }
    }
    found
}

#[tokio::test(flavor = "multi_thread")]
async fn the_viewer_names_nothing_from_elsewhere() {
    let service = TestApp::start().await;
    let nobody = service.nobody();
    let page = nobody.get("/api/docs/").await.expect(200);
    let policy = page.header("content-security-policy").to_owned();
    assert!(
        policy.contains("default-src 'self'") && !policy.contains("//"),
        "{policy}"
    );
    let named = named(&page.text);
    assert!(named.len() >= 4, "{named:?}");
    for name in &named {
        assert!(!name.contains("//"), "{name}");
        let part = nobody.get(&format!("/api/docs/{name}")).await.expect(200);
        if name.ends_with(".css") {
            for rest in part.text.split("url(").skip(1) {
                assert!(
                    rest.starts_with("data:") || rest.starts_with("\"data:"),
                    "{name}: {rest:.60}"
                );
            }
        }
    }
    // Where it looks for the document, and that it asks nobody what they think of it.
    let begins = nobody
        .get("/api/docs/swagger-initializer.js")
        .await
        .expect(200)
        .text;
    assert!(begins.contains("/api/v1/openapi.json"), "{begins}");
    assert!(begins.contains("\"validatorUrl\": \"none\""), "{begins}");
    assert!(!begins.contains("://"), "{begins}");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_viewer_shows_every_operation_from_this_host_alone() {
    let Some((_guard, browser)) = driver().await else {
        return;
    };
    let service = TestApp::start().await;
    browser
        .goto(&format!("{}/api/docs/", service.address))
        .await
        .unwrap();
    let document = serde_json::to_value(linkout::http::server::openapi()).unwrap();
    let paths = document["paths"].as_object().unwrap();
    let operations: usize = paths
        .values()
        .flat_map(|item| item.as_object().unwrap().values())
        .filter(|operation| operation.get("responses").is_some())
        .count();
    let shown = format!("document.querySelectorAll('.opblock').length === {operations}");
    until(&browser, "every operation is shown", &shown).await;
    let loaded = browser
        .execute(
            "return performance.getEntriesByType('resource').map(entry => entry.name)",
            vec![],
        )
        .await
        .unwrap();
    let loaded: Vec<&str> = loaded
        .as_array()
        .unwrap()
        .iter()
        .filter_map(Value::as_str)
        .collect();
    assert!(loaded.len() >= 4, "{loaded:?}");
    for name in loaded {
        assert!(
            name.starts_with(&service.address) || name.starts_with("data:"),
            "{name}"
        );
    }
    browser.close().await.unwrap();
}
