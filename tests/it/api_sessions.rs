//! Coming in, being somebody, and being sent out.

use crate::harness::hall::Hall;
use chrono::TimeDelta;
use linkout::app::{accounts, tail};
use serde_json::json;
use std::time::{Duration, Instant};

#[tokio::test(flavor = "multi_thread")]
async fn an_unknown_login_and_a_wrong_password_look_the_same() {
    let hall = Hall::open().await;
    let nobody = hall.service.nobody();
    let mut answers = Vec::new();
    for (login, password) in [
        ("wren", "six copper kettles"),
        ("robin", "seven copper kettles"),
    ] {
        let body = json!({"login": login, "password": password});
        let refused = nobody
            .send("POST", "/api/v1/sessions", &body)
            .await
            .expect(401);
        let mut problem = refused.problem("sign-in-needed");
        problem.as_object_mut().unwrap().remove("instance");
        answers.push(problem);
    }
    assert_eq!(answers[0], answers[1]);
}

#[tokio::test(flavor = "multi_thread")]
async fn whatever_is_wrong_at_sign_in_is_found_out_by_the_same_work() {
    let hall = Hall::open().await;
    let (app, nobody) = (&hall.service.app, hall.service.nobody());
    let (closed, password) = ("robin", "eight copper kettles");
    let now = app.clock.now();
    accounts::add_organiser(&app.pool, &*app.ids, closed, password, now)
        .await
        .unwrap();
    accounts::close(&app.pool, closed, now).await.unwrap();
    let mut works = Vec::new();
    for (login, password) in [
        ("wren", "six copper kettles"),
        ("nobody", "seven copper kettles"),
        (closed, password),
    ] {
        let before = app.sessions.worked_kib();
        let body = json!({"login": login, "password": password});
        let refused = nobody.send("POST", "/api/v1/sessions", &body).await;
        refused.expect(401).problem("sign-in-needed");
        works.push(app.sessions.worked_kib() - before);
    }
    assert!(works[0] > 0, "{works:?}");
    assert_eq!(works, [works[0]; 3]);
}

#[tokio::test(flavor = "multi_thread")]
async fn guessing_a_password_is_slowed_down() {
    let hall = Hall::open().await;
    let nobody = hall.service.nobody();
    let body = json!({"login": "robin", "password": "a guess"});
    for _ in 0..60 {
        let answer = nobody.send("POST", "/api/v1/sessions", &body).await;
        if answer.status == 429 {
            let wait: u32 = answer.header("retry-after").parse().unwrap();
            assert!(wait >= 1);
            answer.problem("too-often");
            return;
        }
        answer.expect(401);
    }
    panic!("sixty guesses went through");
}

#[tokio::test(flavor = "multi_thread")]
async fn whoever_is_sent_out_is_out_at_once() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let me = crew.get("/api/v1/session").await.expect(200).json();
    let person = me["person"].as_str().unwrap();
    let path = hall.path(&format!("/people/{person}/sessions"));
    hall.who("other lead")
        .ask("DELETE", &path)
        .await
        .expect(404);
    crew.ask("DELETE", &path).await.expect(403);
    hall.who("lead").ask("DELETE", &path).await.expect(204);
    crew.get("/api/v1/session")
        .await
        .expect(401)
        .problem("sign-in-needed");
}

/// Another process remembers who is signed in, and nothing here looks for ended sessions: what ends
/// one there is the word that it ended here.
#[tokio::test(flavor = "multi_thread")]
async fn whoever_is_sent_out_is_out_in_every_process() {
    let hall = Hall::open().await;
    let there = hall.service.another().await;
    let following = tokio::spawn(tail::follow(there.app.clone()));
    let database = hall.service.database().client().await;
    let begun = Instant::now();
    let listens = "SELECT FROM pg_stat_activity WHERE datname = current_database()
                   AND application_name = 'linkout listener' AND state = 'idle'";
    while database.query(listens, &[]).await.unwrap().is_empty() {
        assert!(begun.elapsed() < Duration::from_secs(30), "nobody listens");
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    let lead = hall.who("lead");
    for (who, ends) in [("crew", "sessions of a person"), ("marshal", "a session")] {
        let here = hall.who(who);
        let remembered = there.with_token(here.token().unwrap());
        let me = remembered.get("/api/v1/session").await.expect(200).json();
        let person = me["person"].as_str().unwrap();
        let path = hall.path(&format!("/people/{person}/sessions"));
        let ended = match who {
            "crew" => lead.ask("DELETE", &path).await,
            _ => here.ask("DELETE", "/api/v1/session").await,
        };
        ended.expect(204);
        let begun = Instant::now();
        while remembered.get("/api/v1/session").await.status != 401 {
            assert!(begun.elapsed() < Duration::from_secs(30), "{ends}");
        }
    }
    following.abort();
}

#[tokio::test(flavor = "multi_thread")]
async fn a_session_ends_by_itself_and_by_its_holder() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    let gone = crew.ask("DELETE", "/api/v1/session").await.expect(204);
    assert!(gone.header("set-cookie").contains("Max-Age=0"));
    crew.get("/api/v1/session").await.expect(401);
    let lead = hall.who("lead");
    hall.service.clock.advance(TimeDelta::days(3));
    lead.get("/api/v1/session").await.expect(200);
    hall.service.clock.advance(TimeDelta::days(2));
    lead.get("/api/v1/session").await.expect(401);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_join_code_opens_one_door_as_often_as_it_may() {
    let hall = Hall::open().await;
    let nobody = hall.service.nobody();
    let body = json!({"role": "crew", "team": hall.own.team, "uses": 1});
    let code = hall
        .who("lead")
        .send("POST", &hall.path("/join-codes"), &body)
        .await
        .expect(201)
        .json();
    let typed = code["code"]
        .as_str()
        .unwrap()
        .to_lowercase()
        .replace('-', " ");
    let door = nobody
        .send("POST", "/api/v1/join-codes/look", &json!({"code": typed}))
        .await
        .expect(200)
        .json();
    assert_eq!(door["role"], "crew");
    let names: Vec<&str> = door["people"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["name"].as_str().unwrap())
        .collect();
    assert!(
        names.contains(&"crew") && !names.contains(&"other crew"),
        "{names:?}"
    );
    // A name the team knows is that person, in any case.
    let crew = hall.who("crew").get("/api/v1/session").await.json();
    let join = json!({"code": typed, "name": "CREW"});
    let joined = nobody
        .send("POST", "/api/v1/sessions/join", &join)
        .await
        .expect(201);
    assert_eq!(joined.json()["session"]["person"], crew["person"]);
    let cookie = joined.header("set-cookie");
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax"),
        "{cookie}"
    );
    nobody
        .send("POST", "/api/v1/sessions/join", &join)
        .await
        .expect(401);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_person_can_be_erased_and_the_lines_stand() {
    let hall = Hall::open().await;
    let crew = hall.who("crew");
    crew.send(
        "POST",
        &hall.path("/lines"),
        &json!({"lines": [hall.link_out()]}),
    )
    .await
    .expect(201);
    let person = crew.get("/api/v1/session").await.json()["person"]
        .as_str()
        .unwrap()
        .to_owned();
    let lead = hall.who("lead");
    let names = lead.get(&hall.path("/names")).await.json();
    let named = json!({"person": person, "name": "crew"});
    assert!(names["items"].as_array().unwrap().contains(&named));
    lead.ask("DELETE", &hall.path(&format!("/people/{person}/name")))
        .await
        .expect(204);
    let names = lead.get(&hall.path("/names")).await.json();
    let mut left = names["items"].as_array().unwrap().iter();
    assert!(left.all(|named| named["person"] != person.as_str()));
    let lines = lead.get(&hall.path("/lines?kind=link")).await.json();
    assert_eq!(lines["items"][0]["seen_by"], person.as_str());
}
