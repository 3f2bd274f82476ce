//! One phone, many people: a second person enters under their own name by their PIN, and nobody is
//! made a second person by being named.

use crate::harness::client::Client;
use crate::harness::hall::Hall;
use serde_json::{Value, json};

/// The person of somebody's session.
async fn person(client: &Client) -> Value {
    client.get("/api/v1/session").await.expect(200).json()["person"].clone()
}

/// Sets somebody's own PIN.
async fn set_pin(hall: &Hall, who: &str, pin: &str) -> Value {
    let me = person(hall.who(who)).await;
    let path = hall.path(&format!("/people/{}/pin", me.as_str().unwrap()));
    let form = json!({"pin": pin});
    let set = hall.who(who).send("PUT", &path, &form).await;
    set.expect(204);
    me
}

/// The own robot's link seen out, handed in on the crew's phone by a second person.
fn seen_by_second(hall: &Hall, person: &Value, pin: &str) -> Value {
    let robot = format!("robot:{}", hall.own.robot);
    let mut line = hall.line("link", &robot, Some("saw"), &json!({"state": "out"}));
    line["seen_by"] = person.clone();
    json!({"lines": [line], "second": {"person": person, "pin": pin}})
}

async fn hand_in(hall: &Hall, report: &Value) -> crate::harness::client::Answer {
    hall.who("crew")
        .send("POST", &hall.path("/lines"), report)
        .await
}

/// The last line of the logbook.
async fn last(hall: &Hall) -> Value {
    let lines = hall
        .who("account")
        .get(&hall.path("/lines?limit=100"))
        .await;
    lines.json()["items"]
        .as_array()
        .unwrap()
        .last()
        .unwrap()
        .clone()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_second_person_enters_under_their_own_name_by_their_pin() {
    let hall = Hall::open().await;
    let lead = set_pin(&hall, "lead", "4711").await;
    let report = seen_by_second(&hall, &lead, "4711");
    hand_in(&hall, &report).await.expect(201);
    let line = last(&hall).await;
    assert_eq!(line["entered_by"]["person"], lead);
    // The rights are those of the phone, not those the person has on their own.
    assert_eq!(line["entered_by"]["role"], "crew");
    hand_in(&hall, &report).await.expect(200);
}

#[tokio::test(flavor = "multi_thread")]
async fn nobody_is_a_second_person_by_a_wrong_pin_or_none() {
    let hall = Hall::open().await;
    let lead = set_pin(&hall, "lead", "4711").await;
    let crew = person(hall.who("crew")).await;
    // Somebody without a PIN is refused in the same words as a wrong PIN.
    for (who, pin) in [(&lead, "4712"), (&lead, ""), (&crew, "4711")] {
        let answer = hand_in(&hall, &seen_by_second(&hall, who, pin)).await;
        let problem = answer.expect(422).problem("refused");
        assert_eq!(problem["errors"][0]["pointer"], "/second/pin");
        assert_eq!(
            problem["errors"][0]["detail"],
            "This is not the PIN of that person."
        );
    }
    assert_ne!(last(&hall).await["kind"], "link", "nothing was recorded");
}

#[tokio::test(flavor = "multi_thread")]
async fn another_teams_person_is_not_there_even_with_their_pin() {
    let hall = Hall::open().await;
    let other = set_pin(&hall, "other lead", "4711").await;
    let marshal = set_pin(&hall, "marshal", "4711").await;
    for who in [other, marshal] {
        let answer = hand_in(&hall, &seen_by_second(&hall, &who, "4711")).await;
        answer.expect(404).problem("unknown");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn guessing_at_a_pin_is_slowed_down_on_every_phone() {
    let hall = Hall::open().await;
    let lead = set_pin(&hall, "lead", "4711").await;
    let mut wait = None;
    for guess in 0..12 {
        let answer = hand_in(&hall, &seen_by_second(&hall, &lead, &format!("{guess:04}"))).await;
        if answer.status == 429 {
            wait = Some(answer.header("retry-after").parse::<u32>().unwrap());
            break;
        }
        answer.expect(422);
    }
    assert!((1..=31).contains(&wait.expect("twelve guesses are too many")));
    // The right one does not count either until then, and another phone is as slow.
    let right = seen_by_second(&hall, &lead, "4711");
    hand_in(&hall, &right)
        .await
        .expect(429)
        .problem("too-often");
    let become_lead = json!({"person": lead, "pin": "4711"});
    let other = hall
        .join(&hall.event, "crew", Some(hall.own.team), "Dot")
        .await;
    other
        .send("PUT", "/api/v1/session/person", &become_lead)
        .await
        .expect(429);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_pin_of_somebody_who_was_erased_opens_nothing() {
    let hall = Hall::open().await;
    let lead = set_pin(&hall, "lead", "4711").await;
    let name = hall.path(&format!("/people/{}/name", lead.as_str().unwrap()));
    hall.who("account").ask("DELETE", &name).await.expect(204);
    let answer = hand_in(&hall, &seen_by_second(&hall, &lead, "4711")).await;
    answer.expect(422).problem("refused");
    // Named anew, the person has no PIN until they set one.
    let named = json!({"name": "Lee"});
    hall.who("account")
        .send("PUT", &name, &named)
        .await
        .expect(204);
    let answer = hand_in(&hall, &seen_by_second(&hall, &lead, "4711")).await;
    answer.expect(422).problem("refused");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_name_with_a_pin_asks_for_it_on_another_phone() {
    let hall = Hall::open().await;
    let lead = set_pin(&hall, "lead", "4711").await;
    let dot = hall
        .join(&hall.event, "crew", Some(hall.own.team), "Dot")
        .await;
    let become_person = |body: Value| {
        let dot = dot.clone();
        async move { dot.send("PUT", "/api/v1/session/person", &body).await }
    };
    for body in [
        json!({"person": lead}),
        json!({"name": "LEAD"}),
        json!({"person": lead, "pin": "0000"}),
    ] {
        let problem = become_person(body).await.expect(422).problem("refused");
        assert_eq!(problem["errors"][0]["pointer"], "/pin");
    }
    let opened = become_person(json!({"name": "lead", "pin": "4711"})).await;
    assert_eq!(opened.expect(201).json()["session"]["person"], lead);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_pin_is_changed_by_whoever_knows_it_and_taken_away_when_forgotten() {
    let hall = Hall::open().await;
    let crew = set_pin(&hall, "crew", "4711").await;
    let path = hall.path(&format!("/people/{}/pin", crew.as_str().unwrap()));
    let change = |body: Value| {
        let (crew, path) = (hall.who("crew"), &path);
        async move { crew.send("PUT", path, &body).await }
    };
    for (body, at) in [
        (json!({"pin": "2222"}), "/current"),
        (json!({"pin": "2222", "current": "1111"}), "/current"),
        (json!({"pin": "22", "current": "4711"}), "/pin"),
        (json!({"pin": "2 22", "current": "4711"}), "/pin"),
    ] {
        let problem = change(body).await.expect(422).problem("refused");
        assert_eq!(problem["errors"][0]["pointer"], at);
    }
    change(json!({"pin": "2222", "current": "4711"}))
        .await
        .expect(204);
    hall.who("lead").ask("DELETE", &path).await.expect(204);
    change(json!({"pin": "3333"})).await.expect(204);
}
