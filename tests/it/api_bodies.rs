//! Whatever body is sent to whatever operation takes one, the answer is one that the document
//! names: done, or a problem. Never a fault of linkout.

use crate::api_conventions::filled;
use crate::harness::around::World;
use crate::harness::client::{Answer, Client, answer};
use crate::harness::hall::Hall;
use linkout::app::Clock as _;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};
use serde_json::{Value, json};
use tokio::runtime::Runtime;

/// Bodies sent to each operation.
const BODIES: u32 = 24;

/// Who sends a body, and on what it says it is based.
const WHO: [&str; 6] = ["account", "lead", "crew", "official", "marshal", "program"];

struct Asked {
    hall: Hall,
    runtime: Runtime,
}

impl Asked {
    fn client(&self, id: &str, who: &str) -> Client {
        // Whoever becomes somebody else is no longer who they were.
        if id == "become_person" {
            let team = Some(self.hall.own.team);
            let event = &self.hall.event;
            return self
                .runtime
                .block_on(self.hall.join(event, "crew", team, "Ben"));
        }
        self.hall.who(who).clone()
    }

    fn send(
        &self,
        (id, method, path): (&str, &str, &str),
        who: &str,
        based: u8,
        body: &Value,
    ) -> Answer {
        let client = self.client(id, who);
        self.runtime.block_on(async {
            let mut request = client.request(method, path).json(body);
            if method == "PUT" && based == 0 {
                let known = client.get(path).await;
                request = request.header("if-match", known.header("etag"));
            } else if method == "PUT" && based == 1 {
                request = request.header("if-none-match", "*");
            }
            answer(request).await
        })
    }
}

#[test]
fn every_body_is_answered_as_the_document_says() {
    let runtime = Runtime::new().unwrap();
    let hall = runtime.block_on(Hall::open());
    let world = World {
        document: serde_json::to_value(linkout::http::server::openapi()).unwrap(),
        subjects: hall.subjects(),
        now: hall.service.clock.now(),
    };
    let asked = Asked { hall, runtime };
    let mut operations = 0;
    for (path, item) in world.document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let form = &operation["requestBody"]["content"]["application/json"]["schema"];
            if form.is_null() {
                continue;
            }
            operations += 1;
            let id = operation["operationId"].as_str().unwrap();
            let method = method.to_uppercase();
            let path = filled(&asked.hall, path);
            let bodies = (
                world.around(form),
                proptest::sample::select(WHO.to_vec()),
                0..3_u8,
            );
            let mut runner = TestRunner::new(Config {
                cases: BODIES,
                failure_persistence: None,
                max_shrink_iters: 100,
                ..Config::default()
            });
            let outcome = runner.run(&bodies, |(body, who, based)| {
                let answer = asked.send((id, &method, &path), who, based, &body);
                let status = answer.status.as_u16();
                let named = operation["responses"].get(answer.status.as_str()).is_some();
                prop_assert!(status < 500 && named, "{who}: {status} {}", answer.text);
                if status >= 400 {
                    let kind = answer.header("content-type").to_owned();
                    prop_assert_eq!(kind, "application/problem+json");
                    prop_assert_eq!(&answer.json()["status"], &json!(status));
                }
                Ok(())
            });
            if let Err(fault) = outcome {
                panic!("{id} {path}: {fault}");
            }
        }
    }
    assert!(operations > 60, "{operations}");
}
