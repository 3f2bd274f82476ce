//! Every example of the published document is sent to a service, which takes it.

use crate::harness::client::{Answer, answer};
use crate::harness::hall::Hall;
use linkout::auth::rights::{Reach, may_write};
use linkout::pit::logbook::{Body, Family, Kind, Role, examples};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uuid::Uuid;

/// Somebody in every role at the examples' event, and the leads of its two teams.
struct Meet {
    hall: Hall,
    event: String,
    people: BTreeMap<&'static str, crate::harness::client::Client>,
}

impl Meet {
    /// An event of the examples' own, with whatever they mention but do not register.
    async fn open() -> Self {
        let hall = Hall::open().await;
        let account = hall.who("account").clone();
        let body = examples::body(Kind::RegisterEvent);
        let founded = account.send("POST", "/api/v1/events", &body).await;
        let event = founded.expect(201).json()["id"]
            .as_str()
            .unwrap()
            .to_owned();
        let mut meet = Self {
            hall,
            event,
            people: BTreeMap::from([("account", account)]),
        };
        for kind in [Kind::RegisterTeam, Kind::RegisterPerson] {
            meet.report(Role::Organiser, examples::line(kind))
                .await
                .expect(201);
        }
        let team = examples::id_of("team");
        for (role, team) in [
            ("crew", Some(team)),
            ("lead", Some(team)),
            ("official", None),
            ("marshal", None),
            ("program", None),
        ] {
            let client = meet.hall.join(&meet.event, role, team, role).await;
            meet.people.insert(role, client);
        }
        // The other robot of the example of a bout.
        let other = examples::body(Kind::RegisterBout)["slots"][1]["robot"].clone();
        let mut line = examples::line(Kind::RegisterRobot);
        line["id"] = json!(Uuid::from_u128(7 << 76 | 2 << 62));
        line["subject"] = json!(format!("robot:{}", other.as_str().unwrap()));
        line["body"]["name"] = json!("Slate Otter");
        meet.report(Role::Organiser, line).await.expect(201);
        meet
    }

    fn path(&self, rest: &str) -> String {
        format!("/api/v1/events/{}{rest}", self.event)
    }

    fn who(&self, role: Role) -> &crate::harness::client::Client {
        match role {
            Role::Organiser => &self.people["account"],
            other => &self.people[other.as_str()],
        }
    }

    async fn report(&self, role: Role, line: Value) -> Answer {
        let report = json!({"sent_at": "2027-01-15T14:20:31.250Z", "lines": [line]});
        self.send(role, &report).await
    }

    async fn send(&self, role: Role, report: &Value) -> Answer {
        self.who(role)
            .send("POST", &self.path("/lines"), report)
            .await
    }
}

/// Somebody who may write what an example says.
fn writer(kind: Kind) -> Option<Role> {
    // Its example takes back the one of damage.
    if kind == Kind::Void {
        return writer(Kind::Damage);
    }
    let body = Body::read(kind, &examples::body(kind), "").unwrap();
    // The organiser first, who has registered some of it already.
    let mut roles = [Role::Organiser].into_iter().chain(Role::ALL);
    roles.find(|role| may_write(*role, &body) != Reach::Nothing)
}

#[tokio::test(flavor = "multi_thread")]
async fn every_kind_of_line_is_taken_as_its_example_has_it() {
    let meet = Meet::open().await;
    let document = serde_json::to_value(linkout::http::server::openapi()).unwrap();
    let body = &document["paths"]["/api/v1/events/{event}/lines"]["post"]["requestBody"];
    let published = body["content"]["application/json"]["examples"]
        .as_object()
        .expect("examples of reports");
    for kind in Kind::ALL {
        let name = kind.name();
        if kind.family() == Family::Plan {
            let taken = meet.report(Role::Organiser, examples::line(*kind)).await;
            taken.expect(403).problem("not-allowed");
            continue;
        }
        let report = &published
            .get(name)
            .unwrap_or_else(|| panic!("'{name}' has no example in the document"))["value"];
        let role = writer(*kind).unwrap_or_else(|| panic!("nobody may write '{name}'"));
        let taken = meet.send(role, report).await;
        assert!(
            matches!(taken.status.as_u16(), 200 | 201),
            "the example of '{name}' in src/pit/logbook/examples.rs was answered {}: {}\n\
             An id of an example names the thing that another example registers; a new noun gets \
             its id in `id_of`.",
            taken.status,
            taken.text
        );
    }
}

/// Operations without a body, or whose example needs something of its own, with the reason.
const ELSEWHERE: &[(&str, &str)] = &[
    (
        "hand_in_lines",
        "every kind has an example of its own, above",
    ),
    ("create_event", "founds the event of these tests"),
    (
        "sign_in",
        "needs an account that was made: tests of accounts",
    ),
    (
        "change_order",
        "needs bouts at revisions of its own: tests of the board",
    ),
    (
        "put_person_pin",
        "is for the person alone: tests of the second person",
    ),
    (
        "look_at_join_code",
        "needs a code that was made: tests of joining",
    ),
    ("join_event", "needs a code that was made: tests of joining"),
    (
        "withdraw_join_code",
        "needs a code that was made: tests of joining",
    ),
];

#[tokio::test(flavor = "multi_thread")]
async fn every_body_of_an_operation_is_taken_as_its_example_has_it() {
    let meet = Meet::open().await;
    for kind in Kind::ALL {
        if kind.family() == Family::Register && *kind != Kind::RegisterLibrary {
            let taken = meet.report(Role::Organiser, examples::line(*kind)).await;
            assert!(taken.status.is_success(), "{}: {}", kind.name(), taken.text);
        }
    }
    let document = serde_json::to_value(linkout::http::server::openapi()).unwrap();
    let mut wrong = Vec::new();
    let mut sent = 0;
    for (path, item) in document["paths"].as_object().unwrap() {
        for (method, operation) in item.as_object().unwrap() {
            let id = operation["operationId"].as_str().unwrap_or_default();
            let content = &operation["requestBody"]["content"]["application/json"];
            if content.is_null() || ELSEWHERE.iter().any(|(known, _)| *known == id) {
                continue;
            }
            let method = method.to_uppercase();
            let path = filled(&meet, path);
            for example in examples_of(&document, content) {
                sent += 1;
                let mut request = meet.people["account"]
                    .request(&method, &path)
                    .json(&example);
                if id == "become_person" {
                    request = meet.people["crew"].request(&method, &path).json(&example);
                }
                let known = meet.people["account"].get(&path).await;
                if method == "PUT" && known.status == 200 {
                    request = request.header("if-match", known.header("etag"));
                } else if method == "PUT" {
                    request = request.header("if-none-match", "*");
                }
                let taken = answer(request).await;
                let status = taken.status.as_str();
                if !taken.status.is_success() || operation["responses"].get(status).is_none() {
                    wrong.push(format!("{id} {path}: {status} {}", taken.text));
                }
            }
        }
    }
    assert!(
        wrong.is_empty(),
        "examples that are not taken (put them right where the operation or its body is declared; \
         ids are those of src/pit/logbook/examples.rs): {wrong:#?}"
    );
    assert!(sent > 50, "{sent}");
}

/// The examples of a body: those of the operation, or those of its form.
fn examples_of(document: &Value, content: &Value) -> Vec<Value> {
    if let Some(examples) = content["examples"].as_object() {
        return examples.values().map(|one| one["value"].clone()).collect();
    }
    if !content["example"].is_null() {
        return vec![content["example"].clone()];
    }
    let form = match content["schema"]["$ref"].as_str() {
        Some(name) => document.pointer(name.trim_start_matches('#')).unwrap(),
        None => &content["schema"],
    };
    match form["examples"].as_array() {
        Some(examples) => examples.clone(),
        None => form.get("example").cloned().into_iter().collect(),
    }
}

fn filled(meet: &Meet, path: &str) -> String {
    let mut filled = path.replace("{event}", &meet.event);
    while let Some((before, rest)) = filled.split_once('{') {
        let (noun, after) = rest.split_once('}').unwrap();
        filled = format!("{before}{}{after}", examples::id_of(noun));
    }
    filled
}
