//! The catalogue of problems against its pages and the published document.

use crate::harness::app::TestApp;
use linkout::http::ProblemKind;
use std::collections::BTreeSet;

#[tokio::test(flavor = "multi_thread")]
async fn every_kind_of_problem_has_a_page() {
    let service = TestApp::start().await;
    for kind in ProblemKind::ALL {
        let page = service.nobody().get(&kind.address()).await.expect(200);
        assert!(page.text.contains(kind.advice()), "{}", page.text);
        assert!(page.header("content-type").starts_with("text/html"));
    }
    service.nobody().get("/problems/no-such").await.expect(404);
}

#[test]
fn every_kind_is_published_by_some_operation_or_belongs_to_none() {
    let document = serde_json::to_value(linkout::http::server::openapi()).unwrap();
    let text = document.to_string();
    // These two come before any operation is found.
    let before: BTreeSet<&str> = ["wrong-method", "other-site"].into();
    for kind in ProblemKind::ALL {
        let published = text.contains(&format!("\"/problems/{}\"", kind.slug()));
        assert!(published || before.contains(kind.slug()), "{}", kind.slug());
    }
}
